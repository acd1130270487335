"""The plan as CSV files, for a spreadsheet: requirements, makes, takes, bottles, orders, warnings."""

from collections.abc import Iterable, Sequence
from pathlib import Path

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.planning.model import Plan, Snapshot
from prep.reports.csv_table import csv_bytes
from prep.reports.formatting import ItemNames
from prep.reports.output_files import OutputFile


def csv_files(plan: Plan, snapshot: Snapshot, folder: Path) -> list[OutputFile]:
    """Write one CSV file a table, in the folder, each with its content."""
    names, catalogue = ItemNames(snapshot), snapshot.catalogue

    def amount(base: int) -> str:
        """Write an amount in the unit of the row, so that a spreadsheet can add it up."""
        return quantities.plain(quantities.from_base(base))

    def unit(item: str) -> str:
        return "g" if catalogue.measure(item) is Measure.MASS else "mL"

    tables: list[tuple[str, Sequence[str], Iterable[Sequence[str]]]] = [
        (
            "requirements",
            ("booking", "item", "name", "needed_on", "amount", "unit", "served_by", "short", "why"),
            (
                (
                    need.booking,
                    need.item,
                    names.of(need.item),
                    need.needed_on.isoformat(),
                    amount(need.amount),
                    unit(need.item),
                    "; ".join(f"{s.kind} {s.ref} {names.amount(need.item, s.amount)}" for s in need.served),
                    amount(need.short) if need.short else "",
                    need.why,
                )
                for need in plan.requirements
            ),
        ),
        (
            "makes",
            ("batch", "make_on", "solution", "name", "amount", "unit", "vessel", "use_by", "minutes", "left_over"),
            (
                (
                    batch.id,
                    batch.make_on.isoformat(),
                    batch.solution,
                    names.of(batch.solution),
                    amount(batch.amount),
                    unit(batch.solution),
                    batch.vessel,
                    batch.use_by.isoformat(),
                    str(batch.minutes),
                    amount(batch.left_over),
                )
                for batch in plan.batches
            ),
        ),
        (
            "takes",
            ("batch", "make_on", "item", "name", "from", "amount", "unit"),
            (
                (
                    batch.id,
                    batch.make_on.isoformat(),
                    take.item,
                    names.drawn(take),
                    f"{take.kind} {take.ref}",
                    amount(take.amount),
                    unit(take.item),
                )
                for batch in plan.batches
                for take in batch.takes
            ),
        ),
        (
            "bottles",
            ("bottle", "item", "name", "start", "end", "unit", "use_by"),
            (
                (
                    line.code,
                    line.item,
                    names.of(line.item),
                    amount(line.start),
                    amount(line.end),
                    unit(line.item),
                    line.use_by.isoformat() if line.use_by else "",
                )
                for line in plan.bottles
            ),
        ),
        (
            "orders",
            ("item", "name", "packs", "pack", "unit", "order_by", "needed_on", "arrives", "late", "why"),
            (
                (
                    line.item,
                    names.of(line.item),
                    str(line.packs),
                    amount(line.pack),
                    unit(line.item),
                    line.order_by.isoformat(),
                    line.needed_on.isoformat(),
                    line.arrives.isoformat(),
                    "yes" if line.late else "no",
                    line.why,
                )
                for line in plan.orders
            ),
        ),
        (
            "warnings",
            ("severity", "code", "about", "message", "cure"),
            ((f.severity, f.code, f.about, f.message, f.cure) for f in plan.findings),
        ),
    ]
    return [OutputFile(folder / f"{name}.csv", csv_bytes(header, rows)) for name, header, rows in tables]
