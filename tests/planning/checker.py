"""An independent judge of a plan: it reads the plan's document and the stock, and none of the planner.

It proves that no bottle goes below zero, nothing is used out of date, each batch's takes give its strength,
and every requirement is served or reported. Its arithmetic is its own; molar masses come from periodictable.
"""

import math
from collections import defaultdict
from datetime import date
from functools import cache
from typing import Any

from periodictable import formula as pt_formula

from prep.planning.model import Demo, Need, Snapshot

EPS = 1e-6  # g or mL: a ledger unit


def check_plan(doc: dict[str, Any], stock: Snapshot) -> list[str]:
    """Every breach as a sentence; empty when the plan stands."""
    return [
        *_bottles(doc, stock),
        *_requirements(doc, stock),
        *_batches(doc, stock),
        *_orders(doc, stock),
    ]


def _day(text: str) -> date:
    return date.fromisoformat(text)


def _uses(doc: dict[str, Any]) -> list[tuple[str, str, date, float, str]]:
    """Every use: (kind of source, source, day, amount, user)."""
    uses = []
    for need in doc["requirements"]:
        for share in need["served"]:
            kind = next(k for k in ("bottle", "batch", "order") if k in share)
            uses.append((kind, share[kind], _day(need["needed_on"]), share["amount"]["value"], need["id"]))
    for batch in doc["batches"]:
        for take in batch["takes"]:
            kind = next(k for k in ("bottle", "batch", "order") if k in take)
            uses.append((kind, take[kind], _day(batch["make_on"]), take["amount"]["value"], batch["id"]))
    return uses


def _bottles(doc: dict[str, Any], stock: Snapshot) -> list[str]:
    wrong = []
    held = {b.code: b for b in stock.bottles}
    drawn: dict[str, float] = defaultdict(float)
    for kind, ref, on, amount, user in _uses(doc):
        if kind != "bottle":
            continue
        bottle = held.get(ref)
        if bottle is None:
            wrong.append(f"{user} takes from bottle {ref}, which is not in the stock")
            continue
        drawn[ref] += amount
        if bottle.status != "in service":
            wrong.append(f"{user} takes from bottle {ref}, which is {bottle.status}")
        if bottle.use_by and bottle.use_by < on:
            wrong.append(f"{user} takes from bottle {ref} on {on}, after its date {bottle.use_by}")
        if bottle.received and bottle.received > on:
            wrong.append(f"{user} takes from bottle {ref} before it was received")
    listed = {line["code"]: line for line in doc["bottles"]}
    for code, bottle in held.items():
        start = bottle.amount / 1e6
        if drawn[code] > start + EPS:
            wrong.append(f"bottle {code} holds {start} and gives {drawn[code]}")
        line = listed.get(code)
        if line is None:
            wrong.append(f"bottle {code} is missing from the plan")
        elif abs(line["end"]["value"] - (start - drawn[code])) > EPS:
            wrong.append(f"bottle {code}: the plan's end {line['end']['value']} is not {start} - {drawn[code]}")
        elif abs(sum(t["amount"]["value"] for t in line["takes"]) - drawn[code]) > EPS:
            wrong.append(f"bottle {code}: its takes do not add up to what is drawn")
    return wrong


