"""Cells that no spreadsheet runs as a program.

A cell that a spreadsheet would read as a formula gets an apostrophe in front; `plain` takes it off again.
"""

import re

# What starts a formula in the common spreadsheets: the signs and their full-width forms, after white space
# that some of them skip, and quotation marks that a reader of another delimiter takes for its own. An apostrophe
# before one of these is our own mark and is doubled.
_FORMULA = re.compile(r"['\"\s]*[=+\-@＝＋－＠]")
_NUMBER = re.compile(r"[+-]?[0-9]+([.,][0-9]+)?([eE][+-]?[0-9]{1,3})?")
# A reader set to another country's delimiter splits a cell here, and the second part could be a formula.
_SPLITS = re.compile(r"([;\t\r\n])")


def harmless(cell: str) -> str:
    """Put an apostrophe wherever a spreadsheet would run the cell as a formula; a plain number stays."""
    return "".join(map(_part_harmless, _SPLITS.split(cell)))


def plain(cell: str) -> str:
    """Take out the apostrophes that `harmless` put into a cell."""
    if "'" not in cell:
        return cell
    return "".join(
        part[1:] if part[:1] == "'" and _part_harmless(part[1:]) == part else part for part in _SPLITS.split(cell)
    )


def _part_harmless(part: str) -> str:
    return "'" + part if _FORMULA.match(part) and not _NUMBER.fullmatch(part) else part
