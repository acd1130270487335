"""What takes seconds to work out: once for all who ask, and never by so many that nobody else is served."""

from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path
from threading import Event

import pytest

from prep.errors import Refused
from prep.services.inventory import init
from prep.services.plan import plan_cache
from prep.services.plan.plan_cache import PlanCache

pytestmark = pytest.mark.on_file
DAY = date(2027, 1, 11)


def test_who_asks_beyond_those_who_wait_is_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "inventory.db"
    init.init(path, "R. Vane", DAY, None, "")
    plans, go_on, begun = PlanCache(path), Event(), Event()

    def slow() -> str:
        begun.set()
        go_on.wait(60)
        return "known"

    most = plan_cache._MOST_WAITING
    with ThreadPoolExecutor(most) as askers:
        waiting = [askers.submit(plans.answer, DAY, "first", slow)]
        assert begun.wait(60)
        waiting += [askers.submit(plans.answer, DAY, "first", slow) for _ in range(most - 1)]
        while plans._waiting < most:
            pass
        with pytest.raises(Refused, match="ask again in a minute"):
            plans.answer(DAY, "another", slow)
        go_on.set()
        assert [one.result(60) for one in waiting] == ["known"] * most
    assert plans.answer(DAY, "another", lambda: "then") == "then"
    assert plans._waiting == 0


def test_what_fails_is_no_answer_and_keeps_nobody_waiting(tmp_path: Path) -> None:
    path = tmp_path / "inventory.db"
    init.init(path, "R. Vane", DAY, None, "")
    plans = PlanCache(path)

    def wrong() -> str:
        raise Refused("no")

    with pytest.raises(Refused):
        plans.answer(DAY, "what", wrong)
    assert plans.answer(DAY, "what", lambda: "yes") == "yes"
    assert plans._waiting == 0
