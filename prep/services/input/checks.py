"""What people type and files hold is looked at once, here, before anything is written down."""

from prep.errors import PrepError

MOST_JOBS = 2**31 - 1
"""The largest number that a job can have on any database."""


def printable(text: str, most: int = 200, label: str = "this") -> str:
    """Check that a text can stand in the books, on one line and on a label, and give it back. Raises PrepError."""
    if len(text) > most or not text.isprintable():
        raise PrepError(f"{label} is at most {most} printable characters.")
    return text


def within(number: int, least: int, most: int, label: str) -> int:
    """Check that a whole number lies from `least` to `most`, and give it back. Raises PrepError."""
    if not least <= number <= most:
        raise PrepError(f"{label} is a number from {least} to {most}.")
    return number
