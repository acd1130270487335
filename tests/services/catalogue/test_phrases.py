"""The names on the labels, lists and orders of a prep room, each with what it is; spelling variants agree.

The names are those of the trade and of the IUPAC rules (Red Book 2005, Blue Book 2013); the lists are invented.
"""

from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.chemistry.naming import read_name
from prep.errors import PrepError
from prep.services.calc.weighing import molar_mass_of
from prep.services.catalogue.names import candidates, choose_item, choose_with_cas, find_item
from prep.services.catalogue.on_file import OnFile

SAID = """
copper-sulfate-5-water: copper sulfate pentahydrate; copper(II) sulphate 5-hydrate; CuSO4.5H2O;
 CuSO4 x 5H2O; 7758-99-8;
 Copper Sulphate (5H2O);
 cupric sulfate 5-water; Copper (II) Sulphate, hydrated; copper sulphate; Copper sulfate crystals
copper-sulfate: copper sulfate anhydrous; anhyd. copper(II) sulphate; 7758-98-7; CuSO4
sodium-hydroxide: caustic soda; Sodium hydroxide, pellets; NaOH pellets; sodium hydroxide AR 98%
buffer-10-ammonia: pH 10 ammonia buffer; ammonia buffer pH 10.0
buffer-9.2: buffer pH 9.2; borax buffer
buffer-4: pH 4 buffer; pH 4.01 calibration buffer; buffer 4.00; KHP buffer
buffer-7: phosphate buffer pH 7; buffer 7; phosphate buffer
buffer-10: pH 10 buffer; bicarbonate buffer
buffer-10-ammonia: ammonia buffer; hardness buffer; pH 10 buffer for EDTA titration; NH3/NH4Cl buffer
buffer-4.7: acetate buffer; 0.1 M acetate buffer pH 4.7
mcilvaine-5: McIlvaine buffer pH 5; citrate buffer pH 5
nutrient-agar: agar plates; nutrient agar plates
phenolphthalein: phenolphtalein; phenophthalein
bromothymol-blue: bromthymol blue
sulfuric-acid: sulfric acid; sulphuirc acid; c. H2SO4
sodium-chloride: sodium clhoride; sodum chloride
nacl-5: brine
methylene-blue-0.1: methylene blue stain
feso4-0.1: freshly prepared iron(II) sulphate solution
ethanol-70: 70% alcohol
buffer-1: buffer pH 1; pH 1 buffer solution
sodium-carbonate-10-water: washing soda; soda crystals
hydrogen-peroxide: 100 vols hydrogen peroxide
methanol: Methanol (HPLC grade)
ethanol-denatured: IDA; industrial denatured alcohol; IMS 99%; methylated spirits 95 %
butan-1-ol: n-butanol
cornflour: corn starch; cornstarch
potassium-iodide: CAS 7681-11-0; CAS No. 7681-11-0; CAS-No: 7681-11-0; KI(s); K I
sucrose: sugar, caster; caster sugar; icing sugar
ammonium-oxalate-1-water: di-ammonium oxalate
iron-ii-sulfate-7-water: iron(2+) sulfate; iron 2 sulphate
calcium-nitrate-4-water: Ca(NO3)2; calcium nitrate
barium-hydroxide-8-water: Ba(OH)2
calcium-chloride: calcium chloride, fused
potassium-dichromate: bichromate of potash; potassium bichromate
potassium-hexacyanoferrate-ii-3-water: yellow prussiate of potash
potassium-hexacyanoferrate-iii: red prussiate of potash
lead-acetate-3-water: sugar of lead
boric-acid: boracic acid
iron-filings: Iron filings fine; iron filings (coarse)
calcium-carbonate: Marble chips (large); marble chips, small
sucrose: sugar cubes; cane sugar; sugar
potassium-nitrate: saltpetre; saltpeter; nitre
carbon: charcoal powder; activated charcoal; wood charcoal
sodium-hydrogencarbonate: bicarb; sodium bicarb;
 sodium bicarbonate; bicarbonate of soda; sodium hydrogen carbonate; baking soda;
 sodium hydrogentrioxocarbonate(IV)
sodium-hypochlorite: bleach; sodium hypochlorite; sodium chlorate(I) solution
hydrochloric-acid: conc HCl; Conc. HCl; Hydrochloric acid conc.; Acid, hydrochloric, conc.; hydrochloric acid 36%;
 muriatic acid;
 12 M HCl; hydrochloric acid, concentrated (s.g. 1.18)
hydrochloric-acid-32: hydrochloric acid 32 %
acetic-acid: glacial acetic; glacial acetic acid; Ethanoic acid (glacial); acetic acid, glacial; glacial ethanoic acid
ammonia-880: 0.880; .880; 880; .880 ammonia; 0.880 ammonia; ammonia 0.880; Ammonia solution (s.g. 0.88); 880 ammonia;
 Ammonia solution 35%
hydrogen-peroxide: 100 vol peroxide; hydrogen peroxide 100vol; 100 volume hydrogen peroxide; Hydrogen peroxide 30%
h2o2-10vol: hydrogen peroxide 3 %
h2o2-20vol: 6% hydrogen peroxide; 6 % H2O2; 20 vol peroxide; hydrogen peroxide 20 vol; peroxide 20 volumes
sulfuric-acid: Sulphuric acid, concentrated; conc. sulfuric acid 98%; sulphuric(VI) acid; tetraoxosulphate(VI) acid;
 oil of vitriol; conc sulphuric; conc. sulfuric;
 18 M sulphuric acid
nitric-acid: Nitric acid 70%; nitric acid 68-70 %; conc nitric acid
zinc-granules: Zinc, granulated; granulated zinc; zinc granules; Zinc
zinc-powder: zinc dust; Zinc powder; powdered zinc
fehling-a: Fehling's A; Fehlings solution A; Fehling's solution A
benedict: Benedict's; Benedicts reagent; Benedict's solution
potassium-permanganate: Potassium manganate(VII); potassium permanganate; KMnO4; potassium tetraoxomanganate(VII);
 permanganate
potassium-dichromate: potassium dichromate(VI); Potassium Dichromate; dichromate
sodium-thiosulfate-5-water: sodium thiosulphate; hypo; Sodium thiosulfate-5-water; sodium thiosulfate pentahydrate;
 thiosulphate
sodium-carbonate: sodium carbonate; soda ash; anhydrous sodium carbonate; Na2CO3
sodium-carbonate-10-water: washing soda; sodium carbonate 10-hydrate; sodium carbonate decahydrate
iron-iii-chloride-6-water: ferric chloride; iron(III) chloride; iron chloride hexahydrate;
 Iron (III) chloride, 6-hydrate
iron-ii-sulfate-7-water: ferrous sulphate; Iron(II) sulphate-7-water; iron sulfate; green vitriol
ammonium-iron-ii-sulfate-6-water: ammonium ferrous sulphate; iron(II) ammonium sulfate; Mohr's salt
lead-nitrate: lead nitrate; lead(II) nitrate; plumbous nitrate
magnesium-sulfate-7-water: Epsom salts; Epsom salt; magnesium sulphate; magnesium sulfate heptahydrate
calcium-carbonate: marble chips; Calcium carbonate (marble chips); chalk; calcium carbonate, powder
sodium-chloride: common salt; table salt; Sodium chloride, fine
ethanol-96: ethanol; Ethanol 96%; ethyl alcohol; rectified spirit
ethanol-absolute: absolute ethanol; ethanol, absolute; absolute alcohol
ethanol-denatured: IMS; industrial methylated spirit; methylated spirits
acetone: propanone; Propanone (acetone); acetone
propan-2-ol: isopropanol; IPA; isopropyl alcohol; 2-propanol
aluminium-foil: Aluminum foil; aluminium foil
potassium-hexacyanoferrate-iii: potassium ferricyanide; Potassium hexacyanoferrate(III);
 potassium hexacyanidoferrate(III)
disodium-edta-2-water: EDTA; EDTA disodium salt; disodium EDTA; EDTA, disodium salt, dihydrate
disodium-hydrogen-phosphate: di-sodium hydrogen orthophosphate anhydrous; sodium phosphate dibasic
aluminium-potassium-sulfate-12-water: alum; potash alum; Potassium aluminium sulphate
sulfur: sulphur, roll; flowers of sulphur; sulfur powder
nacl-0.9: saline; 0.9% saline; normal saline; sodium chloride 0.9 %
tollens: Tollens' reagent; Tollens’ reagent; silver mirror reagent
red-cabbage-extract: red cabbage indicator
potassium-nitrate: saltpetre; nitre
glucose: grape sugar; dextrose
limewater: lime water; Limewater; calcium hydroxide solution
universal: universal indicator solution; Universal Indicator
naoh-1: Sodium hydroxide 1M; 1 M NaOH; sodium hydroxide solution 1 mol/dm3
"""


