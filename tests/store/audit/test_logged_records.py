"""The records of the books as documents: what is written back from one is what it was made of."""

from datetime import date

import pytest

from prep.books import JobKind
from prep.resources import seed_data
from prep.services.inventory import init
from prep.services.inventory.session import reading, writing
from prep.store import ledger
from prep.store.audit import logged_records
from prep.store.check import check

pytestmark = pytest.mark.on_file
KINDS = sorted(logged_records.kinds().keys() - logged_records.PEOPLE)


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The invented school's inventory."""
    path = tmp_path_factory.mktemp("records") / "school.db"
    init.init(path, "Ada", date(2027, 1, 4), seed_data() / "school", "")
    return str(path)


@pytest.mark.parametrize("kind", KINDS)
def test_a_record_written_back_from_its_document_is_the_same(
    school: str, kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As an undoing does it; of a kind without records here there is nothing to write."""
    monkeypatch.setenv("PREP_DATABASE_URL", f"sqlite:///{school}")
    with reading(None) as connection:
        before = logged_records.standing(connection, kind)
    with writing(None) as connection:
        ledger.begin(connection, JobKind.CORRECT, "Ada", date(2027, 1, 4), "written back")
        for code, document in list(before.items())[:40]:
            logged_records.put(connection, kind, code, document)
    with reading(None) as connection:
        assert logged_records.standing(connection, kind) == before
        assert check(connection) == []
