"""What must not meet in one waste bottle.

EPA-600/2-80-076, compatibility chart; from memory: National Research Council, Prudent Practices in the Laboratory.
"""

import pytest

from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.safety.waste_meeting import clashes


@pytest.fixture(scope="module")
def catalogue() -> OnFile:
    return read_catalogue(seed_data())


@pytest.mark.parametrize(
    ("what", "inside", "stream", "said"),
    [
        ("hydrochloric acid", ["bleach"], "oxidising", "chlorine"),
        ("old bleach", ["ammonia 2 mol/L rinse"], "neutralise", "chloramines"),
        ("nitric acid", ["ethanol and water"], "flammable", "fire"),
        ("sodium nitrite", ["ammonium chloride"], "heavy metals", "nitrite"),
        ("potassium permanganate", ["glycerol residues"], "specialist", "fire"),
        ("hydrogen peroxide", ["acetone"], "flammable", "explosive"),
        ("potassium thiocyanate", ["sulfuric acid"], "neutralise", "cyanide"),
        ("ethanol", [], "oxidising", "Keep the oxidising waste apart from the flammable waste"),
    ],
)
def test_what_must_not_meet_is_said(catalogue: OnFile, what: str, inside: list[str], stream: str, said: str) -> None:
    assert said in " ".join(clashes(what, inside, stream, catalogue))


@pytest.mark.parametrize(
    ("what", "inside", "stream"),
    [
        ("copper sulfate residues", ["lead nitrate", "zinc sulfate"], "heavy metals"),
        ("ethanol", ["acetone rinse", "hexane"], "flammable"),
        ("hydrochloric acid", ["sulfuric acid 1 mol/L"], "neutralise"),
        ("brown sludge", ["what was in the tray"], "specialist"),
        ("bleach", [], "oxidising"),
    ],
)
def test_what_may_meet_goes_in_without_a_word(catalogue: OnFile, what: str, inside: list[str], stream: str) -> None:
    assert not clashes(what, inside, stream, catalogue)
