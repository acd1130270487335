"""Until when something is added: a pH, a colour of the indicator in the vessel, or so many drops."""

import re

from prep.errors import PrepError

COLOUR_BEGINS, COLOUR_CHANGED, NEXT_COLOUR = "colour begins", "colour changed", "next colour"
COLOURS = (COLOUR_BEGINS, COLOUR_CHANGED, NEXT_COLOUR)
MOST_DROPS = 20_000
_DROPS = re.compile(r"\s*(\d{1,5})\s*drops?\s*")
_PH = re.compile(r"\s*[pP][hH]\s*(\d{1,2}(?:[.,]\d{1,2})?)\s*")


def until_of(text: str) -> tuple[str, int]:
    """Read until when something is added, `pH 7.0` or a colour, or how many drops. Raises PrepError."""
    said = " ".join(text.split())
    if found := _DROPS.fullmatch(said):
        if not 1 <= int(found[1]) <= MOST_DROPS:
            raise PrepError(f'"{said[:40]}": write 1 to {MOST_DROPS} drops.')
        return "", int(found[1])
    if found := _PH.fullmatch(said):
        ph = found[1].replace(",", ".")
        if float(ph) <= 14:
            return f"pH {ph}", 0
    if said.casefold() in COLOURS:
        return said.casefold(), 0
    raise PrepError(f'"{said[:40]}" is no end; write such as "pH 7.0", "20 drops" or "{COLOURS[0]}".')
