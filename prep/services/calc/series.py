"""Dilution series and calibration standards from typed text, without a database."""

import contextlib
import csv
import re
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from prep.chemistry import quantities
from prep.chemistry.measurement import volumetry
from prep.chemistry.model import InstrumentKind, Line, Strength, StrengthKind
from prep.chemistry.quantities import decimal_of, figures, plain
from prep.chemistry.strength import dilution, strengths
from prep.chemistry.strength.dilution import share_of
from prep.chemistry.strength.solutes import SoluteFacts
from prep.chemistry.strength.strengths import Converted
from prep.chemistry.typed_number import point
from prep.chemistry.typed_strength import written_as
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_data
from prep.services.calc import own_room
from prep.services.calc.arithmetic import (
    Answer,
    in_ml,
    led_by,
    order_of_mixing,
    ppm_note,
    refuse_no_solution,
    strength_json,
)
from prep.services.calc.named_substance import about_named, strength_named
from prep.services.calc.portions import form_said, ppm_said


def serial(source: str, factor: str, steps: int, volume: str) -> Answer:
    """Work out a serial dilution, step by step. Raises PrepError."""
    neat = source.strip().casefold() in ("neat", "undiluted")
    stock = _stock(source) if not neat else _Stock(Strength(Decimal(1), StrengthKind.TIMES), SoluteFacts(), None)
    volume_ml, times = quantities.volume_ml(volume), _factor(factor)
    made = volumetry.serial(times, steps, volume_ml)
    by_volume = _in_a_litre(stock)
    says, rows, converted = [], [], [*by_volume.working]
    for step in made:
        in_litre = Strength(quantities.tidy(by_volume.strength.value * step.share), by_volume.strength.kind)
        strength = in_litre
        if in_litre.kind is not stock.held.kind and stock.held.kind is not StrengthKind.SATURATED:
            back = strengths.convert(in_litre, stock.held.kind, stock.weaker)
            strength, converted = back.strength, [*converted, *back.working]
        before = source.strip() if step.number == 1 else f"tube {step.number - 1}"
        take = figures(step.take_ml, 4)
        says.append(
            f"Tube {step.number}: {take} mL of {before}, made up to {plain(volume_ml)} mL, mixed: "
            f"{written_as(strength, source)}."
        )
        rows.append({"tube": step.number, "take": in_ml(step.take_ml), "strength": strength_json(strength)})
    says.append("A fresh pipette tip, or one rinsed with what it is to measure, for each.")
    says += order_of_mixing(stock.of, stock.held) if not neat else ()
    takes = Line(f"each step takes V / f = {plain(volume_ml)} / {plain(times)} = {figures(made[0].take_ml)} mL")
    working = tuple(dict.fromkeys((takes, *converted)))
    answer = Answer(tuple(says), {"steps": rows, "volume": in_ml(volume_ml)}, working)
    return led_by(answer, None if neat else source, form=ppm_said(source))


@record(frozen=True, slots=True)
class _Stock:
    """What a series begins with: how strong it is, what is known of its solute, and what that was called."""

    held: Strength
    about: SoluteFacts
    of: str | None

    @property
    def weaker(self) -> SoluteFacts:
        """What is known of a weaker solution of the same solute."""
        return self.about.without_density()


def _stock(source: str) -> _Stock:
    """Read what a series begins with. Raises PrepError, of what water holds no solution of too."""
    named = strength_named(source)
    of = named.what or None
    if of:
        refuse_no_solution(of, named.strength)
    return _Stock(named.strength, about_named(of, named.strength, None), of)


_CANCELS_PPM = 2000
"""Up to so many ppm the densities before and after are within 0.25 % of each other, and cancel."""


def _in_a_litre(stock: _Stock) -> Converted:
    """Say a strength by mass by volume, as a volume is what is taken; any other stays. Raises PrepError."""
    held = stock.held
    if held.kind not in strengths.BY_MASS or (held.kind is StrengthKind.PPM and held.value <= _CANCELS_PPM):
        return Converted(held, None, ())
    try:
        return strengths.convert(held, StrengthKind.G_PER_L, stock.about)
    except PrepError as problem:
        raise PrepError(problem.sentence.by_way_of(_BY_VOLUME)) from None


_BY_VOLUME = "name what it is of (36 % w/w HCl), or give the strength by volume, such as mol/L or % w/v"


