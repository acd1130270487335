"""A demonstration written as TOML: what `demo add` reads back the same."""

from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue
from prep.planning.model import Demo, DemoKind, Need


def toml_of(demo: Demo, catalogue: Catalogue) -> str:
    """Write a demo as a file to read, change and add again."""
    lines = [
        f"code = {_quoted(demo.code)}",
        f"name = {_quoted(demo.name)}",
        *([f"kind = {_quoted(demo.kind.value)}"] if demo.kind is not DemoKind.DEMONSTRATION else []),
        *_given("about", demo.about),
        *_given("principle", demo.principle),
        *([f"other_names = [{', '.join(map(_quoted, demo.other_names))}]"] if demo.other_names else []),
        f"spare_pct = {quantities.plain(demo.spare * 100)}",
        *([f"trials = {demo.trials}"] if demo.trials else []),
        *_given("caution", demo.caution),
        *_given("ask_first", demo.ask_first),
        *_given("source", demo.source),
    ]
    for vessel in dict.fromkeys(need.vessel for need in demo.needs):
        lines += ["", "[[vessel]]", f"name = {_quoted(vessel or 'vessel')}"]
        inside = [need for need in demo.needs if need.vessel == vessel]
        for need in sorted(inside, key=lambda one: bool(one.until or one.dropper)):  # what is added comes last
            lines += ["", *_need(need, catalogue)]
    for left in demo.leftovers:
        lines += ["", "[[leftover]]", f"what = {_quoted(left.what)}", f"goes = {_quoted(left.stream)}"]
        lines += _given("note", left.note)
    return "\n".join(lines) + "\n"


def _need(need: Need, catalogue: Catalogue) -> list[str]:
    added = bool(need.until or need.dropper)
    item = catalogue.item(need.item)
    name = f"  # {item.name}" if item.known and item.name != need.item else ""
    lines = [f"[[vessel.{'add' if added else 'contains'}]]", f"item = {_quoted(need.item)}{name}"]
    if need.dropper:
        lines.append(f"from = {_quoted(need.dropper)}")
    if added and need.drops and not need.until:
        lines.append(f'until = "{need.drops // need.portions} drops"')
    elif need.until:
        lines.append(f"until = {_quoted(need.until)}")
    said = 1
    if not (added and need.drops and not need.until) and need.per_showing:
        counted = need.drops if not need.until and not added else 0
        even = (counted or need.per_showing) % need.portions == 0
        times = need.portions if even else 1
        each = quantities.show(need.per_showing // times, item.measure, None)
        amount = f"{counted // times} drops" if counted else each
        lines.append(f"amount = {_quoted(f'{times} x {amount}' if times > 1 else amount)}")
        said = times
    if need.portions != said:
        lines.append(f"portions = {need.portions}")
    if need.dead:
        lines.append(f"stays = {_quoted(quantities.show(need.dead, item.measure, None))}")
    if need.shared:
        lines.append("shared = true")
    if need.fresh:
        lines.append("fresh = true")
    return [*lines, *_given("note", need.note)]


def _given(key: str, text: str) -> list[str]:
    return [f"{key} = {_quoted(text)}"] if text else []


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
