"""How a count is written down, on the command line or in a cell of the sheet, and how it becomes a method.

A method travels as a small document (JSON) from the entry to the day the count is judged.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Instrument, InstrumentKind, Measure
from prep.chemistry.quantities import plain
from prep.chemistry.typed_number import point
from prep.errors import PrepError
from prep.stocktake.methods import DENSITY_PCT, ClosedPacks, LevelCount, Method, WeighedCount, as_fine_as
from prep.stocktake.tolerances import BENCH_PCT, written_pct
from prep.stocktake.verdict import SEEN
from prep.wording import Flag

if TYPE_CHECKING:
    from prep.store.stocktakes import Tally

_GROSS = re.compile(r"^G\s*([0-9].*)$|^(.*[A-Za-z].*)\sG$")
_LEVEL = re.compile(r"^L\s*([0-9]{1,2})$|^([0-9]{1,2})\s*/\s*10$", re.IGNORECASE)
ACCEPTED = (
    "write an amount with its unit (250 mL, 12.5 g), 0 for empty, G and the weight with the bottle (G 345.6 g), "
    "L and tenths of full (L7), FULL for unopened, NF for not found, or ? for a label that cannot be read"
)


class CellKind(StrEnum):
    """How a count's cell says what is in a bottle, or that there is none."""

    AMOUNT = "amount"
    GROSS = "gross"
    LEVEL = "level"
    FULL = "full"
    NOT_FOUND = "not found"
    UNREADABLE = "unreadable"
    EMPTY = "empty"


@dataclass(frozen=True, slots=True)
class CountCell:
    """What stands in a count's cell: an amount or weight as `text`, a level in `tenths` of full."""

    kind: CellKind
    text: str = ""
    tenths: int = 0


def read(text: str) -> CountCell:
    """Read what a cell of the sheet says. Raises PrepError."""
    cell = text.strip()
    low = cell.lower()
    if not cell:
        return CountCell(CellKind.EMPTY)
    if low in ("nf", "not found"):
        return CountCell(CellKind.NOT_FOUND)
    if cell == "?":
        return CountCell(CellKind.UNREADABLE)
    if low == "full":
        return CountCell(CellKind.FULL)
    if found := _LEVEL.match(cell):
        return CountCell(CellKind.LEVEL, tenths=int(found[1] or found[2]))
    if found := _GROSS.match(cell):
        mass = point((found[1] or found[2]).strip())
        return CountCell(CellKind.GROSS, mass if re.search("[A-Za-z]", mass) else f"{mass} g")
    if re.fullmatch(r"0+(?:[.,]0+)?", cell):
        return CountCell(CellKind.AMOUNT, "0")
    if re.fullmatch(r"[0-9.,]+\s*G", cell):
        raise PrepError(f'"{cell[:40]}": is that grams, or the weight with the bottle? {ACCEPTED}.')
    return CountCell(CellKind.AMOUNT, point(cell))


def of_amount(text: str, measure: Measure, code: str) -> dict[str, Any]:
    """Record the method of an amount read off or measured. Raises PrepError."""
    if text == "0":
        return {"by": "amount", "amount": 0}
    typed = quantities.amount(text, zero=True)
    if typed.base and (typed.measure is not measure or typed.drops):
        unit = "a volume such as 250 mL" if measure is Measure.VOLUME else "a mass such as 25 g"
        raise PrepError(f'"{text[:40]}": bottle {code} is counted by {measure.value}; write {unit}.')
    written = {"by": "amount", "amount": typed.base}
    if measure is Measure.MASS and typed.base:
        return written | {"pct": str(written_within_pct(text))}
    return written


def of_net_weight(text: str, density_g_ml: Decimal) -> dict[str, Any]:
    """Record the method of a liquid weighed without its bottle; both the weight and the density are off. Raises."""
    volume = quantities.to_base(quantities.mass_g(text) / density_g_ml)
    pct = written_within_pct(text) + DENSITY_PCT
    return {"by": "amount", "amount": as_fine_as(volume, float(volume * pct / 100)), "pct": str(pct)}


