"""How people write a list of what is on their shelves: its headings, and amounts that are no bare figure."""

import re
from unicodedata import numeric

COLUMNS = (
    "code item cas amount unit bottles use_by location status received opened lot strength tare supplier cost "
    "note".split()
)
SYNONYMS = {
    "substance": "item",
    "chemical": "item",
    "solution": "item",
    "name": "item",
    "contents": "item",
    "reagent": "item",
    "substance_name": "item",
    "chemical_name": "item",
    "item_description": "item",
    "item_name": "item",
    "product": "item",
    "product_name": "item",
    "cas_number": "cas",
    "cas_no": "cas",
    "cas_rn": "cas",
    "cas_registry_number": "cas",
    "quantity": "amount",
    "size": "amount",
    "qty": "amount",
    "qty_in_bottle": "amount",
    "amount_in_bottle": "amount",
    "bottle_size": "amount",
    "pack_size": "amount",
    "no_of_bottles": "bottles",
    "number_of_bottles": "bottles",
    "no_bottles": "bottles",
    "containers": "bottles",
    "no_of_containers": "bottles",
    "number_of_containers": "bottles",
    "units": "unit",
    "expiry": "use_by",
    "expires": "use_by",
    "expiry_date": "use_by",
    "expires_on": "use_by",
    "use_by_date": "use_by",
    "best_before": "use_by",
    "exp": "use_by",
    "exp_date": "use_by",
    "place": "location",
    "at": "location",
    "where": "location",
    "kept": "location",
    "cupboard": "location",
    "shelf": "location",
    "storage_location": "location",
    "where_kept": "location",
    "where_stored": "location",
    "kept_in": "location",
    "stored_in": "location",
    "storage": "location",
    "lot_number": "lot",
    "lot_no": "lot",
    "batch": "lot",
    "batch_no": "lot",
    "batch_number": "lot",
    "batch_lot": "lot",
    "barcode": "code",
    "label": "code",
    "bottle": "code",
    "date_received": "received",
    "date_opened": "opened",
    "vendor": "supplier",
    "manufacturer": "supplier",
    "price": "cost",
    "concentration": "strength",
    "comment": "note",
    "notes": "note",
    "comments": "note",
}

ABOUT = re.compile(r"(?:about|approx(?:imately)?\b\.?|ca\.?(?=[\s\d])|circa|c\.|[~≈])\s*", re.IGNORECASE)
_VESSEL = re.compile(r"\s+(?:bag|bottle|btl|tub|jar|tin|drum|pack|packet|box)$", re.IGNORECASE)
_SIGN = re.compile(r"^([0-9]*)\s*([¼-¾⅐-⅞])(?=\s*[A-Za-z])")
PART_FULL = re.compile(
    r"(?:(?:about|approx\.?)\s+)?(?:½|¼|¾|half|a?\s?third|(?:a |three[ -])?quarters?|nearly|almost|part(?:ly)?)[ -]"
    r"(?:full|empty|used|left|gone)|[0-9]+ full,? (?:and )?[0-9]+ half",
    re.IGNORECASE,
)
"""A remark by which a bottle does not hold what its label says."""


def sized(text: str) -> str:
    """Write an amount as a person's sheet has it in figures: `approx 200 ml`, `½ L`, `1 kg bag`."""
    said = _VESSEL.sub("", ABOUT.sub("", text, count=1) if ABOUT.match(text) else text)
    return _SIGN.sub(lambda m: f"{int(m[1] or 0) + numeric(m[2]):.5g}", said)
