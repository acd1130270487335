"""Who may come in, and what each may do, is on the books: each change a job, and whoever bends it is named."""

import re
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import text

from prep.errors import PrepError, Refused
from prep.resources import url_of
from prep.services.inventory import backup, export, repair
from prep.services.people import people, school_account, sign_in
from prep.services.people.openid import SchoolAccount
from prep.services.people.sign_in import Device, Guesses
from prep.services.stock import changes, listing, register
from prep.store import guards
from prep.store.audit import logged_records, seals
from prep.store.database import open_engine, reading
from tests.databases import sql
from tests.days import act

PHRASE, OTHER = "four words that do not rhyme", "some other words that never met"
NOTES = {
    "invited: Ada as office",
    "took up the invitation: Ada, with a pass phrase",
    "invited: Ben as teacher",
    "PIN set: Ada",
    "new calendar address: Ada",
    "new key of a program: Ada, till: read",
    "new key of a program: Ada, gate: read",
}


@pytest.fixture
def keys(inventory: None) -> tuple[str, str]:
    """The office, who came in, and a teacher who did not; two keys of programs."""
    assert inventory is None
    first = people.invite(None, "Ada", ["office"], "root")
    sign_in.accept(None, first.secret, PHRASE, Device())
    people.invite(None, "Ben", ["teacher"], "Ada")
    people.set_pin(None, 1, "4826")
    people.new_feed(None, 1, "Ada", "")
    till, gate = (people.new_token(None, 1, name, ["read"], "Ada", "") for name in ("till", "gate"))
    return till, gate


def notes() -> list[str]:
    return [move.reason for move in listing.history(None, None, 100) if move.kind == "people"]


def found() -> list[str]:
    return [finding.message for finding in backup.check(None)]


@pytest.mark.usefixtures("keys")
def test_each_change_is_a_sealed_job_in_the_acting_persons_name() -> None:
    assert set(notes()) == NOTES
    asked = register.history(None, register.RegisterQuery(kinds=("people",)))
    assert [move.reason for move in asked] == notes()
    assert register.history(None, register.RegisterQuery(item="sodium-hydroxide", kinds=("people",))) == []
    assert {move.by for move in listing.history(None, None, 100) if move.kind == "people"} == {"root", "Ada"}
    people.set_roles(None, 2, ["teacher", "technician"], "Ada", "")
    newest = listing.history(None, None, 1)[0]
    assert (newest.by, newest.reason) == ("Ada", "roles changed: Ben, from teacher to teacher, technician")
    people.set_status(None, 2, "left", "Ada", "")
    people.set_status(None, 2, "active", "Ada", "")
    assert notes()[:2] == ["came back: Ben", "left: Ben"]
    person = people.one(None, 1)
    sign_in.change_phrase(None, person, PHRASE, OTHER, "", Guesses())
    school_account.link(None, person, SchoolAccount("https://in.school.example", "s-17", "Ada"), "", "")
    school_account.unlink(None, 1, "Ada", "", "")
    assert notes()[:3] == [
        "the school's account unlinked: Ada",
        "the school's account linked: Ada",
        "pass phrase changed: Ada",
    ]
    assert found() == []


@pytest.mark.usefixtures("keys")
def test_coming_in_writes_no_job() -> None:
    before = len(listing.history(None, None, 100))
    secret = sign_in.sign_in(None, "Ada", PHRASE, Device(), Guesses())
    assert sign_in.who_is(None, secret) is not None
    with pytest.raises(Refused):
        sign_in.sign_in(None, "Ada", OTHER, Device(), Guesses())
    assert len(listing.history(None, None, 100)) == before
    assert found() == []


def test_the_log_holds_no_secret_and_not_what_is_kept_of_one(keys: tuple[str, str]) -> None:
    engine = open_engine(url_of(None))
    with reading(engine) as connection:
        said = "".join(
            connection.execute(text("SELECT coalesce(before, '') || coalesce(after, '') FROM change")).scalars()
        )
        said += "".join(connection.execute(text("SELECT code FROM change")).scalars())
        kept = connection.execute(text("SELECT pass_phrase, pin, feed FROM person WHERE id = 1")).one()
        kept = (
            *kept,
            *connection.execute(text("SELECT key FROM token UNION ALL SELECT key FROM invitation")).scalars(),
        )
    engine.dispose()
    assert len(kept) == 7
    for secret in (*kept, *keys, PHRASE):
        assert secret not in said
    assert not re.search(r"(?<![0-9a-f])4826(?![0-9a-f])", said)  # a digest may hold its figures by chance
    assert all(logged_records.digest(one) in said for one in kept)


