"""Age groups: the school's own list, each with the ways in which people write it."""

import re
from collections.abc import Sequence

from prep.errors import PrepError
from prep.records import record
from prep.wording import AtTerminal


@record(frozen=True, slots=True)
class AgeGroup:
    """An age group as the school calls it, and its other spellings (`Year 9`: `Y9`, `9`)."""

    name: str
    spellings: tuple[str, ...] = ()


def folded(text: str) -> str:
    """Reduce a name for comparing: `Lab 2` and `lab  2` are one, or a limit would be slipped.

    Names are typed by many hands.
    """
    return " ".join(text.casefold().split())


def group_named(text: str, groups: Sequence[AgeGroup]) -> str:
    """Find the school's own name of an age group by any of its spellings; empty stays empty.

    A number, or the first letters and a number (`8`, `Y8`, `yr 8`), is taken where only one group has it.
    Raises PrepError with the list where it is none of them.
    """
    wanted = folded(text)
    if not wanted:
        return ""
    for group in groups:
        if wanted in map(folded, (group.name, *group.spellings)):
            return group.name
    squeezed = re.sub(r"(?<!\d)0+(?=\d)", "", _squeezed(wanted))
    short = [group.name for group in groups if squeezed in _short_forms(group)]
    if len(short) == 1:
        return short[0]
    if not groups:
        raise PrepError(
            f'''"{text.strip()[:40]}" is no age group yet: the school's list is empty. Add it''',
            AtTerminal(f' with: prep book group add "{text.strip()[:40]}"'),
        )
    raise PrepError(
        f'"{text.strip()[:40]}" is no age group of the school; there are ',
        f"{', '.join(g.name for g in groups)} (another",
        AtTerminal(": prep book group add NAME --also SPELLING)"),
        ".",
    )


def _squeezed(text: str) -> str:
    return "".join(sign for sign in folded(text) if sign.isalnum())


def _short_forms(group: AgeGroup) -> set[str]:
    """List the ways in which people shorten a word and a number: `Year 8` is year8, yr8, y8 and 8."""
    found = re.fullmatch(r"([^\W\d]+)(\d+)", _squeezed(group.name))
    if found is None:
        return {_squeezed(group.name)}
    word, number = found[1], found[2].lstrip("0") or "0"
    return {f"{start}{number}" for start in (word, word[0], word[0] + word[-1], "")}


def clash(new: AgeGroup, groups: Sequence[AgeGroup]) -> str:
    """Find a spelling of a group that another group has already; empty if there is none."""
    taken = {folded(said): one.name for one in groups for said in (one.name, *one.spellings)}
    return next((said for said in (new.name, *new.spellings) if folded(said) in taken), "")
