"""Names as people write them: compared without case, spacing and punctuation, and the near ones where none fits."""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from functools import lru_cache

_OXIDATION = re.compile(r"\((?:0|[IVX]+)\)", re.IGNORECASE)
_MARKS = re.compile(r"(?<![0-9])\.|\.(?![0-9])|[^\w.%/]|_")  # the point within a number stays, and % and / of units


@lru_cache(maxsize=16384)
def key(name: str) -> str:
    """A name for comparing: lower case, one spelling of sulfur, neither spaces nor punctuation."""
    return _MARKS.sub("", unicodedata.normalize("NFKC", name).casefold().replace("sulph", "sulf"))


def begins(name: str, longer: str) -> bool:
    """Whether a name says no more than how a longer one begins, oxidation numbers left out of both."""
    return key(_OXIDATION.sub("", longer)).startswith(key(_OXIDATION.sub("", name)))


def near(name: str, known: Mapping[str, Iterable[str]]) -> str:
    """` Near: a, b.` with at most three of the keys of `known`, whose values are their names; empty if none is near."""
    keys: dict[str, list[str]] = {}
    for code, names in known.items():
        for one in (code, *names):
            keys.setdefault(key(one), []).append(code)
    close = get_close_matches(key(name), keys, n=6, cutoff=0.6)
    codes = list(dict.fromkeys(code for one in close for code in keys[one]))[:3]
    return f" Near: {', '.join(codes)}." if codes else ""
