"""An inventory made with an earlier table: what is brought up to date, and what a school's own word keeps."""

import json
from datetime import date

import pytest
from sqlalchemy import update

from prep.errors import PrepError
from prep.safety.model import SheetCheck
from prep.services.inventory import init, session
from prep.services.safety.renewal import renew, renewals
from prep.services.safety.sources import verify
from prep.store import queries, table_rows
from prep.store.tables import SubstanceRow
from tests.databases import made_once
from tests.days import act

ACT = act("Ada", date(2027, 1, 11))
OLD = "from memory: an earlier table"


@pytest.fixture
def old(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """An inventory in which four substances are as an earlier table had them."""
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    made_once(url, "renewal_empty", lambda: init.init(None, "Ada", ACT.on, None, "Wendlemoor School"))
    rows = table_rows.table(SubstanceRow)
    with session.writing(None) as connection:
        for code, classes, source in (
            ("formic-acid", "Skin Corr. 1A H314", OLD),
            ("hexane", "Flam. Liq. 2 H225", OLD),
            ("potassium-chlorate", "Ox. Sol. 1 H271", OLD),
            ("acetone", "Flam. Liq. 2 H225", "data sheet kept in the office, 2024"),
        ):
            values = {"classification": classes, "sources": json.dumps({"hazard": source})}
            connection.execute(update(rows).where(rows.c.code == code).values(values))


@pytest.mark.usefixtures("old")
def test_what_is_behind_is_renewed_and_what_a_school_vouches_for_is_not() -> None:
    verify(None, SheetCheck("hexane", "Example Chemicals", "7", ""), ACT)
    found = {one.code: one for one in renewals(None)}
    assert set(found) == {"formic-acid", "hexane", "potassium-chlorate", "acetone"}
    assert "Flam. Liq. 3 H226" in found["formic-acid"].now
    assert "verified on the data sheet of Example Chemicals" in found["hexane"].kept_for
    assert "recorded by the school: data sheet kept in the office" in found["acetone"].kept_for
    assert {one.code for one in renew(None, [], ACT)} == {"formic-acid", "potassium-chlorate"}
    with session.reading(None) as connection:
        stored = queries.substances(connection)
    assert stored["formic-acid"].classification == found["formic-acid"].now
    assert "607-001-00-0" in stored["formic-acid"].sources["hazard"]
    assert stored["hexane"].classification == stored["acetone"].classification == "Flam. Liq. 2 H225"
    assert {one.code for one in renewals(None)} == {"hexane", "acetone"}
    with pytest.raises(PrepError, match="Nothing is to be renewed"):
        renew(None, ["acetone"], ACT)
