"""Solutions of one's own: one substance at a strength, a buffer by pair, strength and pH, or a recipe; all by name."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind
from prep.chemistry import quantities
from prep.chemistry.catalogue import WATER, Catalogue
from prep.chemistry.model import (
    Form,
    Measure,
    MethodStep,
    RecipeLine,
    Solution,
    StepKind,
    Strength,
    StrengthKind,
    Substance,
)
from prep.chemistry.preparation.recipe_checks import check_recipe
from prep.chemistry.preparation.vessels import Bench
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.errors import PrepError, Refused
from prep.services.catalogue.names import candidates, find_item, usual
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import DROPS_PER_ML, KEEPING, PURPOSES
from prep.services.catalogue.usual_batch import read_usual
from prep.services.files.csv_file import positive
from prep.services.input.act import Act
from prep.services.input.checks import naming, printable, within
from prep.services.inventory import session
from prep.store import ledger, queries, seeding
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.chemistry.acid_base.buffers import BufferIngredient, IngredientAmount

KEEPS_DAYS, BUFFER_KEEPS_DAYS = 90, 30
"""How long what one makes oneself is kept where nobody says: common practice, no source."""
_BUFFER_TOLERANCE_PCT = Decimal(2)
_OWN = "common practice, no source"
LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class NewSolution:
    """A solution as asked for: `of` a substance at a `strength`; or a `buffer` pair at a `ph`; or `recipe` lines.

    A recipe's lines are `ITEM=AMOUNT`, for what `makes` says. `keeps` None: as is usual; 0: made fresh.
    """

    name: str = ""
    code: str = ""
    of: str = ""
    strength: str = ""
    buffer: str = ""
    ph: str = ""
    recipe: tuple[str, ...] = ()
    makes: str = ""
    keeps: int | None = None
    keeping: tuple[str, ...] = ()
    tolerance_pct: str = ""
    minutes: int | None = None
    purpose: str = ""
    method: str = ""
    usual: str = ""

    @property
    def says_what(self) -> bool:
        """Whether it says what is in it."""
        return bool(self.of or self.buffer or self.recipe)


def ask(asked: NewSolution, question: Callable[[str], str]) -> NewSolution:
    """Ask for what is not said yet; an empty answer leaves a part out."""
    if not asked.says_what:
        what = question("What is in it: one substance, or a buffer's PAIR such as acetic acid/sodium acetate")
        if "/" in what:
            asked = replace(asked, buffer=what)
        elif what:
            asked = replace(asked, of=what)
        else:
            lines = []
            while line := question("  an ingredient, ITEM=AMOUNT such as borax=9.5 g (empty: no more)"):
                lines.append(line)
            asked = replace(asked, recipe=tuple(lines))
    if asked.buffer and not asked.ph:
        asked = replace(asked, ph=question("Which pH?"))
    if asked.recipe and not asked.makes:
        asked = replace(asked, makes=question("How much does that make, such as 1 L?"))
    if not asked.recipe and not asked.strength:
        asked = replace(asked, strength=question("How strong, such as 0.1 mol/L?"))
    if not asked.name:
        asked = replace(asked, name=question("What is it called (empty: by what is in it)?"))
    if asked.keeps is None and (days := question("How many days does it keep (empty: as is usual; 0: made fresh)?")):
        if not days.isdecimal():
            raise PrepError(f'"{days[:20]}" is no number of days.')
        asked = replace(asked, keeps=int(days))
    return asked


def add(db: Path | None, asked: NewSolution, act: Act, *, dry_run: bool = False) -> Solution:
    """Put a solution of one's own on file, as a job. Raises PrepError; Refused where its code is taken."""

    def work(connection: "Connection") -> Solution:
        on_file = OnFile(
            queries.substances(connection),
            queries.solutions(connection),
            queries.demos(connection),
            held=frozenset(queries.items_held(connection)),
        )
        made = solution_of(asked, on_file)
        if asked.usual:
            known = Catalogue(on_file.substances, {**on_file.solutions, made.code: made})
            made = replace(made, usual_nl=read_usual(asked.usual, made, Bench(known, queries.instruments(connection))))
        if made.code in on_file or made.code in on_file.demos:
            raise Refused(
                f'"{made.code}" is on file already',
                AtTerminal(f" (prep solution show {made.code})"),
                "; give another ",
                Flag("--code"),
                ".",
            )
        if not asked.name and not asked.code and (same := _same(made, on_file)):
            raise Refused(
                f"{same.name} is on file already as {same.code}; for one more of it give it a ", Flag("--name"), "."
            )
        return made

    def post(connection: "Connection", made: Solution) -> Solution:
        ledger.begin(connection, JobKind.CATALOGUE, act.by, act.on, f"solution {made.code}")
        seeding.put_solutions(connection, [made])
        return made

    if dry_run:
        with session.reading(db) as connection:
            return work(connection)
    return session.worked_out(db, work, post)


