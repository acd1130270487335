"""Reading a written classification (`Skin Corr. 1B H314; STOT SE 3 H335`) into hazard classes."""

import re
from functools import cache

from prep.errors import PrepError
from prep.safety.hazard_tables import rows, split
from prep.safety.model import HazardClass

NOT_CLASSIFIED = "not classified"
_ONE = re.compile(r"^(?P<head>.+?)\s+(?P<h>H\d{3}[A-Za-z]*)$")


@cache
def classes_of(classification: str) -> tuple[HazardClass, ...]:
    """Read the hazard classes of a classification; none for `not classified` and for nothing written.

    Raises PrepError for a part that is no class, category and statement that belong together.
    """
    if classification.casefold() in ("", NOT_CLASSIFIED):
        return ()
    return tuple(_class(part) for part in split(classification))


def _class(part: str) -> HazardClass:
    found = _ONE.match(part)
    if found and (known := _written().get((found["head"], found["h"]))):
        return known
    raise PrepError(
        f"'{part}' is not a hazard class with its statement; write it like 'Skin Corr. 1B H314', several "
        "separated by ';', or 'not classified', or leave it empty if not known."
    )


@cache
def _written() -> dict[tuple[str, str], HazardClass]:
    """Index every class by its words and statement; of several rows the first."""
    found: dict[tuple[str, str], HazardClass] = {}
    for row in rows("class_labels"):
        for code in split(row["h_codes"]):
            written = f"{row['hazard_class']} {row['category']}".strip()
            found.setdefault((written, code), HazardClass(row["hazard_class"], row["category"], code, row["route"]))
    return found