def _requirements(doc: dict[str, Any], stock: Snapshot) -> list[str]:
    wrong = []
    seen: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    warned = {w["about"] for w in doc["warnings"]}
    for need in doc["requirements"]:
        total = sum(share["amount"]["value"] for share in need["served"])
        short = need["short"]["value"] if "short" in need else 0.0
        if abs(total + short - need["amount"]["value"]) > 2 * EPS:
            wrong.append(f"{need['id']}: served {total} + short {short} is not {need['amount']['value']}")
        if short and (not need.get("why") or need["id"] not in warned):
            wrong.append(f"{need['id']} is short without a reason or a warning")
        seen[need["booking"]][need["item"]] += need["amount"]["value"]
    start, end = _day(doc["from"]), _day(doc["to"])
    for booking in stock.bookings:
        if booking.status != "booked" or not start <= booking.on <= end or booking.on < stock.today:
            continue
        demo = stock.demos.get(booking.demo)
        if booking.item:  # a class set: so many portions, and a tenth to spare
            portions = (booking.showings + booking.trials) * booking.portion * 1.1 / 1e6
            if seen[booking.code][booking.item] < portions - EPS:
                wrong.append(f"booking {booking.code} needs {portions} of {booking.item}")
            continue
        if demo is None or booking.showings < 1:
            if booking.code not in warned:
                wrong.append(f"booking {booking.code} was dropped without a warning")
            continue
        wanted: dict[str, float] = defaultdict(float)
        runs = booking.showings + booking.trials
        for need in demo.needs:
            if need.item != "water":
                each = _until(demo, need, stock) if need.until else need.per_showing
                wanted[need.item] += (each * runs * (1 + float(demo.spare)) + need.dead) / 1e6
        for item, amount in wanted.items():
            if item not in stock.substances and item not in stock.solutions and booking.code in warned:
                continue  # nothing on file to give; it is said
            if seen[booking.code][item] + 1e-9 < amount - EPS:
                wrong.append(f"booking {booking.code} needs {amount} of {item}, planned {seen[booking.code][item]}")
    return wrong


# Equivalents in a mole, and the formula: enough for a titration to within a hundredth.
EQUIVALENTS = {
    "hydrochloric-acid": (1, "HCl"),
    "sulfuric-acid": (2, "H2SO4"),
    "acetic-acid": (1, "C2H4O2"),
    "sodium-hydroxide": (1, "NaOH"),
    "ammonia": (1, "NH3"),
}


def _until(demo: Demo, need: Need, stock: Snapshot) -> float:
    """At least so many nL neutralise the other solution of the vessel: equivalents, less a hundredth."""

    def per_litre(item: str) -> float:
        solution = stock.solutions[item]
        assert solution.strength is not None
        count, formula = EQUIVALENTS[solution.solute]
        value = float(solution.strength.value)
        mol = value * 10 / pt_formula(formula).mass if solution.strength.kind.value == "% w/v" else value
        return float(count * mol)

    (other,) = (n for n in demo.needs if n.vessel == need.vessel and n is not need)
    return 0.99 * other.per_showing * per_litre(other.item) / per_litre(need.item)


def _batches(doc: dict[str, Any], stock: Snapshot) -> list[str]:
    wrong = []
    batches = {b["id"]: b for b in doc["batches"]}
    given: dict[str, float] = defaultdict(float)
    for kind, ref, on, amount, user in _uses(doc):
        if kind != "batch":
            continue
        batch = batches.get(ref)
        if batch is None:
            wrong.append(f"{user} is served by batch {ref}, which is not planned")
            continue
        given[ref] += amount
        if not _day(batch["make_on"]) <= on <= _day(batch["use_by"]):
            wrong.append(f"{user} uses batch {ref} on {on}, made {batch['make_on']}, good to {batch['use_by']}")
    for ref, batch in batches.items():
        amount = batch["amount"]["value"]
        if given[ref] > amount + EPS:
            wrong.append(f"batch {ref} makes {amount} and gives {given[ref]}")
        serves = sum(s["amount"]["value"] for s in batch["serves"])
        if abs(serves + batch["left_over"]["value"] - amount) > EPS:
            wrong.append(f"batch {ref}: serves {serves} + left over is not {amount}")
        on = _day(batch["make_on"])
        calendar = stock.calendar
        if on < stock.today or on.weekday() not in calendar.weekdays or on in calendar.closed:
            wrong.append(f"batch {ref} is made on {on}, which is no working day from today on")
        if not batch["steps"]:
            wrong.append(f"batch {ref} has no instructions")
        elif not stock.solutions[batch["solution"]].shelf_life_days:
            wrong.extend(_one_period(batch, doc, stock))
        wrong.extend(_content(batch, stock))
    return wrong


