"""The lists for a regulator: on screen, as JSON, as CSV and on paper. Amounts are in g and mL."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from prep.books import BottleStatus
from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.dates import day_alone, in_days
from prep.plurals import plural
from prep.reports import terminal
from prep.reports.csv_table import csv_bytes
from prep.reports.pdf import fonts
from prep.reports.pdf.pages import WIDTH, Paper, build, gap
from prep.reports.stock import held_document, moved_document

if TYPE_CHECKING:
    from prep.services.stock.register import ClassTotal, ControlledItem, Registered
    from prep.store.jobs.history import HistoryLine

_NUMBERS = frozenset({"Amount", "g", "mL", "Bottles", "In", "Out", "Left"})


@dataclass(frozen=True, slots=True)
class ListTable:
    """A list ready to be written: its title, its columns, its rows."""

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    on_paper: "ListTable | None" = None
    """The same in fewer columns, where a sheet of paper has no room for all."""

    def csv(self) -> bytes:
        """Write the list as a file for a spreadsheet."""
        return csv_bytes(self.header, self.rows, bom=True)

    def pdf(self, heading: Sequence[str] = ()) -> bytes:
        """Write the list as PDF to print; `heading` says whose it is and of what."""
        if self.on_paper is not None:
            return self.on_paper.pdf(heading)

        rows = tuple(tuple(in_days(cell, _whole_day) for cell in row) for row in self.rows)

        def story(paper: Paper) -> list[Any]:
            cells = [[paper.text(name, 8, bold=True) for name in self.header]]
            cells += [
                [paper.text(cell, 8, right=name in _NUMBERS) for name, cell in zip(self.header, row, strict=True)]
                for row in rows
            ]
            table = paper.table(cells, _widths(self.header, rows, WIDTH), header=True, pad=2)
            said = [part for line in heading for part in (gap(2), paper.text(in_days(line), 9))]
            return [paper.text(self.title, 15, bold=True), *said, gap(6), table]

        return build(self.title, story)


def _whole_day(on: date) -> str:
    """Write a day that stays on one line of paper."""
    return day_alone(on).replace(" ", "\N{NO-BREAK SPACE}")


def amount_of(amount: int) -> str:
    """Write an amount in g or mL, as a plain number."""
    return f"{(Decimal(amount) / BASE_PER_UNIT).normalize():f}"


def _measured(amount: int) -> str:
    """Write an amount in g or mL to the five figures that a measurement has at most, as a plain number."""
    return f"{Decimal(f'{Decimal(amount) / BASE_PER_UNIT:.5g}').normalize():f}"


def bottles(found: Sequence["Registered"]) -> ListTable:
    """List bottles with all that is on file of each."""
    header = "Code|Item|CAS|Amount|Unit|Strength|Hazard classes|At|Supplier|Lot|Received|Opened|Use by|Status|g"
    rows = tuple(
        (
            one.held.code,
            one.held.name,
            one.cas,
            amount_of(one.held.balance),
            _unit(one.held.measure),
            one.held.strength or "",
            "not known" if one.hazards is None else "; ".join(one.hazards),
            one.held.location,
            one.held.supplier or "",
            one.held.lot,
            *(day.isoformat() if day else "" for day in (one.held.received, one.held.opened, one.held.use_by)),
            one.held.status,
            "" if one.grams is None else f"{one.grams:.1f}",
        )
        for one in found
    )
    return ListTable("Bottles", tuple(header.split("|")), rows, _bottles_on_paper(found))


def _bottles_on_paper(found: Sequence["Registered"]) -> ListTable:
    """List bottles in the columns that a sheet of paper has room for."""
    rows = tuple(
        (
            one.held.code,
            f"{one.held.name}{f' [{one.held.strength}]' if one.held.strength else ''}",
            one.cas,
            f"{_measured(one.held.balance)} {_unit(one.held.measure)}",
            "not known" if one.hazards is None else "; ".join(one.hazards),
            one.held.location,
            ", ".join(filter(None, (one.held.supplier or "", one.held.lot))),
            *(day.isoformat() if day else "" for day in (one.held.received, one.held.use_by)),
            "" if one.held.status == BottleStatus.IN_SERVICE else one.held.status,
        )
        for one in found
    )
    header = ("Code", "Item", "CAS", "Amount", "Hazard classes", "At", "Supplier, lot", "Came", "Use by", "Status")
    return ListTable(f"Bottles ({len(rows)})", header, rows)


def show_bottles(found: Sequence["Registered"]) -> None:
    """Print bottles in the few columns that a terminal has room for."""
    rows = [
        (
            one.held.code,
            one.held.name + (f" [{one.held.strength}]" if one.held.strength else ""),
            one.held.shown,
            one.cas,
            one.held.location,
            one.held.supplier or "",
        )
        for one in found
    ]
    terminal.table(("Bottle", "Holds", "Amount", "CAS", "At", "Supplier"), rows, right=(2,))
    terminal.say(f"{plural(len(found), 'bottle')}.")


def moves(found: Sequence["HistoryLine"], names: Mapping[str, str] | None = None) -> ListTable:
    """List movements, one a row; on paper each item by its name."""
    header = ("Job", "Date", "What", "Bottle", "Item", "Amount", "Unit", "By", "Why")
    rows = tuple(
        (
            str(one.job),
            one.on.isoformat(),
            one.kind,
            one.bottle,
            one.item,
            amount_of(one.amount) if one.amount else "",
            _unit(one.measure) if one.amount else "",
            one.by,
            one.reason,
        )
        for one in found
    )
    at = header.index("Item")  # the amount is beside it
    named = tuple(
        (
            *row[:at],
            (names or {}).get(one.item, one.item),
            _measured(one.amount) if one.amount else "",
            *row[at + 2 :],
        )
        for one, row in zip(found, rows, strict=True)
    )
    return ListTable("Movements", header, rows, ListTable(f"Movements ({len(rows)})", header, named))


def totals(found: Sequence["ClassTotal"]) -> ListTable:
    """List totals per hazard class, against the school's own limits."""
    rows = tuple(
        (
            one.hazard,
            str(one.bottles),
            f"{one.grams:.1f}" + (f" and {one.unweighed} not weighed" if one.unweighed else ""),
            f"{one.millilitres:.1f}",
            one.limit,
            "OVER" if one.over else "",
        )
        for one in found
    )
    return ListTable("Held of each hazard class", ("Class", "Bottles", "g", "mL", "Limit", "Over"), rows)


