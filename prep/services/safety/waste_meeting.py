"""What must not meet in one waste bottle: what goes in against what is in it, as far as the words name items."""

import re
from collections.abc import Iterator, Sequence

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Substance
from prep.safety.cautions import never_meet
from prep.safety.disposal import Leavings, never_together
from prep.safety.solution_hazards import reagents_of
from prep.services.catalogue.names import candidates
from prep.services.safety.item_facts import stream

_PARTS = re.compile(r"[,;+]| and | with | in ")
_FIRE = {"oxidising", "flammable"}
"""Streams that set each other alight, whatever they are of."""
_NO_NAME = re.compile(
    r"\b(?:residues?|wastes?|rins\w*|washings?|spent|old|used|excess|dilute|solutions?|left\w*|over|some|of|the)\b"
)


def clashes(what: str, inside: Sequence[str], bottle_stream: str, catalogue: Catalogue) -> tuple[str, ...]:
    """Say what would happen if this went into a bottle that holds the others; by the words that name items on file.

    Nothing is said of words that name none.
    """
    new, old = list(_named(what, catalogue)), [item for one in inside for item in _named(one, catalogue)]
    added, held = _substances(new, catalogue), _substances(old, catalogue)
    known = {line.text for side in (added, held) for line in never_meet(side)}
    both = {one.code: one for one in (*held, *added)}
    meet = [line.text for line in never_meet(list(both.values())) if line.text not in known]
    ways = [stream(one, catalogue) for one in new]
    burns = (
        never_together([Leavings(one, one) for one in _FIRE])
        if any({bottle_stream, one} == _FIRE for one in ways)
        else ()
    )
    return tuple(dict.fromkeys((*meet, *(one.message for one in burns))))


def _named(words: str, catalogue: Catalogue) -> Iterator[str]:
    """Find the items that a description names, part by part."""
    for part in _PARTS.split(words.casefold()):
        name = " ".join(_NO_NAME.sub(" ", part).split())
        if len(name) > 2 and (found := candidates(name, catalogue)):
            yield found[0].code


def _substances(items: Sequence[str], catalogue: Catalogue) -> tuple[Substance, ...]:
    return reagents_of(items, catalogue)