BENDS = {
    "UPDATE person SET roles = 'office' WHERE id = 2": "The person 2 is not what the last job left (roles).",
    "UPDATE person SET status = 'left' WHERE id = 2": "The person 2 is not what the last job left (status).",
    "UPDATE person SET name = 'Cy' WHERE id = 2": "The person 2 is not what the last job left (name).",
    "UPDATE person SET pass_phrase = '$argon2id$x' WHERE id = 1": (
        "The person 1 is not what the last job left (pass_phrase)."
    ),
    "UPDATE person SET pin = NULL WHERE id = 1": "The person 1 is not what the last job left (pin).",
    "UPDATE person SET feed = 'x' WHERE id = 1": "The person 1 is not what the last job left (feed).",
    "UPDATE person SET issuer = 'i', subject = 's' WHERE id = 1": (
        "The person 1 is not what the last job left (issuer, subject)."
    ),
    "INSERT INTO person (id, name, known, roles, status, made) VALUES (9, 'Z', 'z', 'office', 'active', '')": (
        "The person 9 stands in its table, but no job put it there."
    ),
    "DELETE FROM token": "is gone, but no job took it away.",
    "UPDATE token SET scopes = 'read;work' WHERE name = 'till'": "is not what the last job left (scopes).",
    "UPDATE token SET person = 2 WHERE name = 'till'": "is not what the last job left (person).",
    "UPDATE invitation SET used = NULL": "is not what the last job left (used).",
    "UPDATE access_log SET kind = 'signed in' WHERE id = 1": (
        "Line 1 of who came in is not what was written, or the one before it is not."
    ),
    "UPDATE access_log SET id = 99 WHERE id = (SELECT max(id) FROM access_log)": "of who came in is not ",
    "DELETE FROM access_log WHERE id = 2": "Line 3 of who came in is not what was written, or the one before it",
    "DELETE FROM access_log WHERE id > 2": "Line 2 of who came in is not the one that was written last.",
    "DELETE FROM access_log": "Line 0 of who came in is not the one that was written last.",
    "UPDATE access_head SET digest = ''": "of who came in is not the one that was written last.",
    "DELETE FROM access_head": "of who came in is not the one that was written last.",
    "INSERT INTO invitation (key, person, \"by\", made, until) VALUES ('k', 1, 'Ada', '', '2099')": (
        "stands in its table, but no job put it there."
    ),
}


@pytest.mark.usefixtures("keys")
@pytest.mark.parametrize("statement", BENDS)
def test_who_bends_a_person_a_key_or_the_log_of_access_is_named(url: str, statement: str) -> None:
    _bend(url, statement)
    said = found()
    assert said
    assert all(BENDS[statement] in one for one in said)


def _bend(url: str, statement: str) -> None:
    """Change rows past the guards, which stand again afterwards."""
    engine = open_engine(url)
    with engine.connect().execution_options(write=True) as connection, connection.begin():
        guards.drop(connection)
        connection.execute(text(statement))
        guards.create(connection)
    engine.dispose()


@pytest.mark.usefixtures("keys")
def test_an_upgrade_chains_the_lines_that_are_there(url: str) -> None:
    kept = "SELECT digest FROM access_log ORDER BY id"
    engine = open_engine(url)
    with reading(engine) as connection:
        before = connection.execute(text(kept)).scalars().all()
    for statement in (
        "ALTER TABLE access_log DROP COLUMN digest",
        "DROP TABLE access_head",
        "ALTER TABLE method_step DROP COLUMN goes_into",
        "ALTER TABLE method_step DROP COLUMN up_to_c",
        "DROP TABLE day_seal",
        "UPDATE alembic_version SET version_num = '0018'",
    ):
        _bend(url, statement)
    backup.upgrade(None)
    assert found() == []
    with reading(engine) as connection:
        assert connection.execute(text(kept)).scalars().all() == before
        assert len(before) > 4
    engine.dispose()


@pytest.mark.on_file
@pytest.mark.usefixtures("keys")
def test_what_is_sound_of_a_copy_has_a_chain_of_its_own(url: str, tmp_path: Path) -> None:
    _bend(url, "DELETE FROM access_log WHERE id = 2")
    copy = backup.backup(None, tmp_path / "copy.db")
    assert backup.check(copy) != []
    repair.salvage(copy, tmp_path / "sound.db", act("Ada", date(2027, 1, 11)))
    assert backup.check(tmp_path / "sound.db") == []


@pytest.mark.usefixtures("keys")
def test_lines_cut_off_the_log_of_access_are_missed_after_others_came(url: str) -> None:
    _bend(url, "DELETE FROM access_log WHERE id > 2")
    sign_in.sign_in(None, "Ada", PHRASE, Device(), Guesses())
    assert found() == ["Line 3 of who came in is not what was written, or the one before it is not."]


