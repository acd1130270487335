"""The four roles, and what each may do on the page."""

from enum import StrEnum


class Role(StrEnum):
    """What somebody is in the prep room; one person may be several."""

    TEACHER = "teacher"
    TECHNICIAN = "technician"
    AUDITOR = "auditor"
    OFFICE = "office"


class Right(StrEnum):
    """What a page or an act asks for."""

    ANYONE = "anyone"
    SIGNED_IN = "signed in"
    SEE_DEMOS = "see demonstrations and bookings"
    BOOK = "book"
    SEE_STOCK = "see the shelves, orders and the plan"
    WORK = "make, take, receive, order, set out"
    SEE_COUNT = "see counts"
    COUNT = "count"
    SEE_HISTORY = "see the history"
    RULE = "people, settings, rules"


_T, _W, _A, _O = Role.TEACHER, Role.TECHNICIAN, Role.AUDITOR, Role.OFFICE
WHO: dict[Right, frozenset[Role]] = {
    Right.SIGNED_IN: frozenset(Role),
    Right.SEE_DEMOS: frozenset({_T, _W, _A, _O}),
    Right.BOOK: frozenset({_T, _W}),
    Right.SEE_STOCK: frozenset({_W, _A, _O}),
    Right.WORK: frozenset({_W}),
    Right.SEE_COUNT: frozenset({_W, _A, _O}),
    Right.COUNT: frozenset({_A}),
    Right.SEE_HISTORY: frozenset({_W, _A, _O}),
    Right.RULE: frozenset({_O}),
}

SCOPES: dict[str, frozenset[Right]] = {
    "read": frozenset({Right.SIGNED_IN, Right.SEE_DEMOS, Right.SEE_STOCK, Right.SEE_COUNT, Right.SEE_HISTORY}),
    "book": frozenset({Right.SIGNED_IN, Right.SEE_DEMOS, Right.BOOK}),
    "work": frozenset({Right.SIGNED_IN, Right.SEE_DEMOS, Right.SEE_STOCK, Right.WORK, Right.BOOK}),
    "count": frozenset({Right.SIGNED_IN, Right.SEE_STOCK, Right.SEE_COUNT, Right.COUNT}),
}
"""What a program's key may do at most; its person's roles come on top."""


def may(roles: frozenset[str], right: Right) -> bool:
    """Tell whether somebody of these roles has the right."""
    return right is Right.ANYONE or any(role in roles for role in WHO[right])
