"""A demonstration as a teacher reads it: what it shows, what to set out, what to mind, what it leaves."""

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from prep.chemistry import quantities
from prep.chemistry.model import Measure, Substance
from prep.planning.model import Demo, DemoKind, Need
from prep.reports import terminal
from prep.reports.catalogue import until_lines

if TYPE_CHECKING:
    from prep.planning.engine.ph_demand import Until


def show_demo(
    demo: Demo,
    showings: int,
    takes: Mapping[tuple[str, bool], int],
    untils: "Sequence[Until]",
    name_of: Callable[[str], str],
    substances: Mapping[str, Substance],
) -> None:
    """Print it; `takes` is what `showings` of it take, by item and whether it is to be fresh."""

    def amount(item: str, base: int) -> str:
        known = substances.get(item)
        return quantities.show(base, known.measure if known else Measure.VOLUME, 3)

    left = dict(takes)

    def row(need: Need) -> tuple[str, ...]:
        per = f"{need.drops} drops" if need.drops else amount(need.item, need.per_showing)
        if need.until:
            per = f"until {need.until}"
        total = left.pop((need.item, need.fresh), None)  # one figure an item, however many vessels it goes to
        stays = amount(need.item, need.dead) if need.dead else ""
        return (
            name_of(need.item) + (", made fresh" if need.fresh else "") + (", for the room" if need.shared else ""),
            per,
            stays,
            need.vessel,
            "" if total is None else amount(need.item, total),
        )

    terminal.say(f"{demo.name} ({demo.code})", bold=True)
    for said in (demo.about, demo.principle and f"An example of: {demo.principle}"):
        if said:
            terminal.say(said)
    if demo.kind is DemoKind.PRACTICAL:
        terminal.say("A class practical: a booking's showings are the sets that the class works in.", hang=2)
    if demo.ask_first:
        terminal.say(f"Ask first: {demo.ask_first}", hang=2, bold=True)
    if demo.caution:
        terminal.say(f"Caution: {demo.caution}", hang=2)
    times = f"1 {demo.unit}" if showings == 1 else f"{showings} {demo.unit}s"
    headers = ("What", f"A {demo.unit}", "Stays in", "Vessel", f"Set out for {times}")
    terminal.table(headers, [row(need) for need in demo.needs], right=(1, 2, 4))
    spare = quantities.plain(demo.spare * 100)
    terminal.say(f"What is set out includes {spare} % to spare and what stays in vessels and droppers.")
    for need in demo.needs:
        if need.note:
            terminal.say(f"{name_of(need.item)}: {need.note}", hang=2)
    for until in untils:
        for line in until_lines(until):
            print(line)
    for one in demo.leftovers:
        terminal.say(f"Leaves {one.what}: {one.stream}" + (f"; {one.note}" if one.note else ""), hang=2)
    terminal.say(f"Source: {demo.source}", hang=2)
    terminal.say("Follow the safety data sheets and your own rules.")
