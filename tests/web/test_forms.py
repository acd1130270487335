"""What a form says of what was typed, to somebody who has no command line."""

import pytest

from prep.chemistry.typed_number import points
from prep.errors import PrepError
from prep.web.forms import Field, TypedForm, WebForm, in_words
from prep.wording import AtTerminal, Flag, Sentence


@pytest.mark.parametrize(
    ("sentence", "said"),
    [
        (
            Sentence("B1 is done on that day.", AtTerminal(" If it was earlier: prep book move B1 --to 2027-01-11")),
            "B1 is done on that day.",
        ),
        (
            Sentence('"x" is no demo on file', AtTerminal("; see: prep demo list"), ". Near: blue-bottle"),
            '"x" is no demo on file. Near: blue-bottle.',
        ),
        (
            Sentence("Only where allowed. ", AtTerminal("First: prep book allow B1; or", "Or"), " cancel the booking."),
            "Only where allowed. Or cancel the booking.",
        ),
        (
            Sentence("Have it emptied", AtTerminal(" (prep waste empty W1)"), ", or open another."),
            "Have it emptied, or open another.",
        ),
        (Sentence("It is full; give it with ", Flag("--pack"), "."), "It is full; give it with “pack”."),
        (Sentence(Flag("--minutes-per-day"), " is a number."), "“minutes per day” is a number."),
        ("0.5 mol/L of it; 3 things", "0.5 mol/L of it; 3 things."),
    ],
)
def test_a_sentence_without_what_is_typed_at_a_terminal(sentence: str, said: str) -> None:
    assert in_words(sentence) == said


def test_a_required_field_that_is_empty_is_named_before_all_else() -> None:
    form = WebForm("/x", (Field("a", "What", required=True), Field("b", "Day", option="--on", value="odd")), "Do it")
    problem = PrepError(Flag("--on"), ' "odd" is no date.')
    assert [f.error for f in form.wrong(problem).fields] == ["Fill in “What”.", ""]
    filled = form.filled({"a": ["salt"], "b": ["odd"]})
    assert [f.error for f in filled.wrong(problem).fields] == ["", '“Day” "odd" is no date.']


@pytest.mark.parametrize(
    ("sentence", "said"),
    [
        (Sentence("It is short.", AtTerminal(" -> ", " "), "Have some sent."), "It is short. Have some sent."),
        (
            Sentence("Say with ", Flag("--at"), " where Urea is put", AtTerminal(": one of PREP, DOOR, ACID"), "."),
            "Say with “Where” where Urea is put.",
        ),
        (
            "B1 is booked for 2027-01-12; it is done on that day.",
            "B1 is booked for Tue 12 Jan 2027; it is done on that day.",
        ),
        ("Write a day such as 2027-01-12.", "Write a day such as 2027-01-12."),
        (
            Sentence("Else it can be served from 2027-01-21 on", AtTerminal(": prep book move B12 --to DATE", ".")),
            "Else it can be served from Thu 21 Jan 2027 on.",
        ),
    ],
)
def test_a_sentence_in_the_page_s_words(sentence: str, said: str) -> None:
    assert in_words(sentence, (Field("location", "Where", option="--at"),)) == said


@pytest.mark.parametrize(
    ("typed", "amount"),
    [
        ("252,2", "252.2 g"),
        ("0,5", "0.5 g"),
        ("0,250 g", "0.250 g"),
        ("12,34 mg", "12.34 mg"),
        ("1.250 g", "1.250 g"),
        ("250", "250 g"),
        ("", None),
    ],
)
def test_a_decimal_comma_of_a_telephone_s_keypad_is_read(typed: str, amount: str | None) -> None:
    assert TypedForm({"got": [typed]}).amount("got", "g") == amount


@pytest.mark.parametrize("typed", ["1,250", "25,000 mL"])
def test_a_comma_that_may_divide_thousands_is_refused_at_its_field(typed: str) -> None:
    form = WebForm("/", (Field("note", "Note", value="x"), Field("got", "Took", value=typed)), "Go")
    with pytest.raises(PrepError, match="may be") as problem:
        TypedForm({"got": [typed]}).amount("got", "g")
    assert "may be" in form.wrong(problem.value).fields[1].error


@pytest.mark.parametrize(
    ("typed", "packs"),
    [
        ("2,5 L, 1 L", ["2.5 L", "1 L"]),
        ("500 g,1 kg", ["500 g", "1 kg"]),
        ("0,5 kg; 1 kg", ["0.5 kg", "1 kg"]),
        ("500 g, 1,25 kg,", ["500 g", "1.25 kg"]),
        ("500,1000 g", ["500", "1000 g"]),
        ("", []),
    ],
)
def test_a_comma_divides_packs_or_is_a_decimal_one(typed: str, packs: list[str]) -> None:
    assert TypedForm({"packs": [typed]}).amounts("packs") == packs


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("25,5 mL of hydrochloric acid 0,1 M, fresh", "25.5 mL of hydrochloric acid 0.1 M, fresh"),
        ("2 x 12,5 mL of NaOH 0,5 mol/L", "2 x 12.5 mL of NaOH 0.5 mol/L"),
        ("ethanoic acid 0,1 M from dropper until pH 8,3, stays 2,5 mL", None),
        ("1,5 g of 1,2-dihydroxybenzene", "1.5 g of 1,2-dihydroxybenzene"),
        ("0,5 mL of butane-2,3-dione 1,5 %", "0.5 mL of butane-2,3-dione 1.5 %"),
    ],
)
def test_decimal_commas_in_a_line_of_words_and_none_in_a_name(typed: str, read: str | None) -> None:
    assert points(typed) == (read or "ethanoic acid 0.1 M from dropper until pH 8.3, stays 2.5 mL")


def test_a_comma_in_a_line_of_words_that_may_divide_thousands_is_refused() -> None:
    with pytest.raises(PrepError, match=r"1\.250 or 1250"):
        points("1,250 mL of limewater")
