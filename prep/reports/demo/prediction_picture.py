"""A prediction's curves, ready to be drawn."""

from prep.reports.curves import Curve, Point
from prep.services.demos.prediction import Prediction


def series_of(found: Prediction) -> list[Curve]:
    """One curve a vessel, in drops or mL, marked where a colour change is complete."""
    out = []
    for one in found.vessels:
        rate = (one.drops_per_ml or 1.0) if found.in_drops else 1.0
        points = tuple(Point(m.volume_ml * rate, m.ph, m.colour) for m in one.course.moments)
        marks = tuple(
            (change.ends.volume_ml * rate, f"{change.after}: {change.ends.volume_ml * rate:.3g}")
            for change in one.course.passages
            if change.ends
        )
        name = f"{one.vessel}" + (f": still {one.stays}" if one.stays else "")
        out.append(Curve(name, points, marks))
    return out
