"""What many tests share: the shipped catalogue, read once, and how hypothesis draws."""

import gc
from itertools import count

import pytest
from hypothesis import settings

from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue

settings.register_profile("prep", deadline=None, derandomize=True)
settings.load_profile("prep")


@pytest.fixture(scope="session")
def catalogue() -> OnFile:
    """The catalogue of seed_data/."""
    return read_catalogue(seed_data())


_DONE = count(1)


def pytest_runtest_teardown() -> None:
    """Collect now and then what commands leave lying: each trusts that its process ends, and the tests' goes on."""
    if next(_DONE) % 50 == 0:
        gc.collect()


@pytest.hookimpl(tryfirst=True)
def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """A test marked `on_file` is about the inventory's file, or about no database: it runs on SQLite alone."""
    if "url" in metafunc.fixturenames and metafunc.definition.get_closest_marker("on_file"):
        metafunc.definition.add_marker(pytest.mark.parametrize("url", ["sqlite"], indirect=True))
