"""Searching what is on file by words: what holds all of them, else what comes nearest."""

import re
from collections import Counter
from collections.abc import Mapping
from math import log

from prep.chemistry.model import head_of
from prep.chemistry.spelling import key

_FILLERS = frozenset("and for in of to or an by at on is as from into its mol the with about".split())
_STEM = 6
"""Letters by which two words are the same: `titrate` and `titration`."""
_ENOUGH = 0.3
"""The share of what was asked for, rare words counting for more, that the nearest must hold."""
_AS_NEAR = 0.5
_MOST = 12

Texts = Mapping[str, tuple[str, ...]]
"""By code, the names and the like that are searched."""


def holding(texts: Texts, search: str | None) -> list[str]:
    """Find the codes whose code or texts hold every word searched for; all of them without any."""
    words = [key(word) for word in (search or "").split()]
    whole = {code: " ".join(map(key, " ".join((code, *more)).split())) for code, more in texts.items()} if words else {}
    return [code for code in texts if all(word in whole[code] for word in words)]


def nearest(texts: Texts, search: str) -> list[str]:
    """Find the codes whose texts hold most of several words, the nearest first; none where none holds enough.

    What stands in brackets is left out if need be, then what stands after a comma.
    """
    bare = re.sub(r"\s*\([^()]*\)", "", search)
    for said in dict.fromkeys((search, bare, head_of(bare))):
        if len(_stems(search)) > 1 and (found := _most_of(texts, _stems(said))):
            return found
    return []


def _most_of(texts: Texts, wanted: frozenset[str]) -> list[str]:
    """Rank what holds enough of the words; one that few hold counts for more than one that many do."""
    held = {code: _stems(" ".join((code, *more))) & wanted for code, more in texts.items()}
    often = Counter(stem for stems in held.values() for stem in stems)
    weight = {stem: log(1 + len(texts) / max(often[stem], 1)) for stem in wanted}
    scores = {code: sum(weight[stem] for stem in stems) for code, stems in held.items() if stems}
    best = max(scores.values(), default=0.0)
    if best < _ENOUGH * sum(weight.values()):
        return []
    near = [code for code, score in scores.items() if score >= _AS_NEAR * best]
    return sorted(near, key=lambda code: (-scores[code], code))[:_MOST]


def _stems(text: str) -> frozenset[str]:
    said = re.sub(r"'s\b", "", text.casefold()).replace("sulph", "sulf")
    words = re.findall(r"\d+(?:\.\d+)?|[^\W\d_]{2,}", said)
    return frozenset(word[:_STEM].rstrip("s") for word in words if word not in _FILLERS)
