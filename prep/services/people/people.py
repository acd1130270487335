"""People on file: inviting, roles, leaving, pass phrases and PINs, programs' keys, and the log of all that."""

import hashlib
import re
from collections.abc import Collection
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind
from prep.chemistry.spelling import key as spelt
from prep.errors import NotOnFile, PrepError, Refused
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.services.people.roles import SCOPES, Role
from prep.services.people.secret import hasher
from prep.store import ledger
from prep.store.audit import seals
from prep.store.people import accounts

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.people.accounts import AccessLine, Person

INVITED_DAYS = 3
SHORTEST, LONGEST = 12, 200
_LINK_BYTES, _KEY_BYTES = 24, 32


@dataclass(frozen=True, slots=True)
class Invited:
    """A person and the secret of the link that lets them in, which is shown this once."""

    person: int
    name: str
    secret: str


def hashed(secret: str) -> str:
    """Hash a secret that the program itself drew, as it is kept (SHA-256)."""
    return hashlib.sha256(secret.encode()).hexdigest()


def moment(days: float = 0) -> str:
    """Write this moment in UTC, or so many days on; ISO 8601."""
    return (datetime.now(UTC) + timedelta(days=days)).isoformat(timespec="seconds")


def begin_job(connection: "Connection", by: str, what: str, about: str) -> None:
    """Begin the job of a change to who may come in and do what, which the seals log with all that it changes."""
    ledger.begin(connection, JobKind.PEOPLE, by, date.today(), f"{what}: {about}")


def _roles(roles: Collection[str]) -> list[str]:
    wrong = [role for role in roles if role not in set(Role)]
    if wrong or not roles:
        said = f'"{wrong[0][:20]}" is no role' if wrong else "Choose at least one role"
        raise PrepError(f"{said}; there are {', '.join(Role)}.")
    return sorted(set(roles))


def of_number(connection: "Connection", number: int) -> "Person":
    """Find a person by number, in the caller's transaction. Raises NotOnFile."""
    found = accounts.person(connection, id=number) if 0 < number < 2**31 else None
    if found is None:
        raise NotOnFile("There is no such person.")
    return found


def everybody(db: Path | None) -> "list[Person]":
    """List everybody on file, by name."""
    with session.reading(db) as connection:
        return accounts.people(connection)


def one(db: Path | None, number: int) -> "Person":
    """Find one person by number. Raises PrepError."""
    with session.reading(db) as connection:
        return of_number(connection, number)


def invite(db: Path | None, name: str, roles: Collection[str], by: str, address: str = "") -> Invited:
    """Put somebody on file and invite them. Raises PrepError."""
    said = " ".join(name.split())
    if not said:
        raise PrepError("Give the person's name.")
    printable(said, 80, "A name")
    chosen, known = _roles(roles), spelt(said)
    with session.writing(db) as connection:
        if accounts.person(connection, known=known):
            raise PrepError(f'There is somebody called "{said}" already; add what tells the two apart.')
        begin_job(connection, by, "invited", f"{said} as {', '.join(chosen)}")
        number = accounts.add_person(connection, said, known, chosen, moment())
        accounts.log(connection, moment(), by, "invited", f"{said} as {', '.join(chosen)}", address)
        return _invited(connection, number, said, by)


def invite_again(db: Path | None, number: int, by: str, address: str) -> Invited:
    """Make a new link for somebody who lost the pass phrase; the earlier ones end. Raises PrepError."""
    with session.writing(db) as connection:
        person = of_number(connection, number)
        if person.status != "active":
            raise Refused(f"{person.name} has left; let them come back first.")
        begin_job(connection, by, "invited again", person.name)
        accounts.log(connection, moment(), by, "invited again", person.name, address)
        return _invited(connection, number, person.name, by)


def _invited(connection: "Connection", number: int, name: str, by: str) -> Invited:
    secret = session.draw_secret(_LINK_BYTES)
    accounts.add_invitation(connection, hashed(secret), number, by, moment(), moment(INVITED_DAYS))
    return Invited(number, name, secret)


def invited_before(db: Path | None) -> Invited:
    """Find the invitation that the form at hand made when it was sent before. Raises Refused where it is used."""
    secret = session.draw_secret(_LINK_BYTES)
    with session.reading(db) as connection:
        number = accounts.invited(connection, hashed(secret), moment())
        if number is None:
            raise session.SentBefore("This was sent before; it is done once.")
        return Invited(number, of_number(connection, number).name, secret)


def set_roles(db: Path | None, number: int, roles: Collection[str], by: str, address: str) -> None:
    """Change what somebody may do. Raises PrepError; Refused where nobody would be left in the office."""
    chosen = _roles(roles)
    with session.writing(db) as connection:
        person = of_number(connection, number)
        if Role.OFFICE not in chosen:
            somebody_left(connection, person)
        bent = seals.answer_for(
            connection, "person", str(number), "roles"
        )  # what is asked for may stand there unlogged
        if bent or person.roles != frozenset(chosen):
            was = ", ".join(sorted(person.roles))
            begin_job(connection, by, "roles changed", f"{person.name}, from {was} to {', '.join(chosen)}")
            accounts.change_person(connection, number, roles=";".join(chosen))
            said = f"{person.name}: {was} -> {', '.join(chosen)}"
            accounts.log(connection, moment(), by, "roles changed", said, address)


