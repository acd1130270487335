"""Hazards for a person: typed mixtures, labels of everything, the sample school's shelves, waste, limits, dates."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.dates import DoneOn
from prep.errors import PrepError, Refused
from prep.planning.model import Bottle, Demo, Leftover, Need
from prep.resources import seed_data
from prep.safety.clp.classify import classify
from prep.safety.clp.composition import component_of
from prep.safety.peroxides import DatedBottle
from prep.safety.solution_hazards import known_or_not, reagents_of
from prep.services.bookings import bookings, groups
from prep.services.bookings.requests import BookingChange, BookingRequest
from prep.services.catalogue import table_import
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.demos import safety_notes
from prep.services.files.imports import ImportFile
from prep.services.inventory import init, session
from prep.services.making import make
from prep.services.plan import plan
from prep.services.safety import hazards, item_facts, peroxides, school_rules, storage, waste
from prep.services.safety.batch_hazards import in_a_line
from prep.services.stock import changes, listing
from prep.services.stock.labels import label_of, labels
from prep.services.stocktake import report as stocktake_report
from prep.services.stocktake import stocktake
from prep.store.jobs import peroxide_tests
from tests.databases import made_once, snapshot_of, sql
from tests.days import act, done_on

TODAY = date(2027, 1, 11)
PLANTED = {"W9N4", "D6D6", "Q8F9", "G9D8", "F9B9"}
"""Bottles that seed_data/school/README.md says stand wrong."""


@pytest.fixture
def sample(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The sample school, in the inventory that services use without a file of their own."""
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    made_once(url, "sample_school", lambda: init.init(None, "Ada", TODAY, seed_data() / "school", ""))


# Classifying what is typed ------------------------------------------------------------------------------


# Specific limits of hydrochloric acid and sodium hydroxide: CLP, Annex VI Part 3 Table 3.
@pytest.mark.parametrize(
    ("typed", "words", "signal"),
    [
        (["hydrochloric acid 9.99 % w/w"], "not classified", ""),
        (["7647-01-0 10 % w/w"], "Skin Irrit. 2 H315; Eye Irrit. 2 H319; STOT SE 3 H335", "Warning"),
        (["HCl 25 % w/w"], "Skin Corr. 1B H314; STOT SE 3 H335", "Danger"),
        (["sodium hydroxide 0.49 % w/w"], "not classified", ""),
        (["NaOH 0.5 % w/w"], "Skin Irrit. 2 H315; Eye Irrit. 2 H319", "Warning"),
        (["NaOH 2 % w/w"], "Skin Corr. 1B H314", "Danger"),
        (["NaOH 5 % w/w"], "Skin Corr. 1A H314", "Danger"),
        (["sodium hydroxide"], "Skin Corr. 1A H314", "Danger"),
        (["hcl-2"], "not classified", ""),
    ],
)
def test_what_is_typed_is_classified(typed: list[str], words: str, signal: str) -> None:
    found = hazards.classify_typed(typed).hazards
    assert (found.in_words, found.signal) == (words, signal)


def test_moles_per_litre_are_counted_by_the_density_table() -> None:
    found = hazards.classify_typed(["hydrochloric acid 3 mol/L"])
    assert float(found.components[0].pct) == pytest.approx(10.42, abs=0.01)
    assert any("density" in reason.text for reason in found.hazards.reasoning)


@pytest.mark.parametrize("typed", ["acetic acid -5 % w/w", "NaOH (-1 mol/L)", "ethanol −5 %"])
def test_a_negative_strength_is_refused_as_such(typed: str) -> None:
    with pytest.raises(PrepError, match="negative strength"):
        hazards.classify_typed([typed])
    assert hazards.classify_typed(["copper sulfate - 0.5 mol/L"]).hazards  # a dash, not a sign


def test_several_components_are_one_mixture() -> None:
    found = hazards.classify_typed(["NaOH 1 % w/w", "KOH 1 % w/w"], density="1.02 g/mL")
    assert found.hazards.in_words.startswith("Skin Corr.")  # each alone irritates: 1/2 + 1/2 of the limits
    assert len(found.components) == 2


@pytest.mark.parametrize("typed", ["0.5 mol/L", "0.5 M", "0.5 molar", "2 % w/v"])
def test_a_mixture_of_strengths_by_volume_says_whose_density_was_used(typed: str) -> None:
    found = hazards.classify_typed([f"NaOH {typed}", "KOH 1 % w/w"])
    assert any("alone in water" in note for note in found.hazards.notes)
    by_mass = hazards.classify_typed(["NaOH 2 % w/w", "KOH 1 % w/w"])
    assert not any("alone in water" in note for note in by_mass.hazards.notes)


