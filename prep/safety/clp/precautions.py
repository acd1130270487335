"""Which precautionary statements stand on a label: Regulation (EC) No 1272/2008, Article 28 and Annex I.

Normally not more than six, more where the nature and the severity of the hazards need it (Article 28(3)): what to do
for somebody who was hurt by a severe hazard is never cut for the sake of the number. Which statement belongs to which
hazard is p_choice.csv.
"""

from collections.abc import Collection, Sequence
from itertools import zip_longest

from prep.safety.hazard_tables import keyed, split

MOST_P = 6
"""Precautionary statements are normally not more than six (CLP Art. 28(3))."""
_MOST_WITH_PREVENTION = 8
"""Where first aid takes up the six: room for two that say how to prevent it."""

SEVERE = frozenset(
    "H300 H301 H310 H311 H330 H331 H304 H314 H318 H334 H340 H341 H350 H350i H351 H360 H360D H360Df H360F H360FD "
    "H360Fd H361 H361d H361f H361fd H370 H372".split()
)
"""Acute toxicity 1 to 3, aspiration, corrosion, eye damage, asthma, CMR, STOT SE 1 and STOT RE 1."""
_ALWAYS = ("P280", "P308+P311", "P308+P313", "P304+P340")
"""Whatever the hazard: what to wear, what to do when exposed, fresh air."""
_FIRST_AID = (
    "P301+P310",
    "P331",
    "P303+P361+P353",
    "P302+P352",
    "P302+P335+P334",
    "P305+P351+P338",
    "P301+P330+P331",
    "P342+P311",
    "P310",
    "P311",
    "P312",
    "P314",
)
_ONLY_IF_ROOM = ("P233", "P234", "P270", "P390", "P391", "P405", "P337+P313")
_CMR = ("H34", "H35", "H360", "H361")
_SAID_BY = (
    ("P261", ({"P260"},)),
    ("P302+P352", ({"P303+P361+P353"},)),
    ("P301+P312", ({"P301+P310"}, {"P301+P330+P331", "P310"})),
    ("P301+P310", ({"P301+P330+P331", "P310"},)),
    ("P331", ({"P301+P330+P331"},)),
    ("P308+P313", ({"P308+P311"},)),
    ("P342+P311", ({"P304+P340", "P310"}, {"P304+P340", "P311"})),
    ("P312", ({"P310"}, {"P311"})),
    ("P311", ({"P310"}, {"P308+P311"})),
    ("P314", ({"P308+P311"}, {"P308+P313"}, {"P310"}, {"P311"})),
)
"""A statement, and what says as much or more: Article 28(1) and (2) leave out what is clearly redundant."""


def precautions_of(by_severity: Sequence[str], grave: Collection[str]) -> tuple[str, ...]:
    """Choose the precautions for hazard statements, the severest first; `grave` are those with Danger.

    First what a severe hazard asks for on a person who was hurt, protection, fresh air and what to do when exposed;
    then the first choice for each hazard with Danger, its second, and so on, then those of the others.
    """
    offered: dict[str, None] = {}
    for hazards in ([c for c in by_severity if c in grave], [c for c in by_severity if c not in grave]):
        lists = [split(keyed("p_choice", "h_code")[code]["p_codes"]) for code in hazards]
        offered |= dict.fromkeys(code for place in zip_longest(*lists) for code in place if code)
    for code, instead in _SAID_BY:
        if any(said <= offered.keys() for said in instead):
            offered.pop(code, None)
    severe = {c for code in by_severity if code in SEVERE for c in split(keyed("p_choice", "h_code")[code]["p_codes"])}
    needed = [code for code in offered if code in _ALWAYS or (code in _FIRST_AID and code in severe)]
    if any(code.startswith(_CMR) for code in grave):
        needed += [code for code in ("P201",) if code in offered]
    if "P260" in severe & offered.keys():
        needed.append("P260")
    most = max(MOST_P, len(needed), min(len(needed) + 2, _MOST_WITH_PREVENTION))
    rest = sorted((code for code in offered if code not in needed), key=lambda code: code in _ONLY_IF_ROOM)
    return tuple(sorted([*needed, *rest][:most]))
