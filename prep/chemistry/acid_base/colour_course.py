"""The course of a titration: pH and the indicator's colour from the first drop on, and what is passed when."""

from collections.abc import Iterable, Sequence

from prep.chemistry.acid_base.activity import beyond
from prep.chemistry.acid_base.charge_balance import Solved
from prep.chemistry.acid_base.endpoints import Dropper, Drops, first_passing, whole_drops
from prep.chemistry.acid_base.equilibrium import Mixture, mix, parts_for, solve
from prep.chemistry.acid_base.indicators import Indicator, colour_words, shade_at
from prep.errors import PrepError
from prep.records import record

POINTS = 60
"""Even steps along a curve; where a colour changes there are more."""
_LEAP = 1.5
"""A step of pH that is looked into, so that a curve without an indicator is steep where it is."""
_HALVINGS = 4


@record(frozen=True, slots=True)
class CourseMoment:
    """What the vessel shows after `volume_ml` [mL]: pH, colours (none without an indicator, two while changing)."""

    volume_ml: float
    ph: float
    colours: tuple[str, ...] = ()

    @property
    def changing(self) -> bool:
        """Whether the colour is between two."""
        return len(self.colours) > 1

    @property
    def colour(self) -> str:
        """The colour in words; empty without an indicator."""
        return colour_words(self.colours)


@record(frozen=True, slots=True)
class CourseMark:
    """A volume [mL] at which something happens; its drops, with the range that dropper and strengths give."""

    volume_ml: float
    drops: Drops | None
    fewest_ml: float
    most_ml: float


@record(frozen=True, slots=True)
class ColourPassage:
    """One change of the indicator: `begins` None if it starts within it, `ends` None if it is not reached."""

    before: str
    after: str
    begins: CourseMark | None
    ends: CourseMark | None


@record(frozen=True, slots=True)
class ColourCourse:
    """A vessel's course up to `most_ml` [mL]. `valid` False: the ionic strength is beyond the model somewhere."""

    start: CourseMoment
    end: CourseMoment
    moments: tuple[CourseMoment, ...]
    passages: tuple[ColourPassage, ...]
    most_ml: float
    valid: bool


@record(frozen=True, slots=True)
class WatchedVessel:
    """What stands in a vessel: `dish_ml` [mL] of a mixture, and what runs into it, from which dropper.

    `spread_pct` is by how much the strengths of both sides may be off, in all. Without `activities` the figures
    are a textbook's.
    """

    dish: Mixture
    dish_ml: float
    added: Mixture
    indicator: Indicator | None = None
    dropper: Dropper | None = None
    spread_pct: float = 0.0
    temperature_c: float = 25.0
    activities: bool = True

    def ph(self, volume_ml: float) -> float:
        """Find the pH after `volume_ml` [mL]; volumes are additive."""
        return self.solved(volume_ml).ph

    def solved(self, volume_ml: float) -> Solved:
        """Find the pH and the ionic strength [mol/kg] after `volume_ml` [mL]."""
        whole = self.dish_ml + volume_ml
        mixed = mix(((self.dish, self.dish_ml / whole), (self.added, volume_ml / whole)))
        return solve(mixed, self.temperature_c, activities=self.activities)

    def moment(self, volume_ml: float) -> CourseMoment:
        """Describe what the vessel shows after `volume_ml` [mL]: pH and colour."""
        ph = self.ph(volume_ml)
        if self.indicator is None:
            return CourseMoment(volume_ml, ph)
        shade = shade_at(self.indicator, ph)
        return CourseMoment(volume_ml, ph, shade.colours)

    def volume_to(self, ph: float) -> float | None:
        """Find how much [mL] brings the vessel to a pH; None where no amount does."""
        if not self.activities:
            return first_passing(self.ph, self.ph(0.0), ph, self.dish_ml)
        parts = parts_for(self.dish, self.added, ph, self.temperature_c)
        return None if parts is None else parts * self.dish_ml

    def mark(self, volume_ml: float) -> CourseMark:
        """Count a volume [mL] in drops, and give the range that dropper and strengths leave."""
        spread = self.spread_pct / 100
        drops = None
        if self.dropper:
            exact, tip = volume_ml * self.dropper.drops_per_ml, self.dropper.spread_pct / 100
            fewest, most = exact * (1 - spread) * (1 - tip), exact * (1 + spread) * (1 + tip)
            drops = Drops(whole_drops(exact), whole_drops(fewest), whole_drops(most))
        return CourseMark(volume_ml, drops, volume_ml * (1 - spread), volume_ml * (1 + spread))