def test_in_a_mixture_the_rest_may_dissolve_more_than_water_does() -> None:
    found = hazards.classify_typed(["iodine 0.05 mol/L", "potassium iodide 0.1 mol/L"])
    # 0.05 mol/L x 253.81 g/mol = 12.69 g/L, of which plain water at 20 C holds 0.29 g
    assert [round(float(one.pct), 3) for one in found.components] == [
        1.271,  # at water's 0.99821 g/mL, the least that it can have
        1.643,
    ]  # KI: 16.6 g/L at 1.0103 g/mL by Laliberte (2009)
    assert "taken as dissolved by the rest of the mixture" in found.hazards.reasoning[0].text
    with pytest.raises(PrepError, match="more than dissolves"):
        hazards.classify_typed(["iodine 0.05 mol/L"])
    plain = hazards.classify_typed(["hydrochloric acid 2 mol/L", "sodium chloride 1 mol/L"])
    assert not any("taken as dissolved" in one.text for one in plain.hazards.reasoning)


# A mixture is classified by the % of what is in it, dissolved or not: Regulation (EC) No 1272/2008, Annex I, 1.1.3.
@pytest.mark.parametrize(
    ("text", "code"),
    [("calcium hydroxide 20 % w/w", "H318"), ("potassium permanganate 100 % w/w", "H272"), ("iodine 50 % w/w", "H332")],
)
def test_a_slurry_or_a_solid_is_classified_and_says_so(text: str, code: str) -> None:
    found = hazards.classify_typed([text])
    assert code in {one.h_code for one in found.hazards.classes}
    assert any("slurry or a damp solid" in note for note in found.hazards.notes)
    with pytest.raises(PrepError, match="more than dissolves"):
        hazards.classify_typed([f"{text.rpartition(' % ')[0].rpartition(' ')[0]} 5 mol/L"])


def test_a_mixture_of_solids_says_what_must_not_meet() -> None:
    powder = ["potassium nitrate 75 % w/w", "charcoal 15 % w/w", "sulfur 10 % w/w"]
    assert any("never ground together" in line.text for line in hazards.classify_typed(powder).must_not_meet)
    wet = ["potassium nitrate 1 % w/w", "sulfur 1 % w/w"]
    assert not hazards.classify_typed(wet).must_not_meet


@pytest.mark.parametrize(
    ("cas", "said"), [("7647-01-1", "is no CAS number"), ("9999-99-8", "is no CAS number"), ("64-02-8", "no substance")]
)
def test_a_slip_in_a_cas_number_is_told_from_one_not_on_file(cas: str, said: str) -> None:
    # The last figure is the sum of the others, each times its place from the right, modulo 10: CAS Registry.
    with pytest.raises(PrepError, match=said):
        hazards.classify_typed([f"{cas} 3 mol/L"])


def test_nothing_flashes_above_its_boiling_point() -> None:
    with pytest.raises(PrepError, match="cannot be"):
        hazards.classify_typed(["ethanol 20 % w/w"], flash_point="90", boiling_point="50")


def test_without_a_density_the_percentage_errs_upward_and_says_so() -> None:
    found = hazards.classify_typed(["potassium chlorate 0.3 mol/L"])
    assert float(found.components[0].pct) == pytest.approx(3.683, abs=0.001)  # 36.76 g/L / 9.9821
    assert any("overstated" in reason.source + reason.text for reason in found.hazards.reasoning)
    light = hazards.classify_typed(["butan-2-ol 1 mol/L"]).components[0]
    assert light.pct > hazards.classify_typed(["butan-2-ol 1 mol/L"], density="0.99 g/mL").components[0].pct


def test_no_hazard_data_is_not_known_and_never_harmless() -> None:
    substances = read_catalogue(seed_data()).substances
    dye = replace(substances["phenol-red"], classification="")
    found = hazards.of_substance(dye)
    assert not found.known
    assert in_a_line(found) == "Not known: no hazard data for Phenol red: treat as hazardous."
    parts = [component_of(dye, Decimal(1)), component_of(substances["sodium-hydroxide"], Decimal(2))]
    mixed = in_a_line(classify(parts))
    assert mixed.startswith("Danger: H314")
    assert "Otherwise not known: no hazard data for Phenol red" in mixed


def test_every_shipped_substance_is_classified_or_not_classified_for_a_reason() -> None:
    for one in read_catalogue(seed_data()).substances.values():
        assert one.classification, one.code
        assert one.sources["hazard"], one.code


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["unobtainium 3 mol/L"], "no substance on file"),
        (["HCl 300 mol/L"], "impossible"),
        (["HCl 3"], "needs a name"),
        (["HCl 30 % w/w", "acetic acid 80 % w/w"], "add up to 110"),
        ([""], "Name what"),
        ([], "Name what"),
    ],
)
def test_what_cannot_be_classified_is_a_sentence(typed: list[str], said: str) -> None:
    with pytest.raises(PrepError, match=said):
        hazards.classify_typed(typed)


def test_composition_that_cannot_be_worked_out_is_not_known(catalogue: OnFile) -> None:
    card = replace(catalogue.solutions["nacl-0.1"], code="x", solute="moonshine", made_from=())
    found = known_or_not(card, catalogue)
    assert found.unknown == (card.name,)
    assert "moonshine" in found.reasoning[0].text


# Labels -------------------------------------------------------------------------------------------------


def test_every_solution_and_substance_has_a_label(catalogue: OnFile) -> None:
    for code in (*catalogue.solutions, *catalogue.substances):
        label = label_of(code, catalogue)
        found = hazards.of_item(code, catalogue)
        assert label.name, code
        assert label.hazard_known == found.known
        assert label.check == found.check_before_relying
        assert label.signal == found.signal
        assert bool(label.h_statements) >= bool(found.classes)
        if label.signal:
            assert label.pictograms or not set(found.classes), code


