"""Links to come in by: the first person's, and one a role in the invented school."""

from pathlib import Path

from prep.services.people import people
from prep.services.people.roles import Role
from prep.services.people.sign_in import first_person

SAMPLE_PEOPLE = (
    ("T. Okonjo", Role.TEACHER),
    ("R. Vane", Role.TECHNICIAN),
    ("K. Ode", Role.AUDITOR),
    ("M. Sarr", Role.OFFICE),
)


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
