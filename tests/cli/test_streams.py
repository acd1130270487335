"""Where the output goes: closed, or a reader that has gone; and a file that never ends."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from prep.errors import PrepError
from prep.services.files.csv_file import read_bytes

COMMAND = [sys.executable, "-c", "from prep.cli.main import main; main()", "demo", "list", "--sample", "--json"]
ON_POSIX = pytest.mark.skipif(os.name != "posix", reason="a device of POSIX")


@ON_POSIX
def test_a_closed_output_is_no_trouble() -> None:
    done = subprocess.run(["sh", "-c", 'exec "$@" >&-', "sh", *COMMAND], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


@ON_POSIX
def test_a_reader_that_has_gone_is_no_answer() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "wb") as gone:
        done = subprocess.run(COMMAND, stdout=gone, stderr=subprocess.PIPE, text=True, check=False)
    assert (done.returncode, done.stderr) == (141, "")


@ON_POSIX
def test_a_file_that_never_ends_is_refused() -> None:
    with pytest.raises(PrepError, match="larger than 64 MB"):
        read_bytes(Path("/dev/zero"))
