"""The room's glassware and balances: what there is, and how many; none of a kind means the plan never uses it."""

from collections.abc import Sequence
from datetime import date
from difflib import get_close_matches
from pathlib import Path

from prep.books import JobKind
from prep.chemistry.model import Instrument
from prep.errors import PrepError
from prep.services.files.csv_file import whole
from prep.services.inventory import session
from prep.store import queries
from prep.wording import AtTerminal

MOST = 10_000


def listed(db: Path | None, search: str | None) -> list[Instrument]:
    """List every instrument on file, also those of which the room has none. Raises PrepError if nothing matches."""
    from prep.services.catalogue.lookup import matching

    with session.reading(db) as connection:
        known = {one.code: one for one in queries.all_instruments(connection)}
    texts = {code: (one.name, one.kind.value, one.grade and f"class {one.grade}") for code, one in known.items()}
    return [known[code] for code in matching(texts, search)]


def set_counts(db: Path | None, pairs: Sequence[str], by: str, on: date) -> list[Instrument]:
    """Set how many there are, from `code number code number ...`; returns those instruments. Raises PrepError."""
    if not pairs or len(pairs) % 2:
        raise PrepError(
            "Give instruments and how many of each, such as", AtTerminal(": prep glassware set cylinder-2000 0")
        )
    from prep.store import ledger, queries, seeding

    with session.writing(db) as connection:
        before = queries.all_instruments(connection)
        counts = {
            _find(name, before).code: _count(name, number) for name, number in zip(pairs[::2], pairs[1::2], strict=True)
        }
        changed = [one for one in before if counts.get(one.code, one.count) != one.count]
        seeding.set_counts(connection, {one.code: counts[one.code] for one in changed})
        if changed:
            said = ", ".join(f"{one.code} {one.count} -> {counts[one.code]}" for one in changed)
            ledger.begin(connection, JobKind.SETTINGS, by, on, f"glassware: {said}")
        return [one for one in queries.all_instruments(connection) if one.code in counts]


def _count(name: str, number: str) -> int:
    try:
        return whole(number, 0, MOST)
    except PrepError as problem:
        raise PrepError(f"{name}: ", problem.sentence) from None


def _find(name: str, known: Sequence[Instrument]) -> Instrument:
    wanted = name.strip().casefold()
    for one in known:
        if wanted in (one.code.casefold(), one.name.casefold()):
            return one
    near = get_close_matches(wanted, [one.code for one in known], n=3, cutoff=0.5)
    hint = f" Near: {', '.join(near)}." if near else ""
    raise PrepError(f'"{name[:40]}" is no instrument on file', AtTerminal("; see: prep glassware list"), f".{hint}")
