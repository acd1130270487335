"""What people type and files hold is looked at once, here, before anything is written down."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal, InvalidOperation

from prep.errors import PrepError
from prep.wording import Flag

MOST_JOBS = 2**31 - 1
"""The largest number that a job can have on any database."""


def printable(text: str, most: int = 200, label: str = "this") -> str:
    """Check that a text can stand in the books, on one line and on a label, and give it back. Raises PrepError."""
    if len(text) > most or not text.isprintable():
        raise PrepError(label, f" is at most {most} printable characters.")
    return text


def within(number: int, least: int, most: int, label: str) -> int:
    """Check that a whole number lies from `least` to `most`, and give it back. Raises PrepError."""
    if not least <= number <= most:
        raise PrepError(label, f" is a number from {least} to {most}.")
    return number


@contextmanager
def naming(option: Flag) -> Iterator[None]:
    """Name the option in what is said of the words typed after it. Raises PrepError as what stands inside does."""
    try:
        yield
    except PrepError as problem:
        said = problem.sentence
        raise PrepError(option, " " if said.startswith('"') else ": ", said) from None


_CAS = re.compile(r"(\d{2,7})-(\d{2})-(\d)")
_NO_CAS = '"{}" is no CAS number; such as 7647-01-0, whose last figure checks the others.'
_FLASH_LEAST_C, _FLASH_MOST_C = -150, 500
_FLASH_BELOW_C = {"Flam. Liq. 1": 23, "Flam. Liq. 2": 23, "Flam. Liq. 3": 75}


def is_like_cas_number(text: str) -> bool:
    """Tell whether a text is written as a CAS registry number is, whether its last figure is right or not."""
    return _CAS.fullmatch(text) is not None


def slip_in_cas_number(text: str) -> str:
    """Say that the last figure of what is written as a CAS number does not check the others; else empty."""
    found = _CAS.fullmatch(text)
    if not found or sum(n * int(one) for n, one in enumerate(reversed(found[1] + found[2]), 1)) % 10 == int(found[3]):
        return ""
    return _NO_CAS.format(text[:20])


def cas_number(text: str) -> str:
    """Check the form and the check digit of a CAS registry number, and give it back. Raises PrepError."""
    if not is_like_cas_number(text) or slip_in_cas_number(text):
        raise PrepError(_NO_CAS.format(text[:20]))
    return text


def flash_point(text: str, classification: str) -> Decimal:
    """Read a flash point [degC] that a liquid of this classification can have. Raises PrepError.

    Regulation (EC) No 1272/2008, Annex I, 2.6.2: below 23 degC for categories 1 and 2, up to 60 for 3 (75 for fuels).
    """
    try:
        value = Decimal(text)
    except InvalidOperation:
        raise PrepError(f'"{text[:40]}" is no number; write it with a point, such as 2.5.') from None
    if not value.is_finite() or not _FLASH_LEAST_C <= value <= _FLASH_MOST_C:
        raise PrepError(f'"{text[:40]}" is no flash point; it lies between {_FLASH_LEAST_C} and {_FLASH_MOST_C} degC.')
    for written, below in _FLASH_BELOW_C.items():
        if written in classification and value > below:
            raise PrepError(f'"{text[:40]}" degC is no flash point of {written}, which is at most {below} degC.')
    return value