def solution_of(asked: NewSolution, on_file: OnFile) -> Solution:
    """Make the solution that is asked for. Raises PrepError for what is not on file, cannot be, or is not said."""
    if (bool(asked.of) + bool(asked.buffer) + bool(asked.recipe)) != 1:
        raise PrepError(
            "Say what is in it, one of: ",
            Flag("--of"),
            " SUBSTANCE ",
            Flag("--strength"),
            ' "0.1 mol/L"; ',
            Flag("--buffer"),
            " PAIR ",
            Flag("--ph"),
            " 4.7 ",
            Flag("--strength"),
            ' "0.1 mol/L"; ',
            Flag("--recipe"),
            " ITEM=AMOUNT ... ",
            Flag("--makes"),
            ' "1 L".',
        )
    if asked.of:
        made = _plain(asked, on_file)
    elif asked.buffer:
        made = _buffer(asked, on_file)
    else:
        made = _mixed(asked, on_file)
    made = _as_asked(made, asked)
    check_recipe(made, on_file)
    return made


def _plain(asked: NewSolution, on_file: OnFile) -> Solution:
    """Make a solution of one substance in water."""
    found = find_item(asked.of, on_file, only="substance").code
    substance = on_file.substances[found]
    if not asked.strength:
        raise PrepError("Say how strong it is: ", Flag("--strength"), ' "0.1 mol/L".')
    strength = _strength(asked)
    if not substance.solute:
        raise PrepError(
            f"{substance.name} is nothing that is dissolved by itself; give a recipe: ",
            Flag("--recipe"),
            " ITEM=AMOUNT.",
        )
    base = substance.name
    if any(other.solute == substance.solute and other.code != found for other in on_file.substances.values()):
        base = substance.solute.replace("-", " ").capitalize()  # any hydrate or concentrate may be used
    unit = "" if strength.kind is StrengthKind.MOL_PER_L else f"-{strength.kind.value}"
    code = _code(f"{substance.solute}-{strength.value:f}{unit}")
    return Solution(code, f"{base}, {strength}", substance.solute, strength, KEEPS_DAYS, made_from=(found,))


def _same(made: Solution, on_file: OnFile) -> Solution | None:
    """Find the solution on file that is the same substance at the same strength."""
    return next(
        (
            one
            for one in on_file.solutions.values()
            if made.strength and made.solute and (one.solute, one.strength) == (made.solute, made.strength)
        ),
        None,
    )


def _code(text: str) -> str:
    return re.sub(r"[^a-z0-9.]+", "-", text.casefold()).strip("-.")[:50].strip("-.")


def _buffer(asked: NewSolution, on_file: OnFile) -> Solution:
    """Design a buffer for a pH, as a recipe for a litre from what is bought."""
    from prep.chemistry.acid_base.buffers import IngredientPair, design
    from prep.chemistry.acid_base.components import pair

    if not asked.ph or not asked.strength:
        raise PrepError(
            "A buffer needs its pH and its whole strength: ", Flag("--ph"), " 4.7 ", Flag("--strength"), ' "0.1 mol/L".'
        )
    strength = _strength(asked)
    if strength.kind is not StrengthKind.MOL_PER_L:
        raise PrepError(Flag("--strength"), f' "{asked.strength[:40]}": give the whole strength of a buffer in mol/L.')
    with naming(Flag("--ph")):
        ph = float(quantities.ph(asked.ph))
    bought: list[Substance] = []

    def known(name: str) -> Substance | None:
        alike = [one for one in candidates(name, on_file) if one.substance is not None]
        sold = {one.code for one in usual(alike)}
        found = [one.substance for one in alike if one.substance is not None]
        # What is held, then solids, as weighing is more exact than measuring, then the hydrate that is usually sold.
        found.sort(key=lambda one: (one.code not in on_file.held, one.form is not Form.SOLID, one.code not in sold))
        bought.extend(found[:1])
        return found[0] if found else None

    ingredients = tuple(pair(asked.buffer, known))
    if len(bought) < len(ingredients):
        raise PrepError(
            Flag("--buffer"), f' "{asked.buffer[:60]}": both ingredients must be substances on file, by any name.'
        )
    litre = Decimal(1000)
    made = design(IngredientPair(_weighed(bought[0]), _weighed(bought[1])), ph, float(strength.value), litre)
    lines = tuple(RecipeLine(one.code, _base(part, one), "") for one, part in zip(bought, made.parts, strict=True))
    as_typed = " and ".join(" ".join(one.split()) for one in asked.buffer.split("/"))
    in_formulas = " and ".join(one.formula for one in bought)
    names = [f"Buffer, pH {ph:g}, {called}{strength}" for called in (f"{as_typed}, ", f"{in_formulas}, ", "")]
    return Solution(
        _code(f"buffer-{ph:g}-{bought[0].solute or bought[0].code}-{strength.value:f}"),
        next(name for name in names if len(name) <= LONGEST_NAME),
        "",
        None,
        BUFFER_KEEPS_DAYS,
        keeping=("full",),
        tolerance_pct=_BUFFER_TOLERANCE_PCT,
        recipe=lines,
        recipe_nl=round(litre * BASE_PER_UNIT),
        minutes=30,
        method_steps=(MethodStep(StepKind.CHECK, f"pH {made.ph:.2f}", source=_OWN),),
        purpose="buffer",
        sources={"recipe": f"computed for pH {made.ph:.2f} +- {made.band.u:.2f}" + AtTerminal(": prep calc buffer")},
    )


