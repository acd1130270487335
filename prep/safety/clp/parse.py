"""Reading a written classification (`Skin Corr. 1B H314; STOT SE 3 H335`) into hazard classes."""

import re
from functools import cache

from prep.errors import PrepError
from prep.resources import seed_table
from prep.safety.hazard_tables import keyed, split
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


def supplemental_of(written: str) -> tuple[str, ...]:
    """Read supplemental statements (`EUH031; EUH206`).

    Raises PrepError for a code that is none, or that the regulation no longer has.
    """
    for code in split(written):
        if gone := keyed("deleted_statements", "code").get(code):
            now = f"; it now has {' or '.join(split(gone['now']))}" if gone["now"] else ""
            raise PrepError(f"'{code}' is no longer in the regulation{now}.")
        if not code.startswith("EUH") or code not in keyed("statements", "code"):
            raise PrepError(f"'{code[:40]}' is not a supplemental statement; write such as 'EUH031; EUH206'.")
    return split(written)


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
    for row in seed_table("class_labels"):
        for code in split(row["h_codes"]):
            written = f"{row['hazard_class']} {row['category']}".strip()
            found.setdefault((written, code), HazardClass(row["hazard_class"], row["category"], code, row["route"]))
    return found
