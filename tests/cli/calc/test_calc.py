"""Every `prep calc` command: published figures, the keys of its document, its working, and what it refuses."""

import subprocess
import sys
from types import SimpleNamespace

import pytest
import typer

from prep.cli.main import build
from prep.cli.plain_parameters import _Plain
from tests.cli.conftest import Run

pytestmark = pytest.mark.on_file

COMMANDS = {
    "dilute": (("--from", "12.0 mol/L", "--to", "0.1 mol/L", "--volume", "2 L"), {"take", "solvent"}),
    "dissolve": (("--formula", "CuSO4.5H2O", "--to", "0.5 mol/L", "--volume", "250 mL"), {"mass"}),
    "strength": (("37 % w/w", "--of", "hydrochloric acid", "--in", "mol/L"), {"strength", "density"}),
    "blend": (("100 mL of 2 mol/L", "300 mL of 0.5 mol/L"), {"volume", "strength"}),
    "alcohol": (("--from", "96 % v/v", "--to", "70 % v/v", "--volume", "1 L"), {"take", "water", "contraction"}),
    "ph": (("acetic acid 0.1 mol/L", "sodium acetate 0.1 mol/L"), {"ph", "ionic_strength", "model", "valid"}),
    "buffer": (
        ("acetic acid/sodium acetate", "--ph", "4.7", "--to", "0.1 mol/L", "--volume", "1 L"),
        {"ingredients", "ph", "capacity"},
    ),
    "endpoint": (
        ("--dish", "20 mL", "--of", "acetic acid 0.8 mol/L", "--add", "NaOH 1 mol/L", "--ph", "8.3"),
        {"volume", "drops", "curve"},
    ),
    "indicator": (("thymol blue", "--ph", "3"), {"name", "changes", "colour"}),
    "mass": (("CuSO4.5H2O",), {"molar_mass"}),
    "titrate": (
        ("--sample", "25 mL", "--of", "NaOH", "--with", "HCl 0.1 mol/L", "--titres", "24.65, 24.70 mL"),
        {"strength", "titre", "set_aside", "indicator"},
    ),
    "equivalence": (("--sample", "25 mL of HCl 0.1 M", "--with", "NaOH 0.1 M"), {"volume", "indicator"}),
    "serial": (("--from", "1 mol/L", "--steps", "2"), {"steps"}),
    "standards": (("--from", "1 g/L", "--to", "0.1 g/L"), {"standards"}),
    "gas": (("magnesium 0.12 g", "50 mL of HCl 1 mol/L"), {"volume", "limiting"}),
}


def _words(out: str) -> str:
    """Read what was printed as one line, however it was wrapped."""
    return " ".join(out.split())


def test_every_command_of_the_group_is_tried() -> None:
    group = typer.main.get_command(build()).commands["calc"]  # type: ignore[attr-defined]
    assert COMMANDS.keys() == group.commands.keys()


@pytest.mark.parametrize("command", COMMANDS)
def test_each_says_its_keys_and_its_working(prep: Run, command: str) -> None:
    arguments, keys = COMMANDS[command]
    asked = prep("calc", command, *arguments, "--json")
    assert asked.code == 0, asked.err
    assert keys <= asked.json.keys()
    assert asked.json["working"]
    read = prep("calc", command, *arguments)
    assert "Working:" in read.out
    assert asked.json["working"][0]["text"] in _words(read.out)
    assert max(map(len, read.out.splitlines())) <= 80


def test_an_indicator_without_a_pkin_has_no_working_from_one(prep: Run) -> None:
    asked = prep("calc", "indicator", "universal indicator", "--ph", "7")
    assert "at pH 7: green" in asked.out
    assert "10^(" not in asked.out
    assert prep("calc", "indicator", "litmus", "--ph", "7", "--json").json["at"][0]["share_high"] is None
    outside = _words(prep("calc", "indicator", "indigo carmine", "--ph", "12.2").out)  # pKin 11.22, change 11.4 to 13
    assert "half at 12.2, the middle of its range, as pKin is not within it," in outside
    assert "half at 7.3 = 1/(1 + 10^(7.3 - 6.8)) = 0.240" in _words(prep("calc", "indicator", "BTB", "--ph", "6.8").out)