def _weighed(substance: Substance) -> "BufferIngredient":
    from prep.chemistry.acid_base.buffers import BufferIngredient

    density = substance.density_g_ml if substance.form is not Form.SOLID else None
    return BufferIngredient(substance.name, substance.formula, substance.assay_pct or Decimal(100), density)


def _base(part: "IngredientAmount", substance: Substance) -> int:
    amount = part.mass_g if substance.measure is Measure.MASS else part.volume_ml
    if amount is None:
        raise PrepError(f"The density of {substance.name} is not on file, so it cannot be measured by volume.")
    return round(amount * BASE_PER_UNIT)


def _mixed(asked: NewSolution, on_file: OnFile) -> Solution:
    """Make a solution from a recipe, made up with water."""
    if not asked.name or not asked.makes:
        raise PrepError(
            "A recipe needs a name and what it makes: ", Flag("--name"), " NAME ", Flag("--makes"), ' "1 L".'
        )
    lines = []
    for text in asked.recipe:
        name, sign, amount = text.partition("=")
        if not sign:
            raise PrepError(Flag("--recipe"), f' "{text[:60]}": write it as ITEM=AMOUNT, such as "borax=9.5 g".')
        with naming(Flag("--recipe")):
            typed = quantities.amount(amount)
        if name.strip().casefold() == WATER:
            lines.append(RecipeLine(WATER, typed.base, ""))
            continue
        item = find_item(name, on_file)
        if typed.measure is not item.measure:
            raise PrepError(Flag("--recipe"), f' "{text[:60]}": {item.name} is counted by {item.measure.value}.')
        lines.append(RecipeLine(item.code, typed.base_with(DROPS_PER_ML), ""))
    with naming(Flag("--makes")):
        makes = round(quantities.volume_ml(asked.makes) * BASE_PER_UNIT)
    strength = _strength(asked) if asked.strength else None
    return Solution("", asked.name, "", strength, KEEPS_DAYS, recipe=tuple(lines), recipe_nl=makes, minutes=20)


def _as_asked(made: Solution, asked: NewSolution) -> Solution:
    """Set a solution's name and code, and how it is kept and made, as was said."""
    name = printable(asked.name.strip() or made.name, LONGEST_NAME, "the name")
    code = asked.code.strip() or ("" if asked.name else made.code) or _code(name)
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}", code):
        raise PrepError(f'"{code[:40]}" is no code; use letters, digits, dots and hyphens: ', Flag("--code"), " CODE.")
    if code == WATER:
        raise PrepError("Water needs no recipe; give it another name.")
    for word in asked.keeping:
        if word not in KEEPING:
            raise PrepError(Flag("--keeping"), f''' "{word[:40]}" is not one of: {", ".join(KEEPING)}.''')
    if asked.purpose and asked.purpose not in PURPOSES:
        raise PrepError(Flag("--kind"), f''' "{asked.purpose[:40]}" is not one of: {", ".join(PURPOSES)}.''')
    if asked.keeps is not None:
        within(asked.keeps, 0, 3660, Flag("--keeps"))
    if asked.minutes is not None:
        within(asked.minutes, 1, 1440, Flag("--minutes"))
    with naming(Flag("--tolerance")):
        tolerance = positive(asked.tolerance_pct) if asked.tolerance_pct else made.tolerance_pct
    return replace(
        made,
        name=name,
        code=code,
        shelf_life_days=made.shelf_life_days if asked.keeps is None else asked.keeps,
        made_fresh=asked.keeps == 0,
        keeping=asked.keeping or made.keeping,
        tolerance_pct=tolerance,
        minutes=asked.minutes or made.minutes,
        method=printable(asked.method, 500, Flag("--method")),
        purpose=asked.purpose or made.purpose or "working",
        sources={"recipe": _OWN, "shelf": _OWN, **made.sources},
    )


def _strength(asked: NewSolution) -> Strength:
    """Read the strength that is asked for. Raises PrepError that names its option."""
    with naming(Flag("--strength")):
        return quantities.strength(asked.strength)


def recipe_words(made: Solution, on_file: OnFile) -> Sequence[str]:
    """Write the lines of a recipe to read: `9.5 g of Borax`."""
    return [
        f"{quantities.show(line.amount, on_file.item(line.item).measure, 4)} of {on_file.name(line.item)}"
        for line in made.recipe
    ]
