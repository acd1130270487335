"""`prep log`: the numbered lines of the day, each written down with one short command."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from prep import dates
from prep.books import OrderStatus
from prep.cli import common
from prep.cli.make import standardise
from prep.errors import PrepError

if TYPE_CHECKING:
    from prep.services.input.act import Act
    from prep.services.making.make import MakeRequest
    from prep.store.day.lines import StoredLine

_OPTIONS = {
    "made": ("make",),
    "take": ("make",),
    "bottles": ("make",),
    "found": ("make",),
    "titrated": ("make",),
    "used": ("shown",),
    "return": ("shown",),
    "pack": ("order",),
    "due": ("order",),
    "use-by": ("arrived",),
    "lot": ("arrived",),
    "reason": ("discard",),
    "at": ("make", "arrived", "set out"),
    "packs": ("order", "arrived"),
}
"""What each option is about: a line of another kind does not take it."""
_OF_SEVERAL = ("at", "due", "reason")
"""What is said of several lines at once: a delivery is put on one shelf."""


def log(
    numbers: Annotated[
        list[str] | None, typer.Argument(metavar="NUMBER...", help="Lines of the day, such as 3, or 1 2 5-7.")
    ] = None,
    *,
    made: Annotated[str | None, typer.Option("--made", metavar="VOLUME", help="Make: how much came out.")] = None,
    take: Annotated[
        list[str] | None,
        typer.Option("--take", metavar="BOTTLE=AMOUNT", help="Make: what was really taken, all of it."),
    ] = None,
    bottles: Annotated[int | None, typer.Option("--bottles", help="Make: into how many bottles.")] = None,
    found: Annotated[str | None, typer.Option("--found", metavar="STRENGTH", help="Make: the strength found.")] = None,
    titrated: standardise.Titrated = None,
    at: Annotated[
        str | None, typer.Option("--at", metavar="PLACE", help="Make, set out, arrived: where it is put.")
    ] = None,
    used: Annotated[
        list[str] | None, typer.Option("--used", metavar="ITEM=AMOUNT", help="Shown: what was really used.")
    ] = None,
    back: Annotated[
        list[str] | None, typer.Option("--return", metavar="ITEM", help="Shown: its rest went back to its bottle.")
    ] = None,
    packs: Annotated[int | None, typer.Option("--packs", help="Order, arrived: how many packs.")] = None,
    pack: Annotated[str | None, typer.Option("--pack", metavar="AMOUNT", help="Order: what a pack holds.")] = None,
    due: Annotated[str | None, typer.Option("--due", metavar="DATE", help="Order: when it comes.")] = None,
    use_by: Annotated[
        str | None, typer.Option("--use-by", metavar="DATE", help="Arrived: as its label says, 12/2030.")
    ] = None,
    lot: Annotated[str | None, typer.Option("--lot", help="Arrived: the supplier's lot.")] = None,
    reason: Annotated[str | None, typer.Option("--reason", help="Discard: why.")] = None,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Log lines of the day as planned, or with what was otherwise; without a number, list them.

    Example: prep log

    Example: prep log 3 --made "240 mL" --at PREP

    Example: prep log 2-3 --at PREP
    """
    from prep.services.plan import day_lines

    day = common.done(on)
    wanted = _numbers(numbers or [])
    given: dict[str, Any] = {
        "made": made,
        "take": take,
        "bottles": bottles,
        "found": found,
        "titrated": titrated,
        "at": at,
        "used": used,
        "return": back,
        "packs": packs,
        "pack": pack,
        "due": due,
        "use-by": use_by,
        "lot": lot,
        "reason": reason,
    }
    given = {name: value for name, value in given.items() if value not in (None, [], ())}
    if not wanted:
        if given:
            raise PrepError("Say which line of the day it is about: prep log NUMBER.")
        _list(day_lines.listed(db, day.on), day.on, as_json)
        return
    alone = [name for name in given if name not in _OF_SEVERAL]
    if alone and len(wanted) > 1:
        raise PrepError(f"--{alone[0]} is about one line; log it on its own.")
    act = common.act(by, on)
    lines = [day_lines.line(db, day.on, number) for number in wanted]
    for one in lines:
        for name in given:
            if one.kind not in _OPTIONS[name]:
                raise PrepError(f'--{name} goes with {" or ".join(_OPTIONS[name])}; line {one.number} is "{one.says}".')
    documents = []
    for one in lines:
        with day_lines.logging(day.on, one.number) as logged:
            says = _logged(db, one, given, act)
        documents.append({"number": one.number, "kind": one.kind, "job": logged.job, "says": says})
        if not as_json:
            for sentence in says:  # whole lines: some hold a command to copy
                typer.echo(f"{one.number:>3}  {common.numbered(sentence)}")
    if as_json:
        common.show_json(documents)


def _numbers(texts: list[str]) -> list[int]:
    """Read numbers of lines, `1 2 5-7` or `1,2`. Raises PrepError."""
    out: list[int] = []
    for text in " ".join(texts).replace(",", " ").split():
        first, dash, last = text.partition("-")
        if not first.isdecimal() or (dash and not last.isdecimal()) or len(text) > 7:
            raise PrepError(f'"{text[:20]}" is no line; write its number, such as 3, or 5-7.')
        out += range(int(first), int(last or first) + 1)
    return list(dict.fromkeys(out))


