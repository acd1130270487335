"""The list of controlled substances: whose act names what, in a bottle, in a solution, in an order, in a count.

Regulation (EU) 2019/1148, Annexes I and II; Poisons Act 1972, Schedule 1A, as amended by S.I. 2023/63; from
memory: Regulation (EC) No 273/2004, Annex I.
"""

from datetime import date
from decimal import Decimal
from functools import cache

import pytest

from prep.errors import PrepError
from prep.resources import seed_data
from prep.safety.controlled import starting_set
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.inventory import init
from prep.services.safety import controlled_register as controlled
from tests.databases import made_once
from tests.days import act

ACT = act("Ada", date(2027, 1, 11))
EXPLOSIVES_1, EXPLOSIVES_2 = "Regulation (EU) 2019/1148, Annex I", "Regulation (EU) 2019/1148, Annex II"
PARTS = [f"Poisons Act 1972 (United Kingdom), Schedule 1A, Part {part}" for part in range(1, 5)]
DRUGS = "Regulation (EC) No 273/2004, Annex I"


@cache
def on_file() -> OnFile:
    return read_catalogue(seed_data())


def acts(item: str) -> set[str]:
    return {one.act for one in controlled.marks_of(controlled.contents_of(item, on_file()), starting_set())}


@pytest.mark.parametrize(
    ("item", "act_", "named"),
    [
        ("nitric-acid", EXPLOSIVES_1, True),
        ("hno3-2", EXPLOSIVES_1, True),  # 12 %, above 3 %
        ("hydrogen-peroxide", EXPLOSIVES_1, True),
        ("h2o2-20vol", EXPLOSIVES_1, False),  # 6 %, not above 12 %
        ("sulfuric-acid", EXPLOSIVES_1, True),
        ("h2so4-2", EXPLOSIVES_1, True),  # 17.5 %, above 15 %
        ("h2so4-1", EXPLOSIVES_1, False),
        ("ammonium-nitrate", EXPLOSIVES_1, True),
        ("potassium-chlorate", EXPLOSIVES_1, True),
        ("acetone", EXPLOSIVES_2, True),
        ("potassium-nitrate", EXPLOSIVES_2, True),
        ("aluminium-powder", EXPLOSIVES_2, True),
        ("aluminium-foil", EXPLOSIVES_2, False),
        ("magnesium-powder", EXPLOSIVES_2, True),
        ("magnesium-ribbon", EXPLOSIVES_2, False),
        ("potassium-permanganate", DRUGS, True),
        ("red-phosphorus", DRUGS, True),
        ("ethanoic-anhydride", DRUGS, True),
        ("sodium-chloride", DRUGS, False),
        ("hydrochloric-acid", PARTS[0], True),  # 10 %, since 1 October 2023
        ("hydrochloric-acid", PARTS[3], False),
        ("hcl-2", PARTS[0], False),  # 7 %
        ("phosphoric-acid", PARTS[0], True),  # 30 %
        ("nitric-acid", PARTS[0], True),
        ("barium-chloride-2-water", PARTS[1], True),
        ("sodium-sulfide-9-water", PARTS[1], True),
        ("sulfur", PARTS[2], True),
        ("ammonia-880", PARTS[3], True),
    ],
)
def test_what_an_act_names(item: str, act_: str, named: bool) -> None:
    assert (act_ in acts(item)) == named


def test_every_line_names_its_act_and_source() -> None:
    assert len(starting_set()) > 40
    for one in starting_set():
        assert one.kind
        said = (
            one.act.split(",")[0],
            "Control of Explosives Precursors",
            "Home Office, Supplying explosives precursors",
        )
        assert one.source.removeprefix("from memory: ").startswith(said), one
        assert any(ch.isdigit() for ch in one.act)


@pytest.mark.usefixtures("sample")
def test_a_school_keeps_its_own_list() -> None:
    before = controlled.register(None)
    nitric = next(one for one in before if one.listed.name == "nitric acid")
    assert {held.item for held in nitric.bottles} >= {"nitric-acid"}
    made = controlled.add(None, controlled.ControlledRequest("potassium iodate", "policy 7", "by the employer"), ACT)
    assert controlled.marks_for(None, ["potassium-iodate"])["potassium-iodate"][0].act == "policy 7"
    with pytest.raises(PrepError, match="on the list under that act"):
        controlled.add(None, controlled.ControlledRequest("potassium-iodate", "policy 7"), ACT)
    gone = controlled.remove(None, nitric.number, ACT)
    assert gone.name == "nitric acid"
    after = controlled.register(None)
    assert len(after) == len(before)
    assert not any((one.listed.name, one.listed.act) == (gone.name, gone.act) for one in after)
    assert after[-1].listed.about == made.listed.about
    assert all(isinstance(one.listed.above_pct, Decimal | None) for one in after)
    for asked, said in (
        (controlled.ControlledRequest("potassium iodate", " "), "Say which act"),
        (controlled.ControlledRequest("sodium chloride", "an act", above="2 mol/L"), "percentage by mass"),
    ):
        with pytest.raises(PrepError, match=said):
            controlled.add(None, asked, ACT)
    with pytest.raises(PrepError, match="no line 999"):
        controlled.remove(None, 999, ACT)


@pytest.fixture
def sample(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The sample school, in the inventory that services use without a file of their own."""
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    made_once(url, "sample_school", lambda: init.init(None, "Ada", ACT.on, seed_data() / "school", ""))