def written_within_pct(text: str) -> Decimal:
    """Tell within what a mass is known by the last figure that was written of it, % of it: `940.1 g` was weighed.

    A round figure ends at its last one that is no 0.
    """
    number = re.match(r"[\d.]+", text.strip())
    figure = Decimal(number[0]) if number else Decimal(0)
    shown = figure if "." in text else figure.normalize()
    return written_pct(figure, Decimal(1).scaleb(int(shown.as_tuple().exponent)))


def of_weight(
    gross: str,
    tare: Decimal | None,
    code: str,
    balances: Iterable[Instrument],
    balance: str | None,
    density: Decimal | None,
) -> dict[str, Any]:
    """Record the method of weighing with the bottle; the tare in [g]. Raises PrepError."""
    gross_g = quantities.mass_g(point(gross))
    if tare is None:
        raise PrepError(f"The weight of bottle {code} when empty is not on file; give it with ", Flag("--tare"), ".")
    scale = _scale(gross_g, list(balances), balance)
    return {
        "by": "weighing",
        "gross_g": plain(gross_g),
        "tare_g": plain(tare),
        "balance": scale.code,
        "density_g_ml": None if density is None else plain(density),
    }


def _scale(gross_g: Decimal, balances: list[Instrument], named: str | None) -> Instrument:
    known = sorted((b for b in balances if b.kind is InstrumentKind.BALANCE), key=lambda b: b.resolution)
    if named is not None:
        for one in known:
            if one.code == named:
                return one
        codes = ", ".join(b.code for b in known) or "none on file"
        raise PrepError(f'"{named[:40]}" is no balance of this room; there are: {codes}.')
    for one in reversed(known):  # the coarsest balance that carries it, as a store is counted with
        if one.capacity >= gross_g:
            return one
    raise PrepError("No balance of this room carries that much; judge the bottle by its level (L7).")


def measure_of(entry: "Tally", catalogue: Catalogue) -> Measure:
    """Tell by what an entry is counted: as its item is, or as the amount of what nobody could name was typed."""
    typed = (entry.method or {}).get("measure")
    return Measure(typed) if typed else catalogue.measure(entry.item)


def said(entry: "Tally", measure: Measure) -> str:
    """Describe in words what was written down of a bottle."""
    if entry.kind == "not found":
        return "not found"
    if entry.method is None or entry.method["by"] == "seen":
        return SEEN
    method = entry.method
    if method["by"] == "weighing":
        return f"{method['gross_g']} g with the bottle, {method['tare_g']} g empty"
    if method["by"] == "level":
        return f"{method['tenths']} tenths of {quantities.show(int(method['full']), measure)}"
    unopened = "unopened, " if method["by"] == "full" else ""
    return unopened + quantities.show(entry.amount, measure, None)


def method_of(document: Mapping[str, Any] | None, instruments: Mapping[str, Instrument]) -> Method | None:
    """Read the method that a document describes; None for what was not found. Raises PrepError."""
    if document is None:
        return None
    match document["by"]:
        case "amount":
            amount = int(document["amount"])
            return (
                ClosedPacks(1, amount, Decimal(document.get("pct", BENCH_PCT)))
                if amount
                else ClosedPacks(0, 1, Decimal(0))
            )
        case "seen":
            return None
        case "full":
            return ClosedPacks(1, int(document["amount"]))
        case "level":
            return LevelCount(int(document["tenths"]), int(document["full"]))
        case _:
            scale = instruments.get(document["balance"])
            if scale is None:
                raise PrepError(f"The balance {document['balance']} of this entry is no longer on file.")
            density = document["density_g_ml"]
            return WeighedCount(
                Decimal(document["gross_g"]),
                Decimal(document["tare_g"]),
                scale,
                None if density is None else Decimal(density),
            )