@record(frozen=True, slots=True)
class Standards:
    """Calibration standards as typed: the stock, the strengths wanted, the flask; readings in their order."""

    source: str
    wanted: Sequence[str]
    volume: str
    readings: str | None = None
    unknown: str | None = None


def standards(asked: Standards) -> Answer:
    """Work out what to take of a stock for calibration standards, with the fewest pipettes; with readings, the line."""
    of_stock, volume_ml = _stock(asked.source), quantities.volume_ml(asked.volume)
    stock = of_stock.held
    levels = _levels(asked.wanted)
    if len({one.kind for one in levels}) > 1:
        raise PrepError("Give every standard in one kind of strength.")
    alike = _alike(of_stock, levels)
    _, *wanted_values = values = [one.strength.value for one in alike]
    if any(value > values[0] for value in wanted_values):
        raise PrepError("A standard is stronger than the stock.")
    takes = [decimal_of(share_of(value, values[0]) * Fraction(volume_ml)) for value in wanted_values]
    pipettes = volumetry.fewest_pipettes([t for t in takes if t], _pipettes())
    says, rows = [], []
    for number, (wanted, level, take) in enumerate(zip(asked.wanted, levels, takes, strict=True), start=1):
        how = "no stock (the blank)"
        if take:
            times, size = pipettes.get(take, (0, Decimal(0)))
            how = f"{times} x {plain(size)} mL pipette" if times else "graduated pipette or burette"
        shown = written_as(level, wanted, asked.source)
        if take:
            says.append(f"{number}: {figures(take, 4)} mL of stock ({how}) to {plain(volume_ml)} mL: {shown}")
        else:
            says.append(f"{number}: no stock, {plain(volume_ml)} mL of the solvent alone: the blank")
        rows.append({"standard": number, "take": in_ml(take), "with": how, "strength": strength_json(level)})
    if small := [t for t in takes if 0 < t < 1]:
        says.append(
            f"{figures(min(small), 3)} mL is too little to measure well: dilute the stock first, 1 in 10 or 1 in 100."
        )
    converted = dict.fromkeys(line for one in alike for line in one.working)
    working = [*converted, Line(f"take = C V / C(stock), C(stock) = {alike[0].strength}, V = {plain(volume_ml)} mL")]
    says += [*ppm_note(next((one for one in levels if one.value), stock), of_stock.weaker)]
    says += order_of_mixing(of_stock.of, stock)
    document: dict[str, Any] = {"standards": rows, "volume": in_ml(volume_ml)}
    if asked.readings is not None:
        said, line = _calibrated(asked, levels, document)
        says += said
        working.append(line)
    form = form_said(of_stock.of, kinds=(stock.kind, levels[0].kind)) if levels else ()
    return led_by(Answer(tuple(says), document, tuple(working)), asked.source, form=form)


def _levels(wanted: Sequence[str]) -> list[Strength]:
    """Read the strengths of standards; `0` or `blank` is nothing of the others' kind. Raises PrepError."""
    read = [None if one.strip().lower() in ("0", "blank") else quantities.strength(one, zero=True) for one in wanted]
    kind = next((one.kind for one in read if one), StrengthKind.G_PER_L)
    return [one or Strength(Decimal(0), kind) for one in read]


def _alike(stock: _Stock, levels: Sequence[Strength]) -> list[Converted]:
    """Say the stock and the standards in one kind of strength by volume. Raises PrepError."""
    if all(one.kind is stock.held.kind for one in levels) and stock.held.kind not in strengths.BY_MASS:
        return [Converted(one, None, ()) for one in (stock.held, *levels)]
    kind = dilution.common_kind(stock.held, levels[0], stock.about, stock.weaker)
    try:
        first = strengths.convert(stock.held, kind, stock.about)
        rest = [strengths.convert(one, kind, stock.weaker) if one.value else one for one in levels]
    except PrepError as problem:
        raise PrepError(problem.sentence.by_way_of(_BY_VOLUME)) from None
    nothing = Strength(Decimal(0), kind)
    return [first, *(one if isinstance(one, Converted) else Converted(nothing, None, ()) for one in rest)]


