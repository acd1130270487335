"""Statements of a label, written as they are printed."""

from prep.safety.model import Statement


def statements(*said: str) -> tuple[Statement, ...]:
    """Split statements as they are printed into code and words."""
    return tuple(Statement(*one.split(" ", 1)) for one in said)