def test_name_and_strength_stand_side_by_side(catalogue: OnFile) -> None:
    def said(code: str) -> tuple[str, str]:
        label = label_of(code, catalogue)
        return label.name, label.strength

    assert said("hcl-2") == ("Hydrochloric acid", "2 mol/L")
    assert said("h2o2-20vol") == ("Hydrogen peroxide", "20 vol")
    assert said("hydrochloric-acid") == ("Hydrochloric acid, 36 %", "")
    assert said("benedict")[1] == ""
    assert said("limewater") == ("Limewater, saturated calcium hydroxide", "")
    assert said("vanadate-0.05") == ("Ammonium vanadate, 0.05 mol/L in acid", "")


@pytest.mark.usefixtures("sample")
def test_a_label_says_what_the_ledger_has() -> None:
    concentrate, made = labels(None, ["K6G7", "R6M3"])
    assert concentrate.bottle == "K6G7"
    assert concentrate.pictograms == ("GHS05", "GHS07")
    assert any(str(h).startswith("H314 Causes severe skin burns") for h in concentrate.h_statements)
    assert made.strength == "0.985 mol/L (found)"
    assert made.keeping == "in plastic"
    assert made.school == "Wendlemoor School (invented)"
    assert made.use_by is not None
    assert made.made_on == date(2027, 1, 6)
    assert (made.amount, made.notes[0]) == ("1 L", "NaOH")
    assert concentrate.amount == "120 mL"


@pytest.mark.usefixtures("sample")
def test_a_former_of_peroxides_says_so() -> None:
    (ether,) = labels(None, ["M3N2"])
    assert any("peroxides" in note for note in ether.notes)


@pytest.mark.usefixtures("sample")
@pytest.mark.parametrize(
    ("codes", "job", "said"), [(["Z8N4"], None, "discarded"), ([], None, "Name"), ([], 99, "no job")]
)
def test_no_label_is_a_sentence(codes: list[str], job: int | None, said: str) -> None:
    with pytest.raises(PrepError, match=said):
        labels(None, codes, job)


@pytest.mark.usefixtures("sample")
def test_labels_of_what_a_job_filled() -> None:
    made = make.log(None, make.MakeRequest("hno3-1", "500 mL", location="DIL", bottles=2), act("Ada", TODAY))
    found = labels(None, [], made.job)
    assert [one.bottle for one in found] == [one.code for one in made.bottles]
    assert {one.made_by for one in found} == {"Ada"}
    assert {one.use_by for one in found} == {TODAY + timedelta(days=365)}
    assert len(labels(None, [], 1)) == 256  # the opening, less what is discarded


@pytest.mark.usefixtures("sample")
def test_one_solution_has_one_class_everywhere() -> None:
    """Typed, on file, on its label, on a sheet, in a make, in a plan, in a count."""
    code, danger = "naoh-1", "Skin Corr. 1B H314"
    with session.reading(None) as connection:
        from prep.store import queries

        substances, solutions = queries.substances(connection), queries.solutions(connection)
    assert hazards.classify_typed([code]).hazards.in_words == danger
    assert hazards.classify_typed(["sodium hydroxide 1 mol/L"]).hazards.in_words == danger
    assert known_or_not(solutions[code], Catalogue(substances, solutions)).in_words == danger
    assert item_facts.hazards(code, Catalogue(substances, solutions)) == (danger,)
    label = label_of(code, Catalogue(substances, solutions))
    assert (label.signal, label.pictograms) == ("Danger", ("GHS05",))
    card = safety_notes.notes_of(Demo("d", "D", (Need(code, 10**8),)), Catalogue(substances, solutions))
    assert card.on_the_bench[0].text.endswith("Danger: Causes severe skin burns and eye damage.")
    batch = make.instructions(None, code, "100 mL", None, TODAY).batch
    assert batch.hazards is not None
    assert batch.hazards.h == ("H314",)
    assert any("goggles" in line for line in batch.cautions)
    (reagent,) = reagents_of([code], Catalogue(substances, solutions))
    assert reagent.classification == danger
    groups = {group.name for group in storage.groups_of(code, Catalogue(substances, solutions))}
    assert "base_caustic" in groups
    # A concentrate counts at its own strength, not by its entry.
    for item in ("hydrogen-peroxide", "ammonia"):
        words = hazards.of_item(item, Catalogue(substances, solutions)).in_words
        assert "; ".join(item_facts.hazards(item, Catalogue(substances, solutions)) or ()) == words


# Shelves ------------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("sample")
def test_the_storage_report_finds_what_was_planted_and_nothing_else() -> None:
    found = storage.storage(None)
    apart = [one for one in found if one.severity == "act"]
    named = {code for code in PLANTED if any(f"({code}" in one.message or f" {code})" in one.message for one in apart)}
    assert named == PLANTED
    for one in apart:
        assert any(code in one.message for code in PLANTED), one.message
        assert any(code in one.cure for code in PLANTED), one.cure
        assert one.source
    trays = [one for one in found if one.severity != "act"]
    assert {one.about for one in trays} == {"ACID", "OXID"}  # concentrated acids; nitrite beside ammonium nitrate
    assert {one.code for one in trays} == {"own-tray"}
    assert [one.severity for one in found] == ["act"] * len(apart) + ["note"] * len(trays)


