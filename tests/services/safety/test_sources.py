"""What an answer rests on, and a supplier's sheet read by somebody."""

from datetime import date

import pytest

from prep.errors import PrepError, Refused
from prep.resources import seed_data
from prep.safety.clp.harmonised import ClassificationBasis
from prep.safety.model import SheetCheck
from prep.services.inventory import backup, init, session
from prep.services.safety.sources import grounds, verify, withdraw
from prep.services.stock import changes
from prep.services.stock.labels import label_of
from prep.store import queries
from tests.databases import made_once
from tests.days import act

TODAY = date(2027, 1, 11)
ACT = act("Ada", TODAY)


@pytest.fixture
def sample(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The sample school, in the inventory that services use without a file of their own."""
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    made_once(url, "sample_school", lambda: init.init(None, "Ada", TODAY, seed_data() / "school", ""))


def label_says_check(item: str) -> bool:
    with session.reading(None) as connection:
        return label_of(item, queries.catalogue(connection)).check


@pytest.mark.usefixtures("sample")
def test_a_sheet_that_was_read_takes_the_check_line_off_until_it_is_taken_back() -> None:
    assert label_says_check("ethanol-96")
    made = verify(None, SheetCheck("ethanol-96", "Example Chemicals", "3.2", ""), ACT)
    assert made.source == f"data sheet of Example Chemicals, revision 3.2, read by Ada on {TODAY}"
    assert not label_says_check("ethanol-96")
    (one,) = grounds(None, ["ethanol-96"])
    assert one.check == made
    assert not one.open
    assert not grounds(None, ["ethanol-96"], only_open=True)
    assert withdraw(None, "ethanol-96", ACT) == "ethanol-96"
    assert label_says_check("ethanol-96")
    with pytest.raises(PrepError, match="No data sheet"):
        withdraw(None, "ethanol-96", ACT)


@pytest.mark.usefixtures("sample")
def test_the_job_of_a_reading_is_undone_like_any_other() -> None:
    verify(None, SheetCheck("ethanol-96", "Example Chemicals", "3.1", ""), ACT)
    earlier = verify(None, SheetCheck("ethanol-96", "Example Chemicals", "3.2", ""), ACT)
    later = verify(None, SheetCheck("ethanol-96", "Example Chemicals", "3.3", ""), ACT)
    changes.undo(None, later.job, ACT)
    (one,) = grounds(None, ["ethanol-96"])
    assert one.check == earlier
    with pytest.raises(Refused, match="already undone"):
        changes.undo(None, later.job, ACT)
    assert backup.check(None) == []


@pytest.mark.usefixtures("sample")
def test_what_is_harmonised_needs_no_sheet_and_says_its_act() -> None:
    (one,) = grounds(None, ["hydrochloric-acid"])
    assert one.basis is ClassificationBasis.HARMONISED
    assert one.entry is not None
    assert (one.entry.index_no, one.entry.celex) == ("017-002-01-X", "32008R1272")
    assert not one.open
    assert any("017-002-01-X" in reason.source for reason in one.rests_on)


@pytest.mark.usefixtures("sample")
@pytest.mark.parametrize(
    ("check", "said"),
    [
        (SheetCheck("moon-dust", "Example Chemicals", "1", ""), "moon-dust"),
        (SheetCheck("ethanol-96", "", "1", ""), "--supplier"),
        (SheetCheck("ethanol-96", "Example Chemicals", " ", ""), "--revision"),
        (SheetCheck("ethanol-96", "Example Chemicals", "1", "Nonsense 9 H999"), "is not a hazard class"),
        (SheetCheck("ethanol-96", "Example Chemicals", "1", "Flam. Liq. 3 H226"), "is on file as"),
    ],
)
def test_a_reading_that_cannot_be_is_one_sentence(check: SheetCheck, said: str) -> None:
    with pytest.raises(PrepError, match=said):
        verify(None, check, ACT)
