"""What could be shown on a day: each by itself, from a few plans, and never by taking what another was promised."""

import random
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from prep.errors import PrepError
from prep.planning.model import Booking, Bottle, Calendar, Demo, Need, Policy, Snapshot
from prep.resources import seed_data
from prep.services.bookings import showable
from prep.services.bookings.answers import BookedSchool
from prep.services.catalogue.seed import read_catalogue
from prep.services.inventory import init

SCHOOL = seed_data() / "school"
TODAY, ON = date(2027, 1, 11), date(2027, 1, 13)
G, ML = 1_000_000, 1_000_000


def _demo(code: str, **needs: int) -> Demo:
    return Demo(code, code, tuple(Need(item.replace("_", "-"), amount) for item, amount in needs.items()), Decimal(0))


DEMOS = (
    _demo("plain", copper_turnings=5 * G),
    _demo("rival-a", zinc_granules=8 * G),
    _demo("rival-b", zinc_granules=8 * G),
    _demo("promised", magnesium_ribbon=8 * G),
    Demo("mixed", "mixed", (Need("zinc-granules", 8 * G), Need("lithium", G)), Decimal(0)),
    Demo("made", "made", (Need("nacl-0.1", 50 * ML),), Decimal(0)),
    _demo("nowhere", lithium=1 * G),
)
BOOKED = Demo("booked", "booked", (Need("magnesium-ribbon", 5 * G),), Decimal(0))


def _bottle(code: str, item: str, amount: int) -> Bottle:
    return Bottle(code, item, amount, date(2029, 1, 1), "PREP", received=date(2026, 9, 1))


def _school(calendar: Calendar) -> BookedSchool:
    catalogue = read_catalogue(seed_data())
    later = Booking("B1", date(2027, 1, 14), "P1", "S1", "", "booked", 1)
    snapshot = Snapshot(
        TODAY,
        catalogue,
        {demo.code: demo for demo in (*DEMOS, BOOKED)},
        (later,),
        (
            _bottle("C1", "copper-turnings", 5 * G),
            _bottle("Z1", "zinc-granules", 10 * G),
            _bottle("M1", "magnesium-ribbon", 10 * G),
            _bottle("N1", "sodium-chloride", 50 * G),
        ),
        (),
        {},
        catalogue.instruments,
        calendar,
    )
    return BookedSchool(snapshot, Policy(), {"B1": later})


def _found(school: BookedSchool) -> list[str]:
    return showable._Tries(school, ON).found()


def test_each_is_tried_by_itself_and_takes_from_nobody() -> None:
    """Two that want the same bottle can both be shown; one that would empty another's bottle cannot."""
    assert _found(_school(Calendar())) == ["plain", "rival-a", "rival-b", "made", "booked"]


def test_the_minutes_of_the_day_count() -> None:
    none = Calendar(minutes_per_day=0)
    assert "made" not in _found(_school(none))
    assert "plain" in _found(_school(none))


def test_what_is_made_on_a_day_too_full_is_promised_to_nobody_else() -> None:
    """Two makes are wanted by today, which has time for one; a third show of the first would wait with it."""
    school = _school(Calendar(minutes_per_day=16))
    full = Demo("full", "full", (Need("nacl-0.1", 50 * ML), Need("nacl-1pct", 50 * ML)), Decimal(0))
    first = Booking("B2", date(2027, 1, 12), "P1", "S1", "", "full", 1)
    demos, bookings = {**school.snapshot.demos, "full": full}, (*school.snapshot.bookings, first)
    school.snapshot = replace(school.snapshot, demos=demos, bookings=bookings)
    school.bookings["B2"] = first
    assert "made" not in _found(school)
    assert "rival-a" in _found(school)
    assert "made" in _found(_school(Calendar(minutes_per_day=16)))


def test_what_is_held_is_worked_out_once_for_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """Thirty more demonstrations ask for no more plans."""
    plans = []
    whole = BookedSchool.answers
    monkeypatch.setattr(BookedSchool, "answers", lambda self, *a: plans.append(a) or whole(self, *a))
    school = _school(Calendar())
    _found(school)
    few = len(plans)
    more = {f"more-{n}": replace(DEMOS[4 + n % 3], code=f"more-{n}") for n in range(30)}
    school.snapshot = replace(school.snapshot, demos={**school.snapshot.demos, **more})
    plans.clear()
    _found(school)
    assert len(plans) <= few + 2


def test_a_closed_day_and_a_past_one_are_refused(tmp_path: Path) -> None:
    where = tmp_path / "inventory.db"
    init.init(where, "Ada", TODAY, None, "")
    for day, why in ((date(2027, 1, 16), "closed"), (date(2027, 1, 8), "past")):
        with pytest.raises(PrepError, match=why):
            showable.showable(where, day, TODAY)


