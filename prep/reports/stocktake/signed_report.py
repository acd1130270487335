"""A count's report as it is read and signed: what it is of, what is flagged, and the rest after it."""

import re
from dataclasses import replace
from typing import Any

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.dates import day, in_days
from prep.reports.stocktake.count_tables import AmountCell, PrintedCount, Section, difference_row, sections
from prep.services.stocktake.report import EarlierCount, Report
from prep.wording import AtTerminal, Sentence

_FIND = re.compile(r"\(found [0-9]+\)")
"""What a find is called before it has a code."""
_DIFFERENCE = ("Bottle", "Holds", "On the books", "Counted", "Difference", "Measuring explains")


def heading(made: Report) -> list[str]:
    """Say what the report is of, who opened and closed it, and the seal of the books behind it."""
    count = made.count
    kind = "blind" if count.blind else "not blind"
    lines = [f"Report of {made.says.on}. Opened on {count.opened_on} by {count.opened_by}; {kind}."]
    if count.closed_on is not None:
        lines.append(f"Closed on {count.closed_on} by {count.closed_by}, as job {count.job}.")
        tells = AtTerminal(" (prep db check --seal tells whether books are these)")
        lines.append(Sentence(f"Seal of the books: {made.signed.seal}", tells, "."))
        if made.signed.access_seal:
            lines.append(f"Seal of who came in: {made.signed.access_seal} (as above).")
    else:
        lines.append("Not closed: nothing is posted or signed.")
    lines += made.signed.signed_before
    if made.says.value is not None:
        lines.append(f"Value of what is left, where its cost is known: {made.says.value:.2f}.")
    return lines


def paper(made: Report) -> PrintedCount:
    """Make what is printed of a report: every page says the seal of the books."""
    count = made.count
    title = f"Count {count.code} of {count.location or 'all places'}, {count.status}"
    seal = f"Seal of the books: {made.signed.seal}" if count.closed_on is not None else ""
    said = [in_days(line) for line in heading(made)]
    return PrintedCount(title, made.signed.school, said, shown(made), seal)


def flagged(made: Report) -> Section:
    """List the differences that measuring does not explain, with who counted and a likely cause."""
    stood = {b.books.bottle: b for b in made.says.counted + made.says.not_found}
    causes = made.signed.causes or {}
    rows = []
    for verdict in made.says.differences:
        if not verdict.flagged:
            continue
        bottle = stood[verdict.bottle]
        who = [one.by for one in made.signed.entries if one.bottle == verdict.bottle] or [bottle.counted_by]
        times = f"once by {who[0]}" if len(who) == 1 else f"{len(who)} times: {', '.join(who)}"
        told = causes.get(verdict.bottle, "")
        rows.append((*difference_row(verdict, bottle.name)[:-1], times, told))
    return Section(
        "flagged",
        "Differences that measuring does not explain",
        (*_DIFFERENCE, "Looked for", "Likely cause"),
        tuple(rows),
        (2, 3, 4, 5),
        sentences=len(_DIFFERENCE) + 1,
    )


def explained(made: Report) -> Section:
    """List the differences that measuring explains."""
    names = {b.books.bottle: b.name for b in made.says.counted + made.says.not_found}
    rows = tuple(difference_row(v, names[v.bottle])[:-1] for v in made.says.differences if not v.flagged)
    return Section("explained", "Differences that measuring explains", _DIFFERENCE, rows, (2, 3, 4, 5))


def shown(made: Report) -> list[Section]:
    """List every part in the order of the paper: what is flagged first."""
    says = made.says
    elsewhere = Section(
        "elsewhere",
        "Stands elsewhere than the books say",
        ("Bottle", "Holds", "On the books at", "Found at"),
        tuple((b.books.bottle, b.name, b.location, b.stands) for b in says.elsewhere),
    )
    discarded = Section(
        "discarded",
        "Discarded since the last count, by stream",
        ("Stream", "Bottle", "Holds", "Amount"),
        tuple(
            (stream.stream, d.bottle, d.name, AmountCell(d.amount, d.measure))
            for stream in says.discarded
            for d in stream.lines
        ),
        (3,),
    )
    residues = Section(
        "residues",
        "Put into waste bottles and collected since the last count, by stream",
        ("Stream", "Waste bottle", "What", "Amount", "On"),
        tuple(
            (
                one.stream,
                one.waste,
                one.what,
                AmountCell(one.amount, Measure.VOLUME, signed=True),
                one.on.isoformat(),
            )
            for one in made.signed.residues
        ),
        (3,),
    )
    rest = [_with_codes(section, made) for section in sections(says) if section.slug != "differences"]
    rest += [discarded, residues, _controlled(made), *_compared(made), _entries(made), _left(made)]
    return [flagged(made), explained(made), elsewhere, *rest]


def _with_codes(section: Section, made: Report) -> Section:
    """Put finds in a section under the codes that closing gave them."""
    codes = made.signed.new_codes or {}
    if not codes:
        return section
    rows = tuple(
        tuple(
            _FIND.sub(lambda find: codes.get(find[0], find[0]), cell) if isinstance(cell, str) else cell for cell in row
        )
        for row in section.rows
    )
    return replace(section, rows=rows)


