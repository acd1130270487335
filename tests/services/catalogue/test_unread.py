"""Names are looked up among substances that are not read yet: the answer is that of a full reading, ambiguity too."""

from pathlib import Path

import pytest

from prep.chemistry.catalogue import Catalogue, UnreadSubstances
from prep.errors import PrepError
from prep.resources import seed_data
from prep.services.catalogue import name_search
from prep.services.catalogue.name_search import NameSearch
from prep.services.catalogue.names import candidates
from prep.services.catalogue.substances import SUBSTANCE_COLUMNS, read_substance, unread_substances
from prep.services.files.csv_file import read_rows

ROWS = list(read_rows(seed_data() / "substances.csv", SUBSTANCE_COLUMNS))
WHOLE = Catalogue({one.code: one for one in map(read_substance, ROWS)})
UNREAD = Catalogue(unread_substances(ROWS))


def _spelled() -> list[str]:
    """Every name on file, and each as people spell it: in capitals, as a solution, without its numeral or water."""
    names = [name for s in WHOLE.named for name in (s.code, s.name, s.cas, s.formula, *s.other_names) if name]
    said = [*names, *map(str.upper, names), *(f"{name} solution" for name in names), *(f"conc {n}" for n in names)]
    said += [name.replace("(II)", " ").replace("sulfate", "sulphate").split(",")[0] for name in names]
    return sorted(set(said))


NAMES = _spelled()


@pytest.mark.parametrize("first", sorted({name[0].lower() for name in NAMES}))
def test_a_name_means_the_same_before_and_after_all_is_read(first: str) -> None:
    for name in (one for one in NAMES if one[0].lower() == first):
        assert [one.code for one in candidates(name, UNREAD)] == [one.code for one in candidates(name, WHOLE)], name


class _Anything(frozenset[object]):
    """Words that are never ruled out, so that every substance is looked at in full."""

    def isdisjoint(self, _: object) -> bool:
        return False


def test_no_substance_is_passed_over_that_the_words_mean(monkeypatch: pytest.MonkeyPatch) -> None:
    quick = {name: [one.code for one in NameSearch(name, WHOLE).by_words()] for name in NAMES[::3]}
    assert sum(map(bool, quick.values())) > len(quick) / 3
    monkeypatch.setattr(name_search, "_sayings", lambda *_: _Anything())
    assert quick == {name: [one.code for one in NameSearch(name, WHOLE).by_words()] for name in quick}


def test_a_substance_is_read_when_it_is_asked_for_and_only_then() -> None:
    read: list[str] = []

    def note(code: str) -> object:
        read.append(code)
        return WHOLE.substances[code]

    catalogue = Catalogue(UnreadSubstances(WHOLE.named, note))  # type: ignore[arg-type]
    assert len(catalogue.substances) == len(WHOLE.substances)
    assert "copper-sulfate-5-water" in catalogue
    assert list(catalogue.substances) == list(WHOLE.substances)
    assert not read
    (found,) = candidates("CuSO4.5H2O", catalogue)
    assert found.substance == WHOLE.substances[found.code]
    assert read == [found.code]
    assert catalogue.substances.get("no-such-code") is None


def test_what_is_wrong_in_a_row_is_told_when_its_substance_is_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "substances.csv"
    path.write_text("code,name,form,cas\nsalt,Salt,solid,7647-14-5\nacid,Acid,aqueous,7647-01-1\n", encoding="utf-8")
    unread = unread_substances(read_rows(path, SUBSTANCE_COLUMNS))
    assert unread["salt"].cas == "7647-14-5"
    with pytest.raises(PrepError, match=r'substances\.csv, row 3, column "cas"'):
        unread["acid"]