@pytest.mark.parametrize("minutes", [0, 11, 16, 24, 26, 40, 240])
def test_what_can_be_shown_is_what_each_booking_would_hear(minutes: int) -> None:
    """With minutes for a make, for setting out, for both or for neither, and a day that is too full elsewhere."""
    school = _school(Calendar(minutes_per_day=minutes))
    full = Demo("full", "full", (Need("nacl-0.1", 50 * ML), Need("nacl-1pct", 50 * ML)), Decimal(0))
    first = Booking("B2", ON, "P1", "S1", "", "full", 1)
    school.snapshot = replace(
        school.snapshot,
        demos={**school.snapshot.demos, "full": full},
        bookings=(*school.snapshot.bookings, first),
    )
    school.bookings["B2"] = first
    end = school.end([ON])
    before = school.answers(school.snapshot, end)
    trials = [Booking(f"trial-{code}", ON, "", "", "", code, 1) for code in school.snapshot.demos]
    alone = [trial.demo for trial in trials if school.alone(trial, before, end).can_be_shown is not False]
    assert _found(school) == alone


MADE = ("nacl-0.1", "nacl-1pct", "cuso4-0.1", "cuso4-0.5", "starch-1", "naoh-0.4", "naoh-2", "benedict", "kmno4-0.02")


@pytest.mark.parametrize("seed", range(12))
def test_on_days_nearly_full_it_is_what_each_booking_would_hear(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Makes that keep for a day or for months, some in a bottle that goes off, beside bookings that fill the days."""
    draw = random.Random(seed)
    catalogue = read_catalogue(seed_data())
    demos = {
        f"d{n}": Demo(f"d{n}", f"d{n}", tuple(Need(item, 50 * ML) for item in draw.sample(MADE, 2)), Decimal(0))
        for n in range(8)
    }
    days = [TODAY + timedelta(days=n) for n in (0, 1, 2, 3, 4, 7)]
    booked = tuple(
        Booking(f"B{n}", draw.choice(days), "P1", "S1", "", draw.choice(sorted(demos)), 1)
        for n in range(draw.randrange(9))
    )
    solids = ("sodium-chloride", "copper-sulfate-5-water", "sodium-hydroxide", "potassium-permanganate", "starch")
    bottles = [_bottle(f"K{n}", item, 500 * G) for n, item in enumerate(solids)]
    for n, item in enumerate(draw.sample(MADE, 3)):
        goes_off = TODAY + timedelta(days=draw.randrange(-1, 9))
        bottles.append(replace(_bottle(f"M{n}", item, draw.choice((60, 400)) * ML), use_by=goes_off))
    calendar = Calendar(minutes_per_day=draw.choice((20, 35, 50, 70, 90)))
    snapshot = Snapshot(TODAY, catalogue, demos, booked, tuple(bottles), (), {}, catalogue.instruments, calendar)
    school = BookedSchool(snapshot, Policy(), {one.code: one for one in booked})
    end = school.end([ON])
    before = school.answers(snapshot, end)
    trials = [Booking(f"trial-{code}", ON, "", "", "", code, 1) for code in demos]
    alone = [trial.demo for trial in trials if school.alone(trial, before, end).can_be_shown is not False]
    # However few plans may be drawn up for one demo alone, none is promised wrongly and none is left out unsaid.
    for most in (100, 2, 0):
        monkeypatch.setattr(showable, "_SINGLY", most)
        tries = showable._Tries(school, ON)
        found = tries.found()
        assert found == [code for code in alone if code not in tries.not_asked]
        assert most < 100 or not tries.not_asked


def test_only_those_that_are_named_are_asked(tmp_path: Path) -> None:
    where = tmp_path / "inventory.db"
    init.init(where, "Ada", TODAY, SCHOOL, "")
    found = showable.showable(where, ON, TODAY)
    some = [*found.codes[:2], *found.not_asked[:1]]
    again = showable.showable(where, ON, TODAY, some)
    assert set(some[:2]) <= set(again.codes) <= set(some)
    assert again.not_asked == []


def test_on_full_days_nobody_asks_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where all days are full, what must be made for the day needs no plan of its own to be told no."""
    school = _school(Calendar(minutes_per_day=16))
    codes = [f"salt-{n}" for n in range(20)]
    salts = {code: Demo(code, code, (Need("nacl-0.1", (50 + n) * ML),), Decimal(0)) for n, code in enumerate(codes)}
    full = Demo("full", "full", (Need("kmno4-0.02", 50 * ML), Need("nacl-1pct", 50 * ML)), Decimal(0))
    booked = [Booking(f"F{n}", date(2027, 1, 11 + n), "P1", "S1", "", "full", 1) for n in range(3)]
    potassium = replace(_bottle("P1", "potassium-permanganate", 50 * G))
    school.snapshot = replace(
        school.snapshot,
        demos={**school.snapshot.demos, **salts, "full": full},
        bookings=(*school.snapshot.bookings, *booked),
        bottles=(*school.snapshot.bottles, potassium),
    )
    school.bookings.update({one.code: one for one in booked})
    asked = []
    whole = BookedSchool.alone
    monkeypatch.setattr(BookedSchool, "alone", lambda self, *a: asked.append(a[0].demo) or whole(self, *a))
    assert not set(codes) & set(_found(school))
    assert not set(codes) & set(asked)
