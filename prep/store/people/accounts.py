"""People, their sessions, invitations and tokens: read and written in the caller's transaction."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Table, delete, func, insert, select, update

from prep.store.people import access_chain
from prep.store.people import tables as t

_PERSON: Table = t.PersonRow.__table__  # type: ignore[attr-defined]
_SESSION: Table = t.SessionRow.__table__  # type: ignore[attr-defined]
_INVITATION: Table = t.InvitationRow.__table__  # type: ignore[attr-defined]
_TOKEN: Table = t.TokenRow.__table__  # type: ignore[attr-defined]
_LOG: Table = t.AccessRow.__table__  # type: ignore[attr-defined]
_SENT: Table = t.SubmissionRow.__table__  # type: ignore[attr-defined]


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who may sign in; the secrets are hashes, None where there is none."""

    id: int
    name: str
    roles: frozenset[str]
    status: str
    pass_phrase: str | None
    pin: str | None
    feed: str | None
    issuer: str | None = None
    subject: str | None = None

    @property
    def comes_in(self) -> bool:
        """Whether there is anything to come in by: a pass phrase, or the school's account."""
        return bool(self.pass_phrase or self.subject)


@dataclass(frozen=True, slots=True)
class Token:
    """A program's key, by its hash: whom it stands for, and what it may."""

    key: str
    person: int
    name: str
    scopes: tuple[str, ...]
    made: str


@dataclass(frozen=True, slots=True)
class Session:
    """One sign-in; moments are UTC, ISO 8601."""

    key: str
    person: int
    made: str
    seen: str
    until: str
    bench: bool
    device: str
    address: str


@dataclass(frozen=True, slots=True)
class AccessLine:
    """A line of the log of access."""

    at: str
    by: str
    kind: str
    about: str
    address: str


def _read(row: Any) -> Person:
    roles = frozenset(filter(None, row.roles.split(";")))
    return Person(row.id, row.name, roles, row.status, row.pass_phrase, row.pin, row.feed, row.issuer, row.subject)


def people(connection: Connection) -> list[Person]:
    """List everybody, by name."""
    return [_read(row) for row in connection.execute(select(_PERSON).order_by(_PERSON.c.known))]


def person(connection: Connection, **which: Any) -> Person | None:
    """Find the one person of whom each of these is so: `id=3`, `known="r vane"`, `feed=...`; None where nobody is."""
    query = select(_PERSON)
    for name, value in which.items():
        query = query.where(_PERSON.c[name] == value)
    row = connection.execute(query).first()
    return _read(row) if row else None


def add_person(connection: Connection, name: str, known: str, roles: Sequence[str], made: str) -> int:
    """Put somebody on file; returns the number."""
    row = {"name": name, "known": known, "roles": ";".join(sorted(roles)), "status": "active", "made": made}
    return int(connection.execute(insert(_PERSON).values(row)).inserted_primary_key[0])  # type: ignore[index]


def change_person(connection: Connection, number: int, **values: Any) -> None:
    """Set fields of a person."""
    connection.execute(update(_PERSON).where(_PERSON.c.id == number).values(**values))


def add_session(connection: Connection, one: Session) -> None:
    """Write a session."""
    row = {name: getattr(one, name) for name in Session.__slots__} | {"bench": int(one.bench)}
    connection.execute(insert(_SESSION).values(row))


def session(connection: Connection, key: str) -> Session | None:
    """Find the session of a key; None where there is none."""
    row = connection.execute(select(_SESSION).where(_SESSION.c.key == key)).first()
    return _session(row) if row else None


def sessions(connection: Connection, person: int) -> list[Session]:
    """List a person's sessions, newest first."""
    query = select(_SESSION).where(_SESSION.c.person == person).order_by(_SESSION.c.made.desc())
    return [_session(row) for row in connection.execute(query)]


def _session(row: Any) -> Session:
    return Session(row.key, row.person, row.made, row.seen, row.until, bool(row.bench), row.device, row.address)


def touch_session(connection: Connection, key: str, seen: str, until: str) -> None:
    """Write down that a session was used."""
    connection.execute(update(_SESSION).where(_SESSION.c.key == key).values(seen=seen, until=until))