def _list(lines: "tuple[StoredLine, ...]", on: date, as_json: bool) -> None:
    if as_json:
        common.show_json([{"number": one.number, "kind": one.kind, "says": one.says, "job": one.job} for one in lines])
        return
    from prep.reports import terminal

    if not lines:
        terminal.say(f"The day {on} was not printed yet: prep plan --day {on}")
    for one in lines:
        terminal.say(f"{one.number:>3} [{'x' if one.job else ' '}] {one.says}", hang=8)


def _logged(db: Path | None, line: "StoredLine", given: dict[str, Any], act: "Act") -> list[str]:
    """Do what the line says, as it was; what to say of it."""
    if line.kind == "make":
        return _make(db, line, given, act)
    if line.kind == "set out":
        from prep.services.bookings import bookings

        code = str(line.request["booking"])
        answer = bookings.set_out(db, code, given.get("at", ""), act)
        return [f"{code} is set out at {answer.place}."]
    if line.kind == "shown":
        return _shown(db, line, given, act)
    if line.kind == "order":
        return _order(db, line, given, act)
    if line.kind == "arrived":
        return _arrived(db, line, given, act)
    from prep.services.plan import day_lines
    from prep.services.stock import changes

    bottles = day_lines.to_discard(db, line)
    reason = given.get("reason") or ("out of date" if "bottle" in line.request else "its period is over")
    changes.discard(db, bottles, reason, act)
    return [f"{', '.join(bottles)} {'is' if len(bottles) == 1 else 'are'} discarded."]


def _make(db: Path | None, line: "StoredLine", given: dict[str, Any], act: "Act") -> list[str]:
    from prep.services.making import made_twice
    from prep.services.making import make as making
    from prep.services.safety import placement

    request = line.request
    asked = making.MakeRequest(
        request["solution"],
        request["volume"],
        taken=given.get("take") or request["takes"],
        came=given.get("made"),
        location=given.get("at"),
        bottles=given.get("bottles", 1),
        found=given.get("found"),
        written=standardise.written(given.get("titrated"), None, None, None),
    )
    made = making.log(db, asked, act)
    said = [
        f"bottle {bottle.code} holds {bottle.shown} of {bottle.name}"
        + (f", {bottle.strength}" if bottle.strength else "")
        + f", use by {dates.day(bottle.use_by)}, at {bottle.location}. Write {bottle.code} on its label."
        for bottle in made.bottles
    ]
    if made.standardised is not None:
        said += standardise.told(made.standardised)
    elif (
        asked.came
        and not asked.found
        and _otherwise(asked)
        and (other := next((bottle for bottle in made.bottles if bottle.strength), None))
    ):
        said.append(
            f"All that was taken is in it, so it is {other.strength}. If some was spilt instead: prep stock undo "
            f'{made.job}, prep log {line.number}, then prep stock use CODE AMOUNT --reason "spilt".'
        )
    return said + made_twice.told(db, made) + common.told_of_shelves(placement.beside(db, made.bottles))


def _otherwise(asked: "MakeRequest") -> bool:
    """Tell whether other than the line's volume came out."""
    from prep.chemistry.quantities import volume_ml

    return asked.came is not None and volume_ml(asked.came) != volume_ml(asked.volume)


def _shown(db: Path | None, line: "StoredLine", given: dict[str, Any], act: "Act") -> list[str]:
    from prep.chemistry.quantities import show
    from prep.reports.bookings.answers import not_set_out
    from prep.services.bookings import usage

    shown = usage.done(
        db,
        line.request["booking"],
        given.get("used", []),
        given.get("return", []),
        act,
    )
    used = ", ".join(f"{show(t.used, t.measure)} {t.name}" for t in shown.taken if t.used)
    said = [f"{shown.booking.code} is done; used: {used or 'nothing of the shelves'}."]
    said += [
        f"{show(t.short, t.measure)} of {t.name} is on no bottle's books; count it: prep count open"
        for t in shown.taken
        if t.short
    ]
    return said + not_set_out(shown, f"prep log {line.number}")


def _order(db: Path | None, line: "StoredLine", given: dict[str, Any], act: "Act") -> list[str]:
    from prep.services.stock import orders

    request = orders.OrderRequest(
        line.request["item"],
        given.get("packs") or line.request["packs"],
        given.get("pack") or line.request["pack"],
        common.a_date(given["due"], "--due") if "due" in given else None,
    )
    order = orders.placed(db, request, act)
    return [f"{order.code}: {orders.shown(order)} of {order.name}, due {dates.day(order.due)}."]


def _arrived(db: Path | None, line: "StoredLine", given: dict[str, Any], act: "Act") -> list[str]:
    from prep.services.stock import orders

    delivery = orders.Delivery(
        given.get("at"), common.a_use_by(given.get("use-by")), given.get("lot", ""), given.get("packs")
    )
    came = orders.arrived(db, line.request["order"], delivery, act)
    said = [f"{h.code}  {h.shown} of {h.name}, at {h.location}. Write {h.code} on its label." for h in came.bottles]
    if came.order.status == OrderStatus.PLACED:
        said.append(f"{orders.shown(came.order)} stays on order {came.order.code}, due {dates.day(came.order.due)}.")
    return said