@pytest.mark.usefixtures("sample")
@pytest.mark.parametrize(
    ("bottle", "to"), [("W9N4", "OXID"), ("D6D6", "SINK"), ("Q8F9", "ALK"), ("G9D8", "ORG"), ("F9B9", "METAL")]
)
def test_the_move_proposed_is_to_where_its_like_stand(bottle: str, to: str) -> None:
    cures = {one.cure for one in storage.storage(None) if f"Move {bottle} " in one.cure}
    assert len(cures) == 1
    assert cures.pop().endswith(f"to {to}.")


@pytest.mark.usefixtures("sample")
def test_the_proposed_moves_mend_it() -> None:
    for bottle, to in (("W9N4", "OXID"), ("D6D6", "SINK"), ("Q8F9", "ALK"), ("G9D8", "ORG"), ("F9B9", "METAL")):
        changes.move(None, bottle, to, act("Ada", TODAY))
    assert not [one for one in storage.storage(None) if one.severity == "act"]


def test_what_neutralised_the_rest_is_what_counts(catalogue: OnFile) -> None:
    groups = {g.name for g in storage.groups_of("vanadate-0.05", catalogue)}
    assert "base_caustic" not in groups
    assert "acid_inorganic_nonoxidising" in groups


# Dates --------------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("sample")
def test_what_is_due() -> None:
    found = {(one.code, one.about) for one in peroxides.whats_due(None, TODAY, 14)}
    assert {("peroxide-discard", "B4N8"), ("out-of-date", "P6D9"), ("out-of-date", "N6D4")} <= found
    assert ("peroxide-test", "G7P2") in found
    assert ("peroxide-test", "G7P2") not in {(f.code, f.about) for f in peroxides.whats_due(None, TODAY, 5)}
    with pytest.raises(PrepError, match="--within"):
        peroxides.whats_due(None, TODAY, -1)


@pytest.mark.usefixtures("sample")
def test_a_test_on_record_moves_the_date() -> None:
    peroxides.tested(None, "g7p2", "below 10 ppm", "Ada", done_on(TODAY))
    assert not [one for one in peroxides.whats_due(None, TODAY, 30) if one.about == "G7P2"]
    peroxides.tested(None, "G7P2", "", "Ada", done_on(TODAY))
    peroxides.withdraw(None, "G7P2", "Ada", done_on(TODAY))  # the second; the first still counts
    assert not [one for one in peroxides.whats_due(None, TODAY, 30) if one.about == "G7P2"]
    peroxides.withdraw(None, "G7P2", "Ada", done_on(TODAY))
    assert [one for one in peroxides.whats_due(None, TODAY, 30) if one.about == "G7P2"]
    with pytest.raises(PrepError, match="No test of bottle G7P2"):
        peroxides.withdraw(None, "G7P2", "Ada", done_on(TODAY))
    for bottle, on, said in (
        ("K6G7", TODAY, "no peroxide former"),
        ("G7P2", TODAY + timedelta(days=1), "still to come"),
        ("G7P2", date(2026, 1, 1), "before bottle G7P2 was opened"),
    ):
        with pytest.raises(PrepError, match=said):
            peroxides.tested(None, bottle, "", "Ada", DoneOn(on, TODAY))


@pytest.mark.usefixtures("sample")
def test_what_was_found_is_never_read_as_taking_back() -> None:
    peroxides.tested(None, "G7P2", "record withdrawn", "Ada", done_on(TODAY))
    peroxides.tested(None, "G7P2", "peroxide test withdrawn", "Ada", done_on(TODAY))
    with session.reading(None) as connection:
        assert peroxide_tests.last_days(connection) == {"G7P2": TODAY}
    peroxides.withdraw(None, "G7P2", "Ada", done_on(TODAY))
    peroxides.withdraw(None, "G7P2", "Ada", done_on(TODAY))
    with session.reading(None) as connection:
        assert peroxide_tests.last_days(connection) == {}


@pytest.mark.usefixtures("sample")
def test_the_count_and_the_list_of_what_is_due_agree(url: str) -> None:
    """A test on record counts in both, and so does a bottle without any date."""
    late = date(2027, 1, 25)
    stocktake.open_count(None, None, False, act("Ada", TODAY))

    def both() -> tuple[set[str], set[str]]:
        report = stocktake_report.of_count(None, None, late, TODAY).says
        due = {f.about for f in peroxides.whats_due(None, late, 0) if f.code.startswith("peroxide-")}
        return {one.books.bottle for one in report.tests_due}, due

    reported, due = both()
    assert reported == due
    assert {"G7P2", "B4N8"} <= due
    peroxides.tested(None, "G7P2", "below 10 ppm", "Ada", done_on(TODAY))
    sql(url, "UPDATE bottle SET received = NULL, opened = NULL WHERE code = 'G7P2'")
    reported, due = both()
    assert reported == due
    assert "G7P2" in due  # it has no date now
    sql(url, "UPDATE bottle SET opened = '2026-07-25' WHERE code = 'G7P2'")
    reported, due = both()
    assert reported == due
    assert "G7P2" not in due


