"""What is left over: by stream, what brings it to neutral, and which streams never meet.

Local rules and the licensed carrier always come first; every result says so.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.model import Line
from prep.chemistry.quantities import figures
from prep.errors import PrepError
from prep.findings import Finding, Severity
from prep.resources import seed_table
from prep.safety.hazard_tables import Row, keyed

_NEUTRALISERS = {
    "acid": (("sodium hydrogencarbonate", "NaHCO3", 1), ("sodium carbonate", "Na2CO3", 2)),
    "base": (("citric acid", "C6H8O7.H2O", 3), ("hydrochloric acid", "HCl", 1)),
}


@dataclass(frozen=True, slots=True)
class LeftMoles:
    """An amount of a solute [mol]."""

    solute: str
    mol: Decimal


@dataclass(frozen=True, slots=True)
class Neutraliser:
    """What neutralises a waste, and how much of it [mol and g]."""

    name: str
    mol: Decimal
    mass_g: Decimal


@dataclass(frozen=True, slots=True)
class Leavings:
    """What one demo or batch leaves; `moles` of the solutes where they are known."""

    what: str
    stream: str
    note: str = ""
    moles: tuple[LeftMoles, ...] = ()


@dataclass(frozen=True, slots=True)
class Neutralising:
    """Acid and base left [mol of protons], and what neutralises the rest."""

    acid_mol: Decimal
    base_mol: Decimal
    choices: tuple[Neutraliser, ...]
    working: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Stream:
    """One stream: what goes in, what to do, and, for `neutralise`, how much it takes."""

    stream: str
    what: tuple[str, ...]
    what_to_do: str
    source: str
    neutralising: Neutralising | None = None


def streams(wastes: Sequence[Leavings]) -> tuple[Stream, ...]:
    """Group wastes by stream, in the order of seed_data/tables/disposal_streams.csv.

    Raises PrepError for a stream that is none.
    """
    known = keyed("disposal_streams", "stream")
    grouped: dict[str, list[Leavings]] = defaultdict(list)
    for one in wastes:
        if one.stream not in known:
            raise PrepError(f"'{one.stream}' is no waste stream; accepted are {', '.join(known)}.")
        grouped[one.stream].append(one)
    return tuple(
        Stream(
            stream,
            tuple(dict.fromkeys(f"{w.what} ({w.note})" if w.note else w.what for w in grouped[stream])),
            row["what_to_do"],
            row["source"],
            neutralise([pair for w in grouped[stream] for pair in w.moles]) if stream == "neutralise" else None,
        )
        for stream, row in known.items()
        if stream in grouped
    )


def neutralise(moles: Sequence[LeftMoles]) -> Neutralising:
    """Work out what brings these solutes [mol] to about pH 7: n(H+) = z n.

    Protons given, less protons taken. A solute that is neither an acid nor a base of
    seed_data/tables/neutralising.csv counts for nothing.
    """
    sums = {"acid": Decimal(0), "base": Decimal(0)}
    working: list[Line] = []
    for one in moles:
        row = keyed("neutralising", "solute").get(one.solute)
        if row is None:
            continue
        protons = Decimal(row["equivalents"]) * one.mol
        sums[row["kind"]] += protons
        name = one.solute.replace("-", " ")
        text = f"{name}: {row['equivalents']} x {figures(one.mol)} mol = {figures(protons)} mol of {row['kind']}"
        working.append(Line(text, row["source"]))
    rest = sums["acid"] - sums["base"]
    kind = "acid" if rest > 0 else "base"
    choices: list[Neutraliser] = []
    if rest:
        working.append(
            Line(f"{figures(sums['acid'])} - {figures(sums['base'])} = {figures(abs(rest))} mol of {kind} left")
        )
        for name, formula, protons_each in _NEUTRALISERS[kind]:
            mol = abs(rest) / protons_each
            mass_g = mol * molar_mass(formula)
            choices.append(Neutraliser(name, mol, mass_g))
            measure = f"{figures(1000 * mol, 3)} mL of 1 mol/L" if formula == "HCl" else f"{figures(mass_g, 3)} g"
            working.append(Line(f"{name}: {figures(mol)} mol = {measure}", "standard atomic weights"))
        working.append(Line("Add in small portions (foam, heat) until indicator paper shows pH 6 to 8."))
    return Neutralising(sums["acid"], sums["base"], tuple(choices), tuple(working))


def larger_side(moles: Sequence[LeftMoles]) -> tuple[LeftMoles, ...]:
    """Pick the acids or the alkalis among these solutes [mol], whichever give or take more protons."""
    known = keyed("neutralising", "solute")
    sides: dict[str, list[LeftMoles]] = {"acid": [], "base": []}
    for one in moles:
        if one.solute in known:
            sides[known[one.solute]["kind"]].append(one)

    def protons(side: Iterable[LeftMoles]) -> Decimal:
        return sum((Decimal(known[one.solute]["equivalents"]) * one.mol for one in side), Decimal(0))

    return tuple(max(sides.values(), key=protons))


def never_together(wastes: Sequence[Leavings]) -> tuple[Finding, ...]:
    """List the pairs among the streams of these wastes that must be kept in bottles of their own.

    The reason of a pair is the first that concerns what is in them; where that is not known, the worst.
    """
    present = {one.stream for one in wastes}
    reasons: dict[tuple[str, str], Row] = {}
    for row in seed_table("disposal_pairs"):
        pair = row["one"], row["other"]
        if set(pair) <= present and (not row["holds"] or _may_hold(row["holds"], row["other"], wastes)):
            reasons.setdefault(pair, row)
    return tuple(
        Finding(
            Severity.NOTE,
            "streams-apart",
            f"{row['one']} / {row['other']}",
            f"Keep the {row['one']} waste apart from the {row['other']} waste: {row['why']}.",
            source=row["source"],
        )
        for row in reasons.values()
    )


def _may_hold(solute: str, stream: str, wastes: Sequence[Leavings]) -> bool:
    """Tell whether the waste of a stream has a solute in it, or may have it as nothing is known of it."""
    return any(
        not one.moles or any(part.solute == solute for part in one.moles) for one in wastes if one.stream == stream
    )
