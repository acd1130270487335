"""The substance that a calculation is about: among the shipped ones, or those of the person's own inventory."""

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from prep.chemistry import quantities, spelling
from prep.chemistry.catalogue import Catalogue, Item
from prep.chemistry.model import Form, Instrument, Strength, StrengthKind, Substance
from prep.chemistry.naming import read_name
from prep.chemistry.typed_strength import NamedStrength
from prep.errors import PrepError
from prep.resources import file_of, seed_data, url_of
from prep.services.catalogue.names import candidates, usual, without_slips


@dataclass(frozen=True, slots=True)
class NamedSubstance:
    """The substance taken for a name, the sentence that says so (empty where nothing was chosen), and the others.

    `held`: the several forms of it that the room holds; then the question is the person's.
    """

    substance: Substance
    says: str = ""
    held: tuple[Substance, ...] = ()


@cache
def shipped() -> Catalogue:
    """Every shipped substance by code."""
    from prep.services.catalogue.substances import SUBSTANCE_COLUMNS, read_substance
    from prep.services.files.csv_file import read_rows

    found = (read_substance(row) for row in read_rows(seed_data() / "substances.csv", SUBSTANCE_COLUMNS))
    return Catalogue({substance.code: substance for substance in found})


def substances_named(name: str) -> list[Substance]:
    """The substances of a name, the usual one first: strengths of one solute go by any of them."""
    found = candidates(name, shipped()) or candidates(name, _own()[0])
    first = usual(found)
    rest = [one for one in found if one not in first]
    return [one.substance for one in (*first, *rest) if one.substance]


def substance_named(name: str) -> Substance | None:
    """A substance by code, name, other name, CAS number or formula; None where there is none."""
    return next(iter(substances_named(name)), None)


def find_substance(name: str) -> Substance:
    """As `substance_named`. Raises PrepError where there is none."""
    found = substance_named(name)
    if found is None:
        if made := _solution_named(name):
            raise PrepError(f'"{name[:60]}" is a solution ({made}), not a substance as bought; see: prep make {made}')
        near = spelling.near(name, {code: (one.name, *one.other_names) for code, one in shipped().substances.items()})
        raise PrepError(
            f'"{name[:60]}" is no substance on file; give a name, CAS number or formula (prep substance list).{near}'
        )
    return found


def choose_form(name: str) -> NamedSubstance:
    """Which hydrate or grade a name is taken for: the one the room holds, else the one usually sold.

    Raises PrepError where there is none of that name.
    """
    found = substances_named(name)
    if not found:
        return NamedSubstance(find_substance(name))
    if len({one.formula for one in found}) == 1:
        return NamedSubstance(found[0], _slip(name, found[0]))
    codes = _own()[1]
    held = [one for one in found if one.code in codes]
    why = "the form usually sold" if len(usual(_items(found))) == 1 else "one of several on file"
    if len(held) == 1:
        found, why = held, "the form that the room holds"
    says = f'"{name.strip()}" is taken as {found[0].name} ({found[0].formula}), {why}.'
    return NamedSubstance(found[0], says, tuple(held) if len(held) > 1 else ())


def _slip(name: str, found: Substance) -> str:
    """The sentence that says how a name with a wrong letter was read; empty where it had none."""
    right = without_slips(name.strip(), shipped())
    plain = candidates(name, Catalogue({found.code: found})) if right != name.strip() else []
    return f'"{name.strip()}" is read as "{right}": {found.name}.' if right != name.strip() and plain else ""


def strength_named(text: str) -> NamedStrength:
    """Read a strength alone, with its solute, or of a concentrate as sold: `2 M`, `2 M HCl`, `conc HCl`.

    What it is of is empty where none was given. Raises PrepError.
    """
    try:
        return NamedStrength("", quantities.strength(text))
    except PrepError as problem:
        with contextlib.suppress(PrepError):
            named = quantities.component(text)
            if substance_named(named.what):
                return named
            if named.strength.kind is StrengthKind.TIMES:
                return NamedStrength("", named.strength)  # ten times what, is for the person to know: 10x TBE
        if sold := as_sold(text):
            return sold
        if one := substance_named(text):
            strong = f"{one.assay_pct} % w/w" if one.assay_pct and one.form is Form.AQUEOUS else "0.1 mol/L"
            raise PrepError(
                f'"{text.strip()}" is {one.name}; say how strong as well, as its label has it: '
                f'"{strong} {text.strip()}".'
            ) from None
        raise problem from None