def end_sessions(connection: Connection, person: int, key: str | None = None, but: str | None = None) -> int:
    """End a person's session of that key, or all of them, `but` one."""
    query = delete(_SESSION).where(_SESSION.c.person == person)
    if key is not None:
        query = query.where(_SESSION.c.key == key)
    if but is not None:
        query = query.where(_SESSION.c.key != but)
    return int(connection.execute(query).rowcount)


def sweep(connection: Connection, now: str, sent_before: str) -> None:
    """Throw away sessions that are over, and the marks of forms sent long ago."""
    connection.execute(delete(_SESSION).where(_SESSION.c.until < now))
    connection.execute(delete(_SENT).where(_SENT.c.at < sent_before))


def add_invitation(connection: Connection, key: str, person: int, by: str, made: str, until: str) -> None:
    """Write an invitation in place of the person's earlier ones."""
    connection.execute(delete(_INVITATION).where(_INVITATION.c.person == person, _INVITATION.c.used.is_(None)))
    row = {"key": key, "person": person, "by": by, "made": made, "until": until, "used": None}
    connection.execute(insert(_INVITATION).values(row))


def invited(connection: Connection, key: str, now: str) -> int | None:
    """Find the person whom an invitation is for; None where it is used, has run out or never was."""
    c = _INVITATION.c
    query = select(c.person).where(c.key == key, c.used.is_(None), c.until > now)
    return connection.execute(query).scalar()


def use_invitation(connection: Connection, key: str, now: str) -> bool:
    """Take an invitation; False if it was taken before."""
    c = _INVITATION.c
    done = connection.execute(update(_INVITATION).where(c.key == key, c.used.is_(None)).values(used=now))
    return bool(done.rowcount)


def drop_invitations(connection: Connection, person: int) -> None:
    """Take back the invitations of a person that were not used."""
    c = _INVITATION.c
    connection.execute(delete(_INVITATION).where(c.person == person, c.used.is_(None)))


def add_token(connection: Connection, key: str, person: int, name: str, scopes: Sequence[str], made: str) -> None:
    """Write a program's key."""
    row = {"key": key, "person": person, "name": name, "scopes": ";".join(sorted(scopes)), "made": made}
    connection.execute(insert(_TOKEN).values(row))


def token(connection: Connection, key: str) -> Token | None:
    """Find a program's key; None where it is ended or never was."""
    row = connection.execute(select(_TOKEN).where(_TOKEN.c.key == key, _TOKEN.c.ended.is_(None))).first()
    return _token(row) if row else None


def tokens(connection: Connection, person: int) -> list[Token]:
    """List a person's keys that are not ended."""
    query = select(_TOKEN).where(_TOKEN.c.person == person, _TOKEN.c.ended.is_(None)).order_by(_TOKEN.c.made)
    return [_token(row) for row in connection.execute(query)]


def _token(row: Any) -> Token:
    return Token(row.key, row.person, row.name, tuple(row.scopes.split(";")), row.made)


def end_tokens(connection: Connection, person: int, now: str, key: str | None = None) -> int:
    """End a person's key, or all of them; returns how many."""
    query = update(_TOKEN).where(_TOKEN.c.person == person, _TOKEN.c.ended.is_(None)).values(ended=now)
    return int(connection.execute(query if key is None else query.where(_TOKEN.c.key == key)).rowcount)


def log(connection: Connection, at: str, by: str, kind: str, about: str, address: str) -> None:
    """Add a line to the log of access."""
    access_chain.add(connection, at, by, kind, about, address)


def logged(connection: Connection, most: int) -> list[AccessLine]:
    """Read the newest lines of the log of access."""
    query = select(_LOG).order_by(_LOG.c.id.desc()).limit(most)
    return [AccessLine(r.at, r.by, r.kind, r.about, r.address) for r in connection.execute(query)]


def sent(connection: Connection, key: str) -> bool:
    """Tell whether a form was sent before."""
    return connection.execute(select(_SENT.c.key).where(_SENT.c.key == key)).first() is not None


def mark_sent(connection: Connection, key: str, at: str) -> None:
    """Mark a form as sent."""
    connection.execute(insert(_SENT).values(key=key, at=at))


def someone(connection: Connection) -> bool:
    """Tell whether anybody is on file."""
    return bool(connection.execute(select(func.count()).select_from(_PERSON)).scalar())