def controlled(found: Sequence["ControlledItem"]) -> ListTable:
    """List every movement of what the school controls, oldest first, and what each left."""
    header = ("CAS", "Date", "Job", "Bottle", "What", "In", "Out", "Unit", "By", "Why", "Item", "Left")
    rows: list[tuple[str, ...]] = []
    printed: list[tuple[str, ...]] = []
    for item in found:
        unit = _unit(item.bottles[0].measure)
        printed.append((f"{item.name}, {item.cas}", "", "before", "", "", f"{amount_of(item.before)} {unit}", "", ""))
        left = item.before
        for one in item.moves:
            left += one.amount
            came, went = (amount_of(way) if way > 0 else "" for way in (one.amount, -one.amount))
            about = (one.on.isoformat(), str(one.job), one.bottle, one.kind)
            rows.append((item.cas, *about, came, went, unit, one.by, one.reason, item.name, amount_of(left)))
            cells = (came, went, f"{amount_of(left)} {unit}", one.by, one.reason)
            printed.append((about[0], one.bottle, f"{one.kind} (job {one.job})", *cells))
    heads = ("Date", "Bottle", "What", "In", "Out", "Left", "By", "Why")
    title = "What the school controls"
    return ListTable(title, header, tuple(rows), ListTable(title, heads, tuple(printed)))


def controlled_on_screen(item: "ControlledItem") -> ListTable:
    """List the movements of one controlled item, as narrow as a screen is; its name and number head it."""
    whole = controlled([item])
    rows = tuple(
        (on, job, bottle, what, came and f"{came} {unit}", went and f"{went} {unit}", by, why)
        for _, on, job, bottle, what, came, went, unit, by, why, *_ in whole.rows
    )
    return ListTable(
        f"{item.name}, controlled as {item.cas}", ("Date", "Job", "Bottle", "What", "In", "Out", "By", "Why"), rows
    )


def left(found: Sequence["ControlledItem"]) -> list[str]:
    """Say what is left of each controlled item."""
    out = []
    for item in found:
        whole = sum(bottle.balance for bottle in item.bottles)
        measure = item.bottles[0].measure
        out.append(
            f"{item.name}, controlled as {item.cas}: {amount_of(whole)} {_unit(measure)} left in "
            f"{plural(len(item.bottles), 'bottle')}."
        )
    return out


def bottle_document(one: "Registered") -> dict[str, Any]:
    """Write a bottle of the register as JSON."""
    hazards = None if one.hazards is None else list(one.hazards)
    return held_document(one.held) | {"cas": one.cas, "hazards": hazards, "grams": one.grams and float(one.grams)}


def total_document(one: "ClassTotal") -> dict[str, Any]:
    """Write a total of a hazard class as JSON."""
    return {
        "class": one.hazard,
        "bottles": one.bottles,
        "mass": {"value": float(one.grams), "unit": "g"},
        "volume": {"value": float(one.millilitres), "unit": "mL"},
        "not_weighed": one.unweighed,
        "limit": one.limit or None,
        "over": one.over,
    }


def controlled_document(one: "ControlledItem") -> dict[str, Any]:
    """Write a controlled item with its movements as JSON."""
    whole = sum(bottle.balance for bottle in one.bottles)
    return {
        "cas": one.cas,
        "item": one.item,
        "name": one.name,
        "left": quantities.as_json(whole, one.bottles[0].measure),
        "before": quantities.as_json(one.before, one.bottles[0].measure),
        "after": quantities.as_json(one.after, one.bottles[0].measure),
        "movements": [moved_document(move) for move in one.moves],
    }


def _unit(measure: Measure) -> str:
    return "g" if measure is Measure.MASS else "mL"


_PADDING = 5.0
_LONGEST = 112.0
"""Points: what stands beside the text of a cell, and the longest word that is never broken."""


def _widths(header: Sequence[str], rows: Sequence[Sequence[str]], width: float) -> list[float]:
    """Share out the width so that no column breaks a word, where the page has room for that.

    What is over goes where the text is longest.
    """

    def across(text: str, font: str = fonts.REGULAR) -> float:
        return fonts.width(text, font, 8) + _PADDING

    least, wanted = [], []
    for name, *cells in zip(header, *rows, strict=True):
        words = {word for cell in cells for word in cell.split(" ")}
        widest = max([across(name, fonts.BOLD), *map(across, words)])
        least.append(min(widest, _LONGEST))
        wanted.append(max(0.0, min(250.0, max([0.0, *map(across, set(cells))])) - least[-1]))
    over = width - sum(least)
    if over < 0:
        return [width * one / sum(least) for one in least]
    return [one + over * (more + 1) / (sum(wanted) + len(wanted)) for one, more in zip(least, wanted, strict=True)]
