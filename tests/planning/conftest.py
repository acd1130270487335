"""The shipped catalogue, read once."""

import pytest

from prep.resources import seed_data
from prep.services.catalogue import Catalogue, read_catalogue


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """The catalogue of seed_data/."""
    return read_catalogue(seed_data())
