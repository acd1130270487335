"""The found strength of a made solution: from a titration or a primary standard, as a person writes it down.

    25 mL of it = 24.35 mL, 24.40 mL of hydrochloric acid 0.1 mol/L      it was pipetted, the standard run in
    25 mL of sodium carbonate 0.05 mol/L +- 0.2 % = 24.8 mL of it        the standard was pipetted, it was run in
    25 mL of it = 24.35 mL of HCl 0.1 mol/L from elsewhere               on no bottle of ours
    25 mL of it = 24.35 mL of bottle K7Q2                                as strong as that bottle was found
    0.5105 g of potassium hydrogen phthalate = 24.60 mL of it            a weighed primary standard

What is left of `=` was pipetted or weighed, what is right of it came from the burette.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus, JobKind
from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.formula.formulas import molar_mass, split_hydrate
from prep.chemistry.measurement import volumetry
from prep.chemistry.measurement.standardisation import FoundStrength, by_mass, by_titration
from prep.chemistry.measurement.uncertainty import COVERAGE, Contribution, Uncertain, combined, with_uncertainty
from prep.chemistry.model import Instrument, InstrumentKind, Line, Solution, Strength, StrengthKind, Substance
from prep.chemistry.preparation.route_finding import Making
from prep.chemistry.quantities import plain
from prep.chemistry.typed_strength import NamedStrength
from prep.dates import DoneOn
from prep.errors import PrepError, Refused
from prep.services.catalogue.names import candidates, find_item
from prep.services.inventory import session
from prep.services.making.reacting_ratio import moles_to_one
from prep.services.making.standards import ELSEWHERE, bottle_meant, doubt_of_bottle, doubt_of_name
from prep.services.making.titration_text import pct_of, purity_of, ratio_of, volumes_of
from prep.services.making.titration_use import StrengthUse, draw
from prep.services.plan.snapshot import load
from prep.services.stock import listing
from prep.store import change_log, ledger
from prep.store.bottles import HeldBottle
from prep.store.queries import strength_of
from prep.wording import Flag, Sentence

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.planning.model import Snapshot

_STANDARD_PCT = Decimal("0.5")
"""Uncertainty (k = 2) of a standard whose own is not given: common practice, no source."""
_PURITY_HALF_WIDTH = 0.0005
"""EURACHEM/CITAC Guide CG4, 3rd ed. (2012), example A2: a primary standard's purity, 1 within 0.0005."""


@dataclass(frozen=True, slots=True)
class StandardisationRecord:
    """What was written down: one titration, or one or more weighings; `ratio` and `purity` where they differ."""

    titrated: str | None = None
    primary: Sequence[str] = ()
    ratio: str | None = None
    purity: str | None = None

    def __bool__(self) -> bool:
        return bool(self.titrated is not None or self.primary or self.ratio is not None or self.purity is not None)


@dataclass(frozen=True, slots=True)
class MeasuredStrength:
    """A strength as found, in the kind of the solution's entry, with k = 2, and how; any `doubt` of its standard."""

    strength: Strength
    uncertainty_pct: Decimal
    says: str
    concordant: bool
    working: tuple[Line, ...]
    used: StrengthUse
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class StandardisedBottle:
    """A bottle with the strength that was found for it, and the job that wrote it there."""

    bottle: HeldBottle
    found: MeasuredStrength
    job: int


def standardise(
    db: Path | None,
    bottle: str,
    written: StandardisationRecord,
    by: str,
    day: DoneOn,
) -> StandardisedBottle:
    """Write the strength that was found on a bottle of a made solution.

    Raises PrepError; Refused for a bottle that is discarded or empty.
    """

    def work(connection: "Connection") -> MeasuredStrength:
        held = listing.one(connection, bottle)
        if held.status == BottleStatus.DISCARDED or not held.balance:
            raise Refused(f"Bottle {held.code} is {'discarded' if held.status == BottleStatus.DISCARDED else 'empty'}.")
        listing.since_it_came(held, day)
        snapshot = load(connection, day.on)
        if held.item not in snapshot.solutions:
            raise PrepError(f"Bottle {held.code} holds {held.name} as bought; a strength is found of made solutions.")
        return find(connection, snapshot, snapshot.solutions[held.item], written)

    def post(connection: "Connection", made: MeasuredStrength) -> StandardisedBottle:
        held = listing.one(connection, bottle)
        job = ledger.begin(connection, JobKind.STANDARDISE, by, day.on, f"{held.code}: found {made.says}")
        change_log.change(
            connection,
            job,
            "bottle",
            held.code,
            strength=text_of(made.strength),
            strength_uncertainty_pct=str(made.uncertainty_pct),
        )
        draw(connection, job, (held,), made.used)
        return StandardisedBottle(listing.one(connection, held.code), made, job)

    return session.worked_out(db, work, post)