def test_a_concentrate_on_file_is_diluted_by_its_density_on_file(prep: Run) -> None:
    want = ("--of", "hydrogen peroxide", "--to", "20 vol", "--volume", "1 L")
    asked = prep("calc", "dilute", "--from", "30 % w/w", *want)
    assert asked.code == 0, asked.err
    # 30 % x 1.11 g/mL / 34.015 g/mol = 9.790 mol/L, 109.7 volumes at 22.414 L/mol: 20 / 109.7 L
    assert asked.out.startswith("Take 182.3 mL")
    assert "Hydrogen peroxide solution, 30 %: " in asked.out  # whose density it is
    other = prep("calc", "dilute", "--from", "25 % w/w", *want)
    # 25 % x 1.0928 g/mL by Laliberte's model / 34.015 g/mol = 8.032 mol/L, 90.01 volumes
    assert other.out.startswith("Take 222.2 mL")
    # A table that covers it still comes before the density of one bottle.
    assert "CRC" in prep("calc", "strength", "28 % w/w", "--of", "ammonia", "--in", "mol/L").out


def test_a_strength_may_count_an_element(prep: Run) -> None:
    salt = ("calc", "dissolve", "--formula", "FeSO4.7H2O", "--as", "Fe", "--volume", "1 L", "--to")
    asked = prep(*salt, "1000 ppm")
    assert asked.code == 0, asked.err
    # 1 g of Fe in 1 kg is 278.01 / 55.845 g of the salt, in a litre of 1.0008 kg (Laliberte 2009)
    assert asked.out.startswith("Weigh 4.982 g")
    assert "1000 ppm is taken by mass, mg in 1 kg of solution; here that is 1001 mg/L." in asked.out
    assert prep(*salt, "1 g/L").out.startswith("Weigh 4.978 g")
    sodium = prep("calc", "dissolve", "--formula", "Na2CO3", "--as", "Na", "--to", "0.1 mol/L", "--volume", "1 L")
    assert sodium.out.startswith("Weigh 5.299 g")  # 0.05 mol of 105.99 g/mol
    assert "differ by more than water" in prep(*salt[:5], "Cu", *salt[6:], "1 g/L").err


def test_water_is_a_portion(prep: Run) -> None:
    half = prep("calc", "blend", "100 mL of 2 mol/L", "100 mL of water", "--json").json
    assert half["strength"] == {"value": 1.0, "unit": "mol/L"}
    weak = prep("calc", "blend", "100 mL of water", "100 mL of 96 % v/v", "--of", "ethanol", "--json").json
    assert weak["volume"]["value"] == pytest.approx(193.9, abs=0.1)  # it contracts, as with 0 % v/v
    assert weak == prep("calc", "blend", "100 mL of 0 % v/v", "100 mL of 96 % v/v", "--of", "ethanol", "--json").json


def test_no_database_is_made_or_opened(prep: Run, tmp_path: object) -> None:
    from pathlib import Path

    for command, (arguments, _) in COMMANDS.items():
        assert prep("calc", command, *arguments).code == 0
    assert not list(Path(str(tmp_path)).glob("*.db"))


