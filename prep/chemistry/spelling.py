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
    """Reduce a name for comparing: lower case, one spelling of sulfur, neither spaces nor punctuation."""
    return _MARKS.sub("", unicodedata.normalize("NFKC", name).casefold().replace("sulph", "sulf"))


def begins(name: str, longer: str) -> bool:
    """Tell whether a longer name begins with all that this one says, oxidation numbers left out of both."""
    return key(_OXIDATION.sub("", longer)).startswith(key(_OXIDATION.sub("", name)))


def near(name: str, known: Mapping[str, Iterable[str]], alike: float = 0.75) -> str:
    """Write ` Near: a, b.` with the nearest keys of `known`, at most three; empty if none is near.

    The values of `known` are the names that each key goes by; `alike` is the least likeness, of 0 to 1 (difflib).
    """
    keys: dict[str, list[str]] = {}
    for code, names in known.items():
        for one in (code, *names):
            keys.setdefault(key(one), []).append(code)
    close = get_close_matches(key(name), keys, n=6, cutoff=alike)
    codes = list(dict.fromkeys(code for one in close for code in keys[one]))[:3]
    return f" Near: {', '.join(codes)}." if codes else ""


_WORD = re.compile(r"(?<![\w-])[A-Za-z]{5,}(?!\w|-\d)")
_ENDINGS = (
    ("ate", "ite", "ide"),
    ("ane", "ene", "yne"),
    ("ose", "ase"),
    ("anol", "anal"),
    ("ic", "ous"),
    ("anoic", "enoic"),
)
"""Endings in which one letter is another substance: a slip there is asked about, never put right."""


def words(names: Iterable[str]) -> frozenset[str]:
    """Gather the words of five letters and more in names, in lower case.

    What stands before a locant is no word of its own.
    """
    return frozenset(word for name in names for word in map(_plain, _WORD.findall(name)))


def mended(name: str, known: frozenset[str]) -> str:
    """Correct each word of a name that is none of the `known` and has one slip of the pen.

    One letter is wrong, missing, doubled or changed places with its neighbour, and only one word can be meant;
    every other word stays as it was.
    """

    def right(found: re.Match[str]) -> str:
        word = _plain(found[0])
        if word in known or word.removesuffix("s") in known:
            return found[0]
        near = {one for one in known if one[0] == word[0] and _one_off(word, one)}
        near = {one for one in near if one.removesuffix("s") not in near or one == one.removesuffix("s")}
        if len(near) != 1 or any(_one_off(word, other) or word == other for other in _others(*near)):
            return found[0]
        return next(iter(near))

    return _WORD.sub(right, name)


def _plain(word: str) -> str:
    return word.casefold().replace("sulph", "sulf")


def _others(word: str) -> Iterable[str]:
    for group in _ENDINGS:
        for ending in group:
            if word.endswith(ending):
                yield from (word.removesuffix(ending) + other for other in group if other != ending)


def _one_off(typed: str, word: str) -> bool:
    """Tell whether one slip turns one word into the other: a letter more, less, other, or two changed about."""
    if abs(len(typed) - len(word)) > 1 or typed == word:
        return False
    at = next((i for i, (a, b) in enumerate(zip(typed, word, strict=False)) if a != b), min(len(typed), len(word)))
    one, other = typed[at:], word[at:]
    swapped = len(one) > 1 and one[:2] == other[1::-1] and one[2:] == other[2:]
    return one[1:] == other[1:] or one[1:] == other or one == other[1:] or swapped
