"""Until when something is added: a pH, a colour of the indicator in the vessel, or so many drops."""

import re

from prep.errors import PrepError
from prep.records import record

COLOUR_BEGINS, COLOUR_CHANGED, NEXT_COLOUR = "colour begins", "colour changed", "next colour"
COLOURS = (COLOUR_BEGINS, COLOUR_CHANGED, NEXT_COLOUR)
MOST_DROPS = 20_000
_DROPS = re.compile(r"\s*(\d{1,5})\s*drops?\s*")
_PH = re.compile(r"\s*[pP][hH]\s*(\d{1,2}(?:[.,]\d{1,2})?)\s*")


_SAID = (
    (re.compile(r"(?:its |the |it |a )*colou?r (?:begins|starts)(?: to change)?|begins to change"), COLOUR_BEGINS),
    (
        re.compile(r"(?:its |the |it |a )*colou?r (?:has )?(?:changes?|changed)|(?:it )?changes(?: colou?r)?"),
        COLOUR_CHANGED,
    ),
    (re.compile(r"(?:the )?next (?:colou?r|band)"), NEXT_COLOUR),
)
"""The ends by colour, in the words in which people say them."""


@record(frozen=True, slots=True)
class AddedUntil:
    """Until when something is added, `pH 7.0` or a colour, or how many drops."""

    said: str = ""
    drops: int = 0


def until_of(text: str) -> AddedUntil:
    """Read until when something is added. Raises PrepError."""
    said = " ".join(text.split())
    if found := _DROPS.fullmatch(said):
        if not 1 <= int(found[1]) <= MOST_DROPS:
            raise PrepError(f'"{said[:40]}": write 1 to {MOST_DROPS} drops.')
        return AddedUntil(drops=int(found[1]))
    if found := _PH.fullmatch(said):
        ph = found[1].replace(",", ".")
        if float(ph) <= 14:
            return AddedUntil(f"pH {ph}")
    for form, end in _SAID:
        if form.fullmatch(said.casefold()):
            return AddedUntil(end)
    listed = ", ".join(f'"{one}"' for one in COLOURS[:-1])
    raise PrepError(f'"{said[:40]}" is no end; write such as "pH 7.0", "20 drops", {listed} or "{COLOURS[-1]}".')