def _controlled(made: Report) -> Section:
    """List what is on the list of controlled substances: books, count, difference, and the acts."""
    rows: list[tuple[Any, ...]] = []
    for b in made.says.inventory:
        acts = made.controlled.get(b.books.item, ())
        if acts:
            gone = b.amount - b.books.balance
            amounts = (AmountCell(cell, b.books.measure) for cell in (b.books.balance, b.amount))
            rows.append(
                (b.books.bottle, b.name, *amounts, AmountCell(gone, b.books.measure, signed=True), "; ".join(acts))
            )
    heads = ("Bottle", "Holds", "On the books", "Left", "Difference", "Named by")
    title = "On the list of controlled substances"
    return Section("controlled", title, heads, tuple(rows), (2, 3, 4), sentences=len(heads) - 1, several=True)


def _left(made: Report) -> Section:
    """List the closing inventory, every bottle."""
    codes = made.signed.new_codes or {}
    return Section(
        "inventory",
        "Closing inventory",
        ("Bottle", "Holds", "CAS number", "Lot", "At", "Amount", "Counted", "By"),
        tuple(
            (
                codes.get(b.books.bottle, b.books.bottle),
                b.name,
                b.cas,
                b.lot,
                b.stands or b.location,
                AmountCell(b.amount, b.books.measure),
                b.how,
                b.counted_by,
            )
            for b in made.says.inventory
        ),
        (5,),
    )


def _entries(made: Report) -> Section:
    """List first entries and recounts of what was counted more than once."""
    lines = made.signed.entries
    several = {one.bottle for one in lines if not one.stands}
    return Section(
        "entries",
        "Counted more than once",
        ("Bottle", "Written down", "By", "When (UTC)", "Stands"),
        tuple(
            (one.bottle, one.says, one.by, one.at[:16].replace("T", " "), "yes" if one.stands else "")
            for one in lines
            if one.bottle in several
        ),
    )


def _compared(made: Report) -> list[Section]:
    found = []
    for slug, earlier in (("before", made.before), ("year-ago", made.year_ago)):
        if earlier is not None:
            found.append(_beside(made, slug, earlier))
    return found


def _beside(made: Report, slug: str, earlier: EarlierCount) -> Section:
    """Compare what is left of each item with an earlier count."""
    then, now = ({t.item: t for t in says.turnover} for says in (earlier.says, made.says))
    rows: list[tuple[Any, ...]] = []
    for item in sorted({*then, *now}, key=lambda item: (now.get(item) or then[item]).name.casefold()):
        was, has = then.get(item), now.get(item)
        one = has or then[item]
        left, used = (tuple(getattr(t, part) if t else 0 for t in (was, has)) for part in ("closing", "used"))
        cells = (*left, left[1] - left[0], *used)
        rows.append((one.name, *(AmountCell(cell, one.measure, signed=n == 2) for n, cell in enumerate(cells))))
    return Section(
        slug,
        f"Beside count {earlier.count} of {day(earlier.on)}",
        ("Item", "Left then", "Left now", "Change", "Used then", "Used now"),
        tuple(rows),
        (1, 2, 3, 4, 5),
    )


def document(made: Report) -> dict[str, Any]:
    """Write what the report's JSON says besides its tables."""
    return {
        "heading": heading(made),
        "seal": made.signed.seal or None,
        "access_seal": made.signed.access_seal or None,
        "likely_causes": dict(made.signed.causes or {}),
        "found_codes": dict(made.signed.new_codes or {}),
        "entries": [
            {"bottle": one.bottle or None, "says": one.says, "by": one.by, "at": one.at, "stands": one.stands}
            for one in made.signed.entries
        ],
        "discarded": [
            {"stream": s.stream, "bottle": d.bottle, "name": d.name, "amount": quantities.as_json(d.amount, d.measure)}
            for s in made.says.discarded
            for d in s.lines
        ],
        "residues": [
            {
                "stream": one.stream,
                "waste": one.waste,
                "what": one.what,
                "amount": quantities.as_json(one.amount, Measure.VOLUME),
                "on": one.on.isoformat(),
            }
            for one in made.signed.residues
        ],
        "elsewhere": [
            {"bottle": b.books.bottle, "name": b.name, "location": b.location, "found_at": b.stands}
            for b in made.says.elsewhere
        ],
        "inventory": [
            {
                "bottle": (made.signed.new_codes or {}).get(b.books.bottle, b.books.bottle),
                "item": b.books.item or None,
                "name": b.name,
                "cas": b.cas or None,
                "lot": b.lot or None,
                "location": b.stands or b.location,
                "book": quantities.as_json(b.books.balance, b.books.measure),
                "amount": quantities.as_json(b.amount, b.books.measure),
                "how": b.how or None,
                "counted_by": b.counted_by or None,
            }
            for b in made.says.inventory
        ],
        "controlled": [
            {
                "bottle": b.books.bottle,
                "item": b.books.item,
                "name": b.name,
                "acts": list(made.controlled[b.books.item]),
            }
            for b in made.says.inventory
            if b.books.item in made.controlled
        ],
        "value": None if made.says.value is None else float(made.says.value),
    }