def set_status(db: Path | None, number: int, status: str, by: str, address: str) -> None:
    """Let somebody leave, which ends all their sessions and keys, or come back. Raises PrepError, Refused."""
    if status not in ("active", "left"):
        raise PrepError("A person is active or has left.")
    with session.writing(db) as connection:
        person = of_number(connection, number)
        begin_job(connection, by, "left" if status == "left" else "came back", person.name)
        if status == "left":
            somebody_left(connection, person)
            accounts.end_sessions(connection, number)
            accounts.end_tokens(connection, number, moment())
            accounts.drop_invitations(connection, number)
            accounts.change_person(connection, number, feed=None)
        accounts.change_person(connection, number, status=status)
        accounts.log(connection, moment(), by, "left" if status == "left" else "came back", person.name, address)


def somebody_left(connection: "Connection", leaving: "Person") -> None:
    """Check that somebody else of the office can still come in. Raises Refused."""
    others = [p for p in accounts.people(connection) if p.id != leaving.id and p.status == "active"]
    if Role.OFFICE in leaving.roles and not any(Role.OFFICE in p.roles and p.comes_in for p in others):
        raise Refused(f"{leaving.name} is the last in the office; give somebody else that role first.")


def checked_phrase(phrase: str, name: str = "") -> str:
    """Check that a pass phrase is long enough and hard to guess, and give it back. Raises PrepError."""
    if not SHORTEST <= len(phrase) <= LONGEST:
        raise PrepError(
            f"A pass phrase has {SHORTEST} to {LONGEST} characters; four words that do not belong together."
        )
    if len(set(phrase)) < 5 or (name and spelt(name) and spelt(name) in spelt(phrase)):
        raise PrepError("That is too easy to guess; take four words that do not belong together, and not your name.")
    return phrase


def set_pin(db: Path | None, number: int, pin: str) -> None:
    """Set the PIN by which somebody says on the bench's tablet who they are. Raises PrepError."""
    if not re.fullmatch(r"[0-9]{4,8}", pin) or len(set(pin)) < 2 or pin in "01234567890 9876543210":
        raise PrepError("A PIN has 4 to 8 digits, not all alike and not in a row.")
    kept = hasher().hash(pin)
    with session.writing(db) as connection:
        person = of_number(connection, number)
        begin_job(connection, person.name, "PIN set", person.name)
        accounts.change_person(connection, number, pin=kept)
        accounts.log(connection, moment(), person.name, "PIN set", "", "")


def new_feed(db: Path | None, number: int, by: str, address: str) -> str:
    """Make a new secret for somebody's calendar; the one before no longer works."""
    secret = session.draw_secret(_LINK_BYTES)
    with session.writing(db) as connection:
        person = of_number(connection, number)
        begin_job(connection, by, "new calendar address", person.name)
        accounts.change_person(connection, number, feed=hashed(secret))
        accounts.log(connection, moment(), by, "new calendar address", by, address)
    return secret


def of_feed(db: Path | None, secret: str) -> "Person | None":
    """Find whose calendar a secret opens; None where it opens none."""
    with session.reading(db) as connection:
        return accounts.person(connection, feed=hashed(secret), status="active")


def new_token(db: Path | None, number: int, name: str, scopes: Collection[str], by: str, address: str) -> str:
    """Make a key for a program in somebody's name; it is shown this once. Raises PrepError."""
    said = printable(name.strip(), 80, "The program's name")
    if not said:
        raise PrepError("Name the program that the key is for.")
    if not scopes or (wrong := [one for one in scopes if one not in SCOPES]):
        raise PrepError(f"Choose what the program may do: {', '.join(SCOPES)}." if not scopes or wrong else "")
    secret = _key()
    with session.writing(db) as connection:
        person = of_number(connection, number)
        begin_job(connection, by, "new key of a program", f"{person.name}, {said}: {', '.join(sorted(scopes))}")
        accounts.add_token(connection, hashed(secret), number, said, sorted(scopes), moment())
        accounts.log(connection, moment(), by, "new key", f"{said}: {', '.join(sorted(scopes))}", address)
    return secret


def _key() -> str:
    return f"prep_{session.draw_secret(_KEY_BYTES)}"


def token_made_before(db: Path | None) -> str:
    """Find the key that the form at hand made when it was sent before. Raises Refused where it has ended."""
    with session.reading(db) as connection:
        if accounts.token(connection, hashed(_key())) is None:
            raise session.SentBefore("This was sent before; it is done once.")
    return _key()


def feed_made_before(db: Path | None) -> str:
    """Find the calendar's secret that the form at hand made before. Raises Refused where another has replaced it."""
    secret = session.draw_secret(_LINK_BYTES)
    if of_feed(db, secret) is None:
        raise session.SentBefore("This was sent before; it is done once.")
    return secret


def end_token(db: Path | None, number: int, key: str, by: str, address: str) -> None:
    """End a program's key."""
    with session.writing(db) as connection:
        if accounts.end_tokens(connection, number, moment(), key):
            begin_job(connection, by, "key of a program ended", of_number(connection, number).name)
            accounts.log(connection, moment(), by, "key ended", by, address)


def log_of_access(db: Path | None, most: int = 200) -> "list[AccessLine]":
    """List the newest lines of who came in, who was refused and whose rights changed."""
    with session.reading(db) as connection:
        return accounts.logged(connection, most)
