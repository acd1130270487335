"""Age groups as hands write them: taken where one group alone can be meant, else refused with the list."""

import pytest

from prep.errors import PrepError
from prep.planning.age_groups import AgeGroup, group_named

SCHOOL = (AgeGroup("Year 7", ("Lower 1",)), AgeGroup("Year 8"), AgeGroup("Year 10"), AgeGroup("Staff"))


@pytest.mark.parametrize("said", ["Year 8", "year  8", "Y8", "y 8", "yr 8", "Yr8", "8", "YEAR8", "08"])
def test_a_word_and_a_number_are_shortened(said: str) -> None:
    assert group_named(said, SCHOOL) == "Year 8"


def test_the_school_s_own_spelling_comes_first() -> None:
    assert group_named("lower 1", SCHOOL) == "Year 7"
    assert group_named("8", (*SCHOOL, AgeGroup("Eights", ("8",)))) == "Eights"


@pytest.mark.parametrize("said", ["18", "9", "Y", "ear 8", "8a", "Year"])
def test_what_is_none_is_refused_with_the_list(said: str) -> None:
    with pytest.raises(PrepError, match="there are Year 7, Year 8, Year 10, Staff"):
        group_named(said, SCHOOL)


def test_what_may_be_two_is_refused() -> None:
    with pytest.raises(PrepError, match="there are Year 8, Form 8"):
        group_named("8", (AgeGroup("Year 8"), AgeGroup("Form 8")))
    assert group_named("F8", (AgeGroup("Year 8"), AgeGroup("Form 8"))) == "Form 8"