@pytest.mark.usefixtures("sample")
def test_a_hazard_word_that_is_none_is_a_finding_and_stops_nothing_else(url: str) -> None:
    """Such words are refused at the door; an older file may still hold them."""
    before = peroxides.whats_due(None, TODAY, 30)
    sql(
        url,
        "UPDATE substance SET peroxide_class = 'Z' WHERE code = (SELECT item FROM bottle WHERE code = 'G7P2')",
        "UPDATE substance SET storage_group = 'sticky' WHERE code = 'glucose'",
        "UPDATE substance SET classification = 'Nasty 9 H999' WHERE code = 'hydrochloric-acid'",
    )
    found = {one.code: one for one in peroxides.whats_due(None, TODAY, 30) if one.about == "G7P2"}
    assert list(found) == ["peroxide-class"]
    assert len(peroxides.whats_due(None, TODAY, 30)) >= len(before) - 1
    drawn = plan.plan(None, None, "2027-02-26", None, TODAY)
    assert drawn.plan.batches
    (said,) = [one for one in drawn.plan.findings if one.about == "G7P2"]
    assert "'Z', which is none of A, B, C, D" in said.message
    assert not [take for line in drawn.plan.bottles if line.code == "G7P2" for take in line.takes]
    unknown = [one.message for one in storage.storage(None) if one.code == "not-known"]
    assert any("has the storage group 'sticky', which is none" in message for message in unknown)
    assert any("has the classification 'Nasty 9 H999', which cannot be read" in message for message in unknown)
    assert safety_notes.demo_notes(None, "thiosulfate-rate")


@pytest.mark.usefixtures("sample")
def test_a_former_of_peroxides_serves_only_until_its_test() -> None:
    for today, status, use_by in (
        (TODAY, "in service", date(2027, 1, 21)),
        (date(2027, 1, 21), "in service", date(2027, 1, 21)),
        (date(2027, 1, 22), "quarantine", date(2027, 7, 25)),
    ):
        snapshot = snapshot_of(None, today)
        bottle = {one.code: one for one in snapshot.bottles}["G7P2"]
        assert (bottle.status, bottle.use_by) == (status, use_by)
    noticed = {one.about: one for one in snapshot.noticed}
    assert "does not use it" in noticed["G7P2"].message
    assert "B4N8" in noticed


@pytest.mark.usefixtures("sample")
def test_a_make_opens_what_it_takes_from() -> None:
    made = make.log(None, make.MakeRequest("nacl-0.1", "1 L", "nacl-5", location="PREP"), act("Ada", TODAY))
    source = made.instructions.batch.takes[0].ref
    assert listing.show(None, source).bottle.opened == TODAY
    assert listing.show(None, made.bottles[0].code).bottle.opened is None
    changes.undo(None, made.job, act("Ada", TODAY))
    assert listing.show(None, source).bottle.opened is None


def test_without_any_date_it_is_put_aside() -> None:
    bottle = Bottle("X", "diethyl-ether", 1)
    undated = peroxides._guarded(bottle, DatedBottle("X", "Diethyl ether", peroxide_class="B"), TODAY)
    assert undated.status == "quarantine"


@pytest.mark.usefixtures("sample")
def test_the_plan_serves_nothing_out_of_date_or_untested() -> None:
    drawn = plan.plan(None, None, "2027-02-26", None, TODAY)
    good = {one.code: one for one in drawn.snapshot.bottles}
    taken = {line.code: line for line in drawn.plan.bottles if line.takes}
    assert not {"B4N8", "P6D9", "N6D4", "X2J6", "Z8N4"} & set(taken)
    for code, line in taken.items():
        assert good[code].status == "in service"
        assert all(line.use_by is None or take.on <= line.use_by for take in line.takes)
    assert any(one.about == "B4N8" and "does not use it" in one.message for one in drawn.plan.findings)
    (soon,) = [one for one in drawn.plan.findings if one.about == "G7P2" and one.code == "peroxide-test"]
    assert "does not use it after that day" in soon.message
    assert soon.cure.endswith("prep safety tested G7P2")


# Waste and cards ----------------------------------------------------------------------------------------


def test_what_neutralises_the_waste_is_computed(catalogue: OnFile) -> None:
    demo = catalogue.demos["blue-bottle"]
    found = waste.waste_of(demo, 2, catalogue)
    (stream,) = found.streams
    assert stream.neutralising is not None
    # 300 mL of 0.5 mol/L a showing, a tenth more put out
    assert float(stream.neutralising.base_mol) == pytest.approx(2 * 0.3 * 0.5 * 1.1, rel=1e-3)
    first = stream.neutralising.choices[0]
    assert first.name == "citric acid"
    assert first.mol == stream.neutralising.base_mol / 3


