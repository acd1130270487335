"""What is read from the files comes back from the database equal, sources included."""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.model import Strength, StrengthKind
from prep.resources import seed_data
from prep.services.catalogue.seed import read_catalogue
from prep.services.plan import snapshot as plan_snapshot
from prep.services.school.folder import read_school
from prep.store.queries import strength_of, strength_text
from tests.databases import snapshot_of
from tests.services.conftest import DAY

pytestmark = pytest.mark.filterwarnings("error")


@pytest.mark.usefixtures("inventory")
def test_the_snapshot_equals_the_files(school: Path) -> None:
    catalogue = read_catalogue(seed_data())
    facts = read_school(school, catalogue)
    found = snapshot_of(None, DAY)
    assert found.today == DAY
    assert found.substances == dict(catalogue.substances)
    assert found.solutions == dict(catalogue.solutions)
    assert found.demos == dict(catalogue.demos)
    assert found.instruments == catalogue.instruments
    assert found.rules == dict(catalogue.rules)
    assert found.calendar == facts.calendar
    assert found.bookings == facts.bookings
    assert found.orders == tuple(one.open for one in facts.orders)
    held = sorted((h.bottle for h in facts.bottles if h.bottle.status != "discarded"), key=lambda b: b.code)
    assert found.bottles == tuple(held)
    for code, substance in catalogue.substances.items():  # equality leaves the sources out
        assert found.substances[code].sources == substance.sources
    for code, solution in catalogue.solutions.items():
        assert found.solutions[code].sources == solution.sources


@pytest.mark.usefixtures("inventory")
def test_amounts_and_strengths_are_exact() -> None:
    bottles = {b.code: b for b in snapshot_of(None, DAY).bottles}
    assert bottles["NA1"].amount == 487_350_000
    assert bottles["AC1"].amount == 2_500_000_000
    assert bottles["HC1"].strength == Strength(Decimal("0.1013"), StrengthKind.MOL_PER_L)
    assert set(bottles) == {"AC1", "NA1", "HC1"}


@pytest.mark.usefixtures("inventory")
def test_the_sample_is_what_an_inventory_made_from_it_gives(
    school: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    shipped = tmp_path / "shipped"
    shipped.mkdir()
    for part in seed_data().iterdir():
        if part.name != "school":
            (shipped / part.name).symlink_to(part)
    (shipped / "school").symlink_to(school)
    monkeypatch.setattr(plan_snapshot, "seed_data", lambda: shipped)
    sample = plan_snapshot.sample()
    assert sample.snapshot == snapshot_of(None, DAY)
    assert (str(sample.start), str(sample.end)) == ("2027-01-11", "2027-02-26")
    assert sample.snapshot != replace(sample.snapshot, bottles=())


@given(
    st.builds(
        Strength,
        st.decimals(0, 10**6, allow_nan=False, allow_infinity=False),
        st.sampled_from(list(StrengthKind)),
    )
)
def test_a_strength_is_kept_to_its_last_digit(strength: Strength) -> None:
    assert strength_of(strength_text(strength)) == strength
