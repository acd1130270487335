"""What a form says of what was typed, to somebody who has no command line."""

import pytest

from prep.errors import PrepError
from prep.web.forms import Field, TypedForm, WebForm, in_words, points


@pytest.mark.parametrize(
    ("sentence", "said"),
    [
        (
            "B1 is done on that day or after. If it was shown earlier: prep book move B1 --to 2027-01-11",
            "B1 is done on that day or after.",
        ),
        (
            '"x" is no demo on file; see: prep demo list. Near: blue-bottle',
            '"x" is no demo on file. Near: blue-bottle.',
        ),
        (
            "N6D4 is past. Dispose of it: prep stock discard N6D4; if its label is wrong: prep stock correct N6D4",
            "N6D4 is past. Dispose of it.",
        ),
        (
            "Only where allowed. Before anything is made: prep book allow B1; or cancel the booking.",
            "Only where allowed. Or cancel the booking.",
        ),
        ("It does not go in. Have it emptied (prep waste empty W1), or open another.", None),
        ("the prep room is full; give it with --pack.", "The prep room is full; give it with “pack”."),
        ("0.5 mol/L of it; 3 things", "0.5 mol/L of it; 3 things."),
    ],
)
def test_a_sentence_without_what_is_typed_at_a_terminal(sentence: str, said: str | None) -> None:
    assert in_words(sentence) == (said or "It does not go in. Have it emptied, or open another.")


def test_a_required_field_that_is_empty_is_named_before_all_else() -> None:
    form = WebForm("/x", (Field("a", "What", required=True), Field("b", "Day", option="--on", value="odd")), "Do it")
    wrong = form.wrong(PrepError('--on "odd" is no date.'))
    assert [f.error for f in wrong.fields] == ["Fill in “What”.", ""]
    assert [
        f.error for f in form.filled({"a": ["salt"], "b": ["odd"]}).wrong(PrepError('--on "odd" is no date.')).fields
    ] == [
        "",
        '“Day” "odd" is no date.',
    ]


@pytest.mark.parametrize(
    ("sentence", "said"),
    [
        ("It is short. -> Have some from another school.", "It is short. Have some from another school."),
        ("Say with --at where Urea is put: one of PREP, DOOR, ACID.", "Say with “Where” where Urea is put."),
        (
            "Say with --at where Urea is put: it stands at A and B; there are A, B, C.",
            "Say with “Where” where Urea is put.",
        ),
        (
            "B1 is booked for 2027-01-12; it is done on that day.",
            "B1 is booked for Tue 12 Jan 2027; it is done on that day.",
        ),
        (
            "Say it. Where such things usually go is set once: prep usual --help",
            "Say it. The office sets where such things usually go, under Settings.",
        ),
        ("Write a day such as 2027-01-12.", "Write a day such as 2027-01-12."),
        (
            "Hasten the order. Else it can be served from 2027-01-21 on: prep book move B12 --to DATE",
            "Hasten the order. Else it can be served from Thu 21 Jan 2027 on.",
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
