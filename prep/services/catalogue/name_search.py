"""The ways in which a name may mean an item, the surest first."""

import contextlib
import re
from collections.abc import Collection, Iterator
from decimal import Decimal
from functools import cached_property, lru_cache

from prep.chemistry import quantities, spelling
from prep.chemistry.catalogue import Catalogue, Item
from prep.chemistry.formula.formulas import as_written, respelled, split_hydrate
from prep.chemistry.interval import Interval
from prep.chemistry.model import Form, Solution, StrengthKind, Substance, SubstanceName, head_of
from prep.chemistry.naming import Name, read_name
from prep.chemistry.strength import strengths
from prep.chemistry.strength.solutes import about_substance
from prep.chemistry.typed_strength import NamedStrength
from prep.errors import PrepError
from prep.records import record
from prep.services.catalogue.buffer_names import read_buffer

_LIQUIDS = (Form.AQUEOUS, Form.LIQUID)
_NEAR_ASSAY = Decimal("0.03")
"""How far a label's per cent may be from the assay on file: 70 % is sold for 68 to 70 %."""
_NEAR_STRENGTH = Decimal("0.04")
_NEAR_GRAVITY = Decimal("0.006")
_FOR_WHAT = re.compile(r"(.*[0-9].*\S)\s*\([^()]*\)")
_BETWEEN = re.compile(r"[,;:(]| and | or ")


