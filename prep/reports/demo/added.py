"""A demonstration that was added, or would be: what is new, and what its vessels would give off."""

from typing import TYPE_CHECKING, Any

from prep.reports import terminal

if TYPE_CHECKING:
    from prep.planning.model import Demo
    from prep.services.demos.demos import AddedDemo


def added_document(done: "AddedDemo", *, dry_run: bool) -> dict[str, Any]:
    """Write what was added, or every mistake, as JSON."""
    return {
        "added": bool(done.demo) and not dry_run,
        "demo": done.demo.code if done.demo else None,
        "name": done.demo.name if done.demo else None,
        "new_solutions": [one.code for one in done.solutions],
        "mistakes": list(done.mistakes),
        "dangers": list(done.dangers),
        "taken": list(done.taken),
    }


def show_added(done: "AddedDemo", demo: "Demo", *, dry_run: bool) -> None:
    """Print what was added, what must not be made and would be, and where to see more."""
    for one in done.solutions:
        terminal.say(f"New solution: {one.name} ({one.code}); look at it with: prep solution show {one.code}")
    verb = "would be " if dry_run else ""
    terminal.say(f"{demo.name} ({demo.code}) {verb}{'replaced' if done.replaced else 'added'}.")
    for taken in done.taken:
        terminal.say(taken)
    for danger in done.dangers:
        terminal.say(f"! {danger}", hang=2)
    if not dry_run:
        terminal.say(f"See: prep demo show {demo.code}; prep demo predict {demo.code}; prep safety notes {demo.code}")
