"""Mixtures worked from the regulation's text, each case with its reasoning (data/classified_mixtures.csv).

Rows with confidence `memory` rest on recalled limits or rules: they show that the code follows the tables,
not that the tables are the law. `decided` records how an ambiguous case was settled.
"""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from prep.chemistry.model import Form
from prep.resources import seed_data
from prep.safety.clp.classify import classify
from prep.safety.model import Classification, MixtureComponent

with (Path(__file__).parents[1] / "data" / "classified_mixtures.csv").open(encoding="utf-8") as file:
    CASES = {row["case_id"]: row for row in csv.DictReader(file)}
with (seed_data() / "substances.csv").open(encoding="utf-8") as file:
    FACTS = {row["cas"]: row for row in csv.DictReader(file) if row["cas"]}
NO_FLASH = {"C-MeOH-10"}  # "flash taken > 60 C"


def component(cas: str, pct: str) -> MixtureComponent:
    row = FACTS[cas]
    return MixtureComponent(
        row["name"],
        Decimal(pct),
        cas,
        row["classification"],
        row["supplemental"],
        Form(row["form"]),
        row["storage_group"],
        source=row["hazard_source"],
    )


def worked(case: dict[str, str]) -> Classification:
    pairs = [part.split("=") for part in case["composition_cas"].split(";")]
    components = [component(cas, pct) for cas, pct in pairs if cas != "7732-18-5"]
    flash = case["flash_point_C"] or ("61" if case["case_id"] in NO_FLASH else "")
    ph = case["ph_est"].lstrip("<").partition("-")[0]
    return classify(
        components,
        ph=Decimal(ph) if ph else None,
        flash_point_c=Decimal(flash) if flash else None,
        boiling_point_c=Decimal(case["boiling_point_C"]) if case["boiling_point_C"] else None,
    )


def listed(cell: str) -> set[str]:
    return {part.strip() for part in cell.split(";") if part.strip()}


@pytest.mark.parametrize("case_id", CASES)
def test_a_worked_mixture_has_its_classes_and_label(case_id: str) -> None:
    case = CASES[case_id]
    found = worked(case)
    assert {str(one) for one in found.classes} == listed(case["expected_classes"]) - {"not classified"}
    assert {one.code for one in found.euh} == listed(case["expected_supplemental"])
    assert found.signal == case["signal_word"]
    assert set(found.pictograms) == listed(case["pictograms"])
    assert {one.code for one in found.h_statements} == listed(case["label_h_codes"])
    assert found.known
    assert case["ambiguous"] == "no" or case["decided"]
    assert all(reason.text for reason in found.reasoning)
