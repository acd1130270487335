"""Coming in: by an invitation, by a pass phrase, by a program's key; sessions, and how guessing is slowed."""

import secrets
import time
from collections import OrderedDict
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from sqlalchemy import Connection

from prep.chemistry.spelling import key as spelt
from prep.errors import PrepError, Refused
from prep.services.inventory import session
from prep.services.people.people import begin_job, checked_phrase, hashed, invite, moment, of_number
from prep.services.people.secret import fits, hasher
from prep.store.people import accounts

if TYPE_CHECKING:
    from collections.abc import Callable

    from prep.store.people.accounts import Person, Session, Token

IDLE_DAYS, BENCH_DAYS = 8 / 24, 30.0
_TOUCH_S = 300
_SENT_DAYS = 14
WRONG = "That name and pass phrase do not belong together."


class TooManyGuesses(Refused):
    """Too many wrong guesses: the sentence says how long to wait; `seconds` for a program."""

    def __init__(self, seconds: int) -> None:
        super().__init__(f"Too many wrong tries; wait {seconds} seconds and try again.")
        self.seconds = seconds


@dataclass
class Guesses:
    """Counts wrong guesses of a name and from an address: five are free, then each doubles the wait."""

    free: int = 5
    longest: int = 300
    most: int = 10_000
    clock: "Callable[[], float]" = time.monotonic
    _of: "OrderedDict[str, tuple[int, float]]" = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)

    def check(self, *about: str) -> None:
        """Refuse a guess while a wait runs. Raises TooManyGuesses."""
        with self._lock:
            now = self.clock()
            wait = max((self._of.get(one, (0, now))[1] - now for one in about), default=0)
        if wait > 0:
            raise TooManyGuesses(int(wait) + 1)

    def wrong(self, *about: str) -> None:
        """Count a wrong guess."""
        with self._lock:
            for one in about:
                count = self._of.pop(one, (0, 0.0))[0] + 1
                wait = min(2 ** (count - self.free), self.longest) if count >= self.free else 0
                self._of[one] = (count, self.clock() + wait)
            while len(self._of) > self.most:
                self._of.popitem(last=False)

    def right(self, *about: str) -> None:
        """Forget the wrong ones."""
        with self._lock:
            for one in about:
                self._of.pop(one, None)


@dataclass(frozen=True, slots=True)
class Device:
    """Where somebody signs in: the browser's own words, the address, and whether it is the bench's shared tablet."""

    name: str = ""
    address: str = ""
    bench: bool = False


def accept(db: Path | None, secret: str, phrase: str, device: Device) -> str:
    """Take up an invitation with a pass phrase of one's own; returns the new session's secret. Raises PrepError."""
    name = whose(db, secret)
    kept = hasher().hash(checked_phrase(phrase, name))
    with session.writing(db) as connection:
        number = accounts.invited(connection, hashed(secret), moment())
        if number is None or not accounts.use_invitation(connection, hashed(secret), moment()):
            raise Refused(OVER)
        begin_job(connection, name, "took up the invitation", f"{name}, with a pass phrase")
        accounts.change_person(connection, number, pass_phrase=kept)
        accounts.end_sessions(connection, number)  # sessions begun with the old pass phrase
        return begin(connection, of_number(connection, number), device, "took up the invitation")


OVER = "This link was used, or is older than three days; ask the office for a new one."


def whose(db: Path | None, secret: str) -> str:
    """Find the name of the person whom an invitation is for. Raises Refused where it no longer holds."""
    with session.reading(db) as connection:
        number = accounts.invited(connection, hashed(secret), moment())
        found = accounts.person(connection, id=number) if number is not None else None
    if found is None:
        raise Refused(OVER)
    return found.name


def sign_in(db: Path | None, name: str, phrase: str, device: Device, guesses: Guesses) -> str:
    """Sign somebody in by pass phrase; returns the new session's secret. Raises Refused, slowed after wrong guesses."""
    about = (f"name:{spelt(name)[:80]}", f"from:{device.address}")
    guesses.check(*about)
    with session.reading(db) as connection:
        person = accounts.person(connection, known=spelt(name), status="active")
    if not fits(person.pass_phrase if person else None, phrase[:1000]) or person is None:
        guesses.wrong(*about)
        with session.writing(db) as connection:
            accounts.log(connection, moment(), _short(name), "refused", "wrong name or pass phrase", device.address)
        raise Refused(WRONG)
    guesses.right(*about)
    again = hasher().hash(phrase) if hasher().check_needs_rehash(person.pass_phrase or "") else None
    with session.writing(db) as connection:
        now = accounts.person(connection, known=spelt(name), status="active")
        same = now is not None and now.pass_phrase == person.pass_phrase
        if now is None or not (same or fits(now.pass_phrase, phrase[:1000])):
            raise Refused(WRONG)  # left, or chose another pass phrase, while this one was looked at
        if again and same:  # else another sign-in of the same moment has done so
            begin_job(connection, person.name, "pass phrase kept by newer settings", person.name)
            accounts.change_person(connection, person.id, pass_phrase=again)
        return begin(connection, person, device, "signed in")


def _short(name: str) -> str:
    return "".join(c for c in name.strip()[:80] if c.isprintable())


