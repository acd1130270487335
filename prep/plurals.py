"""A number with its noun."""


def plural(number: int, noun: str) -> str:
    """Write a number with its noun: `1 bottle`, `2 bottles`."""
    return f"{number} {noun}{'' if number == 1 else 's'}"