@record(frozen=True, slots=False)
class NameSearch:
    """A name, and what it is looked for among: each way to name something, the surest first in `ways`."""

    wanted: str
    catalogue: Catalogue

    def ways(self) -> Iterator[Iterator[Item]]:
        """Try each way to find a name, in order; what the first way with any finds is meant."""
        yield from (self.by_code(), self.by_name(), self.by_words(), self.by_formula(), self.by_solution_words())
        yield self.by_ph()
        yield from (
            self.by_strength(),
            self.by_percent(),
            self.by_grade(),
            self.by_solute(),
            self.by_head(),
            self.by_both_names(),
            self.by_purpose(),
            self.by_several_forms(),
        )

    def by_code(self) -> Iterator[Item]:
        """Find the item of that code."""
        if self.wanted in self.catalogue:
            yield self.catalogue.item(self.wanted)

    def by_name(self) -> Iterator[Item]:
        """Find the items of that very name, CAS number or formula."""
        low, formula = spelling.key(self.wanted), as_written(self.wanted)
        if not low:
            return
        joined = formula.replace(" ", "")
        for s in self.catalogue.named:
            if formula in (s.cas, s.formula) or joined == s.formula or low == spelling.key(s.name):
                yield self.catalogue.item(s.code)
        yield from (
            self.catalogue.item(solution.code)
            for solution in self.catalogue.solutions.values()
            if low == spelling.key(solution.name)
        )

    def by_words(self) -> Iterator[Item]:
        """Find the substances that these words mean, in any nomenclature, spelling and order; the sure ones first.

        "Copper sulfate" is said of the crystals and of the powder: a third of the weight is between them, so all
        hydrates and grades are found that the words do not exclude.
        """
        for said in dict.fromkeys((self.said, self.said.without_size, self.said.without_form)):
            sayings = _sayings(said)
            sure = [s for s in self.catalogue.named if self._means(said, sayings, s)]
            alike = [
                one
                for one in self.catalogue.named
                if any(one.solute == s.solute and one.form is s.form for s in sure)
                and one not in sure
                and any(_is_longer(said, name) for name in _names(one))
            ]
            if found := [s for s in (*sure, *alike) if self._fits(self.catalogue.substances[s.code])]:
                yield from (self.catalogue.item(s.code) for s in found)
                return

    def by_formula(self) -> Iterator[Item]:
        """Find the substances of a formula written in other letters, or with its water written otherwise."""
        if formula := respelled(self.wanted, (s.formula for s in self.catalogue.named)):
            yield from NameSearch(formula, self.bought).by_name()
            return
        for word in self.wanted.split() if len(self.said.words) == 1 and " " in self.wanted else ():
            formula = respelled(word, (s.formula for s in self.catalogue.named))
            if formula and read_name(word).words == self.said.words:  # `conc HCL`
                yield from NameSearch(self.wanted.replace(word, formula), self.bought).by_formula()
                return
        written = as_written(self.wanted)
        for said in dict.fromkeys((self.said, self.said.without_form)):
            for s in self.catalogue.named:
                dry = s.formula.split(".")[0]
                whole = said is self.said or not _forms(s)
                # The case of letters counts: COCl2 is not CoCl2.
                alone = len(said.words) == 1 and dry in written and read_name(s.formula).words == said.words
                if s.formula and whole and (alone or dry == written) and self._fits(self.catalogue.substances[s.code]):
                    yield self.catalogue.item(s.code)

    def by_solution_words(self) -> Iterator[Item]:
        """Find the solutions of these words: `Fehling's A` is Fehling's solution A."""
        for solution in self.catalogue.solutions.values():
            name = read_name(solution.name)
            if self.said.says_as(name) and self.said.percent == name.percent:
                yield self.catalogue.item(solution.code)

    def by_ph(self) -> Iterator[Item]:
        """Find the buffers of a pH, of what is in them, or of both: `pH 7 buffer`, `ammonia buffer`."""
        if said := read_buffer(self.wanted):
            yield from (self.catalogue.item(one.code) for one in said.among(self.catalogue.solutions.values()))

    def by_strength(self) -> Iterator[Item]:
        """Find the solutions of the solute and the strength that were named."""
        if named := self.component:
            entries = self.of_solute(self.solutes(named.what))
            yield from (self.catalogue.item(entry.code) for entry in entries if entry.strength == named.strength)

    def by_percent(self) -> Iterator[Item]:
        """Find the solute's solutions that are as strong in per cent, of whichever kind: `hydrogen peroxide 6 %`."""
        what, share, after = self.wanted.partition("%")
        found = re.search(r"\d+(?:\.\d+)?\s*$", what)
        if not share or not found:
            return
        wanted = Decimal(found[0].strip())
        for name in (what[: found.start()], after):
            for solution in self.of_solute(self.solutes(name.strip())):
                if any(abs(one - wanted) <= _NEAR_STRENGTH * wanted for one in self._per_cent(solution)):
                    yield self.catalogue.item(solution.code)

    def _per_cent(self, solution: Solution) -> Iterator[Decimal]:
        """Convert a solution's strength to % w/w and % w/v, as far as it has one."""
        solute = next((s for s in self.catalogue.named if s.solute == solution.solute), None)
        if solute is None or solution.strength is None:
            return
        bought = self.catalogue.substances[solute.code]
        for kind in (StrengthKind.PCT_W_W, StrengthKind.PCT_W_V):
            with contextlib.suppress(PrepError):
                yield strengths.convert(solution.strength, kind, about_substance(bought)).strength.value

    def by_grade(self) -> Iterator[Item]:
        """Find the concentrates of a strength as sold: `12 M HCl`, `100 vol peroxide`."""
        try:
            named = quantities.component(self.wanted)
        except PrepError:
            return
        for one in NameSearch(named.what, self.bought).found():
            s = one.substance
            if s is None or s.form not in _LIQUIDS:
                continue
            try:
                sold = strengths.in_bottle(s, named.strength.kind).strength.value
            except PrepError:
                continue
            if abs(sold - named.strength.value) <= _NEAR_STRENGTH * sold:
                yield one

    def by_both_names(self) -> Iterator[Item]:
        """Find what both names of `Calcium carbonate (marble chips)` mean."""
        if not (two := re.fullmatch(r"([^()]+\S)\s*[(/]\s*([^/]+?)\)?", self.wanted)):
            return
        one, other = (NameSearch(part.strip(), self.catalogue).found() for part in two.groups())
        codes = {item.code for item in other}
        yield from (item for item in one if item.code in codes)

    def by_purpose(self) -> Iterator[Item]:
        """Find `Potassium manganate(VII), 0.02 mol/L (titrant)` without what it is for."""
        if (said := _FOR_WHAT.fullmatch(self.wanted)) and NameSearch(said[1], self.catalogue).component:
            yield from NameSearch(said[1], self.catalogue).by_strength()

    def by_several_forms(self) -> Iterator[Item]:
        """Find each form of `Zinc granules, powder, foil` that is on file; every part is a form or names something."""
        parts = [part.strip() for part in _BETWEEN.split(self.wanted) if part.strip(" )")]
        if len(parts) < 2:
            return
        first, *rest = parts
        head = NameSearch(first, self.bought)
        if not (found := head.found()):
            return
        stem = " ".join(first.split()[:-1]) if head.said.without_form is not head.said else first
        for part in (one.rstrip(" )") for one in rest):
            said = read_name(part)
            more = NameSearch(f"{stem} {part}", self.bought).found() or NameSearch(part, self.bought).found()
            if not more and said.without_form.words not in ((), head.said.without_form.words):
                return
            found += more
        yield from found

    def found(self) -> list[Item]:
        """Find the items by the first way that finds any."""
        return next((list(found) for way in self.ways() if (found := {one.code: one for one in way}.values())), [])

    def by_solute(self) -> Iterator[Item]:
        """Find every solution of the solute that was named."""
        yield from (self.catalogue.item(solution.code) for solution in self.of_solute(self.solutes(self.wanted)))

    def by_head(self) -> Iterator[Item]:
        """Match the head of a name, `Phenolphthalein indicator` of `Phenolphthalein indicator, 0.1 %`; a code too."""
        low, joined = spelling.key(self.wanted), self.said.joined
        every: list[SubstanceName | Solution] = [*self.catalogue.named, *self.catalogue.solutions.values()]
        for one in every:
            head = head_of(one.name)
            as_strong = self.said.percent in (None, read_name(one.name).percent)
            may_be = isinstance(one, Solution) or not (self.said.dilute or self.said.made)
            alike = as_strong and may_be and self.said.says_as(read_name(head))
            if (
                alike
                or (low and low in (spelling.key(head), spelling.key(one.code)))
                or (may_be and joined == one.code)
            ):
                waters = None if isinstance(one, Solution) else _waters(one)
                if self.said.waters in (None, waters) or self.said.made:  # a hexahydrate is no dihydrate
                    yield self.catalogue.item(one.code)

    @cached_property
    def bought(self) -> Catalogue:
        """The substances alone."""
        return Catalogue(self.catalogue.substances)

    @cached_property
    def said(self) -> Name:
        """The words of what was wanted."""
        return read_name(self.wanted)

    @cached_property
    def component(self) -> NamedStrength | None:
        """What the words name with its strength; None where they name none."""
        try:
            return quantities.component(self.wanted)
        except PrepError:
            return None

    def of_solute(self, solutes: Collection[str]) -> list[Solution]:
        """List the solutions of any of the solutes."""
        return [solution for solution in self.catalogue.solutions.values() if solution.solute in solutes]

    def solutes(self, what: str) -> set[str]:
        """Find the solutes of the substances of a name, with the word `solution` after it or without."""
        bare = re.sub(r"^(dil(uted?|\.)?|bench)\s+|\s*(solution|soln\.?|\(aq\))$", "", what, flags=re.IGNORECASE)
        for spelled in dict.fromkeys((what, bare)):
            said = NameSearch(spelled, self.bought)
            for way in (said.by_code(), said.by_name(), said.by_words(), said.by_formula()):
                if found := {one.substance.solute for one in way if one.substance}:
                    return found - {""}
        return set()

    def _means(self, said: Name, sayings: frozenset[object], s: SubstanceName) -> bool:
        low = spelling.key(self.wanted)
        if low not in _keys(s.other_names) and sayings.isdisjoint(_said_of(s.name, s.other_names)):
            return False  # the same answer as below, sooner
        if said is not self.said and any(w not in said.words for w in _forms(s)):
            return False  # `turnings` must not find the ribbon: leave out a word of form only where the item has none
        if low in _keys(s.other_names):
            return True
        names = _names(s)
        if any(said.says_as(name) for name in names):
            return True
        if not said.numerals:
            return any(said.says_as(name.without_numeral) for name in names)
        return not any(name.numerals for name in names) and any(said.without_numeral.says_as(name) for name in names)

    def _fits(self, s: Substance) -> bool:
        """Tell whether a substance agrees with all that was said beside the name: hydrate, grade, solid or not."""
        said = self.said
        if spelling.key(self.wanted) in map(spelling.key, s.other_names):
            return True
        liquid = s.form in _LIQUIDS
        if said.dilute or ((said.made or said.concentrated) and not liquid):
            return False
        if said.waters is not None and _waters(s) != said.waters:
            return False
        if said.hydrated and not (_waters(s) or any(name.hydrated for name in _names(s))):
            return False
        if said.percent is not None and not _is_of_grade(s, said.percent, liquid):
            return False
        if said.percent is not None and s.assay_pct is None and liquid and " and " in self.wanted:
            return False  # the per cent is another's: `Ethanol (96 % and denatured)`
        gravity = s.density_g_ml
        return said.gravity is None or (gravity is not None and abs(gravity - said.gravity) <= _NEAR_GRAVITY)


