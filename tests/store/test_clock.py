"""A clock that was set back, and another time zone: jobs keep their order, nothing is lost, what is signed stays."""

import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

import pytest

from prep.errors import Refused
from prep.services.inventory import backup, init
from prep.services.stock import changes, listing
from prep.services.stocktake import adjustments, entry, stocktake
from prep.store import ledger
from tests.databases import made_once
from tests.days import act

DAY = date(2027, 1, 11)


@pytest.fixture(autouse=True)
def inventory(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A new inventory."""
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    made_once(url, "new", lambda: init.init(None, "Ada", DAY, None, ""))


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[pytest.MonkeyPatch]:
    """Lets a test change the time zone, and puts it back."""
    with monkeypatch.context() as patch:
        yield patch
    time.tzset()


def receive(on: date) -> str:
    return changes.receive(None, changes.Receipt("sodium-chloride", "100 g", 1, None, None, "", ""), act("Ada", on))[
        0
    ].code


def test_jobs_dated_later_than_now_stay_in_order_and_can_be_undone(monkeypatch: pytest.MonkeyPatch) -> None:
    ahead = datetime.now(UTC) + timedelta(days=400)
    with monkeypatch.context() as patch:
        patch.setattr(ledger, "now", lambda: ahead.isoformat(timespec="seconds"))
        code = receive(DAY + timedelta(days=400))
        changes.use(None, code, "10 g", "ahead", act("Ada", DAY + timedelta(days=400)))
    changes.use(None, code, "20 g", "set back", act("Ada", DAY))
    shown = listing.show(None, code)
    held, moves = shown.bottle, shown.moves
    assert held.shown == "70 g"
    assert [(m.kind, m.reason) for m in moves] == [("use", "set back"), ("use", "ahead"), ("receive", "received")]
    assert moves[0].job > moves[1].job > moves[2].job
    assert moves[0].at < moves[1].at
    assert [m.reason for m in listing.history(None, None, 3)] == ["set back", "ahead", "received"]
    changes.undo(None, moves[1].job, act("Ada", DAY))
    assert listing.show(None, code).bottle.shown == "80 g"
    assert backup.check(None) == []


def test_what_is_signed_off_stays_fixed_when_the_clock_is_set_back() -> None:
    code = receive(DAY)
    changes.use(None, code, "10 g", "", act("Ada", DAY))
    used = listing.history(None, code, 1)[0].job
    stocktake.open_count(None, None, False, act("Ada", DAY))
    stocktake.enter(None, None, code, entry.TypedCount(amount="60 g"), act("Ada", DAY))
    adjustments.close(None, None, adjustments.LeftOpen(True, True), act("Ada", DAY))
    for late in (DAY - timedelta(days=1), DAY - timedelta(days=400)):
        with pytest.raises(Refused, match="signed off"):
            changes.use(None, code, "1 g", "", act("Ada", late))
        with pytest.raises(Refused, match="signed off"):
            changes.undo(None, used, act("Ada", late))
    assert listing.show(None, code).bottle.shown == "60 g"
    assert changes.use(None, code, "1 g", "", act("Ada", DAY)).shown == "59 g"
    assert backup.check(None) == []


def test_moments_are_kept_in_utc_whatever_the_time_zone(zone: pytest.MonkeyPatch) -> None:
    code = receive(DAY)
    seen = []
    for name in ("<+14>-14", "<-11>11", "UTC0"):  # POSIX names, which need no tables of zones
        zone.setenv("TZ", name)
        time.tzset()
        before = datetime.now(UTC).replace(microsecond=0)
        changes.use(None, code, "1 g", name, act("Ada", DAY))
        line = listing.history(None, code, 1)[0]
        assert line.reason == name
        assert line.on == DAY
        assert line.at.endswith("+00:00")
        assert before <= datetime.fromisoformat(line.at) <= datetime.now(UTC)
        seen.append(line.at)
    assert seen == sorted(seen)
    assert [(m.on, m.at) for m in listing.history(None, code, 3)] == [(DAY, at) for at in reversed(seen)]
    assert backup.check(None) == []
