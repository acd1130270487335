"""What to mind while making: order of mixing, heat, fumes, protection, what must never meet.

Lines come from seed_data/tables/cautions.csv, chosen by what the step takes and what it makes.
"""

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import field, replace
from decimal import Decimal
from functools import cache
from typing import Literal

from prep.chemistry import heat_of_solution, quantities
from prep.chemistry.heat_of_solution import Warmth
from prep.chemistry.model import Form, Line, Substance
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_table
from prep.safety.clp.classify import classify, classify_substance
from prep.safety.hazard_tables import split, text_of
from prep.safety.matching import h_codes, matches
from prep.safety.model import Classification, MixtureComponent

Action = Literal["dilute", "dissolve", "recipe"]

_TOPICS = (
    "order of mixing",
    "heat",
    "fumes",
    "fire",
    "dust",
    "contamination",
    "never mix",
    "standing",
    "container",
)
_AT_STEP = frozenset({"order of mixing", "heat", "fumes", "dust"})
"""Topics that concern the step at which a thing is taken out of its bottle."""
_IN_STOCKS = frozenset({"contamination", "never mix"})
"""Topics that hold for what is in a made solution too."""
_CLP_P280 = "Regulation (EC) No 1272/2008 (CLP), P280"
_UNDILUTED = 80  # % w/w from which a substance is taken as it comes
_BURNS = frozenset({"H314", "H318"})
_THROUGH_SKIN = frozenset({"H310", "H311", "H312", "H315", "H317", "H300", "H301", "H340", "H341", "H350"})


@record(frozen=True, slots=True)
class AmountsTaken:
    """How much is taken and made: per substance ug or nL, and the volume [nL]. What is not given may be any amount.

    `cooled`: the steps let it cool before the mark, so a little warmth needs no word.
    """

    taken: Mapping[str, int] = field(default_factory=dict)
    volume: int = 0
    cooled: bool = False

    def warms_by(self, one: Substance) -> Decimal | None:
        """Compute by how many degC a substance warms the whole; None where that is not known."""
        return heat_of_solution.rise(one, self.taken[one.code], self.volume) if one.code in self.taken else None


_ANY = AmountsTaken()


def cautions_for(
    substances: Sequence[Substance],
    product: Classification | None = None,
    action: Action = "dilute",
    stocks: Sequence[Classification] = (),
    within: Sequence[Substance] = (),
    scale: AmountsTaken = _ANY,
) -> tuple[str, ...]:
    """Write the cautions of one making step as sentences, most important first.

    See `caution_lines` for sources.
    """
    return tuple(line.text for line in caution_lines(substances, product, action, stocks, within, scale))


def at_step(substance: Substance, action: Action, scale: AmountsTaken = _ANY) -> tuple[str, ...]:
    """Say what to mind at the very step that takes a substance out of its bottle."""
    one = as_bottled(substance)
    found = []
    for row in seed_table("cautions"):
        if row["topic"] in _AT_STEP and {"any", action} & set(split(row["action"])) and matches(row["match"], one):
            found += [_filled(text, [one]) for text in (_text_of(row, one, scale),) if text]
    return tuple(found)


def _text_of(row: Mapping[str, str], one: Substance, scale: AmountsTaken) -> str:
    """Write a row's caution as `text_of` does; empty too where too little is taken for the row to concern it."""
    least, taken = row["from_amount"], scale.taken.get(one.code)
    if least and taken is not None and taken < _base_units(least):
        return ""
    degrees = scale.warms_by(one)
    if scale.cooled and degrees is not None and 0 < degrees < Warmth.HOT and row["topic"] == "heat":
        return ""
    return text_of(row, degrees)


@cache
def _base_units(amount: str) -> int:
    """Convert `10 mL` to nL and `5 g` to ug: a gram and a millilitre count alike."""
    return round(Decimal(amount.split()[0]) * quantities.BASE_PER_UNIT)


def _filled(text: str, named: Sequence[Substance]) -> str:
    said = text.replace("{name}", " and ".join(dict.fromkeys(_called(one) for one in named)))
    return said[0].upper() + said[1:]