def phrases() -> list[tuple[str, str]]:
    """Each phrase with its code."""
    found, code = [], ""
    for line in SAID.strip().splitlines():
        if not line.startswith(" "):
            code, _, line = line.partition(": ")
        found += [(one.strip(), code) for one in line.split(";") if one.strip()]
    return found


@pytest.mark.parametrize(("said", "code"), phrases())
def test_a_phrase_is_understood(catalogue: OnFile, said: str, code: str) -> None:
    assert find_item(said, catalogue).code == code


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("copper sulfate trihydrate", "on file only as Copper(II) sulfate, anhydrous"),
        ("Magnesium turnings", "on file only as Magnesium ribbon"),
        ("zinc foil", "on file only as Zinc granules"),
        ("hexene", "neither"),  # one letter, and not hexane
        ("distilled water", "not kept in stock"),
        ("buffer", "may be buffer-1, buffer-10"),
        ("buffer solution pH 9", 'prep make --buffer "boric acid/NaOH" --ph 9 '),
        ("0.2 M phosphate buffer pH 7.0", '--ph 7.0 --to "0.2 mol/L"'),
        ("citrate buffer", "may be mcilvaine-3, mcilvaine-4"),
        ("hydrogen peroxide 25%", "on file only as Hydrogen peroxide solution, 30 %"),
        ("dil HCl", "may be hcl-0.001, hcl-0.01"),  # never the concentrate
        ("dilute sulfuric acid", "may be h2so4-0.05, h2so4-0.5"),
        ("pet ether", "may be light-petroleum-40, light-petroleum-60"),
        ("hydrochloric acid 10 %", "on file only as"),
        ("iron(III) sulfate", "neither"),
        ("sodium sulphate(IV) solution", "no solution"),
        ("iodine solution", "may be iodine-0.005, iodine-0.0"),
    ],
)
def test_what_is_another_thing_is_not_taken(catalogue: OnFile, said: str, told: str) -> None:
    if said == "sodium sulphate(IV) solution":  # sulfite, whose one solution it may be; never sulfate
        assert find_item(said, catalogue).code == "sulfite-0.1"
        return
    with pytest.raises(PrepError) as refused:
        find_item(said, catalogue)
    assert told in str(refused.value)


