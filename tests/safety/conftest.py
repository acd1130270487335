"""The catalogue's substances and solutions, read once for this folder."""

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Solution, Substance
from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue


@pytest.fixture(scope="session")
def read() -> OnFile:
    return read_catalogue(seed_data())


@pytest.fixture(scope="session")
def substances(read: Catalogue) -> dict[str, Substance]:
    return dict(read.substances)


@pytest.fixture(scope="session")
def solutions(read: Catalogue) -> dict[str, Solution]:
    return dict(read.solutions)