@pytest.mark.usefixtures("keys")
def test_a_later_job_does_not_answer_for_what_was_bent(url: str) -> None:
    """Somebody was given a role past the books, and another sets a PIN; the office puts it right by a job."""
    sql(url, "UPDATE person SET roles = 'office' WHERE id = 2")
    people.set_pin(None, 1, "9174")
    (said,) = found()
    assert "The person 2 is not what the last job left (roles)" in said
    people.set_roles(None, 2, ["teacher"], "Ada", "")
    assert found() == []
    sql(url, "UPDATE person SET roles = 'office' WHERE id = 2")
    people.set_roles(None, 2, ["office"], "Ada", "")  # just what was put there: a job answers for it from now on
    assert found() == []
    newest = listing.history(None, None, 1)[0]
    assert (newest.kind, newest.by) == ("people", "Ada")


BENT = {
    "UPDATE person SET roles = 'office' WHERE id = 2": "The person 2 is not what the last job left (roles).",
    "INSERT INTO person (id, name, known, roles, status, made) VALUES (2, 'Z', 'z', 'office', 'active', '')": (
        "The person 2 stands in its table, but no job put it there."
    ),
}


@pytest.mark.usefixtures("inventory")
@pytest.mark.parametrize("statement", BENT)
def test_a_job_of_whoever_was_bent_answers_for_what_it_changed_alone(url: str, statement: str) -> None:
    """Who gave themselves a role, or put themselves on file, and then sets a PIN, has no job for anything else."""
    people.invite(None, "Ada", ["office"], "root")
    if statement.startswith("UPDATE"):
        people.invite(None, "Ben", ["teacher"], "Ada")
    sql(url, statement)
    people.set_pin(None, 2, "9174")
    assert found() == [BENT[statement]]
    people.new_feed(None, 2, "Ada", "")
    assert found() == [BENT[statement]]


@pytest.mark.usefixtures("keys")
def test_a_change_of_a_person_is_not_undone_as_a_job() -> None:
    """Else a technician could give back a role that the office took."""
    people.set_roles(None, 2, ["auditor"], "Ada", "")
    for move in listing.history(None, None, 100):
        if move.kind == "people":
            with pytest.raises(Refused, match="who may come in or do what"):
                changes.undo(None, move.job, act("Ben", date(2027, 1, 11)))
    assert people.one(None, 2).roles == {"auditor"}


@pytest.mark.on_file
def test_an_export_and_a_copy_carry_the_people_and_no_key(keys: tuple[str, str], tmp_path: Path) -> None:
    copy = backup.backup(None, tmp_path / "copy.db")
    assert backup.check(copy) == []
    assert sign_in.of_token(copy, keys[0]) is not None
    export.export(None, tmp_path / "out")
    export.import_(tmp_path / "in.db", tmp_path / "out")
    assert backup.check(tmp_path / "in.db") == []
    assert people.everybody(tmp_path / "in.db") == people.everybody(None)
    assert sign_in.of_token(tmp_path / "in.db", keys[0]) is None
    newest = listing.history(tmp_path / "in.db", None, 1)[0]
    assert (newest.kind, newest.reason) == ("people", "invitations and keys are not carried out")
    engine = open_engine(url_of(None))
    with reading(engine) as connection:
        paper = seals.head(connection)
    engine.dispose()
    assert backup.sealed(tmp_path / "in.db", paper).proved == newest.job - 1
    repair.salvage(copy, tmp_path / "sound.db", act("Ada", date(2027, 1, 11)))
    assert backup.check(tmp_path / "sound.db") == []
    bent = tmp_path / "out" / "person.jsonl"
    bent.write_text(bent.read_text(encoding="utf-8").replace("teacher", "office"), encoding="utf-8")
    with pytest.raises(PrepError, match="person 2 is not what the last job left"):
        export.import_(tmp_path / "bent.db", tmp_path / "out")


@pytest.mark.usefixtures("keys")
def test_a_sign_in_looks_again_at_who_changed_meanwhile(monkeypatch: pytest.MonkeyPatch) -> None:
    """The pass phrase is looked at before the lock: until then it may be changed, or its person have left."""
    looked = sign_in.fits
    second = people.invite(None, "Cy", ["teacher"], "Ada")
    sign_in.accept(None, second.secret, PHRASE, Device())

    def overtaken(kept: str | None, phrase: str) -> bool:
        monkeypatch.setattr(sign_in, "fits", looked)
        people.set_status(None, second.person, "left", "Ada", "")
        return looked(kept, phrase)

    monkeypatch.setattr(sign_in, "fits", overtaken)
    with pytest.raises(Refused, match=re.escape(sign_in.WRONG)):
        sign_in.sign_in(None, "Cy", PHRASE, Device(), Guesses())
    assert sign_in.sessions_of(None, second.person) == []
    assert found() == []
