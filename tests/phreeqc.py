"""PHREEQC as a judge of the acid-base solver, with a database that compares like with like.

The database is phreeqc.dat as shipped with phreeqpython, with two changes: the ion pairs of Na+, K+ and NH4+ are
switched off (log K -30), for they pull certified buffers up to 0.15 off their certified values; and organic
acids, which it lacks, are added with the constants of seed_data. Its inorganic constants stay its own. Charged
species take Davies coefficients, or, with `own_coefficients`, the ion sizes that phreeqc.dat gives them.
"""

import re
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from prep.chemistry.acid_base import equilibrium
from prep.chemistry.acid_base.species import Component, ConjugateSystem, system

PAIRS = ("NaOH", "NaCO3-", "NaHCO3", "NaSO4-", "NaHPO4-", "NaF", "KSO4-", "KHPO4-", "NH4SO4-")
ORGANIC = ("acetate", "formate", "citrate", "phthalate", "tartrate", "oxalate", "tris", "glycine", "succinate")
ELEMENT = {
    "Na+": "Na",
    "K+": "K",
    "Cl-": "Cl",
    "NO3-": "N(5)",
    "Br-": "Br",
    "sulfate": "S(6)",
    "phosphate": "P",
    "carbonate": "C(4)",
    "borate": "B",
    "ammonia": "N(-3)",
} | {key: f"X{chr(ord('a') + i)}" for i, key in enumerate(ORGANIC)}


class Judge:
    """PHREEQC with the adapted database; the same totals in, its pH out."""

    def __init__(self, *, own_coefficients: bool = False) -> None:
        import phreeqpython

        shipped = Path(phreeqpython.__file__).parent / "database" / "phreeqc.dat"
        text = _adapted(shipped.read_text(encoding="utf-8", errors="replace"), own_coefficients)
        with tempfile.TemporaryDirectory() as folder:
            (Path(folder) / "adapted.dat").write_text(text, encoding="utf-8")
            self._phreeqc: Any = phreeqpython.PhreeqPython("adapted.dat", Path(folder))

    def ph(self, components: Sequence[Component], temperature_c: float = 25.0) -> float:
        """pH of the mixture at fixed totals, H+ by charge balance."""
        made = equilibrium.mixture_of(components)
        totals = {ELEMENT[k]: amount for k, amount in (*made.ions.items(), *made.systems.items()) if amount}
        solution = self._phreeqc.add_solution({"units": "mol/kgw", "pH": "7 charge", "temp": temperature_c, **totals})
        # An element that the database lacks is dropped without a word: see that every one was taken.
        found = {name.split("(")[0] for name in solution.elements}
        assert {name.split("(")[0] for name in totals} <= found, (totals, found)
        ph = float(solution.pH)
        solution.forget()
        return ph


def _adapted(shipped: str, own_coefficients: bool) -> str:
    lines, inside, made = [], False, ""
    for line in shipped.splitlines():
        text = line.split("#")[0].strip()
        if re.fullmatch(r"[A-Z_]{5,}", text):
            inside = text == "SOLUTION_SPECIES"
        elif inside and "=" in text and not text.startswith("-"):
            made = re.split(r"\s\+\s", text.split("=")[1].strip())[0]
        elif inside and made in PAIRS and re.match(r"-?(log_k|delta_h|analytic)", text):
            line = "\tlog_k -30" if "log_k" in text else ""
        elif inside and not own_coefficients and text.startswith("-gamma"):
            line = ""
        lines.append(line)
    added = "\n".join([*_masters(), "SOLUTION_SPECIES", *(_reactions(key) for key in ORGANIC)])
    return "\n".join(lines).replace("\nPHASES", f"\n{added}\nPHASES", 1)


def _masters() -> list[str]:
    return ["SOLUTION_MASTER_SPECIES", *(f"{ELEMENT[key]} {_form(key, 0)} 0 100 100" for key in ORGANIC)]


def _reactions(key: str) -> str:
    found = system(key)
    base = _form(key, 0)
    lines, log_k = [f"{base} = {base}\n log_k 0"], 0.0
    for protons, step in enumerate(reversed(found.steps), start=1):
        log_k += step.pka
        kilojoules = sum(s.dh_kj_mol or 0.0 for s in found.steps[len(found.steps) - protons :])
        lines.append(f"{base} + {protons}H+ = {_form(key, protons)}\n log_k {log_k:.4f}\n delta_h {-kilojoules} kJ")
    return "\n".join(lines)


def _form(key: str, protons: int) -> str:
    charge = _base_charge(system(key)) + protons
    sign = "" if charge == 0 else f"{'+' if charge > 0 else '-'}{abs(charge) if abs(charge) > 1 else ''}"
    return f"{'' if not protons else 'H' if protons == 1 else f'H{protons}'}{ELEMENT[key]}{sign}"


def _base_charge(of: ConjugateSystem) -> int:
    return of.top_charge - len(of.steps)
