"""Substances, solutions and demos as documents, and a document as lines to read."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from prep.chemistry import quantities
from prep.chemistry.model import Measure, MethodStep, Solution, Substance
from prep.chemistry.preparation.sentences import in_words
from prep.planning.engine.requirements import needs_of
from prep.planning.model import Demo, StockRule
from prep.planning.set_out import each_of, in_all
from prep.plurals import plural
from prep.reports.plan.document import strength_json

if TYPE_CHECKING:
    from prep.planning.set_out import UntilNeed
    from prep.services.catalogue.on_file import OnFile


def amount_json(item: str, base: int, substances: Mapping[str, Substance]) -> dict[str, Any]:
    """Write an amount of an item as JSON."""
    substance = substances.get(item)
    return quantities.as_json(base, substance.measure if substance else Measure.VOLUME)


def substance_document(s: Substance, rule: StockRule | None = None) -> dict[str, Any]:
    """Write a substance, and what is kept of it, as JSON; facts that are not known are null."""
    return {
        "code": s.code,
        "name": s.name,
        "other_names": list(s.other_names),
        "cas": s.cas,
        "formula": s.formula,
        "solute": s.solute,
        "form": s.form.value,
        "assay_pct": _float(s.assay_pct),
        "assay_half_width_pct": _float(s.assay_half_width_pct),
        "dry_c": _float(s.dry_c),
        "dry_minutes": s.dry_minutes or None,
        "unfit": s.unfit or None,
        "found_against": s.found_against or None,
        "density_g_ml": _float(s.density_g_ml),
        "solubility_g_per_100g": _float(s.solubility_g_per_100g),
        "solubility_c": _float(s.solubility_c),
        "classification": s.classification or "not known",
        "supplemental": s.supplemental,
        "storage_group": s.storage_group,
        "disposal": s.disposal,
        "ordering": rule_document(rule, s.measure) if rule else None,
        "sources": dict(s.sources),
    }


def rule_document(rule: StockRule, measure: Measure) -> dict[str, Any]:
    """Write what is kept of an item at least, its packs, and the days that an order takes, as JSON."""
    return {
        "minimum": quantities.as_json(rule.minimum, measure),
        "packs": [quantities.as_json(pack, measure) for pack in rule.packs],
        "lead_days": rule.lead_days,
        "own_minimum": rule.own,
    }


def solution_document(
    s: Solution, name_of: Callable[[str], str], substances: Mapping[str, Substance]
) -> dict[str, Any]:
    """Write a solution with its recipe, amounts for a litre, as JSON."""
    return {
        "code": s.code,
        "name": s.name,
        "purpose": s.purpose,
        "strength": strength_json(s.strength),
        "strength_of": s.strength_of,
        "solute": s.solute,
        "shelf_life_days": s.shelf_life_days,
        "made_fresh": s.made_fresh,
        "keeping": list(s.keeping),
        "tolerance_pct": _float(s.tolerance_pct),
        "made_from": list(s.made_from),
        "make_up_with": s.make_up_with,
        "recipe_makes": quantities.as_json(s.recipe_nl, Measure.VOLUME) if s.recipe else None,
        "recipe": [
            {
                "item": line.item,
                "name": name_of(line.item),
                "per_litre": amount_json(line.item, round(line.amount * 10**9 / s.recipe_nl), substances),
                "note": line.note,
            }
            for line in s.recipe
        ],
        "minutes": s.minutes,
        "usual": quantities.as_json(s.usual_nl, Measure.VOLUME) if s.usual_nl else None,
        "small_batch": s.small_batch.value,
        "method": s.method or " ".join(in_words(s.method_steps, name_of)),
        "steps": [_method_step(step) for step in s.method_steps],
        "stand_days": s.stand_days,
        "sources": dict(s.sources),
    }


def _method_step(step: MethodStep) -> dict[str, Any]:
    return {
        "kind": step.kind.value,
        "text": step.text,
        "item": step.item or None,
        "from": [origin.value for origin in step.origins],
        "share": _float(step.share),
        "temperature_c": _float(step.temperature_c),
        "minutes": step.minutes or None,
        "source": step.source,
        "goes_into": step.goes_into,
        "up_to_c": _float(step.up_to_c),
    }


def demo_document(d: Demo, substances: Mapping[str, Substance]) -> dict[str, Any]:
    """Write a demo with its needs per showing as JSON."""
    return {
        "code": d.code,
        "name": d.name,
        "kind": d.kind,
        "other_names": list(d.other_names),
        "principle": d.principle,
        "trials": d.trials,
        "about": d.about,
        "caution": d.caution,
        "ask_first": d.ask_first,
        "spare": float(d.spare),
        "needs": [
            {
                "item": n.item,
                "per_showing": amount_json(n.item, n.per_showing, substances),
                "drops": n.drops or None,
                "portions": n.portions,
                "vessel": n.vessel,
                "dead_volume": amount_json(n.item, n.dead, substances),
                "shared": n.shared,
                "fresh": n.fresh,
                "until": n.until,
                "from": n.dropper,
                "note": n.note,
            }
            for n in d.needs
        ],
        "leaves": [{"what": left.what, "stream": left.stream, "note": left.note} for left in d.leftovers],
        "source": d.source,
    }


def set_out_document(d: Demo, showings: int, on_file: "OnFile") -> dict[str, Any]:
    """Write a demo, what so many showings take and how each vessel is set out, as JSON."""
    from prep.services.catalogue import lookup

    reckoned = lookup.reckoned(d, on_file)
    return demo_document(d, on_file.substances) | {
        "showings": showings,
        "takes": [
            {
                "item": needed.item,
                "name": on_file.name(needed.item),
                "amount": amount_json(needed.item, amount, on_file.substances),
                "fresh": needed.fresh,
            }
            for needed, amount in needs_of(reckoned.demo, showings).items()
        ],
        "set_out": [
            {
                "item": need.item,
                "name": on_file.name(need.item),
                "vessel": need.vessel,
                "each": each_of(need, on_file.item(need.item).measure),
                "in_all": in_all(need, reckoned.demo, showings, on_file.item(need.item).measure),
            }
            for need in reckoned.demo.needs
        ],
        "until": [until_document(until) for until in reckoned.untils],
    }


def possible_document(on: date, not_asked: Sequence[str]) -> dict[str, Any]:
    """Write on which day a demonstration was tried among many, and that only booking it decides, as JSON.

    `not_asked` are the codes of those that were not tried.
    """
    from prep.services.demos.demos import TRIED

    return {"on": on.isoformat(), "provisional": True, "note": TRIED, "not_asked": list(not_asked)}


def until_document(until: "UntilNeed") -> dict[str, Any]:
    """Write what a need stated `until` a pH comes to for one showing, or why it was not computed, as JSON."""
    amount = until.volume_nl
    drops = until.drops
    return {
        "item": until.item,
        "vessel": until.vessel,
        "until": until.until,
        "from": until.dropper,
        "ph": until.ph,
        "start_ph": until.start_ph,
        "per_showing": None if amount is None else quantities.as_json(amount, Measure.VOLUME),
        "portions": until.portions,
        "drops": None
        if drops is None
        else {"value": drops.count, "unit": "drops", "fewest": drops.fewest, "most": drops.most},
        "why_not": until.why,
        "working": [line.as_json() for line in until.working],
    }


def until_line(until: "UntilNeed") -> str:
    """Write a need stated `until` a pH as a line to read."""
    if until.volume_nl is None:
        return f"{until.item} {until.said}: the amount above is the demo's own; not computed: {until.why}"
    drops = f", {plural(until.drops.count, 'drop')} ({until.drops.fewest} to {until.drops.most})" if until.drops else ""
    volume = quantities.show(until.volume_nl // until.portions, Measure.VOLUME, 4)
    volume = f"{until.portions} x {volume}" if until.portions > 1 else volume
    return f"{until.item} {until.said}: {volume}{drops} for one showing, and its spare:"


def lines(document: Mapping[str, Any], indent: int = 0) -> Iterator[str]:
    """Lay a document out as lines to read: empty facts left out, quantities on one line."""
    pad = " " * indent
    for key, value in document.items():
        if value in (None, "", [], {}, False):
            continue
        label = key.replace("_", " ")
        if _is_quantity(value):
            yield f"{pad}{label}: {_quantity(value)}"
        elif isinstance(value, list) and _is_quantity(value[0]):
            yield f"{pad}{label}: {', '.join(map(_quantity, value))}"
        elif isinstance(value, Mapping):
            yield f"{pad}{label}:"
            yield from lines(value, indent + 2)
        elif isinstance(value, list) and value and isinstance(value[0], Mapping):
            yield f"{pad}{label}:"
            for entry in value:
                yield f"{pad}  - " + "; ".join(
                    f"{k.replace('_', ' ')}: {_quantity(v) if isinstance(v, Mapping) else v}"
                    for k, v in entry.items()
                    if v not in (None, "", False) and not (isinstance(v, Mapping) and v.get("value") == 0)
                )
        elif isinstance(value, list):
            yield f"{pad}{label}: {', '.join(map(str, value))}"
        else:
            yield f"{pad}{label}: {'yes' if value is True else value}"


def _is_quantity(value: object) -> bool:
    return isinstance(value, Mapping) and set(value) <= {"value", "unit"}


def _quantity(value: Mapping[str, Any]) -> str:
    number = value.get("value")
    return f"{number:g} {value['unit']}" if number is not None else str(value["unit"])


def _float(value: Decimal | None) -> float | None:
    return None if value is None else float(value)
