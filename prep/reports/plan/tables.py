"""The plan as CSV files, for a spreadsheet: requirements, makes, takes, bottles, orders, warnings."""

from collections.abc import Iterable, Sequence
from pathlib import Path

from prep.planning.model import Plan, Snapshot
from prep.reports.csv_table import csv_bytes
from prep.reports.formatting import Names


def csv_files(plan: Plan, snapshot: Snapshot, folder: Path) -> list[tuple[Path, bytes]]:
    """One file a table, in the folder, each with its content."""
    names = Names(snapshot)

    def amount(item: str, base: int) -> str:
        return names.amount(item, base)

    tables: list[tuple[str, Sequence[str], Iterable[Sequence[str]]]] = [
        (
            "requirements",
            ("booking", "item", "name", "needed_on", "amount", "served_by", "short", "why"),
            (
                (
                    need.booking,
                    need.item,
                    names.of(need.item),
                    need.needed_on.isoformat(),
                    amount(need.item, need.amount),
                    "; ".join(f"{s.kind} {s.ref} {amount(need.item, s.amount)}" for s in need.served),
                    amount(need.item, need.short) if need.short else "",
                    need.why,
                )
                for need in plan.requirements
            ),
        ),
        (
            "makes",
            ("batch", "make_on", "solution", "name", "amount", "vessel", "use_by", "minutes", "left_over"),
            (
                (
                    batch.id,
                    batch.make_on.isoformat(),
                    batch.solution,
                    names.of(batch.solution),
                    amount(batch.solution, batch.amount),
                    batch.vessel,
                    batch.use_by.isoformat(),
                    str(batch.minutes),
                    amount(batch.solution, batch.left_over),
                )
                for batch in plan.batches
            ),
        ),
        (
            "takes",
            ("batch", "make_on", "item", "name", "from", "amount"),
            (
                (
                    batch.id,
                    batch.make_on.isoformat(),
                    take.item,
                    names.of(take.item),
                    f"{take.kind} {take.ref}",
                    amount(take.item, take.amount),
                )
                for batch in plan.batches
                for take in batch.takes
            ),
        ),
        (
            "bottles",
            ("bottle", "item", "name", "start", "end", "use_by"),
            (
                (
                    line.code,
                    line.item,
                    names.of(line.item),
                    amount(line.item, line.start),
                    amount(line.item, line.end),
                    line.use_by.isoformat() if line.use_by else "",
                )
                for line in plan.bottles
            ),
        ),
        (
            "orders",
            ("item", "name", "packs", "pack", "order_by", "needed_on", "arrives", "late", "why"),
            (
                (
                    line.item,
                    names.of(line.item),
                    str(line.packs),
                    amount(line.item, line.pack),
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
    return [(folder / f"{name}.csv", csv_bytes(header, rows)) for name, header, rows in tables]