def write_sheet(path: Path, answer: Answer, readings: str | None) -> None:
    """Write the calibration sheet as CSV: a row a standard, its reading or room for it. Raises PrepError."""
    read = _numbers(readings) if readings else []
    try:
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(["standard", "strength", "unit", "take_ml", "flask_ml", "absorbance"])
            for i, row in enumerate(answer.document["standards"]):
                strength = row["strength"]
                reading = read[i] if i < len(read) else ""
                flask = answer.document["volume"]["value"]
                writer.writerow(
                    [row["standard"], strength["value"], strength["unit"], row["take"]["value"], flask, reading]
                )
    except OSError as error:
        raise PrepError(f"{path}: it cannot be written ({error.strerror}).") from None


def readings_of(text: str | None) -> list[float]:
    """Read the typed readings, in their order. Raises PrepError where there are none."""
    if text is None:
        raise PrepError("A line is drawn through readings; give them with --read.")
    return [float(one) for one in _numbers(text)]


def _calibrated(asked: Standards, levels: Sequence[Strength], document: dict[str, Any]) -> tuple[list[str], Line]:
    assert asked.readings is not None
    read = _numbers(asked.readings)
    if len(read) != len(levels):
        raise PrepError(f"There are {len(levels)} standards and {len(read)} readings; give one for each.")
    points = [(float(level.value), float(y)) for level, y in zip(levels, read, strict=True)]
    line = volumetry.line_fit(points)
    unit = levels[0].kind.value
    document["line"] = {"slope": line.slope, "intercept": line.intercept, "r_squared": line.r_squared}
    says = [f"Line: A = {line.slope:.4g} c {line.intercept:+.4g}, c in {unit}; r squared {line.r_squared:.4f}"]
    if asked.unknown is not None:
        found = line.read(float(_one(asked.unknown)))
        inside = min(x for x, _ in points) <= found <= max(x for x, _ in points)
        says.append(f"The unknown is {found:.4g} {unit}." + ("" if inside else " It lies outside the standards."))
        document["unknown"] = {"value": found, "unit": unit}
    says += ["", *_bars(points, unit)]
    fitted = f"slope {line.slope:.5g}, intercept {line.intercept:.5g}"
    return says, Line(f"least squares of {len(points)} points: {fitted}")


def _bars(points: Sequence[tuple[float, float]], unit: str) -> list[str]:
    """Draw the readings against the strengths, with letters that every console has."""
    most = max((abs(y) for _, y in points), default=0.0) or 1.0
    wide = max(len(f"{x:g}") for x, _ in points)
    return [f"{x:>{wide}g} {unit} |{'*' * round(50 * max(y, 0.0) / most)} {y:g}" for x, y in sorted(points)]


def _numbers(text: str) -> list[Decimal]:
    """Read numbers with commas, semicolons or blanks between; where a blank or semicolon is, a comma may be a point."""
    parted = r"[;\s]+|,\s+" if re.search(r"[;\s]", text.strip()) else ","
    try:
        return [
            Decimal(point(part.strip(",")) if "," in part else part) for part in re.split(parted, text.strip()) if part
        ]
    except ArithmeticError:
        raise PrepError(f'"{text[:40]}" is no list of numbers, such as "0.00 0.12 0.25".') from None


def _one(text: str) -> Decimal:
    """Read one reading; a comma in it is a decimal one. Raises PrepError."""
    read = _numbers(point(text.strip()))
    if len(read) != 1:
        raise PrepError(f'--unknown "{text[:20]}" is not one reading, such as 0.31.')
    return read[0]


def _factor(text: str) -> Decimal:
    """Read how many times each step dilutes: `10`, `10x`, `1 in 10`, `tenfold`. Raises PrepError."""
    with contextlib.suppress(PrepError):
        said = quantities.strength(text)
        if said.kind is StrengthKind.TIMES and said.value < 1:
            return quantities.tidy(1 / said.value)
    return _positive(text, "--factor")


def _positive(text: str, option: str) -> Decimal:
    number = text.strip().lower().removesuffix("x").strip()
    if not re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", number):
        raise PrepError(f'{option} "{text[:20]}" is no number, such as 10.')
    return Decimal(number)


def _pipettes() -> list[Decimal]:
    """List the pipettes of the person's own inventory [mL]; where there is none, those of the shipped list."""
    own = {one.capacity for one in own_room.instruments() if one.kind is InstrumentKind.PIPETTE}
    if own:
        return sorted(own)

    with (seed_data() / "instruments.csv").open(encoding="utf-8", newline="") as file:
        return sorted({Decimal(row["capacity"]) for row in csv.DictReader(file) if row["kind"] == "pipette"})
