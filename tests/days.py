"""Days of jobs, for the tests."""

from datetime import date

from prep.dates import Done
from prep.services.input.act import Act


def done_on(on: date) -> Done:
    """Done on that day, and written down on the same."""
    return Done(on, on)


def act(by: str, on: date) -> Act:
    """What somebody did on that day."""
    return Act(by, done_on(on))
