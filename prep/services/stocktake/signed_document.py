"""A count's report as a document that is stored when it is signed: what was found, not what is made of it since."""

import json
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Any

from prep.chemistry.model import Instrument, InstrumentKind, Measure
from prep.stocktake.methods import ClosedPacks, LevelCount, WeighedCount
from prep.stocktake.report import StandingBottle
from prep.stocktake.turnover import MovementFlow
from prep.stocktake.verdict import BookBalance, Verdict


@dataclass(frozen=True, slots=True)
class CountLine:
    """One entry of a count: the bottle, what was written down, by whom and when."""

    bottle: str
    says: str
    by: str
    at: str
    stands: bool = True


@dataclass(frozen=True, slots=True)
class ResidueLine:
    """What was put into a waste bottle, or, below zero, collected from it [nL]."""

    stream: str
    waste: str
    what: str
    amount: int
    on: date


@dataclass(frozen=True, slots=True)
class SignedCount:
    """Everything that a count's report is made of."""

    stood: tuple[StandingBottle, ...]
    last_used: Mapping[str, date]
    school: str = ""
    first_term: bool = False
    entries: tuple[CountLine, ...] = ()
    causes: Mapping[str, str] | None = None
    new_codes: Mapping[str, str] | None = None
    seal: str = ""
    signed_before: tuple[str, ...] = ()
    residues: tuple[ResidueLine, ...] = ()
    controlled: Mapping[str, tuple[str, ...]] | None = None
    """By item: what lists of controlled substances said of it; None in what an earlier version signed."""
    access_seal: str = ""
    """The head of the chain of who came in, as it is printed."""


_CLASSES: dict[str, Any] = {
    "Books": BookBalance,
    "CountLine": CountLine,
    "Flow": MovementFlow,
    "Instrument": Instrument,
    "Judged": LevelCount,
    "ResidueLine": ResidueLine,
    "SignedCount": SignedCount,
    "Stood": StandingBottle,
    "Units": ClosedPacks,
    "Verdict": Verdict,
    "Weighed": WeighedCount,
}
_ENUMS: dict[str, Any] = {"InstrumentKind": InstrumentKind, "Measure": Measure}
"""What each part is called in stored documents, which never change, whatever the classes are called."""
_WORDS = {part: word for word, part in (_CLASSES | _ENUMS).items()}
_IS = "is"


def written(signed: SignedCount) -> str:
    """Write the document that a count signs, as text."""
    return json.dumps(_plain(signed), ensure_ascii=False, separators=(",", ":"))


def read(text: str) -> SignedCount:
    """Read a stored document. Raises ValueError or TypeError where it is none."""
    found = _value(json.loads(text))
    if not isinstance(found, SignedCount):
        raise TypeError("no report of a count")
    return found


def _plain(value: Any) -> Any:
    """Convert a value to JSON; a field that is as by default is left out."""
    if isinstance(value, Enum):
        return {_IS: _WORDS[type(value)], "value": value.value}
    if isinstance(value, Decimal):
        return {_IS: "Decimal", "value": str(value)}
    if isinstance(value, date):
        return {_IS: "date", "value": value.isoformat()}
    if is_dataclass(value):
        out = {_IS: _WORDS[type(value)]}
        for one in fields(value):
            if one.init and (found := getattr(value, one.name)) != (one.default if one.default is not MISSING else _IS):
                out[one.name] = _plain(found)
        return out
    if isinstance(value, Mapping):
        return {_IS: "dict", "value": {key: _plain(found) for key, found in value.items()}}
    return [_plain(one) for one in value] if isinstance(value, list | tuple) else value


def _value(found: Any) -> Any:
    if isinstance(found, list):
        return tuple(_value(one) for one in found)
    if not isinstance(found, dict):
        return found
    kind = found[_IS]
    if kind == "Decimal":
        return Decimal(found["value"])
    if kind == "date":
        return date.fromisoformat(found["value"])
    if kind == "dict":
        return {key: _value(one) for key, one in found["value"].items()}
    if kind in _ENUMS:
        return _ENUMS[kind](found["value"])
    return _CLASSES[kind](**{key: _value(one) for key, one in found.items() if key != _IS})
