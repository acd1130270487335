"""The school's own account of a person: coming in by it, linking it, unlinking it. Nobody is put on file by it."""

from pathlib import Path
from typing import TYPE_CHECKING

from prep.errors import PrepError, Refused
from prep.services.inventory import session
from prep.services.people.openid import SchoolAccount
from prep.services.people.people import begin_job, hashed, moment, of_number, somebody_left
from prep.services.people.sign_in import OVER, Device, begin, refused
from prep.store.people import accounts

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.people.accounts import Person

BY_IT = "with the school's account"
NOBODYS = "This account of the school is nobody’s here. Ask the office for an invitation."
ANOTHERS = "This account of the school is somebody else’s here already. Ask the office."


def sign_in_with(db: Path | None, account: SchoolAccount, device: Device) -> str:
    """Sign in whom an account of the school belongs to; returns the new session's secret. Raises Refused."""
    with session.writing(db) as connection:
        person = accounts.person(connection, issuer=account.issuer, subject=account.subject, status="active")
        if person is not None:
            return begin(connection, person, device, "signed in", BY_IT)
    refused(db, account.subject, f"an account of the school that is nobody's{_called(account)}", device.address)
    raise Refused(NOBODYS)


def accept_with(db: Path | None, secret: str, account: SchoolAccount, device: Device) -> str:
    """Take up an invitation by an account of the school; returns the new session's secret. Raises Refused."""
    try:
        with session.writing(db) as connection:
            number = accounts.invited(connection, hashed(secret), moment())
            if number is None:
                raise Refused(OVER)
            person = of_number(connection, number)
            _free(connection, person, account)
            begin_job(connection, person.name, "took up the invitation", f"{person.name}, {BY_IT}")
            accounts.use_invitation(connection, hashed(secret), moment())
            accounts.end_sessions(connection, number)  # sessions of whoever had the account before
            _link(connection, person, account, device.address)
            return begin(connection, person, device, "took up the invitation", BY_IT)
    except Refused as problem:
        why = f"an invitation, by an account of the school{_called(account)}: {problem}"
        refused(db, account.subject, why, device.address)
        raise


def link(db: Path | None, person: "Person", account: SchoolAccount, key: str, address: str) -> None:
    """Link an account of the school to a person who is signed in; their other sessions end. Raises Refused."""
    try:
        with session.writing(db) as connection:
            _free(connection, person, account)
            begin_job(connection, person.name, "the school's account linked", person.name)
            _link(connection, person, account, address)
            accounts.end_sessions(connection, person.id, but=key)
    except Refused as problem:
        refused(db, person.name, f"linking an account of the school: {problem}", address)
        raise


def unlink(db: Path | None, number: int, by: str, address: str, key: str | None = None) -> None:
    """Unlink a person's account of the school, and end their sessions but that of `key`, where it is they who ask.

    Raises PrepError; Refused where they could then not come in again, or nobody could be in the office.
    """
    with session.writing(db) as connection:
        person = of_number(connection, number)
        if person.subject is None:
            raise PrepError("No account of the school is linked.")
        if key is not None and not person.pass_phrase:
            raise Refused("You have no pass phrase to come in by instead; ask the office for a link to choose one.")
        if not person.pass_phrase:
            somebody_left(connection, person)
        begin_job(connection, by, "the school's account unlinked", person.name)
        accounts.change_person(connection, number, issuer=None, subject=None)
        accounts.end_sessions(connection, number, but=key)
        accounts.log(
            connection, moment(), by, "unlinked the school's account", f"{person.name}: {person.subject}", address
        )


def _called(account: SchoolAccount) -> str:
    """Write what the provider calls somebody: no more than a hint, for it is not the name on file."""
    return f" ({account.name})" if account.name else ""


def _free(connection: "Connection", person: "Person", account: SchoolAccount) -> None:
    whose = accounts.person(connection, issuer=account.issuer, subject=account.subject)
    if whose is not None and whose.id != person.id:
        raise Refused(ANOTHERS)


def _link(connection: "Connection", person: "Person", account: SchoolAccount, address: str) -> None:
    accounts.change_person(connection, person.id, issuer=account.issuer, subject=account.subject)
    said = f"{person.name}: {account.subject}" + (f", before {person.subject}" if person.subject else "")
    accounts.log(connection, moment(), person.name, "linked the school's account", said, address)
