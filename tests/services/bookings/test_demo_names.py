"""A demo by what it is usually called: the trade's own names, and the words of its title."""

import pytest

from prep.errors import PrepError
from prep.resources import seed_data, seed_table
from prep.services.bookings.requests import find_demo_in
from prep.services.catalogue import lookup
from prep.services.catalogue.seed import read_catalogue

CATALOGUE = read_catalogue(seed_data())
DEMOS = CATALOGUE.demos


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ("Blue bottle", "blue-bottle"),
        ("the blue bottle experiment", "blue-bottle"),
        ("elephant's toothpaste", "foam-column"),
        ("Elephants toothpaste", "foam-column"),
        ("Flame tests", "flame-colours"),
        ("silver mirror test", "silver-mirror"),
        ("iron and sulphur", "iron-sulfur"),
        ("Thermite reaction", "thermite"),
        ("sodium in water", "alkali-metals"),
    ],
)
def test_a_demo_is_found_by_what_it_is_called(said: str, code: str) -> None:
    assert find_demo_in(DEMOS, said).code == code


def test_what_may_be_several_is_asked_and_a_word_of_a_title_is_no_demo() -> None:
    with pytest.raises(PrepError, match="may be clock-iodate, clock-peroxide"):
        find_demo_in(DEMOS, "iodine clock")
    for said in ("table", "water", "volcano", "staff meeting", ""):
        with pytest.raises(PrepError, match="no demo on file"):
            find_demo_in(DEMOS, said)


def test_every_word_for_a_demo_is_about_one_on_file_and_means_it() -> None:
    for row in seed_table("demo_words"):
        assert row["source"]
        assert find_demo_in(DEMOS, row["said"]).code == row["demo"]


@pytest.mark.parametrize(
    ("said", "near"),
    [
        ("Carbonyls tested by dinitrophenylhydrazine", "carbonyl-test"),
        ("Strong acid by titration with strong alkali", "strong-acid-titration"),
        ("Antiseptics on agar plates", "antiseptics-agar"),
        ("Zinc or aluminium with iodine", "zinc-iodine"),
    ],
)
def test_what_is_called_otherwise_is_told_by_the_words_that_it_shares(said: str, near: str) -> None:
    with pytest.raises(PrepError, match=near):
        find_demo_in(DEMOS, said)


@pytest.mark.parametrize("said", ["polystyrene vanishing", "azo dye", "a play"])
def test_what_shares_no_words_is_near_to_nothing(said: str) -> None:
    with pytest.raises(PrepError) as refused:
        find_demo_in(DEMOS, said)
    assert "Near" not in str(refused.value)


@pytest.mark.parametrize(
    ("word", "code"),
    [
        ("elephant's toothpaste", "foam-column"),  # what the trade says
        ("Le Chatelier", "cobalt-equilibrium-demo"),  # a principle
        ("phenolphthalein", "vinegar-titration"),  # an indicator
        ("marble", "marble-rate"),  # a substance by any name
    ],
)
def test_a_demo_is_listed_by_any_word(word: str, code: str) -> None:
    assert code in lookup.searched(CATALOGUE, "demo", word).codes


def test_each_shipped_demo_says_what_it_is_an_example_of() -> None:
    assert [demo.code for demo in DEMOS.values() if not demo.principle] == []