def passages(vessel: WatchedVessel, most_ml: float) -> tuple[ColourPassage, ...]:
    """List every change of the indicator that the vessel goes through within `most_ml` [mL], in order."""
    if vessel.indicator is None:
        return ()
    start, end = vessel.ph(0.0), vessel.ph(most_ml)
    rising = end > start
    out = []
    for change in vessel.indicator.changes if rising else reversed(vessel.indicator.changes):
        first, last = (change.ph_low, change.ph_high) if rising else (change.ph_high, change.ph_low)
        if (start >= last) if rising else (start <= last):
            continue  # the vessel starts beyond this change
        if (end <= first) if rising else (end >= first):
            break
        within = (start >= first) if rising else (start <= first)
        begins = None if within else vessel.volume_to(first)
        ends = vessel.volume_to(last)
        before, after = (change.colour_low, change.colour_high) if rising else (change.colour_high, change.colour_low)
        out.append(
            ColourPassage(
                before,
                after,
                vessel.mark(begins) if begins is not None else None,
                vessel.mark(ends) if ends is not None and ends <= most_ml * (1 + 1e-9) else None,
            )
        )
    return tuple(out)


def at_once(passed: Sequence[ColourPassage], drop_ml: float) -> tuple[tuple[ColourPassage, ...], ...]:
    """Group the changes, in order, that a single drop of `drop_ml` [mL] goes through together."""
    out: list[list[ColourPassage]] = []
    for one in passed:
        first = out[-1][0].begins if out else None
        if first and one.ends and one.ends.volume_ml - first.volume_ml <= drop_ml:
            out[-1].append(one)
        else:
            out.append([one])
    return tuple(map(tuple, out))


def through(changes: Sequence[ColourPassage]) -> str:
    """Name the colours of changes that follow each other: `red through orange, yellow and green to blue`."""
    between = [one.after for one in changes[:-1]]
    if not between:
        return f"{changes[0].before} to {changes[0].after}"
    said = " and ".join(filter(None, (", ".join(between[:-1]), between[-1])))
    return f"{changes[0].before} through {said} to {changes[-1].after}"


def _smooth(vessel: WatchedVessel, moments: list[CourseMoment]) -> tuple[CourseMoment, ...]:
    """Halve the steps in which the pH leaps, so that the leap stands where it belongs."""
    for _ in range(_HALVINGS):
        leaps = [n for n in range(1, len(moments)) if abs(moments[n].ph - moments[n - 1].ph) > _LEAP]
        if not leaps:
            break
        for n in reversed(leaps):
            moments.insert(n, vessel.moment((moments[n - 1].volume_ml + moments[n].volume_ml) / 2))
    return tuple(moments)


def course(vessel: WatchedVessel, most_ml: float, at: Iterable[float] = ()) -> ColourCourse:
    """Follow pH and colour up to `most_ml` [mL], and at the volumes `at`.

    Raises PrepError where the vessel is empty or nothing is added.
    """
    if vessel.dish_ml <= 0 or most_ml <= 0:
        raise PrepError("A course needs something in the vessel, and something that is added to it.")
    found = passages(vessel, most_ml)
    wanted = {most_ml * i / POINTS for i in range(POINTS + 1)} | {v for v in at if 0 <= v <= most_ml}
    for mark in (m for one in found for m in (one.begins, one.ends) if m):
        wanted |= {min(most_ml, mark.volume_ml * by) for by in (0.97, 0.99, 1.0, 1.01, 1.03)}
    moments = _smooth(vessel, [vessel.moment(volume) for volume in sorted(wanted)])
    strongest = max(vessel.solved(volume).ionic_strength for volume in (0.0, most_ml))
    valid = not vessel.activities or not beyond(strongest)
    return ColourCourse(moments[0], moments[-1], moments, found, most_ml, valid)
