"""A small invented school beside the shipped catalogue, and an inventory of it on each kind of database."""

from datetime import date
from pathlib import Path

import pytest

from prep.services.inventory import init
from tests.databases import made_once, postgres, url

__all__ = ["postgres", "url"]

DAY = date(2027, 1, 11)
FILES = {
    "settings.toml": 'school = "Invented School"\ntoday = 2027-01-11\nfrom = 2027-01-11\nto = 2027-02-26\n'
    "minutes_per_day = 180\n"
    '[[closed]]\nfrom = 2027-02-15\nto = 2027-02-19\nwhy = "half term"\n'
    "[minutes_on]\n2027-01-13 = 0\n2027-01-20 = 360\n",
    "locations.csv": "code,name,walk_order,note\nACID,Acid cupboard,2,vented\nPREP,Prep room,1,\n",
    "bottles.csv": "code,item,amount,use_by,location,status,received,opened,lot,strength,note\n"
    "AC1,hydrochloric-acid,2.5 L,2028-01-01,ACID,in service,2026-09-01,2026-10-01,L77,,\n"
    "AC2,hydrochloric-acid,0 mL,,ACID,discarded,,,,,empty\n"
    "NA1,sodium-hydroxide,487.35 g,,PREP,quarantine,2026-09-02,,,,damp\n"
    "HC1,hcl-0.1,950 mL,2027-06-01,PREP,in service,2027-01-04,2027-01-05,,0.1013 mol/L,\n",
    "orders.csv": "code,item,pack,packs,placed,due\nO1,sodium-hydroxide,500 g,2,2027-01-08,2027-01-18\n",
    "bookings.csv": "code,date,period,room,teacher,demo,showings\nB1,2027-01-14,2,L1,A. Example,{demo},2\n",
}


@pytest.fixture
def school(tmp_path: Path) -> Path:
    """The folder of the small school."""
    from prep.resources import seed_data

    first = (seed_data() / "demos.csv").read_text(encoding="utf-8").splitlines()[1].split(",")[0]
    folder = tmp_path / "school"
    folder.mkdir()
    for name, text in FILES.items():
        (folder / name).write_text(text.replace("{demo}", first), encoding="utf-8")
    return folder


@pytest.fixture
def inventory(url: str, school: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The inventory that a command without --db uses."""
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    made_once(url, "small_school", lambda: init.init(None, "Ada", DAY, school, ""))