@lru_cache(maxsize=4096)
def _keys(names: tuple[str, ...]) -> frozenset[str]:
    return frozenset(map(spelling.key, names))


def _sayings(*names: Name) -> frozenset[object]:
    """Gather the words of names as `says_as` compares them, with and without oxidation numbers."""
    every = (one for name in names for one in (name, name.without_numeral))
    return frozenset(words for one in every for words in (one.joined, one.sorted))


@lru_cache(maxsize=4096)
def _said_of(name: str, other_names: tuple[str, ...]) -> frozenset[object]:
    return _sayings(*map(read_name, (name, *other_names)))


def _names(s: SubstanceName) -> tuple[Name, ...]:
    return tuple(map(read_name, (s.name, *s.other_names)))


def _forms(s: SubstanceName) -> tuple[str, ...]:
    name = read_name(s.name)
    return tuple(word for word in name.words if word not in name.without_form.words)


def _is_longer(said: Name, name: Name) -> bool:
    """Tell whether a name says these words and only a hydrate or grade besides."""
    return said.begins(name) or (not said.numerals and said.begins(name.without_numeral))


def _waters(s: SubstanceName) -> Decimal | None:
    try:
        return split_hydrate(s.formula).waters if s.formula else None
    except PrepError:
        return None


def _is_of_grade(s: Substance, percent: Interval[Decimal], liquid: bool) -> bool:
    if not liquid:
        return percent.low >= 90  # a solid's per cent is its purity
    near = Interval(percent.low * (1 - _NEAR_ASSAY), percent.high * (1 + _NEAR_ASSAY))
    named = [figure for name in _names(s)[:1] if name.percent for figure in (name.percent.low, name.percent.high)]
    if not named and s.assay_pct is None:
        return percent.low >= 90  # a spirit of which no more is on file is sold neat
    return any(assay in near for assay in (*named, *((s.assay_pct,) if s.assay_pct is not None else ())))
