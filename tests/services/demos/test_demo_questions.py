"""A demonstration asked for at a terminal: a slip is told at once and asked again, and nothing said is lost."""

from collections.abc import Iterator

import pytest

from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.demos.demo_file import read_text_demo
from prep.services.demos.demo_questions import AskedDemo, Conversation, ask, toml_of


@pytest.fixture(scope="module")
def catalogue() -> OnFile:
    return read_catalogue(seed_data())


def _answered(catalogue: OnFile, answers: Iterator[str]) -> tuple[AskedDemo, list[str]]:
    told: list[str] = []

    def mistake(text: str) -> str:
        return next(iter(read_text_demo(text, "", catalogue).mistakes), "")

    return ask(AskedDemo(), Conversation(lambda _: next(answers), mistake, told.append)), told


def test_each_slip_is_told_at_once_and_asked_again(catalogue: OnFile) -> None:
    answers = iter(
        [
            "Two colours", "Alkali turns it pink",
            "flask", "some hcl-0.1", "25 mL of unobtainium", "25 g of hcl-0.1", "25 mL of hcl-0.1",
            "3 drops of phenolphthalein", "3 drops phenolphthalein-0.1", "",
            "naoh-0.1 from dropper until tea-time", "naoh-0.1 from dropper until colour changed", "",
            "", "Goggles.", "salt water", "salt water=the garden", "salt water=drain", "",
        ]
    )  # fmt: skip
    asked, told = _answered(catalogue, answers)
    assert len(told) == 7
    assert told[0] == '  "some hcl-0.1": write it such as "25 mL of hcl-0.1". Once more:'
    assert [one for one in told if "--" in one] == []  # no option was typed
    assert "unobtainium" in told[1]
    assert "phenolphthalein-0.1, phenolphthalein-1" in told[3]  # a solid in drops is one of its solutions
    assert not list(answers)
    found = read_text_demo(toml_of(asked), "", catalogue)
    assert not found.mistakes
    assert found.demo
    assert [need.item for need in found.demo.needs] == ["hcl-0.1", "phenolphthalein-0.1", "naoh-0.1"]
    assert (found.demo.caution, [left.stream for left in found.demo.leftovers]) == ("Goggles.", ["drain"])


def test_what_a_demo_cannot_be_without_is_asked_again_and_not_for_ever(catalogue: OnFile) -> None:
    answers = iter(["", "Salt", "", "", "beaker", "5 g of sodium chloride", "", "", "", "", ""])
    asked, told = _answered(catalogue, answers)
    assert (asked.name, asked.contains) == ("Salt", ("beaker=5 g of sodium chloride",))
    assert [one.strip().split(".")[0] for one in told] == [
        "It cannot be put on file without a name",
        "Something must be in a vessel",
    ]
    assert not list(answers)
    nothing, told = _answered(catalogue, iter([""] * 20))
    assert (nothing.name, nothing.contains, len(told)) == ("", (), 6)


def test_a_note_in_quotes_is_kept_without_them_and_may_hold_commas() -> None:
    asked = AskedDemo(
        name="x", contains=('cup=5 mL of hcl-0.1, fresh, note "warm, not hot"', "cup=1 g of urea, note dry")
    )
    said = toml_of(asked)
    assert 'note = "warm, not hot"\nfresh = true' in said
    assert 'note = "dry"' in said
