"""What people write for a substance or a solution, and what it is taken for; what is not certain is never guessed."""

import pytest

from prep.chemistry import spelling
from prep.chemistry.catalogue import Catalogue
from prep.errors import PrepError
from prep.services.catalogue.names import Only, find_alike, find_item
from prep.services.catalogue.on_file import OnFile


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ("Sulfuric acid, 2 mol/L", "h2so4-2"),
        ("sulfuric acid 2 mol/L", "h2so4-2"),
        ("SULPHURIC ACID 2 M", "h2so4-2"),
        ("2 mol/L sulfuric acid", "h2so4-2"),
        ("2 mol dm-3 sulfuric acid", "h2so4-2"),
        ("hydrogen peroxide 20 vol", "h2o2-20vol"),
        ("20 vol hydrogen peroxide", "h2o2-20vol"),
        ("hydrogen peroxide 20 volume", "h2o2-20vol"),
        ("0.1M HCl", "hcl-0.1"),
        ("hcl 0.1 mol/L", "hcl-0.1"),
        ("HCl(aq) 100 mmol/L", "hcl-0.1"),
        ("hcl 0.1", "hcl-0.1"),
        ("sodium hydroxide solution 1 mol/L", "naoh-1"),
        ("iodine 0.05 mol/L", "iodine-0.05"),
        ("calcium hydroxide, saturated", "limewater"),
        ("saturated Ca(OH)2", "limewater"),
        ("limewater", "limewater"),
        ("benedicts solution", "benedict"),
        ("blue vitriol", "copper-sulfate-5-water"),
        ("Copper sulphate crystals", "copper-sulfate-5-water"),
        ("soda ash", "sodium-carbonate"),
        ("washing soda", "sodium-carbonate-10-water"),
        ("concentrated hydrochloric acid", "hydrochloric-acid"),
        ("hydrochloric acid 10 mol/L", "hydrochloric-acid-32"),  # its own other name, before any entry of that strength
        ("hydrogen peroxide, 100 volume", "hydrogen-peroxide"),
        ("copper(ii) sulfate pentahydrate", "copper-sulfate-5-water"),
        ("CuSO4·5H2O", "copper-sulfate-5-water"),
        ("cuso₄·5h₂o", "copper-sulfate-5-water"),
        ("h2o2", "hydrogen-peroxide"),
        ("naoh", "sodium-hydroxide"),
        ("KMNO4", "potassium-permanganate"),
        ("cocl2", "cobalt-chloride"),
        ("7647-14-5", "sodium-chloride"),
    ],
)
def test_a_name_is_found(catalogue: OnFile, said: str, code: str) -> None:
    assert find_item(said, catalogue).code == code


@pytest.mark.parametrize(
    ("said", "only", "codes"),
    [
        ("phenolphthalein indicator", None, "phenolphthalein-0.1, phenolphthalein-1"),
        ("hydrochloric acid", "solution", "hcl-0.01, hcl-0.1,"),
        ("naoh", "solution", "naoh-0.1, naoh-0.4,"),
    ],
)
def test_what_may_be_several_is_asked(catalogue: OnFile, said: str, only: Only, codes: str) -> None:
    with pytest.raises(PrepError) as asked:
        find_item(said, catalogue, only=only)
    assert str(asked.value).startswith(f'"{said}" may be ')
    assert str(asked.value).endswith("; give one of these codes.")
    for code in codes.replace(",", " ").split():
        assert code in str(asked.value)