def text_of(strength: Strength) -> str:
    """Write a strength as the store keeps it."""
    return f"{strength.value} {strength.kind.value}"


def find(
    connection: "Connection", snapshot: "Snapshot", solution: Solution, written: StandardisationRecord
) -> MeasuredStrength:
    """Work out the strength of a solution from what was written down. Raises PrepError."""
    titrated, primary = written.titrated, written.primary
    if (titrated is None) == (not primary):
        raise PrepError(
            "Give what was found once: either ",
            Flag("--titrated"),
            ", or ",
            Flag("--primary"),
            " (once for each weighing).",
        )
    if solution.strength is None or solution.strength.kind is StrengthKind.SATURATED:
        raise PrepError(f"{solution.name} has no one strength that could be found.")
    making = Making(snapshot.catalogue)
    desk = _RecordReader(connection, snapshot, making, solution, ratio_of(written.ratio))
    found = desk.titration(titrated) if titrated is not None else desk.weighings(primary, purity_of(written.purity))
    strength = making.as_on_file(solution, found.strength)
    nominal = solution.strength.value
    if not nominal / 2 <= strength.value <= nominal * 2:
        raise PrepError(
            f"That gives {strength}, which is far from {solution.strength}: that is another solution, or a slip in "
            "the volumes or the mole ratio (",
            Flag("--ratio"),
            ").",
        )
    value = float(strength.value)
    half = COVERAGE * found.result.relative * value
    return MeasuredStrength(
        strength,
        found.uncertainty_pct,
        with_uncertainty(value, half, strength.kind.value, plain=True),
        found.concordant,
        (*desk.notes, *found.working),
        desk.used,
        desk.doubt,
    )


