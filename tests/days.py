"""Days of jobs, for the tests."""

from datetime import date

from prep.dates import DoneOn
from prep.services.input.act import Act


def done_on(on: date) -> DoneOn:
    """Done on that day, and written down on the same."""
    return DoneOn(on, on)


def act(by: str, on: date) -> Act:
    """What somebody did on that day."""
    return Act(by, done_on(on))
