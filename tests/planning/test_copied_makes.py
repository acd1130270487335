"""A later walk copies the makes whose sources nothing changed: the plan is the one that choosing them anew gives."""

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from prep.planning.engine.exclusions import LowLevelOrder, SourceDependencies
from prep.planning.engine.lots import Lots
from prep.planning.engine.netting import Supplies
from prep.planning.engine.state import ItemLots, RunState
from prep.planning.plan import make_plan
from prep.reports.plan.document import plan_document
from tests.planning.schools import schools
from tests.planning.test_plan import shipped


@given(st.data())
@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_copied_makes_are_those_that_would_be_chosen_anew(data: st.DataObject) -> None:
    stock, horizon = data.draw(schools(shipped()))
    copied = json.dumps(plan_document(make_plan(stock, horizon), stock))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(RunState, "chooses_again", lambda *_: False)
        assert json.dumps(plan_document(make_plan(stock, horizon), stock)) == copied


def test_sources_are_chosen_anew_while_other_promises_of_what_they_reach_stand() -> None:
    levels, reach = LowLevelOrder((), frozenset()), SourceDependencies((), ("acid",), ())
    earlier, now = RunState(Supplies({}), levels), RunState(Supplies({}), levels)
    known = ItemLots([], Lots([], []), reach, (), [])
    for turn, promised in (("a", {"acid": (3, 0)}), ("b", {"acid": (4, 0)})):
        earlier.promised_by(turn, promised, None)
    now.promised_by("a", {"acid": (5, 0), "salt": (1, 0)}, earlier)
    assert not now.chooses_again(earlier, known, reach, ())
    now.promised_by("b", {"acid": (2, 0)}, earlier)  # seven in all, as before; the salt is nothing to it
    assert now.chooses_again(earlier, known, reach, ())
    assert not now.chooses_again(earlier, known, reach, ("avoided",))
    earlier.promised_by("c", {"acid": (4, 0)}, None)
    now.promised_by("c", {"acid": (4, 4)}, earlier)  # as much, but for a day on which more can be there
    assert not now.chooses_again(earlier, known, reach, ())