def test_alkali_that_goes_elsewhere_takes_nothing_off_the_acid_to_neutralise(catalogue: OnFile) -> None:
    leftovers = (Leftover("spent silver", "silver"), Leftover("acid", "neutralise"))  # a stream of its own
    demo = replace(catalogue.demos["silver-mirror"], leftovers=leftovers)
    found = waste.waste_of(demo, 2, catalogue)
    (acid,) = [one.neutralising for one in found.streams if one.neutralising]
    moles = waste.moles_of(demo, 2, catalogue)
    assert acid.acid_mol == pytest.approx(moles["nitric-acid"])
    assert acid.base_mol == 0


def test_a_demo_of_ones_own_is_worked_out_from_its_needs(catalogue: OnFile) -> None:
    own = Demo("own", "Own", (Need("hcl-1", 10**8), Need("agno3-0.1", 10**7), Need("moon-dust", 10**6)))
    found = waste.waste_of(replace(own, needs=own.needs[:2]), 1, catalogue)
    assert {one.stream for one in found.streams} == {"neutralise", "silver"}
    assert all("what reacts is not followed" in what for one in found.streams for what in one.what)
    (unknown,) = waste._from_needs(replace(own, needs=own.needs[2:]), catalogue)
    assert unknown.stream == "specialist"
    assert "nothing is known" in unknown.note


def test_a_demo_of_ones_own_says_what_neutralises_it_and_drops_of_indicator_go_with_it(catalogue: OnFile) -> None:
    needs = (Need("hcl-1", 10**8), Need("phenolphthalein-0.1", 10**5, drops=3), Need("lugol", 10**7))
    found = waste.waste_of(Demo("own", "Own", needs), 1, catalogue)
    by_stream = {one.stream: one for one in found.streams}
    assert set(by_stream) == {"neutralise", "oxidising"}
    sour = by_stream["neutralise"].neutralising
    assert sour is not None
    assert float(sour.acid_mol) == pytest.approx(0.1, rel=0.11)  # 100 mL of 1 mol/L and what is to spare


@pytest.mark.parametrize(
    ("item", "due"),
    [
        ("benedict", "heavy metals"),
        ("fehling", "heavy metals"),
        ("tollens", "silver"),
        ("kmno4-acid", "oxidising"),
        ("phenolphthalein-0.1", "flammable"),
        ("hydrogencarbonate-indicator", "drain"),
        ("buffer-4.7", "neutralise"),
    ],
)
def test_a_mixture_goes_the_way_of_what_is_worst_in_it(catalogue: OnFile, item: str, due: str) -> None:
    """Common practice, no source: metals before acids, solvents before salts."""
    assert item_facts.stream(item, catalogue) == due


def test_what_is_left_is_counted_by_the_assay_and_beside_what_has_no_formula(catalogue: OnFile) -> None:
    lime = catalogue.substances["calcium-hydroxide"]
    own = Demo("own", "Own", (Need(lime.code, 74_093_000), Need("pepsin-1", 10**9)), spare=Decimal(0))
    moles = waste.moles_of(own, 1, catalogue)
    assert lime.assay_pct is not None
    assert float(moles["calcium-hydroxide"]) == pytest.approx(float(lime.assay_pct) / 100, rel=1e-4)  # 74.093 g/mol
    assert float(moles["hydrochloric-acid"]) == pytest.approx(0.1, rel=1e-3)  # pepsin in a litre of 0.1 mol/L acid


def test_a_metal_that_reacts_with_water_counts_as_its_hydroxide(catalogue: OnFile) -> None:
    demo = catalogue.demos["calcium-water"]
    found = waste.waste_of(demo, 1, catalogue)
    (lime,) = [one.neutralising for one in found.streams if one.neutralising]
    moles = waste.moles_of(demo, 1, catalogue)
    assert lime.base_mol == pytest.approx(2 * moles["calcium"])


def test_every_demo_has_a_card_and_its_waste(catalogue: OnFile) -> None:
    for demo in catalogue.demos.values():
        card = safety_notes.notes_of(demo, catalogue)
        assert len(card.on_the_bench) == len([need for need in demo.needs if need.item != "water"])
        assert card.protection
        found = waste.waste_of(demo, 1, catalogue)
        assert {one.stream for one in found.streams} == {one.stream for one in demo.leftovers}
        for stream in found.streams:
            assert (stream.neutralising is not None) == (stream.stream == "neutralise")


@pytest.mark.usefixtures("sample")
def test_waste_of_a_booking_is_for_its_showings() -> None:
    booked = next(one for one in bookings.list_bookings(None) if one.showings > 1)
    found = waste.waste(None, booked.code.lower(), None)
    assert (found.demo.code, found.showings) == (booked.demo, booked.showings)
    assert waste.waste(None, booked.demo, None).showings == 1
    with pytest.raises(PrepError, match="no demo"):
        waste.waste(None, "moon-landing", None)


# The school's own limits ---------------------------------------------------------------------------------


