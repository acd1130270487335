"""Files: whole or not at all, several together or none, and a sentence where one cannot be written."""

import os
from pathlib import Path

import pytest

from prep.errors import PrepError
from prep.reports.output_files import OutputFile, make_folder, write_file, write_files


def test_several_are_written_together_or_not_at_all(tmp_path: Path) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    write_files([OutputFile(one, b"1"), OutputFile(other, b"2")])
    assert (one.read_bytes(), other.read_bytes()) == (b"1", b"2")
    for wrong in (tmp_path / "none" / "x", tmp_path, tmp_path / "a\0b", other):
        with pytest.raises(PrepError):
            write_files([OutputFile(path, b"new") for path in (one, other, wrong)])
        assert (one.read_bytes(), other.read_bytes()) == (b"1", b"2")
        assert sorted(os.listdir(tmp_path)) == ["one", "other"]


def test_a_place_that_cannot_be_written_is_a_sentence(tmp_path: Path) -> None:
    for path, why in ((tmp_path / "none" / "t", "cannot be written"), (tmp_path, "is a folder")):
        with pytest.raises(PrepError, match=why):
            write_file(path, b"")
    assert os.listdir(tmp_path) == []
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(PrepError, match="cannot be made"):
        make_folder(tmp_path / "file" / "folder")
