"""The published worked examples of weighing, diluting and mixing, each with its source in its row; and what the
planner's routes take for the same question, so that one example holds both."""

import csv
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Form, Solution, Strength, Substance
from prep.chemistry.preparation.route_finding import Making
from prep.chemistry.preparation.routes import RouteKind, RouteOption

with (Path(__file__).parent / "chemistry" / "data" / "dilutions.csv").open(encoding="utf-8") as file:
    ROWS = list(csv.DictReader(file))


def examples(*kinds: str) -> pytest.MarkDecorator:
    """The published examples of these kinds."""
    rows = [r for r in ROWS if r["kind"] in kinds]
    assert {r["kind"] for r in rows} == set(kinds)
    return pytest.mark.parametrize("row", rows, ids=lambda r: r["id"])


def given_in(row: dict[str, str]) -> dict[str, str]:
    """What an example gives, by name."""
    return dict(part.split("=", 1) for part in row["given"].split(";"))


def check(row: dict[str, str], *found: Decimal | float) -> None:
    """Each figure is the published one, within the row's tolerance."""
    for one in found:
        assert float(one) == pytest.approx(float(row["expected"]), rel=float(row["tolerance_rel"])), row["source"]


def agree(row: dict[str, str], published: str, *found: Decimal | float) -> None:
    """Each figure is one that the example gives, where its answer was put in; within the row's tolerance."""
    for one in found:
        assert float(one) == pytest.approx(float(published), rel=float(row["tolerance_rel"])), row["source"]


def solid(formula: str, assay: str | None = "100", name: str = "the solid") -> Substance:
    """A solid in its bottle."""
    return Substance("solid", name, formula, "solute", Form.SOLID, assay_pct=None if assay is None else Decimal(assay))


def card(code: str, strength: Strength, strength_of: str = "") -> Solution:
    """A solution of the one solute, in water."""
    return Solution(code, f"the {code}", "solute", strength, 30, strength_of=strength_of)


def making(*items: Substance | Solution) -> Making:
    """The routes of a catalogue of these."""
    substances = {item.code: item for item in items if isinstance(item, Substance)}
    return Making(Catalogue(substances, {item.code: item for item in items if isinstance(item, Solution)}))


def option(routes: Making, kind: RouteKind) -> RouteOption:
    """What the one route of a kind to the card `made` takes; a refusal fails with its sentence."""
    found = [route for route in routes.routes("made") if route.kind is kind]
    assert len(found) == 1, routes.problems["made"]
    return found[0].parts[0].options[0]


def planned_mass(
    formula: str, strength: Strength, volume_ml: Decimal, *, counted: str = "", assay: str | None = "100"
) -> float:
    """Grams of a solid that the planner weighs."""
    routes = making(solid(formula, assay), card("made", strength, counted))
    return float(option(routes, RouteKind.DISSOLVE).per_nl * Fraction(volume_ml))


def planned_take(
    source: Strength | Substance, target: Strength, volume_ml: Decimal, *, of: Substance | None = None
) -> float:
    """Millilitres of a stronger solution, or of a concentrate, that the planner takes.

    `of` is a substance of the same solute, where two strengths cannot be compared without its formula.
    """
    made = card("made", target)
    if isinstance(source, Substance):
        found = option(making(source, made), RouteKind.CONCENTRATE)
    else:
        found = option(making(of or solid(""), card("stock", source), made), RouteKind.DILUTE)
    return float(found.per_nl * Fraction(volume_ml))