def _one_period(batch: dict[str, Any], doc: dict[str, Any], stock: Snapshot) -> list[str]:
    """What does not keep is made for one period, and its sheet says for which."""
    period = {b.code: "".join(c for c in b.period if c.isdigit()) for b in stock.bookings}
    booking = {need["id"]: need["booking"] for need in doc["requirements"]}
    served = {s["requirement"] for s in batch["serves"] if "requirement" in s}
    periods = {period[booking[need]] for need in served}
    if len(periods) > 1:
        return [f"batch {batch['id']} does not keep, and serves the periods {sorted(periods)}"]
    if periods - {""} and not batch["steps"][0]["text"].startswith("Make it just before"):
        return [f"batch {batch['id']} does not say for which period it is"]
    return []


@cache
def _mass(formula: str) -> float:
    """Molar mass, hydrates written so that periodictable cannot misread them."""
    total = 0.0
    for number, part in enumerate(formula.replace("·", ".").split(".")):
        digits = ""
        while number and part and part[0].isdigit():
            digits, part = digits + part[0], part[1:]
        total += int(digits or 1) * pt_formula(part.replace("[", "(").replace("]", ")")).mass
    return total


def _moles(item: str, amount: float, bottle_strength: Any, stock: Snapshot) -> float | None:
    """Moles of solute in an amount of an item; None where it has no single known formula."""
    if item in stock.substances:
        s = stock.substances[item]
        if not s.formula or ")n" in s.formula or s.assay_pct is None:
            return None
        grams = amount if s.measure.value == "mass" else amount * float(s.density_g_ml or 1)
        return grams * float(s.assay_pct) / 100 / _mass(s.formula)
    strength = bottle_strength or stock.solutions[item].strength
    if strength is None or strength.kind.value != "mol/L":
        return None
    return amount / 1000 * float(strength.value)


def _conserved(taken: dict[str, float], stock: Snapshot) -> tuple[float, float, float, float] | None:
    """Moles of phosphorus, carbon and nitrogen, and of sodium and potassium less chlorine; None = not reckonable."""
    totals = [0.0] * 4
    for item, amount in taken.items():
        moles = _moles(item, amount, None, stock)
        if item in stock.substances:
            text = stock.substances[item].formula
        else:
            solute = stock.solutions[item].solute
            dry = [s.formula for s in stock.substances.values() if s.solute == solute and s.formula]
            text = min(dry, key=len, default="")
        if moles is None or not text:
            return None
        atoms = {str(atom): n for atom, n in pt_formula(text.replace("·", ".").partition(".")[0]).atoms.items()}
        strong = atoms.get("Na", 0) + atoms.get("K", 0) - atoms.get("Cl", 0)
        for number, count in enumerate((atoms.get("P", 0), atoms.get("C", 0), atoms.get("N", 0), strong)):
            totals[number] += moles * count
    return totals[0], totals[1], totals[2], totals[3]