def begin(connection: "Connection", person: "Person", device: Device, kind: str, about: str = "") -> str:
    """Begin a session in the caller's transaction, with its line of the history; returns the session's secret."""
    secret = secrets.token_urlsafe(32)
    accounts.sweep(connection, moment(), moment(-_SENT_DAYS))
    said = "".join(c for c in device.name[:160] if c.isprintable())
    until = moment(BENCH_DAYS if device.bench else IDLE_DAYS)
    accounts.add_session(
        connection,
        accounts.Session(hashed(secret), person.id, moment(), moment(), until, device.bench, said, device.address),
    )
    accounts.log(
        connection, moment(), person.name, kind, "on the bench's tablet" if device.bench else about, device.address
    )
    return secret


@dataclass(frozen=True, slots=True)
class SignedIn:
    """Who is signed in, and on which session; `renewed` where it lasts longer from now."""

    person: "Person"
    session: "Session"
    renewed: bool = False


@dataclass(frozen=True, slots=True)
class ProgramAccess:
    """Whom a program's key stands for, and what the key may."""

    person: "Person"
    scopes: tuple[str, ...]


def who_is(db: Path | None, secret: str) -> SignedIn | None:
    """Find whom a session's secret belongs to, while it lasts; being used, it lasts longer."""
    with session.reading(db) as connection:
        found = accounts.session(connection, hashed(secret))
        person = accounts.person(connection, id=found.person, status="active") if found else None
    now = moment()
    if found is None or person is None or found.until < now:
        return None
    renewed = datetime.fromisoformat(now) - datetime.fromisoformat(found.seen) > timedelta(seconds=_TOUCH_S)
    if renewed:
        with session.writing(db) as connection:
            accounts.touch_session(connection, found.key, now, moment(BENCH_DAYS if found.bench else IDLE_DAYS))
    return SignedIn(person, found, renewed)


def whose_pin(db: Path | None, number: int, pin: str, guesses: Guesses, address: str) -> "Person":
    """Find who stands at the bench's tablet, by number and PIN. Raises Refused, slowed after wrong guesses."""
    about = (f"pin:{number}", f"pin from:{address}")
    guesses.check(*about)
    with session.reading(db) as connection:
        person = accounts.person(connection, id=number, status="active") if 0 < number < 2**31 else None
    if person is None or not fits(person.pin, pin[:20]):
        guesses.wrong(*about)
        refused(db, person.name if person else "", "wrong PIN, on the bench's tablet", address)
        raise Refused("That is not the PIN of that person.")
    guesses.right(*about)
    return person


def prove(db: Path | None, person: "Person", phrase: str, guesses: Guesses) -> None:
    """Check that whoever is signed in knows the pass phrase. Raises Refused, slowed after wrong guesses."""
    about = f"name:{spelt(person.name)}"
    guesses.check(about)
    if not fits(person.pass_phrase, phrase[:1000]):
        guesses.wrong(about)
        refused(db, person.name, "wrong pass phrase, signed in", "")
        raise Refused("The pass phrase is not that.")
    guesses.right(about)


def change_phrase(db: Path | None, person: "Person", old: str, new: str, key: str, guesses: Guesses) -> None:
    """Change one's own pass phrase; every other session of the person ends. Raises PrepError, Refused."""
    prove(db, person, old, guesses)
    kept = hasher().hash(checked_phrase(new, person.name))
    with session.writing(db) as connection:
        begin_job(connection, person.name, "pass phrase changed", person.name)
        accounts.change_person(connection, person.id, pass_phrase=kept)
        accounts.end_sessions(connection, person.id, but=key)
        accounts.log(connection, moment(), person.name, "changed the pass phrase", "", "")


def sign_out(db: Path | None, person: "Person", key: str) -> None:
    """End one session of a person."""
    with session.writing(db) as connection:
        if accounts.end_sessions(connection, person.id, key=key):
            accounts.log(connection, moment(), person.name, "signed out", "", "")


def sessions_of(db: Path | None, person: int) -> "list[Session]":
    """List a person's sessions, newest first."""
    with session.reading(db) as connection:
        return accounts.sessions(connection, person)


def of_token(db: Path | None, secret: str) -> ProgramAccess | None:
    """Find whom a program's key stands for; None where it holds no longer."""
    with session.reading(db) as connection:
        found = accounts.token(connection, hashed(secret))
        person = accounts.person(connection, id=found.person, status="active") if found else None
    return ProgramAccess(person, found.scopes) if found and person else None


def tokens_of(db: Path | None, person: int) -> "list[Token]":
    """List a person's keys."""
    with session.reading(db) as connection:
        return accounts.tokens(connection, person)


def refused(db: Path | None, by: str, about: str, address: str) -> None:
    """Write down that somebody was refused what is not theirs."""
    with session.writing(db) as connection:
        accounts.log(connection, moment(), _short(by), "refused", about[:200], address)


def first_person(db: Path | None, name: str, roles: "list[str]", by: str) -> str | None:
    """Invite the first person of an inventory, and give the secret to enter; None where somebody is on file."""
    with session.reading(db) as connection:
        if accounts.someone(connection):
            return None
    try:
        return invite(db, name, roles, by).secret
    except PrepError:
        return None
