"""Records behave as the frozen dataclasses of the standard library that they stand for, but for assignment."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import pytest

from prep.records import record


def _pair(kind: Callable[[type], type]) -> Any:
    @kind
    class Pair:
        """Two figures, a secret, and a note that counts for nothing."""

        one: int
        other: int = 0
        secret: str = field(default="x", repr=False)
        note: str = field(default="", compare=False)
        marks: tuple[int, ...] = field(default=(), hash=False)

    return Pair


def _single(kind: Callable[[type], type]) -> Any:
    @kind
    class Single:
        """One figure."""

        one: int

    return Single


def _nothing(kind: Callable[[type], type]) -> Any:
    @kind
    class Nothing:
        """No figure at all."""

    return Nothing


def _named(kind: Callable[[type], type]) -> Any:
    @kind
    class NamedDropper:
        """A figure that is known by its name alone, and says so."""

        name: str
        figure: int

        def __eq__(self, other: object) -> bool:
            return isinstance(other, NamedDropper) and self.name == other.name

        def __hash__(self) -> int:
            return 7

        def __repr__(self) -> str:
            return self.name

    return NamedDropper


SAMPLES = [
    (_pair, [(1,), (1, 0), (1, 2), (1, 2, "y"), (1, 2, "x", "said"), (1, 2, "x", "", (3,)), (1, 2, "x", "", (4,))]),
    (_single, [(1,), (2,), (1.0,)]),
    (_nothing, [(), ()]),
    (_named, [("a", 1), ("a", 2), ("b", 1)]),
]


@pytest.mark.parametrize(("make", "given"), SAMPLES, ids=lambda one: getattr(one, "__name__", ""))
@pytest.mark.parametrize("slots", [True, False])
def test_a_record_is_compared_hashed_and_shown_as_a_frozen_dataclass(make: Any, given: Any, slots: bool) -> None:
    ours, theirs = make(record(frozen=True, slots=slots)), make(dataclass(frozen=True, slots=slots))
    mine, published = [ours(*values) for values in given], [theirs(*values) for values in given]
    for at, one in enumerate(mine):
        assert hash(one) == hash(published[at])
        assert repr(one) == repr(published[at])
        assert [one == other for other in mine] == [published[at] == other for other in published]
        assert one != published[at]
    assert len(set(mine)) == len(set(published))


def test_records_of_two_classes_are_never_equal_and_no_stranger_is() -> None:
    single = _single(record(frozen=True, slots=True))
    assert single(1) != _single(record(frozen=True, slots=True))(1)
    assert single(1) != 1


def test_a_record_that_is_not_frozen_has_no_hash() -> None:
    with pytest.raises(TypeError, match="unhashable"):
        hash(_single(record(frozen=False, slots=True))(1))


def test_a_record_is_copied_with_other_values_and_has_no_room_for_more() -> None:
    pair = _pair(record(frozen=True, slots=True))
    assert replace(pair(1), other=2) == pair(1, 2)
    with pytest.raises(AttributeError):
        pair(1).third = 3


def test_a_record_without_slots_remembers_what_it_worked_out() -> None:
    @record(frozen=True, slots=False)
    class Doubled:
        """A figure and twice it."""

        one: int

        @cached_property
        def twice(self) -> int:
            return 2 * self.one

    made = Doubled(4)
    assert made.twice == 8
    assert vars(made) == {"one": 4, "twice": 8}