def _content(batch: dict[str, Any], stock: Snapshot) -> list[str]:
    solution = stock.solutions[batch["solution"]]
    found = {b.code: b.strength for b in stock.bottles}
    volume = batch["amount"]["value"]
    tolerance = max(float(solution.tolerance_pct) / 100, 1e-4)
    taken: dict[str, float] = defaultdict(float)
    for take in batch["takes"]:
        # What of an intermediate dilution is not used is drawn from the bottle all the same.
        amount = take.get("used", take["amount"])["value"]
        stronger = found.get(take.get("bottle", ""))
        if stronger and solution.recipe:  # a recipe's volume is of the nominal strength
            amount *= float(stronger.value) / float(stock.solutions[take["item"]].strength.value)
        taken[take["item"]] += amount
    if not solution.recipe:
        if solution.strength is None or solution.strength.kind.value != "mol/L":
            return [] if taken else [f"batch {batch['id']} takes nothing"]
        total = 0.0
        for take in batch["takes"]:
            used = take.get("used", take["amount"])["value"]
            moles = _moles(take["item"], used, found.get(take.get("bottle", "")), stock)
            if moles is None:
                return [f"batch {batch['id']}: {take['item']} gives no reckonable amount of solute"]
            total += moles
        made, wanted = total / (volume / 1000), float(solution.strength.value)
        if not math.isclose(made, wanted, rel_tol=tolerance):
            return [f"batch {batch['id']} comes out at {made:.5g} mol/L, not {wanted:.5g}"]
        return []
    written = {part.item for part in solution.recipe}
    if solution.purpose == "buffer" and set(taken) - written and (given := _conserved(taken, stock)):
        scale = volume / (solution.recipe_nl / 1e6)
        asked = _conserved({part.item: part.amount / 1e6 * scale for part in solution.recipe}, stock)
        if asked and all(math.isclose(a, b, rel_tol=0.03, abs_tol=1e-6) for a, b in zip(given, asked, strict=True)):
            return []
    wrong = []
    scale = volume / (solution.recipe_nl / 1e6)
    left = dict(taken)
    for part in solution.recipe:
        if part.item == "water":
            continue
        wanted = part.amount / 1e6 * scale
        got = left.pop(part.item, None)
        if got is None and part.item in stock.solutions and stock.solutions[part.item].strength:
            solute = stock.solutions[part.item].solute
            dry = [item for item in left if item in stock.substances and stock.substances[item].solute == solute]
            moles = [_moles(item, left.pop(item), None, stock) for item in dry]
            each = _moles(part.item, 1.0, None, stock)
            if dry and each and None not in moles:  # weighed in as the solid
                got = sum(n for n in moles if n) / each
        if (got is None or got < wanted) and part.item in stock.substances:
            written = stock.substances[part.item]
            for other in sorted(set(left) - {line.item for line in solution.recipe}):
                s = stock.substances.get(other)
                if s and s.solute == written.solute:
                    share = float(s.assay_pct or 100) / _mass(s.formula)
                    share /= float(written.assay_pct or 100) / _mass(written.formula)
                    got = (got or 0) + left.pop(other) * share
        if got is None or not math.isclose(got, wanted, rel_tol=max(tolerance, 0.02), abs_tol=0.02):
            wrong.append(f"batch {batch['id']} takes {got} of {part.item}, the recipe says {wanted:.5g}")
    return wrong


def _orders(doc: dict[str, Any], stock: Snapshot) -> list[str]:
    wrong = []
    coming: dict[str, float] = {o.code: o.amount / 1e6 for o in stock.orders}
    day = {o.code: max(o.due, stock.today) for o in stock.orders}
    item = {o.code: o.item for o in stock.orders}
    for line in doc["orders"]:
        first = line["id"].partition("+")[0]
        coming[first] = coming.get(first, 0.0) + line["packs"] * line["pack"]["value"]
        day[first] = _day(line["arrives"])
        item[first] = line["item"]
        lead = stock.rules[line["item"]].lead_days if line["item"] in stock.rules else 0
        if (_day(line["arrives"]) - stock.today).days < lead:
            wrong.append(f"order {line['id']} arrives sooner than its lead time")
    used: dict[str, float] = defaultdict(float)
    for kind, ref, on, amount, user in _uses(doc):
        if kind != "order":
            continue
        if ref not in coming:
            wrong.append(f"{user} is served by order {ref}, which is not there")
            continue
        used[ref] += amount
        if on < day[ref]:
            wrong.append(f"{user} uses order {ref} on {on}, before it comes on {day[ref]}")
    for ref, amount in used.items():
        if ref in coming and amount > coming[ref] + EPS:
            wrong.append(f"order {ref} of {item[ref]} brings {coming[ref]} and gives {amount}")
    return wrong
