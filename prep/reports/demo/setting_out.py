"""A demonstration as a teacher reads it: what it shows, what to set out, what to mind, what it leaves."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from prep.chemistry import quantities
from prep.chemistry.catalogue import WATER, Catalogue
from prep.planning.model import Demo, DemoKind, Need
from prep.planning.set_out import each_of, in_all
from prep.plurals import plural
from prep.reports import terminal
from prep.reports.catalogue import until_line
from prep.safety.deferral import DEFERRAL

if TYPE_CHECKING:
    from prep.planning.set_out import UntilNeed


def show_demo(
    demo: Demo, showings: int, untils: "Sequence[UntilNeed]", name_of: Callable[[str], str], catalogue: Catalogue
) -> None:
    """Print a demo as it is set out for so many showings.

    `demo` has what goes on until a pH or a colour computed.
    """

    def row(need: Need) -> tuple[str, ...]:
        measure = catalogue.item(need.item).measure
        name = "Water, deionised" if need.item == WATER else name_of(need.item)
        return (
            name + (", made fresh" if need.fresh else "") + (", for the room" if need.shared else ""),
            each_of(need, measure),
            quantities.show(need.dead, measure, 3) if need.dead else "",
            need.vessel,
            in_all(need, demo, showings, measure),
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
    times = plural(showings, demo.unit)
    headers = ("What", f"A {demo.unit}", "Stays in", "Vessel", f"Set out for {times}")
    terminal.table(headers, [row(need) for need in demo.needs], right=(1, 2, 4))
    spare = quantities.plain(demo.spare * 100)
    terminal.say(f"What is set out includes {spare} % to spare and what stays in vessels and droppers.")
    for need in demo.needs:
        if need.note:
            terminal.say(f"{name_of(need.item)}: {need.note}", hang=2)
    for until in untils:
        terminal.say(until_line(until), hang=2)
        terminal.working(until.working)
    for one in demo.leftovers:
        terminal.say(f"Leaves {one.what}: {one.stream}" + (f"; {one.note}" if one.note else ""), hang=2)
    terminal.say(f"Source: {demo.source}", hang=2)
    terminal.say(DEFERRAL)
