"""Solutions of one's own: at a strength, as a buffer, by a recipe; everything by name."""

from dataclasses import replace
from pathlib import Path

import pytest

from prep.chemistry.acid_base.equilibrium import solve
from prep.chemistry.model import StepKind
from prep.errors import PrepError, Refused
from prep.planning.model import Need
from prep.planning.ph_demand import UntilReckoner
from prep.resources import seed_data
from prep.services.catalogue import lookup, own_solutions
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.own_solutions import NewSolution, ask, solution_of
from prep.services.catalogue.seed import read_catalogue
from prep.services.inventory import init
from tests.days import act
from tests.services.bookings.test_answers import DAY


@pytest.fixture(scope="module")
def on_file() -> OnFile:
    return read_catalogue(seed_data())


def test_one_substance_at_a_strength_by_any_name(on_file: OnFile) -> None:
    made = solution_of(NewSolution(of="blue vitriol", strength="0.25 M"), on_file)
    assert (made.code, made.name) == ("copper-sulfate-0.25", "Copper sulfate, 0.25 mol/L")
    assert made.made_from == ("copper-sulfate-5-water",)


@pytest.mark.parametrize(("ph", "to"), [("4.7", "0.1 mol/L"), ("5", "0.2 mol/L")])
def test_a_buffer_s_recipe_gives_its_ph(on_file: OnFile, ph: str, to: str) -> None:
    made = solution_of(NewSolution(buffer="ethanoic acid/sodium ethanoate", ph=ph, strength=to), on_file)
    assert made.purpose == "buffer"
    assert [step.kind for step in made.method_steps] == [StepKind.CHECK]
    # Computed again from the recipe's masses, by molar mass, as what 100 mL of it puts into a vessel.
    known = replace(on_file, solutions={**on_file.solutions, made.code: made})
    mixture = UntilReckoner(known).contents([Need(made.code, 100_000_000)]).mixture
    assert solve(mixture).ph == pytest.approx(float(ph), abs=0.02)


def test_a_recipe_by_names(on_file: OnFile) -> None:
    asked = NewSolution("Salt and soda", recipe=("table salt=10 g", "washing soda=5 g"), makes="500 mL", keeps=0)
    made = solution_of(asked, on_file)
    assert [(line.item, line.amount) for line in made.recipe] == [
        ("sodium-chloride", 10_000_000),
        ("sodium-carbonate-10-water", 5_000_000),
    ]
    assert (made.recipe_nl, made.made_fresh) == (500_000_000, True)


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        (NewSolution(), "Say what is in it"),
        (NewSolution(of="salt", buffer="a/b"), "Say what is in it"),
        (NewSolution(of="table salt"), "Say how strong"),
        (NewSolution(of="unobtainium", strength="1 M"), "unobtainium"),
        (NewSolution(buffer="acetic acid/sodium acetate", ph="9", strength="0.1 M"), "pH"),
        (NewSolution(buffer="acetic acid/sodium acetate", strength="0.1 M"), "needs its pH"),
        (NewSolution("X", recipe=("table salt=10 mL",), makes="1 L"), "counted by mass"),
        (NewSolution("X", recipe=("table salt",), makes="1 L"), "ITEM=AMOUNT"),
        (NewSolution(of="table salt", strength="1 M", keeping=("warm",)), "is not one of"),
        (NewSolution(of="table salt", strength="1 M", tolerance_pct="0"), "more than zero"),
        (NewSolution(of="table salt", strength="1 M", code="a b"), "is no code"),
    ],
)
def test_what_is_wrong_is_one_sentence(on_file: OnFile, asked: NewSolution, why: str) -> None:
    with pytest.raises(PrepError, match=why):
        solution_of(asked, on_file)


def test_questions_ask_for_what_is_not_said() -> None:
    answers = iter(["acetic acid/sodium acetate", "4.7", "0.1 mol/L", "", "20"])
    asked = ask(NewSolution(), lambda _: next(answers))
    assert asked == NewSolution(buffer="acetic acid/sodium acetate", ph="4.7", strength="0.1 mol/L", keeps=20)
    lines = iter(["", "borax=9.5 g", "", "1 L", "Borax water", ""])
    assert ask(NewSolution(), lambda _: next(lines)) == NewSolution("Borax water", recipe=("borax=9.5 g",), makes="1 L")


@pytest.mark.on_file
def test_it_is_on_file_once(tmp_path: Path) -> None:
    path = tmp_path / "inventory.db"
    init.init(path, "Ada", DAY, None, "")
    by = act("Ada", DAY)
    asked = NewSolution(of="table salt", strength="0.3 mol/L")
    assert own_solutions.add(path, asked, by, dry_run=True).code not in lookup.known(path).solutions
    made = own_solutions.add(path, asked, by)
    assert lookup.known(path).solutions[made.code] == made
    with pytest.raises(Refused, match="on file already"):
        own_solutions.add(path, asked, by)
    with pytest.raises(Refused, match=r"as hcl-0\.1; for one more"):
        own_solutions.add(path, NewSolution(of="HCl", strength="0.1 mol/L"), by)


@pytest.mark.parametrize(
    ("pair", "held", "codes"),
    [
        ("acetic acid/sodium acetate", (), ["acetic-acid", "sodium-acetate-3-water"]),
        ("citrate", (), ["citric-acid-1-water", "trisodium-citrate-2-water"]),
        ("acetic acid/sodium acetate", ("sodium-acetate",), ["acetic-acid", "sodium-acetate"]),
    ],
)
def test_a_buffer_is_of_what_is_held_else_of_what_is_sold(pair: str, held: tuple[str, ...], codes: list[str]) -> None:
    on_file = replace(read_catalogue(seed_data()), held=frozenset(held))
    made = solution_of(NewSolution(buffer=pair, ph="5", strength="0.1 mol/L"), on_file)
    assert [line.item for line in made.recipe] == codes


def test_a_pair_of_two_salts_gets_a_name_that_a_label_holds(on_file: OnFile) -> None:
    pair = "sodium dihydrogen phosphate/disodium hydrogen phosphate"
    made = solution_of(NewSolution(buffer=pair, ph="6.9", strength="0.1 mol/L"), on_file)
    assert made.name == "Buffer, pH 6.9, NaH2PO4.2H2O and Na2HPO4, 0.1 mol/L"
    short = solution_of(NewSolution(buffer="citric acid/trisodium citrate", ph="5", strength="0.1 M"), on_file)
    assert short.name == "Buffer, pH 5, citric acid and trisodium citrate, 0.1 mol/L"
