"""From hazard classes to what stands on a label: signal word, pictograms, H, P and EUH statements."""

from collections.abc import Sequence
from functools import cache

from prep.records import record
from prep.resources import seed_table
from prep.safety.clp.precautions import precautions_of
from prep.safety.hazard_tables import Row, keyed, split
from prep.safety.model import HazardClass, Statement

PICTOGRAMS = {
    "GHS01": "exploding bomb",
    "GHS02": "flame",
    "GHS03": "flame over circle",
    "GHS04": "gas cylinder",
    "GHS05": "corrosion",
    "GHS06": "skull and crossbones",
    "GHS07": "exclamation mark",
    "GHS08": "health hazard",
    "GHS09": "environment",
}
"""What each pictogram shows, by its code."""

_SKIN_EYE = frozenset({"Skin Irrit.", "Eye Irrit."})
_ALLERGY = frozenset({"Skin Irrit.", "Eye Irrit.", "Skin Sens."})
_FILLED = (
    ("/doctor/…", "/doctor"),
    ("water/…", "water"),
    ("Wash … thoroughly", "Wash hands thoroughly"),
    ("Keep wetted with…", "Keep wetted with water"),
    ("container to …", "container as local rules require."),
    ("[or shower]", "or shower"),
    ("[In case of inadequate ventilation] wear", "In case of inadequate ventilation wear"),
    ("[electrical/ventilating/lighting/…]", "electrical/ventilating/lighting"),
    ("[or wrap in wet bandages]", "or wrap in wet bandages"),
    ("/hearing protection/…", ""),
    ("Use… to extinguish", "Use what the data sheet names to extinguish"),
    ("in accordance with…", "as local rules require"),
    ("temperatures not exceeding …°C/…°F", "the temperature that the supplier names"),
    ("supplier… for", "supplier for"),
    ("/… ", " "),
    ("/…", ""),
    ("POISON CENTRE", "POISON CENTER"),  # the regulation spells it both ways
)


@record(frozen=True, slots=True)
class LabelElements:
    """Label elements of a set of classes."""

    signal: str
    pictograms: tuple[str, ...]
    h_statements: tuple[Statement, ...]
    p_statements: tuple[Statement, ...]
    precedence: tuple[str, ...]  # rules of label_precedence.csv that dropped something


def label_of(classes: Sequence[HazardClass]) -> LabelElements:
    """Choose the label elements by the class table and the precedence rules (CLP Art. 20, 26, 27, 28)."""
    signals = {_row(one)["signal"] for one in classes}
    signal = "Danger" if "Danger" in signals else "Warning" if "Warning" in signals else ""
    pictograms, used = _pictograms(classes)
    codes = _h_codes(classes)
    if "Danger" in signals and "Warning" in signals:
        used.append("P7")
    if len(codes) < len({one.h_code for one in classes}):
        used.append("P8")
    return LabelElements(
        signal,
        pictograms,
        tuple(Statement(code, text_of(code)) for code in codes),
        _p_statements(classes, codes),
        tuple(used),
    )


def text_of(code: str, name: str = "") -> str:
    """Find the text of a statement as printed: the published words, gaps filled or left out.

    `name` fills the gap of EUH208.
    """
    row = keyed("statements", "code").get(code)
    if row is None:
        return "(no longer in the regulation)" if code in keyed("deleted_statements", "code") else code
    text = row["text"].replace("<name of sensitising substance>", name)
    while "<" in text:
        before, _, rest = text.partition("<")
        text = f"{before.rstrip()}{_after(rest)}"
    for gap, filled in _FILLED:
        text = text.replace(gap, filled)
    return text.replace("[", "").replace("]", "").replace("…", "").strip()


@record(frozen=True, slots=True)
class SupplementalHazard:
    """An EUH statement by its code, and the substances to name in it, if its text asks for any."""

    code: str
    substances: str = ""


def euh_statements(found: Sequence[SupplementalHazard]) -> tuple[Statement, ...]:
    """Write EUH statements with the substance's name where the text asks for one."""
    return tuple(Statement(one.code, text_of(one.code, one.substances)) for one in found)


def _after(rest: str) -> str:
    tail = rest.partition(">")[2].lstrip()
    return tail if not tail or tail[0] in ".,;<" else f" {tail}"


def _row(one: HazardClass) -> Row:
    try:
        return _by_class()[one.hazard_class, one.category, one.route]
    except KeyError:
        raise ValueError(f"no label elements for {one}") from None


@cache
def _by_class() -> dict[tuple[str, str, str], Row]:
    return {(row["hazard_class"], row["category"], row["route"]): row for row in seed_table("class_labels")}


def _pictograms(classes: Sequence[HazardClass]) -> tuple[tuple[str, ...], list[str]]:
    """Choose the pictograms in order of their numbers, and name the precedence rules that took one away."""
    for_class = {one: set(split(_row(one)["pictograms"])) for one in classes}
    shown = set().union(*for_class.values()) if for_class else set()
    used: list[str] = []

    def drop(rule: str, excused: frozenset[str] | None) -> None:
        lost = [
            one
            for one, signs in for_class.items()
            if "GHS07" in signs and (excused is None or one.hazard_class in excused)
        ]
        for one in lost:
            for_class[one] = for_class[one] - {"GHS07"}
        if lost:
            used.append(rule)

    if "GHS06" in shown:
        drop("P2", None)
    if "GHS05" in shown:
        drop("P3", _SKIN_EYE)
    if any(one.hazard_class == "Resp. Sens." for one in classes):
        drop("P4", _ALLERGY)
    return tuple(sorted(set().union(*for_class.values()))) if for_class else (), used


def _h_codes(classes: Sequence[HazardClass]) -> tuple[str, ...]:
    """List the statements in order of their numbers without the evidently redundant ones."""
    codes = {one.h_code for one in classes}
    if "H314" in codes:
        codes.discard("H318")
    if "H400" in codes and codes & {"H410", "H411", "H412"}:
        # Aquatic Acute 1 with a long-term class is printed as H410 alone: the label column of Annex VI has it so.
        codes -= {"H400", "H411", "H412"}
        codes.add("H410")
    return tuple(sorted(codes))


def _by_severity(classes: Sequence[HazardClass]) -> tuple[str, ...]:
    """Sort the statements: those with Danger first, then by how soon they hurt.

    Skin and eyes, poison, fire, the rest.
    """
    first = ("Skin Corr.", "Eye Dam.", "Acute Tox.", "STOT SE", "Flam. Liq.", "Ox. Liq.", "Ox. Sol.")

    def rank(one: HazardClass) -> tuple[bool, int, str]:
        place = first.index(one.hazard_class) if one.hazard_class in first else len(first)
        return _row(one)["signal"] != "Danger", place, one.h_code

    return tuple(dict.fromkeys(one.h_code for one in sorted(classes, key=rank)))


def _p_statements(classes: Sequence[HazardClass], printed: Sequence[str]) -> tuple[Statement, ...]:
    wanted = [code for code in _by_severity(classes) if code in printed or code == "H400"]
    grave = {one.h_code for one in classes if _row(one)["signal"] == "Danger"}
    return tuple(Statement(code, text_of(code)) for code in precautions_of(wanted, grave))
