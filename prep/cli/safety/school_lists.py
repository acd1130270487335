"""`prep safety rule` and `prep safety controlled`: the lists that a school keeps of its own."""

from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common

if TYPE_CHECKING:
    from prep.services.safety.controlled_register import RegisterLine
    from prep.services.safety.school_rules import ListedRule

rule = common.group("The school's own limits: strengths not to exceed, and what is barred.")
controlled = common.group("Substances that laws on precursors, poisons or excise name: the school's own list.")


@rule.command("add")
def add_rule(
    item: Annotated[str, typer.Argument(help="A substance or solution, a solute's code for all of its, or a demo.")],
    at_most: Annotated[
        str | None, typer.Option("--at-most", metavar="STRENGTH", help="Not stronger than; without it: barred.")
    ] = None,
    room: Annotated[str, typer.Option("--room", help="Only in this room.")] = "",
    group: Annotated[str, typer.Option("--group", help="Only for this age group (prep book group list).")] = "",
    from_group: Annotated[
        str, typer.Option("--from-group", metavar="GROUP", help="Least age: only for the age groups before this one.")
    ] = "",
    demo: Annotated[bool, typer.Option("--demo", help="ITEM is a demo, where a substance has that name too.")] = False,
    why: Annotated[str, typer.Option("--why", help="Why, in a few words.")] = "",
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Add a limit; bookings and plans that break it are stopped.

    Example: prep safety rule add sodium-hydroxide --at-most "0.5 mol/L" --group "Year 8"

    Example: prep safety rule add "potassium dichromate" --why "county policy"

    Example: prep safety rule add alkali-metals --from-group "Year 8"
    """
    from prep.reports.school_documents import school_rule_document
    from prep.services.safety import school_rules

    asked = school_rules.RuleRequest(item, at_most, room, group, why, demo, from_group)
    made = school_rules.add(db, asked, common.act(by))
    common.show_json(school_rule_document(made)) if as_json else common.tell(f"Rule {made.number}: {_said(made)}")


@rule.command("list")
@common.reads
def list_rules(db: common.Db = None, as_json: common.AsJson = False) -> None:
    """List the school's limits.

    Example: prep safety rule list
    """
    from prep.reports.school_documents import school_rule_document
    from prep.services.safety import school_rules

    found = school_rules.rules(db)
    if as_json:
        common.show_json([school_rule_document(one) for one in found])
        return
    for one in found:
        common.tell(f"{one.number}. {_said(one)}")
    if not found:
        common.tell("The school has set no limits.")


@rule.command("remove")
def remove_rule(
    number: Annotated[int, typer.Argument(help="Its number, from: prep safety rule list.")],
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Take a limit off.

    Example: prep safety rule remove 2
    """
    from prep.reports.school_documents import school_rule_document
    from prep.services.safety import school_rules

    gone = school_rules.remove(db, number, common.act(by))
    common.show_json(school_rule_document(gone)) if as_json else common.tell(f"Removed: {_said(gone)}")


@controlled.command("list")
@common.reads
def list_controlled(
    held: Annotated[bool, typer.Option("--held", help="Only what is in the room.")] = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """List what is controlled, by the act that names each, with what is held of it: the record for an audit.

    Example: prep safety controlled list --held
    """
    from prep.reports import safety
    from prep.services.safety import controlled_register as service

    found = [one for one in service.register(db) if one.bottles or not held]
    if as_json:
        common.show_json([safety.controlled_document(one) for one in found])
    else:
        safety.show_controlled(found)


@controlled.command("add")
def add_controlled(
    item: Annotated[str, typer.Argument(help="A substance or solution: its code, name or CAS number.")],
    act: Annotated[str, typer.Option("--act", help="The act that names it.")],
    kind: Annotated[str, typer.Option("--kind", help='As what, such as "poison".')] = "",
    above: Annotated[str | None, typer.Option("--above", help='Only above it, such as "12 % w/w".')] = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Put a substance on the school's list.

    Example: prep safety controlled add "potassium iodate" --act "county policy 7"
    """
    from prep.services.safety import controlled_register as service

    made = service.add(db, service.ControlledRequest(item, act, kind, above), common.act(by))
    _show_line(made, as_json)


@controlled.command("remove")
def remove_controlled(
    number: Annotated[int, typer.Argument(help="Its number, from: prep safety controlled list.")],
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Take a line off the school's list, such as an act that does not hold where it stands.

    Example: prep safety controlled remove 3
    """
    from prep.services.safety import controlled_register as service

    gone = service.remove(db, number, common.act(by))
    _show_line(service.RegisterLine(number, gone, ()), as_json, "Removed: ")


def _show_line(line: "RegisterLine", as_json: bool, before: str = "") -> None:
    from prep.reports import safety

    if as_json:
        common.show_json(safety.controlled_document(line))
    else:
        common.tell(f"{before}{line.number}. {line.listed.name}: {line.listed.said}.")


def _said(one: "ListedRule") -> str:
    limit = f"at most {one.rule.at_most}" if one.rule.at_most else "barred"
    return f"{one.name}: {limit}{one.rule.where}" + (f" ({one.rule.why})" if one.rule.why else "") + "."
