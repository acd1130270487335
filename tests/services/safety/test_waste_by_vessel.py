"""Waste of a demo of one's own: what shares a vessel with silver or a heavy metal never goes to the drain.

Common practice, no source: a mixture goes by its strictest stream.
"""

import pytest

from prep.planning.model import Demo, Need
from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.safety.waste import waste_of

AMOUNT = 20_000_000


@pytest.fixture(scope="module")
def catalogue() -> OnFile:
    return read_catalogue(seed_data())


def ways(catalogue: OnFile, *needs: tuple[str, str]) -> set[str]:
    demo = Demo("own", "Own", tuple(Need(item, AMOUNT, vessel) for item, vessel in needs))
    return {one.stream for one in waste_of(demo, 1, catalogue).streams}


@pytest.mark.parametrize(
    ("needs", "streams"),
    [
        ((("agno3-0.1", "flask"), ("ammonia-2", "flask")), {"silver"}),
        ((("agno3-0.1", "flask"), ("ammonia-2", "dropping bottle")), {"silver"}),
        ((("cuso4-0.5", "beaker"), ("naoh-2", "beaker"), ("nacl-0.1", "beaker")), {"heavy metals"}),
        ((("agno3-0.1", "flask"), ("hcl-1", "beaker")), {"silver", "neutralise"}),
        ((("hcl-1", "beaker"), ("naoh-1", "beaker")), {"neutralise"}),
    ],
)
def test_what_shares_a_vessel_goes_by_the_strictest(
    catalogue: OnFile, needs: tuple[tuple[str, str], ...], streams: set[str]
) -> None:
    assert ways(catalogue, *needs) == streams
