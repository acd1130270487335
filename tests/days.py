"""Days of jobs, for the tests."""

from datetime import date

from prep.dates import Done


def done_on(on: date) -> Done:
    """Done on that day, and written down on the same."""
    return Done(on, on)
