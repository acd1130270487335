"""Who bends a copy of the books by one cell, row, trigger, index or page is named by the check."""

import os
from pathlib import Path

import pytest

from tests import tampering

FEW = int(os.environ.get("PREP_TEST_TAMPERED", "24"))
"""Copies that are bent; `python -m tests.bench tampered` bends 500."""


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An inventory that was worked with, in one file."""
    return tampering.books(tmp_path_factory.mktemp("books") / "books.db")


def test_the_books_are_clean_before(books: Path) -> None:
    assert tampering.said(books) == []


def test_every_bent_copy_is_named(books: Path, tmp_path: Path) -> None:
    missed = []
    for seed in range(FEW):
        did = tampering.tampered(books, tmp_path / f"{seed}.db", seed)
        if not tampering.said(tmp_path / f"{seed}.db"):
            missed.append(did)
    assert missed == []