def test_a_dilution_does_not_wait_for_acids_and_bases() -> None:
    probe = (
        "import contextlib, sys\nfrom prep.cli.main import main\n"
        "with contextlib.suppress(SystemExit):\n"
        "    main(['calc', 'dilute', '--from', '2 mol/L', '--to', '1 mol/L', '--volume', '1 L'])\n"
        "print([m for m in sys.modules if m.rpartition('.')[2] in ('equilibrium', 'buffers', 'endpoints')])"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize(
    ("components", "ph"),
    [
        # Buck et al., Pure Appl. Chem. 74 (2002) 2169: primary standards at 25 C
        (("KHC8H4O4 0.05 mol/kg",), 4.005),
        (("KH2PO4 0.025 mol/kg", "Na2HPO4 0.025 mol/kg"), 6.865),
        (("borax 0.01 mol/kg",), 9.180),
        (("NaHCO3 0.025 mol/kg", "Na2CO3 0.025 mol/kg"), 10.012),
    ],
)
def test_calc_ph_reproduces_certified_standards(prep: Run, components: tuple[str, ...], ph: float) -> None:
    answer = prep("calc", "ph", *components, "--json").json
    assert answer["ph"] == pytest.approx(ph, abs=0.02)
    assert answer["valid"] is True
    assert answer["model"] == "Davies"
    assert answer["ionic_strength"]["unit"] == "mol/kg"


def test_textbook_figures_without_activities(prep: Run) -> None:
    """OpenStax, Chemistry 2e, section 14.7, table 14.2: 25.00 mL of 0.100 mol/L each, with 0.100 mol/L NaOH."""
    weak = ("--dish", "25 mL", "--of", "acetic acid 0.1 mol/L", "--add", "NaOH 0.1 mol/L", "--ideal", "--json")
    for ph, volume in ((4.57, 10.0), (8.72, 25.0), (12.30, 37.5)):
        # The book's pKa is 4.74: its pH is met within 0.02.
        less, more = (prep("calc", "endpoint", *weak, "--ph", ph + by).json["volume"]["value"] for by in (-0.02, 0.02))
        assert less < volume < more
    weak_acid = prep("calc", "ph", "acetic acid 0.1 mol/L", "--ideal", "--json").json
    assert weak_acid["ph"] == pytest.approx(2.87, abs=0.012)
    assert weak_acid["model"] == "ideal"


def test_a_cas_number_and_a_density_give_the_moles(prep: Run) -> None:
    answer = prep("calc", "ph", "7647-01-0 9.99 % w/w", "--json").json
    assert answer["valid"] is False
    assert "0.5" in answer["note"]
    assert any("1.0476" in line["text"] for line in answer["working"])


def test_a_buffer_says_what_to_weigh_and_how_it_holds(prep: Run) -> None:
    arguments = ("acetic acid/sodium acetate trihydrate", "--ph", "4.7", "--to", "0.1 mol/L", "--volume", "500 mL")
    answer = prep("calc", "buffer", *arguments, "--then", "5 mL of HCl 1 mol/L", "--json").json
    assert answer["ph"] == pytest.approx(4.7, abs=1e-3)
    assert sum(part["moles"]["value"] for part in answer["ingredients"]) == pytest.approx(0.05)
    assert answer["ingredients"][1]["mass"]["unit"] == "g"
    assert answer["then"]["change"] == pytest.approx(-0.01 / answer["capacity"]["value"], rel=0.05)


def test_the_drops_have_a_range_by_the_dropper(prep: Run) -> None:
    dish = ("--dish", "25 mL", "--add", "HCl 0.1 mol/L", "--ph", "2.5", "--json")
    fine = prep("calc", "endpoint", *dish, "--dropper", "fine-dropper").json["drops"]
    assert fine == prep("calc", "endpoint", *dish, "--drops-per-ml", 30).json["drops"]
    assert 23 <= fine["value"] <= 28  # common practice, no source: about 25 drops
    assert fine["fewest"] < fine["value"] < fine["most"]
    common = prep("calc", "endpoint", *dish).json
    assert common["drops"]["value"] == pytest.approx(common["volume"]["value"] * 20, abs=1)
    volumes = [point["volume"]["value"] for point in common["curve"]]
    assert volumes == sorted(volumes)


def test_an_indicator_marks_the_end_and_the_plot_fits_the_screen(prep: Run) -> None:
    arguments = ("--dish", "20 mL", "--of", "HCl 1 mol/L", "--add", "NaOH 1 mol/L", "--indicator", "phenolphthalein")
    answer = prep("calc", "endpoint", *arguments, "--json").json
    assert answer["colour_before"] == "colourless"
    assert answer["volume"]["value"] == pytest.approx(20, rel=0.001)
    assert answer["begins"]["volume"]["value"] <= answer["volume"]["value"]
    shown = prep("calc", "endpoint", *arguments).out
    drawing = shown[shown.index("\npH\n") : shown.index("Working:")].splitlines()
    assert any("O" in line for line in drawing)
    assert max(map(len, drawing)) <= 80


def test_whether_two_dishes_show_the_same_colour_at_both_ph(prep: Run) -> None:
    assert prep("calc", "indicator", "methyl orange", "--ph", "2", "--ph", "7", "--json").json["alike"] is False
    assert prep("calc", "indicator", "methyl orange", "--ph", "6", "--ph", "7", "--json").json["alike"] is True


BAD = {
    "unknown species": (("ph", "unobtainium 1 mol/L"), "unobtainium"),
    "no strength": (("ph", "HCl"), "strength"),
    "impossible strength": (("ph", "NaCl 60 % w/w"), "%"),
    "above 100": (("ph", "ethanol 110 % v/v"), "100"),
    "too hot": (("ph", "HCl 0.1 mol/L", "--temp", "90"), "60"),
    "out of reach": (
        ("buffer", "acetic acid/sodium acetate", "--ph", "9", "--to", "0.1 mol/L", "--volume", "1 L"),
        "6.14",
    ),
    "no pair": (("buffer", "NaCl/KCl", "--ph", "7", "--to", "0.1 mol/L", "--volume", "1 L"), "buffer"),
    "no volume": (
        ("buffer", "acetic acid/sodium acetate", "--ph", "4.7", "--to", "0.1 mol/L", "--volume", "0 L"),
        "zero",
    ),
    "no strength of a buffer": (
        ("buffer", "acetic acid/sodium acetate", "--ph", "4.7", "--to", "1 % w/v", "--volume", "1 L"),
        "mol/L",
    ),
    "an empty dish": (("endpoint", "--dish", "0 mL", "--add", "HCl 0.1 mol/L", "--ph", "2"), "zero"),
    "never reached": (("endpoint", "--dish", "25 mL", "--add", "HCl 0.1 mol/L", "--ph", "9"), "not reached"),
    "no end": (("endpoint", "--dish", "25 mL", "--add", "HCl 0.1 mol/L"), "--indicator"),
    "two droppers": (
        (
            "endpoint",
            "--dish",
            "1 mL",
            "--add",
            "HCl 1 mol/L",
            "--ph",
            "3",
            "--dropper",
            "dropper",
            "--drops-per-ml",
            "20",
        ),
        "once",
    ),
    "no dropper": (("endpoint", "--dish", "1 mL", "--add", "HCl 1 mol/L", "--ph", "3", "--drops-per-ml", "0"), "0"),
    "not a number": (("endpoint", "--dish", "25 mL", "--add", "HCl 0.1 mol/L", "--ph", "low"), "low"),
    "unknown indicator": (("indicator", "puce"), "puce"),
    "a pH out of range": (("indicator", "litmus", "--ph", "15"), "14"),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_is_one_sentence_and_exit_2(prep: Run, case: str) -> None:
    arguments, names = BAD[case]
    refused = prep("calc", *arguments)
    assert (refused.code, refused.out) == (2, "")
    assert len(refused.err.strip().splitlines()) == 1
    assert names in refused.err


@pytest.mark.parametrize(
    "command",
    [
        ("calc", "buffer", "acetic acid/sodium acetate", "--to", "0.1 mol/L", "--volume", "1 L"),
        ("calc", "endpoint", "--dish", "25 mL", "--of", "acetic acid 0.1 mol/L", "--add", "NaOH 0.1 mol/L"),
        ("calc", "indicator", "litmus"),
        ("safety", "classify", "HCl 1 mol/L"),
        ("make", "--buffer", "acetic acid/sodium acetate", "--to", "0.1 mol/L", "--volume", "100 mL"),
    ],
    ids=lambda command: " ".join(command[:2]),
)
def test_every_command_takes_a_ph_by_its_name(inventory: Run, command: tuple[str, ...]) -> None:
    for item, amount in (("acetic-acid", "500 mL"), ("sodium-acetate", "500 g")):
        assert inventory("stock", "receive", item, amount).code == 0
    named, bare = inventory(*command, "--ph", "pH 4.7"), inventory(*command, "--ph", "4.7")
    assert (bare.code, named) == (0, bare)
    wrong = inventory(*command, "--ph", "sour")
    assert (wrong.code, wrong.out, '"sour" is no pH; accepted is a number from' in wrong.err) == (2, "", True)


@pytest.mark.parametrize(
    ("kind", "value", "read"),
    [
        (list[str], ["a", "b"], ["a", "b"]),
        (list[str], ("a", "b"), ["a", "b"]),
        (list[int], ["100", "250"], [100, 250]),
        (int, "5", 5),
        (int, 5, 5),
        (float, "2.5", 2.5),
        (float, 20.0, 20.0),
        (str, "5", "5"),
        (bool, False, False),
    ],
)
def test_plain_text_and_figures_are_read_without_a_slow_library(kind: object, value: object, read: object) -> None:
    """They are read without the library that typer reads every other option by."""
    descriptor = SimpleNamespace(annotation=kind, parameter_info=None)
    param = SimpleNamespace(multiple=isinstance(read, list), nargs=1, type_descriptor=descriptor)
    found = _Plain().coerce(value, param, None)
    assert (found, type(found)) == (read, type(read))


@pytest.mark.parametrize(
    ("kind", "value", "info"),
    [
        (int, "five", {}),
        (int, "5.5", {}),
        (int, "-5", {}),
        (int, "\N{SUPERSCRIPT TWO}", {}),
        (float, "1e3", {}),
        (int, "5", {"min": 0}),
        (float, "5", {"max": 9}),
        (list[int], ["5", "x"], {}),
    ],
)
def test_any_other_figure_is_typers_to_read_or_to_refuse(kind: object, value: object, info: dict[str, int]) -> None:
    slow = SimpleNamespace(coerce=lambda value, **_: ("typer's", value))
    descriptor = SimpleNamespace(annotation=kind, parameter_info=SimpleNamespace(**info))
    param = SimpleNamespace(multiple=False, nargs=1, type_descriptor=descriptor, get_runtime_param=lambda: slow)
    assert _Plain().coerce(value, param, None) == ("typer's", value)