@pytest.mark.parametrize(
    ("said", "only", "told"),
    [
        ("COCl2", None, "neither a substance nor a solution"),  # phosgene, not cobalt chloride
        ("CO", None, "neither"),
        ("", None, "neither"),
        ("---", None, "neither"),
        ("sodium sulfte", None, "Near: sodium-sulfite, sodium-sulfate"),  # either
        ("pentane", None, "neither"),
        ("2", None, "neither"),  # no part of 2,4-dinitrophenylhydrazine
        ("1", None, "neither"),  # nor of 1,10-phenanthroline
        ("sodium chlorite", None, "neither"),
        ("sulfuric acid 3 mol/L", None, "no solution of it on file is 3 mol/L; there are h2so4-0.05, h2so4-0.5"),
        ("zinc oxide", "solution", "is a substance as bought"),
        ("vinegar", "substance", "is a solution (vinegar)"),
    ],
)
def test_what_is_not_on_file_is_not_guessed(catalogue: OnFile, said: str, only: Only, told: str) -> None:
    with pytest.raises(PrepError) as refused:
        find_item(said, catalogue, only=only)
    assert told in str(refused.value)


@pytest.mark.parametrize("said", ["Blu-tack", "gloves", "glue", "petrol", "pencils", "straws", "tin foil", "Vaseline"])
def test_what_is_no_chemical_is_near_none(catalogue: OnFile, said: str) -> None:
    for only in ("substance", None):
        with pytest.raises(PrepError) as refused:
            find_item(said, catalogue, only=only)
        assert "Near" not in str(refused.value)


def test_of_several_the_one_that_is_held_is_taken(catalogue: OnFile) -> None:
    known = catalogue
    assert find_item("hydrochloric acid", known, held={"hydrochloric-acid-32", "hcl-1"}).code == "hydrochloric-acid-32"
    assert find_item("hydrochloric acid", known).code == "hydrochloric-acid"  # the grade usually sold
    # The crystals and the powder, and the two grades, are a third of the weight apart and more.
    for said, held in (
        ("hydrochloric acid", {"hydrochloric-acid-32", "hydrochloric-acid"}),
        ("HCl", {"hydrochloric-acid-32", "hydrochloric-acid"}),
        ("copper sulphate", {"copper-sulfate", "copper-sulfate-5-water"}),
        ("nickel sulfate", {"nickel-sulfate-6-water", "nickel-sulfate-7-water"}),
    ):
        with pytest.raises(PrepError) as asked:
            find_item(said, known, held=held)
        assert f'"{said}" may be {", ".join(sorted(held))}; give one of these codes.' == str(asked.value)
    assert find_item("hcl-2", known, held={"hydrochloric-acid"}).code == "hcl-2"


def test_what_a_strength_is_of_need_not_be_one_bottle(catalogue: OnFile) -> None:
    known = catalogue
    assert find_alike("hydrochloric acid", known).code == "hydrochloric-acid"
    assert find_alike("barium chloride", known).code == "barium-chloride-2-water"  # on whose row the name stands
    with pytest.raises(PrepError, match=r"phenolphthalein-0\.1, phenolphthalein-1"):
        find_alike("phenolphthalein indicator", known)


def test_co_is_neither_cobalt_nor_carbon_monoxide(catalogue: OnFile) -> None:
    from dataclasses import replace

    cobalt = replace(catalogue.substances["zinc-granules"], code="cobalt", name="Cobalt", other_names=(), formula="Co")
    with pytest.raises(PrepError):
        find_item("co", Catalogue({"cobalt": cobalt}, {}))
    assert find_item("Co", Catalogue({"cobalt": cobalt}, {})).code == "cobalt"


def test_no_two_rows_are_told_apart_by_punctuation_alone(catalogue: OnFile) -> None:
    """Otherwise comparing names without it would take one for the other."""
    rows = [(s.code, {s.name, *s.other_names}) for s in catalogue.substances.values()]
    rows += [(s.code, {s.name}) for s in catalogue.solutions.values()]
    seen: dict[str, str] = {}
    for code, names in rows:
        for one in {spelling.key(name) for name in names}:
            assert seen.setdefault(one, code) == code, one


def test_the_point_of_a_number_is_not_punctuation() -> None:
    assert spelling.key("Hydrochloric acid, 0.1 mol/L") != spelling.key("Hydrochloric acid, 01 mol/L")
    assert spelling.key("Mohr's salt.") == spelling.key("mohrs salt")
