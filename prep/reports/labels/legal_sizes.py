"""How large a label, its pictograms and its letters must be for what the bottle holds.

Regulation (EC) No 1272/2008, Annex I, 1.2.1, Table 1.3; letters as amended by Regulation (EU) 2024/2865, whose rules
of formatting apply from 1 January 2028 (Regulation (EU) 2025/2439 put them off from 1 January 2027). A label for the
room's own use is held to the same.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from prep.reports.labels.layout import MM, LaidLabel, LeastSizes
from prep.reports.labels.sheet_sizes import PRESETS, LabelSheet
from prep.safety.clp.small_packages import UP_TO_ML
from prep.safety.label_content import LabelContent

_X_HEIGHT = 0.547  # of the size of the letters that are used (Bitstream Vera)
_BY_SIZE = ("A4, 2 x 7", "A4, 2 x 4", "A4, 2 x 3", "A4, 2 x 2", "A4, 1 x 2")
_PICTOGRAM_IF_POSSIBLE_MM = 16
_DIAGONAL = 2**0.5  # a pictogram is measured along its sides, and stands on its point


@dataclass(frozen=True, slots=True)
class LegalSize:
    """Least sizes [mm] for bottles of up to `up_to_ml`: label (short and long side), pictogram's side, small x.

    `if_possible`: the label's size, and a pictogram's side of 16 mm.
    """

    up_to_ml: float
    label_mm: tuple[float, float]
    pictogram_mm: float
    x_height_mm: float
    if_possible: bool = False


SIZES = (
    LegalSize(500, (52, 74), 10, 1.2, if_possible=True),
    LegalSize(3_000, (52, 74), 10, 1.4, if_possible=True),
    LegalSize(50_000, (74, 105), 23, 1.8),
    LegalSize(500_000, (105, 148), 32, 2.0),
    LegalSize(float("inf"), (148, 210), 46, 2.0),
)


def legal_size(capacity_ml: float) -> LegalSize:
    """Find the least sizes for a bottle that holds so much."""
    return next(one for one in SIZES if capacity_ml <= one.up_to_ml)


def least_sizes(content: LabelContent, sheet: LabelSheet) -> LeastSizes:
    """Find how far a pictogram must reach from corner to corner [mm], and the size of the smallest letters [pt].

    No pictogram's on a label that is not as large as the bottle asks for; where it need only be so large if possible
    (up to 3 L), the pictograms are of legal size on a smaller one as well, if the same text fits beside them.
    """
    if content.capacity_ml is None or not _hazardous(content):
        return LeastSizes()
    legal = legal_size(content.capacity_ml)
    large = legal.if_possible or _as_large(sheet, legal.label_mm)
    wished = _PICTOGRAM_IF_POSSIBLE_MM * _DIAGONAL if legal.if_possible and content.capacity_ml > UP_TO_ML else 0.0
    return LeastSizes(legal.pictogram_mm * _DIAGONAL if large else 0.0, legal.x_height_mm * MM / _X_HEIGHT, wished)


def too_small(content: LabelContent, laid: LaidLabel, sheet: LabelSheet) -> Iterator[str]:
    """Name what of a label is smaller than its bottle asks for; nothing where no hazard stands on it."""
    if content.capacity_ml is None or not _hazardous(content):
        return
    legal = legal_size(content.capacity_ml)
    if content.capacity_ml > UP_TO_ML and not _as_large(sheet, legal.label_mm):
        ought = "should if possible be" if legal.if_possible else "must be"
        yield f"the label {ought} at least {legal.label_mm[0]:g} x {legal.label_mm[1]:g} mm"
    sides = [one.box.width / MM / _DIAGONAL for one in laid.pictures]
    if sides and min(sides) + 0.05 < legal.pictogram_mm:
        yield f"its pictograms must be {legal.pictogram_mm:g} mm along each side, not {min(sides):.1f}"
    letters = [line.size * _X_HEIGHT / MM for line in laid.lines if line.text.strip()]
    if letters and min(letters) + 0.005 < legal.x_height_mm:
        yield f"from 2028 its smallest letter x must be {legal.x_height_mm:g} mm high, not {min(letters):.2f}"


def sheets_for(contents: Sequence[LabelContent]) -> tuple[LabelSheet, ...]:
    """List the sheets whose labels are as large as every bottle asks for, most labels first; never none.

    For small packages, up to 125 mL (Annex I, 1.5.2), it begins with the usual one: a label of full size may be
    larger than the bottle.
    """
    hazardous = [one.capacity_ml for one in contents if one.capacity_ml is not None and _hazardous(one)]
    asked = [legal_size(capacity_ml).label_mm for capacity_ml in hazardous if capacity_ml > UP_TO_ML]
    sheets = [PRESETS[name] for name in _BY_SIZE]
    large = tuple(sheet for sheet in sheets if all(_as_large(sheet, size) for size in asked))
    return (large if hazardous else large[:1]) or (sheets[-1],)


def _hazardous(content: LabelContent) -> bool:
    return bool(content.h_statements or content.pictograms)


def _as_large(sheet: LabelSheet, label_mm: tuple[float, float]) -> bool:
    short, long = sorted((sheet.width_mm, sheet.height_mm))
    return short + 0.05 >= label_mm[0] and long + 0.05 >= label_mm[1]
