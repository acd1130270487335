"""The ledger: all or nothing, never below zero, never rewritten, and undone as a whole."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, text
from sqlalchemy.exc import DBAPIError

from prep.errors import PrepError, Refused
from prep.store import change_log, ledger
from prep.store.check import check
from prep.store.database import open_engine, reading, writing
from prep.store.ledger import MovementLine
from tests.databases import create_stamped
from tests.store.conftest import DAY, fill_up, row


def balance(engine: Engine, code: str) -> int:
    with reading(engine) as connection:
        return int(connection.execute(text("SELECT balance FROM bottle WHERE code = :c"), {"c": code}).scalar_one())


def field(engine: Engine, code: str, name: str) -> object:
    with reading(engine) as connection:
        return connection.execute(text(f"SELECT {name} FROM bottle WHERE code = :c"), {"c": code}).scalar_one()


def count(engine: Engine, table: str) -> int:
    with reading(engine) as connection:
        return int(connection.execute(text(f"SELECT count(*) FROM {table}")).scalar_one())


def do(engine: Engine, *lines: tuple[str, int], kind: str = "use", **fields: object) -> int:
    """One job of movements, and fields changed of bottle V."""
    with writing(engine) as connection:
        job = ledger.begin(connection, kind, "Ada", DAY)
        ledger.post(connection, job, [MovementLine(code, amount, kind) for code, amount in lines])
        if fields:
            change_log.change(connection, job, "bottle", "V", **fields)
        return job


def undo(engine: Engine, job: int) -> int:
    with writing(engine) as connection:
        return ledger.reverse(connection, ledger.reversal(connection, job), "Bo", DAY)


def test_a_bottle_can_be_emptied_to_exactly_nothing(engine: Engine) -> None:
    do(engine, ("V", -1000))
    assert balance(engine, "V") == 0


def test_too_much_is_refused_in_a_sentence_and_nothing_of_the_job_stays(engine: Engine) -> None:
    jobs, moves = count(engine, "job"), count(engine, "movement")
    with pytest.raises(Refused, match=r"W holds 0\.5 µL, which is less than the 0\.501 µL"):
        do(engine, ("V", -10), ("W", -501))
    assert (balance(engine, "V"), balance(engine, "W")) == (1000, 500)
    assert (count(engine, "job"), count(engine, "movement")) == (jobs, moves)


def test_the_lines_of_one_job_count_together(engine: Engine) -> None:
    do(engine, ("V", -1500), ("V", 700))
    assert balance(engine, "V") == 200


def test_the_database_itself_refuses_a_balance_below_zero(engine: Engine) -> None:
    with pytest.raises(PrepError, match="less than nothing"), writing(engine) as connection:
        connection.execute(text("UPDATE bottle SET balance = -1 WHERE code = 'V'"))


@pytest.mark.parametrize("amount", [1.5, 2.0, True, "3"])
def test_only_whole_numbers_are_posted(engine: Engine, amount: object) -> None:
    with pytest.raises(PrepError, match="whole micrograms or nanolitres"):
        do(engine, ("V", amount))  # type: ignore[arg-type]


def test_an_unknown_bottle_is_named(engine: Engine) -> None:
    with pytest.raises(PrepError, match='no bottle "ZZZZ"'):
        do(engine, ("ZZZZ", -1))


@pytest.mark.parametrize("table", ["job", "movement", "change", "batch", "usage", "tally"])
@pytest.mark.parametrize("statement", ["UPDATE {} SET job = 1", "DELETE FROM {}"])
def test_the_guards_refuse_to_rewrite(engine: Engine, table: str, statement: str) -> None:
    with writing(engine) as connection:
        assert ledger.begin(connection, "make", "Ada", DAY) == 2
        connection.execute(
            text(
                "INSERT INTO batch (bottle, job, solution, amount, made_on, use_by, made_by) "
                "VALUES ('V', 2, 'acid', 1, '2027-01-04', '2027-02-04', 'Ada')"
            )
        )
        connection.execute(
            text(
                'INSERT INTO booking (code, "on", period, room, teacher, demo, showings, status) '
                "VALUES ('B1', '2027-01-05', '', '', '', 'show', 1, 'booked')"
                if table == "usage"
                else "INSERT INTO stocktake (code, location, blind, status, opened_on, opened_by) "
                "VALUES ('C1', '', 0, 'open', '2027-01-05', 'Ada')"
            )
        )
        if table == "usage":
            connection.execute(text("INSERT INTO usage VALUES (2, 'acid', 'B1', 'show', 1, 1, 1)"))
        if table == "tally":
            connection.execute(
                text("INSERT INTO tally VALUES (1, 'C1', 'V', 'counted', 1, '', '', 5, '', '', 1, 'Ada', 'now', 2)")
            )
    sql = statement.format(table).replace("job = 1", "note = 'x'" if table in ("job", "tally") else "job = 1")
    with pytest.raises(DBAPIError, match="append-only"), engine.begin() as connection:
        connection.execute(text(sql))
    with pytest.raises(PrepError, match="append-only; use: prep stock undo"), writing(engine) as connection:
        connection.execute(text(sql))


def test_undoing_names_what_it_reverses_line_by_line(engine: Engine) -> None:
    job = do(engine, ("V", -100), ("W", -20))
    new = undo(engine, job)
    assert (balance(engine, "V"), balance(engine, "W")) == (1000, 500)
    with reading(engine) as connection:
        pairs = connection.execute(
            text(
                "SELECT a.amount, b.amount FROM movement a JOIN movement b ON a.reverses = b.id "
                "WHERE a.job = :new AND b.job = :old"
            ),
            {"new": new, "old": job},
        ).all()
    assert sorted(map(tuple, pairs)) == [(20, -20), (100, -100)]


def test_a_job_that_fills_and_takes_from_one_bottle_is_undone(engine: Engine) -> None:
    job = do(engine, ("V", 100), ("V", -1090))
    undo(engine, job)
    assert balance(engine, "V") == 1000


def test_a_job_is_undone_once_and_an_undoing_never(engine: Engine) -> None:
    job = do(engine, ("V", -100))
    new = undo(engine, job)
    with pytest.raises(PrepError, match=f"Job {job} was already undone, by job {new}"):
        undo(engine, job)
    with pytest.raises(PrepError, match=f"Job {new} is itself an undoing of job {job}"):
        undo(engine, new)
    with pytest.raises(PrepError, match="There is no job 999"):
        undo(engine, 999)


def test_a_job_on_which_later_ones_rest_says_which(engine: Engine) -> None:
    filled = do(engine, ("W", 100), kind="fill")
    first, undone, second = do(engine, ("W", -300)), do(engine, ("W", -10)), do(engine, ("W", -250))
    undo(engine, undone)
    with pytest.raises(Refused, match=f"bottle W has been used since by jobs {first}, {second}; undo those first"):
        undo(engine, filled)
    assert balance(engine, "W") == 50


def test_moves_and_status_are_undone_too_and_only_in_order(engine: Engine) -> None:
    first = do(engine, kind="move", location="B")
    second = do(engine, kind="move", location="A")
    with pytest.raises(Refused, match=f"the location of bottle V was changed since by job {second}"):
        undo(engine, first)
    undo(engine, second)
    undo(engine, first)
    assert field(engine, "V", "location") == "A"


def test_nothing_goes_back_into_a_discarded_bottle(engine: Engine) -> None:
    used = do(engine, ("V", -1000))
    gone = do(engine, kind="discard", status="discarded")
    with pytest.raises(Refused, match=f"bottle V has been discarded since by job {gone}; undo that first"):
        undo(engine, used)
    undo(engine, gone)
    undo(engine, used)
    assert (balance(engine, "V"), field(engine, "V", "status")) == (1000, "in service")


def test_a_discard_is_undone_to_the_status_before(engine: Engine) -> None:
    do(engine, kind="status", status="quarantine")
    gone = do(engine, ("V", -1000), kind="discard", status="discarded")
    undo(engine, gone)
    assert (balance(engine, "V"), field(engine, "V", "status")) == (1000, "quarantine")


def test_a_new_bottle_is_taken_off_the_books_with_its_job(engine: Engine) -> None:
    with writing(engine) as connection:
        job = ledger.begin(connection, "receive", "Ada", DAY)
        ledger.fill(connection, job, row("N"), 70, "received")
    later = do(engine, ("N", -70), ("N", 30))
    with pytest.raises(Refused, match=f"bottle N has been used since by job {later}"):
        undo(engine, job)
    undo(engine, later)
    undo(engine, job)
    assert (balance(engine, "N"), field(engine, "N", "status")) == (0, "discarded")


def test_the_day_of_opening_stays_if_others_took_since(engine: Engine) -> None:
    first = do(engine, ("V", -1), opened=DAY)
    second = do(engine, ("V", -1))
    undo(engine, first)
    assert str(field(engine, "V", "opened")) == DAY.isoformat()
    with writing(engine) as connection:
        third = ledger.begin(connection, "use", "Ada", DAY)
        ledger.post(connection, third, [MovementLine("W", -1, "use")])
        change_log.change(connection, third, "bottle", "W", opened=DAY)
    undo(engine, third)
    assert field(engine, "W", "opened") is None
    assert balance(engine, "V") == 999
    assert second


def test_amounts_are_not_changed_beside_the_ledger(engine: Engine) -> None:
    with pytest.raises(ValueError, match="balance is not changed here"):
        do(engine, kind="move", balance=5)


MOVES = st.lists(
    st.tuples(st.sampled_from(["V", "W"]), st.integers(-700, 700).filter(bool), st.booleans()), max_size=25
)


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(MOVES)
def test_whatever_is_done_the_books_agree_with_a_plain_model(moves: list[tuple[str, int, bool]]) -> None:
    engine = open_engine("sqlite://")
    create_stamped(engine)
    fill_up(engine)
    model, posted = {"V": 1000, "W": 500}, []
    for code, amount, undo_one in moves:
        if undo_one and posted:
            job, bottle, was = posted.pop(len(posted) // 2)
            if model[bottle] >= was:
                undo(engine, job)
                model[bottle] -= was
            else:
                with pytest.raises(Refused):
                    undo(engine, job)
        elif model[code] + amount >= 0:
            posted.append((do(engine, (code, amount)), code, amount))
            model[code] += amount
        else:
            with pytest.raises(Refused):
                do(engine, (code, amount))
        assert {c: balance(engine, c) for c in model} == model
    with reading(engine) as connection:
        assert check(connection) == []