@pytest.mark.usefixtures("sample")
def test_a_booking_that_breaks_a_limit_is_refused() -> None:
    school_rules.add(
        None, school_rules.RuleRequest("sodium-hydroxide", "0.3 mol/L", "L1", "", "young pupils"), act("Ada", TODAY)
    )
    with pytest.raises(Refused, match=r"above the school's 0.3 mol/L in L1 \(young pupils\)"):
        bookings.add(None, BookingRequest("blue-bottle", date(2027, 1, 20), 1, "2", "L1", "A"), act("Ada", TODAY))
    made = bookings.add(
        None, BookingRequest("blue-bottle", date(2027, 1, 20), 1, "2", "L2", "A"), act("Ada", TODAY)
    ).booking
    with pytest.raises(Refused, match="Nothing was changed"):
        bookings.change(None, made.code, BookingChange(room="L1"), act("Ada", TODAY))
    school_rules.remove(None, 2, act("Ada", TODAY))  # the first is the sample's own
    bookings.change(None, made.code, BookingChange(room="L1"), act("Ada", TODAY))
    # A rule made later stops the plan's booking, not the plan.
    school_rules.add(None, school_rules.RuleRequest("sodium-hydroxide", "0.3 mol/L", "L1", "", ""), act("Ada", TODAY))
    drawn = plan.plan(None, None, "2027-02-26", None, TODAY)
    assert not [one for one in drawn.plan.requirements if one.booking == made.code]
    stops = [one for one in drawn.plan.findings if one.about == made.code]
    assert [(one.severity, one.code) for one in stops] == [("stop", "too-strong")]
    assert stops[0].cure == "Use 0.3 mol/L or weaker."


@pytest.mark.usefixtures("sample")
def test_limits_for_an_age_group() -> None:
    school_rules.add(None, school_rules.RuleRequest("glucose", None, "", "year 8", ""), act("Ada", TODAY))
    with pytest.raises(Refused, match="the school bars D-Glucose for Year 8"):
        bookings.add(None, BookingRequest("blue-bottle", date(2027, 1, 20), group="year 8"), act("Ada", TODAY))
    groups.add(None, "Year 12", ["Y12"], act("Ada", TODAY))
    older = bookings.add(None, BookingRequest("blue-bottle", date(2027, 1, 20), group="y12"), act("Ada", TODAY)).booking
    school_rules.add(None, school_rules.RuleRequest("glucose", None, "", "year 12", ""), act("Ada", TODAY))
    assert not [r for r in plan.plan(None, None, None, 4, TODAY).plan.requirements if r.booking == older.code]


@pytest.mark.usefixtures("sample")
def test_the_plan_leaves_out_a_demonstration_that_is_barred() -> None:
    made = bookings.add(None, BookingRequest("blue-bottle", date(2027, 1, 20), room="L1"), act("Ada", TODAY)).booking
    assert [r for r in plan.plan(None, None, "2027-02-26", None, TODAY).plan.requirements if r.booking == made.code]
    school_rules.add(None, school_rules.RuleRequest("blue-bottle", room="L1"), act("Ada", TODAY))
    drawn = plan.plan(None, None, "2027-02-26", None, TODAY).plan
    assert not [r for r in drawn.requirements if r.booking == made.code]
    assert [one.code for one in drawn.findings if one.about == made.code] == ["barred"]


@pytest.mark.usefixtures("sample")
def test_what_is_barred_is_not_made_even_inside_a_recipe() -> None:
    school_rules.add(
        None, school_rules.RuleRequest("potassium dichromate", None, "", "", "county policy"), act("Ada", TODAY)
    )
    with pytest.raises(Refused, match=r"bars Potassium dichromate in .*\(county policy\)"):
        make.instructions(None, "dichromate-acid", "100 mL", None, TODAY)
    with pytest.raises(Refused, match="county policy"):
        make.log(None, make.MakeRequest("dichromate-acid", "100 mL"), act("Ada", TODAY))
    assert make.instructions(None, "hno3-1", "100 mL", None, TODAY).batch.steps


@pytest.mark.usefixtures("sample")
def test_a_limit_is_not_slipped_by_another_hydrate(tmp_path: Path) -> None:
    """10 % w/v of CuSO4 is 0.627 mol/L, also when it is made from the pentahydrate."""
    card = tmp_path / "cards.csv"
    card.write_text(
        "code,name,solute,strength,strength_of,shelf_life_days,made_from\n"
        "blue-10,Blue,copper-sulfate,10 % w/v,CuSO4,99,copper-sulfate-5-water\n",
        encoding="utf-8",
    )
    table_import.import_solutions(None, ImportFile(card), None, act("Ada", TODAY))
    school_rules.add(None, school_rules.RuleRequest("copper-sulfate", "0.5 mol/L", "", "", ""), act("Ada", TODAY))
    with pytest.raises(Refused, match=r"at about 0\.627 mol/L is above the school's 0\.5 mol/L"):
        make.instructions(None, "blue-10", "100 mL", None, TODAY)