@pytest.mark.parametrize(
    ("said", "held", "told"),
    [
        (
            "pH 4 buffer",
            (),
            "(buffer-4), the usual one; also on file: Buffer, pH 4.0, citrate and phosphate (mcilvaine-4).",
        ),
        ("pH 4 buffer", ("mcilvaine-4",), "(mcilvaine-4), which is held; also on file: Buffer, pH 4.00"),
        ("copper sulphate", (), "(copper-sulfate-5-water), the usual one; also on file: Copper(II) sulfate, anhydrous"),
        ("sulfric acid", (), '"sulfric acid" is read as "sulfuric acid": Sulfuric acid, 98 % (sulfuric-acid).'),
        ("copper-sulfate", (), ""),
    ],
)
def test_what_was_chosen_is_said(catalogue: OnFile, said: str, held: tuple[str, ...], told: str) -> None:
    chosen = choose_item(said, catalogue, held=held).says
    assert told in chosen if told else not chosen


@pytest.mark.parametrize(
    ("name", "cas", "code"),
    [
        ("Copper sulphate", "7758-98-7", "copper-sulfate"),
        ("Copper sulphate", "7758-99-8", "copper-sulfate-5-water"),
        ("", "7647-14-5", "sodium-chloride"),
        ("A name of nobody's", "7647-14-5", "sodium-chloride"),
        ("Hydrochloric acid 32%", "7647-01-0", "hydrochloric-acid-32"),
        ("Copper sulfate pentahydrate", "7758-98-7", "copper-sulfate-5-water"),  # the anhydrous salt's, often printed
        ("Sodium chloride", "1-2-3", "sodium-chloride"),
    ],
)
def test_a_cas_number_chooses(catalogue: OnFile, name: str, cas: str, code: str) -> None:
    assert choose_with_cas(name, cas, catalogue).item.code == code


