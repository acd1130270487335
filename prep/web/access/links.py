"""Links to come in by: the first person's, and one a role in the invented school."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from prep.resources import seed_data
from prep.services.inventory import init
from prep.services.people import people
from prep.services.people.roles import Role
from prep.services.people.sign_in import first_person
from prep.services.plan.snapshot import sample as sample_school

SAMPLE_PEOPLE = (
    ("T. Okonjo", Role.TEACHER),
    ("R. Vane", Role.TECHNICIAN),
    ("K. Ode", Role.AUDITOR),
    ("M. Sarr", Role.OFFICE),
)


@contextmanager
def sample() -> Iterator[tuple[Path, date, date]]:
    """Make the invented school in a throw-away inventory, and tell its day and the last day of its plan."""
    found = sample_school()
    today = found.snapshot.today
    with tempfile.TemporaryDirectory(prefix="prep-sample-") as folder:
        path = Path(folder) / "inventory.db"
        init.init(path, "sample", today, seed_data() / "school", "")
        yield path, today, found.end


def first_link(db: Path | None, at: str, name: str) -> list[str]:
    """Make the link for the first person of an inventory, who has all rights; nothing where somebody is on file."""
    secret = first_person(db, name, [Role.OFFICE, Role.TECHNICIAN], name)
    return (
        []
        if secret is None
        else [f"{name} comes in first, by this link (once, within three days):", f"  {at}/invited/{secret}"]
    )


def sample_links(db: Path | None, at: str) -> list[str]:
    """Make one link for each role in the invented school."""
    lines = ["The invented school; nothing is kept. One link a role, each works once:"]
    for name, role in SAMPLE_PEOPLE:
        invited = people.invite(db, name, [role], "sample")
        lines.append(f"  {role.value:<11}{at}/invited/{invited.secret}")
    return lines
