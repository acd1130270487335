"""Other pairs for the same buffer: the same totals, and so the same pH by the charge balance."""

import pytest

from prep.chemistry.acid_base.buffer_pairs import alternatives
from prep.chemistry.acid_base.equilibrium import ph_of
from prep.chemistry.acid_base.species import Component, of_formula
from prep.chemistry.preparation.route_finding import Making
from prep.chemistry.preparation.routes import Route
from prep.services.catalogue.on_file import OnFile
from tests.planning.checker import _moles


def _ph(parts: list[tuple[str, float]], catalogue: OnFile) -> float:
    """pH of a litre, from moles reckoned by the independent checker."""

    class Stock:
        substances, solutions = catalogue.substances, catalogue.solutions

    components = []
    for item, per_litre in parts:
        moles = _moles(item, per_litre, None, Stock)  # type: ignore[arg-type]
        assert moles is not None
        if item in catalogue.substances:
            formula = catalogue.substances[item].formula
        else:
            formula = Making(catalogue).formula_of(catalogue.solutions[item])
        components.append(Component(of_formula(formula), moles))
    return ph_of(components).ph


def _per_litre(route: Route) -> list[tuple[str, float]]:
    return [(part.options[0].item, float(part.options[0].per_nl) * 1000) for part in route.parts]


@pytest.mark.parametrize("code", ["buffer-4.6", "buffer-6.86", "buffer-7"])
def test_every_other_pair_has_the_ph_of_the_recipe(catalogue: OnFile, code: str) -> None:
    card = catalogue.solutions[code]
    making = Making(catalogue)
    asked = _ph([(x.item, x.amount / card.recipe_nl * 1000) for x in card.recipe], catalogue)
    found = alternatives(card, catalogue, making)
    assert len(found) >= 4
    for route in found:
        # What stands by differs, and with it the activities: the card's tolerance of 2 % is 0.1 in pH.
        assert _ph(_per_litre(route), catalogue) == pytest.approx(asked, abs=0.1), route
        assert {part.options[0].item for part in route.parts} != {line.item for line in card.recipe}


@pytest.mark.parametrize("code", ["buffer-10", "hcl-1", "benedict"])
def test_where_totals_are_not_conserved_or_it_is_no_buffer_there_is_none(catalogue: OnFile, code: str) -> None:
    making = Making(catalogue)
    assert alternatives(catalogue.solutions[code], catalogue, making) == []