def with_strength(text: str) -> str:
    """A component; what its name alone says the strength of with that: `glacial acetic acid`, `vinegar`."""
    try:
        quantities.component(text)
    except PrepError:
        if made := solution_strength(text):
            return f"{made.what} {made.strength}"
        if sold := as_sold(text):
            return f"{sold.what} {sold.strength}"
    return text


def as_sold(text: str) -> NamedStrength | None:
    """The strength of a concentrate of that name as it is sold [% w/w], and its code; None where it is none."""
    said = read_name(text)
    figures = any(word == "glacial" or word[0].isdigit() for word in said.words)
    if not (said.concentrated or said.percent or said.gravity or figures or said.as_sold):
        return None  # `HCl` alone may be any strength of it
    one = substance_named(text)
    if one is None or one.form not in (Form.AQUEOUS, Form.LIQUID) or one.assay_pct is None:
        return None
    return NamedStrength(one.code, strength_said(text) or Strength(one.assay_pct, StrengthKind.PCT_W_W))


def strength_said(text: str) -> Strength | None:
    """The strength that the name of a concentrate itself says: `100 vol peroxide`, `37 % HCl`; None where none.

    One per cent of a concentrate in water is by weight, as bottles are labelled (an alcohol's is by volume); a range
    of them says no one strength.
    """
    with contextlib.suppress(PrepError):
        named = quantities.component(text)
        if substance_named(named.what):
            return named.strength
    percent, one = read_name(text).percent, substance_named(text)
    if percent is None or percent[0] != percent[1] or one is None or one.form is not Form.AQUEOUS:
        return None
    return Strength(percent[0], StrengthKind.PCT_W_W)


def solution_strength(name: str) -> NamedStrength | None:
    """What a shipped solution that goes by a name alone holds, and how strong: `vinegar`; None for any other text."""
    from prep.services.catalogue.seed import read_catalogue

    if any(c.isdigit() for c in name) or substance_named(name):
        return None
    found = read_catalogue(seed_data()).solutions.get(_solution_named(name))
    return (
        NamedStrength(found.solute, found.strength) if found is not None and found.solute and found.strength else None
    )


def _solution_named(name: str) -> str:
    """The code of the shipped solution of that name; empty where there is none, or more than one."""
    from prep.services.catalogue.seed import read_catalogue

    found = candidates(name, read_catalogue(seed_data()), only="solution")
    return found[0].code if len(found) == 1 else ""


def _items(found: Sequence[Substance]) -> list[Item]:
    return [Item(one.code, one.name, one.measure, substance=one) for one in found]


def own_instruments() -> tuple[Instrument, ...]:
    """The instruments that the person's own inventory says are in the room; nothing where there is none."""
    path = file_of(url_of(None))
    if path is not None and not path.exists():
        return ()
    from prep.services.inventory import session
    from prep.store import queries

    try:
        with session.reading(None) as connection:
            return queries.instruments(connection)
    except PrepError:  # a calculation needs no inventory
        return ()


def _own() -> tuple[Catalogue, frozenset[str]]:
    """The substances of the person's own inventory and the codes held in it; nothing where there is none."""
    path: Path | None = file_of(url_of(None))
    if path is not None and not path.exists():
        return Catalogue({}), frozenset()
    from prep.services.inventory import session
    from prep.store import queries

    try:
        with session.reading(None) as connection:
            return Catalogue(queries.substances(connection)), frozenset(queries.items_held(connection))
    except PrepError:  # a calculation needs no inventory
        return Catalogue({}), frozenset()