@pytest.mark.usefixtures("sample")
def test_limits_that_are_none_are_sentences() -> None:
    for item, at_most, said in (
        ("nothing", None, "neither a substance nor a solution"),
        ("glucose", "strong", "strength|number"),
        ("glucose", "saturated", "figure"),
    ):
        with pytest.raises(PrepError, match=said):
            school_rules.add(None, school_rules.RuleRequest(item, at_most, "", "", ""), act("Ada", TODAY))
    school_rules.add(None, school_rules.RuleRequest("glucose", None, "", "", ""), act("Ada", TODAY))
    with pytest.raises(PrepError, match="there already"):
        school_rules.add(None, school_rules.RuleRequest("glucose", None, "", "", ""), act("Ada", TODAY))
    with pytest.raises(PrepError, match="no rule 3"):
        school_rules.remove(None, 3, act("Ada", TODAY))
    assert [one.name for one in school_rules.rules(None)] == ["Sugar and concentrated sulfuric acid", "D-Glucose"]


# Cautions of a make -------------------------------------------------------------------------------------


@pytest.mark.usefixtures("sample")
def test_a_dilution_of_a_dilute_stock_needs_no_fume_cupboard() -> None:
    batch = make.instructions(None, "hcl-0.1", "1 L", "hcl-1", TODAY).batch
    assert batch.cautions == ("Wear eye protection.",)
    assert batch.hazards is not None
    assert batch.hazards.says == "Not classified as hazardous."


@pytest.mark.usefixtures("sample")
@pytest.mark.parametrize(
    ("solution", "source", "wanted"),
    [
        ("hcl-2", "hydrochloric-acid", ("goggles", "acid to the water", "fume cupboard")),
        ("h2so4-2", "sulfuric-acid", ("goggles", "acid to the water", "gives off much heat", "cold water")),
        ("hno3-2", "nitric-acid", ("goggles", "acid to the water", "fume cupboard")),
    ],
)
def test_the_sheet_of_an_acid_from_concentrate(solution: str, source: str, wanted: tuple[str, ...]) -> None:
    batch = make.instructions(None, solution, "500 mL", source, TODAY).batch
    said = " / ".join(batch.cautions)
    for words in wanted:
        assert words in said
    steps = " / ".join(step.text for step in batch.steps)
    assert steps.index("water") < steps.index("acid, ")  # the water is there before the acid
    assert "room temperature" in steps
    assert "Label it" in steps


@pytest.mark.usefixtures("sample")
def test_what_a_make_lacks_is_minded_too() -> None:
    changes.discard(None, ["K6G7"], "", act("Ada", TODAY))
    lacking = make.instructions(None, "hcl-2", "500 mL", "hydrochloric-acid", TODAY)
    assert lacking.missing
    assert any("fume cupboard" in one for one in lacking.batch.cautions)


@pytest.mark.usefixtures("sample")
def test_every_batch_of_the_plan_says_its_hazards() -> None:
    drawn = plan.plan(None, None, "2027-02-26", None, TODAY).cautioned()
    assert drawn.plan.batches
    for batch in drawn.plan.batches:
        assert batch.hazards is not None
        assert batch.cautions
        if not batch.hazards.known:
            assert "ot known" in batch.hazards.says
            assert "harmless" not in batch.hazards.says
    foam = [one for one in drawn.plan.batches if one.solution == "washing-foam"]
    assert foam
    assert foam[0].hazards is not None
    assert foam[0].hazards.h == ("H319",)
    assert foam[0].hazards.check_before_relying


def test_moles_count_what_is_in_the_bottle(catalogue: OnFile) -> None:
    moles = waste.moles_of(
        Demo("own", "Own", (Need("hydrochloric-acid", 100 * 10**6),), spare=Decimal(0)), 1, catalogue
    )
    # 100 mL of 36 % w/w at 1.1791 g/mL; HCl 36.46 g/mol: CRC Handbook
    assert {*moles} == {"hydrochloric-acid"}
    assert float(moles["hydrochloric-acid"]) == pytest.approx(100 * 1.1791 * 0.36 / 36.46, rel=0.01)


@pytest.mark.usefixtures("inventory")
def test_what_is_bought_later_is_looked_after_too() -> None:
    assert (
        school_rules.add(
            None, school_rules.RuleRequest("sodium-hydroxide", "1 mol/L", "L1", "", ""), act("Ada", TODAY)
        ).number
        == 1
    )
    assert school_rules.remove(None, 1, act("Ada", TODAY)).rule.room == "L1"
    assert school_rules.rules(None) == []
    assert not [one for one in storage.storage(None) if one.severity == "act"]
    assert not peroxides.whats_due(None, TODAY, 5)
    (label,) = labels(None, ["AC1"])
    assert label.signal == "Danger"
    assert {one.bottle for one in labels(None, [], 1)} == {"AC1", "NA1", "HC1"}
    (ether,) = changes.receive(
        None, changes.Receipt("diethyl-ether", "100 mL", 1, "ACID", None, "", ""), act("Ada", TODAY)
    )
    changes.use(None, ether.code, "10 mL", "", act("Ada", TODAY))
    later = TODAY + timedelta(days=200)
    assert [one.about for one in peroxides.whats_due(None, later, 0) if one.code == "peroxide-test"] == [ether.code]
    assert {one.code: one.status for one in snapshot_of(None, later).bottles}[ether.code] == "quarantine"
    peroxides.tested(None, ether.code, "", "Ada", done_on(later))
    assert {one.code: one.status for one in snapshot_of(None, later).bottles}[ether.code] == "in service"