def caution_lines(
    substances: Sequence[Substance],
    product: Classification | None = None,
    action: Action = "dilute",
    stocks: Sequence[Classification] = (),
    within: Sequence[Substance] = (),
    scale: AmountsTaken = _ANY,
) -> tuple[Line, ...]:
    """Write the cautions of one making step with the source of each.

    `substances` are the reagents taken from their bottles, `stocks` the classifications of made solutions
    taken and `within` what those are made of, `product` the class of what is made. A substance without hazard data is
    named as not known. What concerns heat, flames or vapour hangs on the `scale`.
    """
    substances = [as_bottled(one) for one in substances]
    dissolved = [as_bottled(one) for one in within]
    found = [*_protection(substances, product, stocks)]
    said: set[str] = set()
    for topic in _TOPICS:
        for row in seed_table("cautions"):
            if row["topic"] != topic or not {"any", action} & set(split(row["action"])):
                continue
            there = [*substances, *dissolved] if topic in _IN_STOCKS else substances
            by_text: dict[str, list[Substance]] = {}
            for one in there:
                if matches(row["match"], one) and (text := _text_of(row, one, scale)):
                    by_text.setdefault(text, []).append(one)
            found += [Line(_filled(text, named), row["source"]) for text, named in by_text.items()]
            if by_text:
                said.add(row["fact"])
    return (*found, *never_meet([*substances, *dissolved], said))


def never_meet(substances: Sequence[Substance], said: Set[str] = frozenset()) -> tuple[Line, ...]:
    """Warn of what two of these make that must not be made, from seed_data/tables/never_mix.csv.

    Facts already `said` are left out.
    """
    substances = [as_bottled(one) for one in substances]
    found: list[Line] = []
    for row in seed_table("never_mix"):
        ones = [s for s in substances if matches(row["one"], s)]
        if not ones:
            continue  # as for most rows: then nobody need look for the others
        others = [s for s in substances if matches(row["other"], s)]
        pairs = {frozenset((a.code, b.code)) for a in ones for b in others if a.code != b.code}
        if pairs and row["fact"] not in said:
            found.append(Line(f"{row['text']} ({row['makes']})", row["source"]))
    return tuple(found)


def taken_at(substance: Substance, component: MixtureComponent, *, dry: bool = False) -> Substance:
    """Give a substance the classes that it has in a mixture at a strength, for `never_meet`.

    `dry`: no water is in it, so what is solid stays so.
    """
    try:
        hazards = classify([component])
    except PrepError:
        return substance
    words = hazards.in_words if hazards.known else ""
    form = Form.AQUEOUS if component.pct < _UNDILUTED and not dry else substance.form
    return replace(substance, form=form, assay_pct=component.pct, classification=words, diluted=True)


def as_bottled(substance: Substance) -> Substance:
    """Give a concentrate the classes of its own strength in place of its entry's.

    It has no classes where those cannot be read.
    """
    bottled = substance.form is Form.AQUEOUS and substance.assay_pct is not None and not substance.diluted
    if not bottled or not substance.classification:
        return substance
    try:
        return replace(substance, classification=classify_substance(substance).in_words)
    except PrepError:
        return replace(substance, classification="")


def _protection(
    substances: Sequence[Substance], product: Classification | None, stocks: Iterable[Classification]
) -> Iterable[Line]:
    """Choose gloves and eye protection by the worst of what is handled; what is not known is said first."""
    unknown = [s.name for s in substances if not s.classification]
    for one in (*stocks, *((product,) if product else ())):
        unknown += [name for name in one.unknown if name not in unknown]
    if unknown:
        yield Line(
            f"The hazards of {' and '.join(unknown)} are not known: treat as hazardous until the supplier's "
            "safety data sheet has been read."
        )
    codes = {code for s in substances for code in h_codes(s.classification)}
    codes |= {one.h_code for c in (*stocks, *((product,) if product else ())) for one in c.classes}
    if codes & _BURNS or unknown:
        yield Line("Wear goggles (not spectacles), chemical-resistant gloves and a lab coat.", _CLP_P280)
    elif codes & _THROUGH_SKIN or any(code.startswith(("H36", "H37")) for code in codes):
        yield Line("Wear eye protection, gloves and a lab coat.", _CLP_P280)
    else:
        yield Line("Wear eye protection.", _CLP_P280)


def _called(substance: Substance) -> str:
    name = substance.name
    return name if name[:2].isupper() else name[0].lower() + name[1:]