class _RecordReader:
    def __init__(
        self, connection: "Connection", snapshot: "Snapshot", making: Making, solution: Solution, ratio: Fraction | None
    ) -> None:
        self.connection, self.snapshot, self.making = connection, snapshot, making
        self.solution, self.ratio = solution, ratio
        self.notes: list[Line] = []
        self.used = StrengthUse(0)
        self.doubt = ""

    def titration(self, text: str) -> FoundStrength:
        """Work out a strength from `25 mL of it = 24.35 mL, 24.40 mL of hydrochloric acid 0.1 mol/L`."""
        accepted = 'write such as "25 mL of it = 24.35 mL, 24.40 mL of hydrochloric acid 0.1 mol/L"'
        left, equals, right = text.partition("=")
        (pipetted, _, one), (titres, _, other) = left.partition(" of "), right.partition(" of ")
        one, other = one.strip(), other.strip()
        if not equals or not one or not other or (one == "it") == (other == "it"):
            raise PrepError(Flag("--titrated"), f' "{text[:60]}": {accepted}.')
        volumes = volumes_of(titres)
        standard, formula = self._standard(other if one == "it" else one)
        taken = quantities.volume_ml(pipetted)
        ran, stood = (quantities.to_base(part) for part in (sum(volumes, Decimal(0)), taken * len(volumes)))
        volumes = self._concordant(volumes)
        of_it, of_standard = (stood, ran) if one == "it" else (ran, stood)
        self.used = replace(self.used, of_it=of_it, standard=of_standard)
        return by_titration(
            taken,
            volumes,
            standard,
            pipette=self._pipette(taken),
            burette=self._burette(max(volumes)),
            standard_in_burette=one == "it",
            ratio=self._ratio(formula),
        )

    def _concordant(self, titres: list[Decimal]) -> list[Decimal]:
        """Choose the titres that agree, a rough one set aside and noted; all of them where no two do."""
        try:
            found = volumetry.concordant(titres)
        except PrepError:
            return titres
        if found.aside:
            rough = ", ".join(plain(one) for one in found.aside)
            self.notes.append(Line(f"set aside as not concordant within {volumetry.CONCORDANT_ML} mL: {rough} mL"))
        return list(found.used)

    def weighings(self, texts: Sequence[str], purity: Decimal | None) -> FoundStrength:
        """Work out a strength from `0.5105 g of potassium hydrogen phthalate = 24.6 mL of it`, for each weighing."""
        pairs: list[tuple[Decimal, Decimal]] = []
        names: dict[str, str] = {}  # kept as written: the case of a formula's letters counts
        for text in texts:
            left, equals, right = text.partition("=")
            read = re.fullmatch(r"\s*(\d\S*\s*[A-Za-zµμ]+)\s+(?:of\s+)?(\S.*?)\s*", left)
            titre = re.sub(r"\s+of\s+it\s*$", "", right)
            if not equals or not read:
                accepted = '"0.5105 g of potassium hydrogen phthalate = 24.60 mL of it"'
                raise PrepError(Flag("--primary"), f' "{text[:60]}": write such as {accepted}.')
            pairs.append((quantities.mass_g(read[1]), quantities.volume_ml(titre)))
            names[read[2].casefold()] = read[2]
        if len(names) > 1:
            raise PrepError(
                Flag("--primary"), f" names {len(names)} substances ({', '.join(sorted(names.values()))}); weigh one."
            )
        substance = self._substance(next(iter(names.values())))
        weighed, ran = (quantities.to_base(sum(part, Decimal(0))) for part in zip(*pairs, strict=True))
        self.used = StrengthUse(ran, weighed, substance=substance.code)
        if not substance.formula:
            raise PrepError(f"{substance.name} has no formula on file; it cannot be a primary standard.")
        part = purity if purity is not None else (substance.assay_pct or Decimal(100)) / 100
        self.notes.append(
            Line(
                f"purity of {substance.name}: {plain(part * 100)} %",
                "as given" if purity is not None else substance.sources.get("assay", ""),
            )
        )
        mass = molar_mass(substance.formula)
        return by_mass(
            pairs,
            substance.formula,
            mass,
            balance=self._balance([m for m, _ in pairs]),
            burette=self._burette(max(t for _, t in pairs)),
            purity=part,
            purity_half_width=self._half_width(substance, part, given=purity is not None),
            ratio=self._ratio(split_hydrate(substance.formula).dry),
        )

    def _half_width(self, substance: Substance, part: Decimal, *, given: bool) -> float:
        """Find how far the purity may be off, as a share: what is on file of it, else all that it is short of 1."""
        if given:
            return _PURITY_HALF_WIDTH
        if substance.assay_half_width_pct is None:
            return max(_PURITY_HALF_WIDTH, float(1 - part))
        source = substance.sources.get("assay half-width", "")
        self.notes.append(Line(f"its assay is within {plain(substance.assay_half_width_pct)} %", source))
        return max(_PURITY_HALF_WIDTH, float(substance.assay_half_width_pct) / 100)

    # The standard -------------------------------------------------------------------------------------

    def _standard(self, text: str) -> tuple[Uncertain, str]:
        """Read mol/L with its uncertainty, and the formula counted, from `HCl 0.1 mol/L +- 0.2 %` or `bottle K7Q2`."""
        what, _, given = re.sub(r"±", "+-", text).partition("+-")
        pct = pct_of(given) if given else None
        if bottle := re.fullmatch(r"bottle\s+(\S+)\s*", what.strip(), re.IGNORECASE):
            return self._from_bottle(bottle[1], pct)
        what, elsewhere, _ = what.strip().partition(f" {ELSEWHERE}")
        try:
            named = NamedStrength("", quantities.strength(what.strip()))
        except PrepError:
            named = quantities.component(what)
        formula = self._solute(named.what) if named.what else ""
        if named.strength.kind is not StrengthKind.MOL_PER_L:
            raise PrepError(f'"{what.strip()[:60]}": give the strength of a standard in mol/L.')
        if formula and not elsewhere:
            self._meant(what.strip(), formula, named.strength)
        how = "as given" if pct is not None else "common practice, no source"
        if pct is None and formula:
            known = doubt_of_name(what.strip(), formula, self.snapshot.substances.values())
            self.doubt = f"{known} Name its bottle, or write how near it is (+- 0.2 %)." if known else ""
        return self._known(what.strip(), named.strength.value, pct if pct is not None else _STANDARD_PCT, how), formula

    def _meant(self, said: str, formula: str, strength: Strength) -> None:
        """Take the standard off the only bottle that its name and strength can mean."""
        if (bottle := bottle_meant(said, formula, strength.value, self.snapshot)) is None:
            return
        own = f"; found to be {bottle.strength}, by which it is computed where the bottle is named"
        why = f"the only bottle of {said} in date{own if bottle.strength and bottle.strength != strength else ''}"
        self.used = replace(self.used, bottle=bottle.code, meant=why)

    def _from_bottle(self, code: str, pct: Decimal | None) -> tuple[Uncertain, str]:
        held = listing.one(self.connection, code)
        self.used = replace(self.used, bottle=held.code)
        solution = self.snapshot.solutions.get(held.item)
        if solution is None:
            raise PrepError(f"Bottle {held.code} holds {held.name}; a standard is a made solution.")
        found = strength_of(held.strength)
        mol = self.making.mol_per_l(solution, found)
        if mol is None:
            raise PrepError(f"The moles in bottle {held.code} ({held.name}) are not known.")
        if pct is None and found is not None and held.strength_uncertainty_pct:
            pct, how = Decimal(held.strength_uncertainty_pct), f"as found of bottle {held.code}"
        elif pct is None:
            pct, how = solution.tolerance_pct, "its strength was not found: the tolerance on its entry"
            self.doubt = doubt_of_bottle(held.code, solution, self.snapshot.substances.values())
        else:
            how = "as given"
        return self._known(f"bottle {held.code}, {held.name}", mol, pct, how), self.making.formula_of(solution)

    def _known(self, name: str, mol_per_l: Decimal, pct: Decimal, how: str) -> Uncertain:
        self.notes.append(Line(f"standard: {name}, within {plain(pct)} % (k = 2)", how))
        value = float(mol_per_l)
        part = Contribution(name, value, value * float(pct) / 100 / COVERAGE, "mol/L", how=how)
        return combined(value, [part], "mol/L")

    def _solute(self, name: str) -> str:
        """Find the formula in a solution of that name: several concentrates and hydrates may share it."""
        named = (one.substance for one in candidates(name, Catalogue(self.snapshot.substances)))
        formulas = {split_hydrate(s.formula).dry for s in named if s and s.formula}
        if len(formulas) == 1:
            return formulas.pop()
        formula = self._substance(name).formula
        return split_hydrate(formula).dry if formula else ""

    def _substance(self, name: str) -> Substance:
        item = find_item(name, Catalogue(self.snapshot.substances))
        assert item.substance is not None
        return item.substance

    def _ratio(self, standard: str) -> Fraction:
        """Find the moles of the sample to one of the standard: as given, else by what is on file."""
        if self.ratio is not None:
            self.notes.append(Line(f"{self.ratio} mol of it to 1 mol of the standard, as given"))
            return self.ratio
        sample = self.making.formula_of(self.solution)
        if not standard:
            self.notes.append(
                Line(Sentence("mole for mole with the standard, as nothing else was said (", Flag("--ratio"), ")"))
            )
            return Fraction(1)
        found = moles_to_one(sample, standard)
        if found is None:
            raise PrepError(
                f"How {sample or self.solution.name} and {standard} react is not on file; give ",
                Flag("--ratio"),
                f", the moles of {self.solution.name} to one mole of the standard, such as 1, 2 or 5/2.",
            )
        self.notes.append(found[1])
        return found[0]

    # The glass ----------------------------------------------------------------------------------------

    def _pipette(self, volume_ml: Decimal) -> Instrument:
        """Choose what the room would take a volume with: one mark if it fits, the widest tolerance of its kind."""
        marks = [i for i in self._of(InstrumentKind.PIPETTE) if volume_ml % i.capacity == 0]
        if marks:
            return min(marks, key=lambda i: (volume_ml / i.capacity, -i.tolerance, i.code))
        kinds = (InstrumentKind.GRADUATED_PIPETTE, InstrumentKind.BURETTE)
        scales = [i for kind in kinds for i in self._of(kind) if i.capacity >= volume_ml]
        if scales:
            return min(scales, key=lambda i: (i.capacity, -i.tolerance, i.code))
        sizes = ", ".join(f"{plain(i.capacity)} mL" for i in self._of(InstrumentKind.PIPETTE))
        raise PrepError(f"Nothing in the room pipettes {plain(volume_ml)} mL; it has pipettes of {sizes or 'no size'}.")

    def _burette(self, titre_ml: Decimal) -> Instrument:
        known = self._of(InstrumentKind.BURETTE)
        if not known:
            raise PrepError("There is no burette on file; a strength is found with one.")
        fits = [i for i in known if i.capacity >= titre_ml]
        return max(fits or known, key=lambda i: (i.tolerance, i.code) if fits else (i.capacity, i.code))

    def _balance(self, masses: Sequence[Decimal]) -> Instrument:
        """Choose the coarsest balance that reads all the digits written down, else the finest there is."""
        known = [i for i in self._of(InstrumentKind.BALANCE) if i.capacity >= max(masses)]
        if not known:
            raise PrepError(f"No balance of the room weighs {plain(max(masses))} g.")
        read = [i for i in known if all(m % i.resolution == 0 for m in masses)]
        if read:
            return max(read, key=lambda i: (i.resolution, i.tolerance, i.code))
        finest = min(known, key=lambda i: (i.resolution, i.tolerance, i.code))
        self.notes.append(Line(f"the {finest.name} is the room's finest; more digits were written down than it reads"))
        return finest

    def _of(self, kind: InstrumentKind) -> list[Instrument]:
        return [i for i in self.snapshot.instruments if i.kind is kind]