def test_a_cas_number_of_another_substance_is_asked_about(catalogue: OnFile) -> None:
    with pytest.raises(PrepError, match=r"7447-40-7 \(potassium-chloride\) are not the same"):
        choose_with_cas("Sodium chloride", "7447-40-7", catalogue)


@settings(max_examples=40)
@given(st.data())
def test_spelling_variants_agree(catalogue: OnFile, data: st.DataObject) -> None:
    """Capitals, British or American spelling, commas, hyphens, spaces and the order of words change nothing."""
    said, code = data.draw(st.sampled_from([one for one in phrases() if "." not in one[0] and "/" not in one[0]]))
    spelt = [said.replace("sulf", "sulph"), said.replace("sulph", "sulf"), f"  {said} ", said.replace(" ", "  ")]
    changed = data.draw(st.sampled_from(spelt))
    if not any(symbol in said for symbol in ("Na", "Cu", "KM", "HCl")):
        changed = data.draw(st.sampled_from([changed, changed.upper(), changed.lower(), changed.capitalize()]))
    found = {one.code for one in candidates(changed, catalogue)}
    assert code in found


@given(st.permutations(["potassium", "sodium", "tartrate"]), st.sampled_from([" ", ", ", "  "]))
def test_the_order_of_words_does_not_matter(words: list[str], between: str) -> None:
    assert read_name(between.join(words)).says_as(read_name("potassium sodium tartrate"))


@given(st.text(max_size=60))
def test_any_text_is_a_name_or_none(text: str) -> None:
    read_name(text)


@pytest.mark.parametrize(
    ("said", "codes"),
    [
        ("Zinc granules, powder, foil", {"zinc-granules", "zinc-powder"}),
        ("Aluminium foil, powder", {"aluminium-foil", "aluminium-powder"}),
        ("Magnesium ribbon, turnings, powder", {"magnesium-ribbon", "magnesium-powder"}),
        ("Copper turnings, foil, wire", {"copper-turnings"}),
        ("Calcium carbonate, marble and powder", {"calcium-carbonate"}),
        ("Iron filings, nails, steel wool", {"iron-filings"}),
        ("Light petroleum, 40-60 and 60-80", {"light-petroleum-40", "light-petroleum-60"}),
        ("Ethanol (96 % and denatured)", {"ethanol-96", "ethanol-absolute", "ethanol-denatured"}),
        ("Carbon dioxide (cylinder, dry ice)", {"carbon-dioxide"}),
        ("Potassium manganate(VII), 0.02 mol/L (titrant)", {"kmno4-0.02"}),
        ("Zinc granules, rubies", set()),
        ("Sodium chloride, 7 mol/L (titrant)", set()),
    ],
)
def test_a_name_of_several_forms_finds_each_that_is_on_file(catalogue: OnFile, said: str, codes: set[str]) -> None:
    assert {one.code for one in candidates(said, catalogue)} == codes


# The last figure is the sum of the others, each times its place from the right, modulo 10: CAS Registry. 64-02-8 is a
# true number of what is not on file.
@pytest.mark.parametrize("only", [None, "substance"])
@pytest.mark.parametrize("written", ["{}", "CAS {}", " {} "])
def test_a_slip_in_a_cas_number_is_said_wherever_an_item_is_named(
    catalogue: OnFile, only: Literal["substance"] | None, written: str
) -> None:
    with pytest.raises(PrepError, match="whose last figure checks the others"):
        choose_item(written.format("7647-01-1"), catalogue, only=only)
    with pytest.raises(PrepError, match="on file"):
        choose_item(written.format("64-02-8"), catalogue, only=only)


def test_a_slip_in_a_column_of_cas_numbers_is_not_passed_over_for_the_name(catalogue: OnFile) -> None:
    with pytest.raises(PrepError, match='"7647-14-6" is no CAS number'):
        choose_with_cas("Sodium chloride", "7647-14-6", catalogue)
    for no_number in ("n/a", "mixture", "64-02-8"):
        assert choose_with_cas("Sodium chloride", no_number, catalogue).item.code == "sodium-chloride"


def test_the_molar_mass_of_a_cas_number_tells_a_slip_from_what_is_not_on_file() -> None:
    with pytest.raises(PrepError, match="whose last figure checks the others"):
        molar_mass_of("7647-14-6")
    with pytest.raises(PrepError, match="no substance on file"):
        molar_mass_of("64-02-8")
    assert molar_mass_of("7647-14-5").document["formula"] == "NaCl"
