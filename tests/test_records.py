"""Records that are frozen to the type checker alone."""

from dataclasses import dataclass, replace

from prep.records import record


@record(frozen=True, slots=True)
class Pair:
    """Two figures."""

    one: int
    other: int = 0


@record(frozen=True, slots=True)
class NamedDropper:
    """A figure that is known by its name."""

    name: str
    figure: int

    def __hash__(self) -> int:
        return 7


@dataclass(frozen=True, slots=True)
class Frozen:
    """Two figures, frozen at run time too."""

    one: int
    other: int = 0


def test_a_record_is_compared_and_hashed_as_a_frozen_dataclass() -> None:
    assert Pair(1) == Pair(1, 0) != replace(Pair(1), other=2)
    assert hash(Pair(1, 2)) == hash(Frozen(1, 2))
    assert len({Pair(1), Pair(1), Pair(2)}) == 2


def test_a_hash_of_its_own_stays() -> None:
    assert hash(NamedDropper("a", 1)) == 7
