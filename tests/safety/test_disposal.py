"""Streams, what brings leftovers to neutral, and what never meets."""

from decimal import Decimal

import pytest

from prep.chemistry.model import Substance
from prep.errors import PrepError
from prep.resources import seed_table
from prep.safety.deferral import LOCAL_RULES
from prep.safety.disposal import Leavings, LeftMoles, neutralise, never_together, streams


def test_leftovers_are_grouped_by_stream() -> None:
    found = streams(
        [
            Leavings("acid rinse", "neutralise", moles=(LeftMoles("hydrochloric-acid", Decimal("0.1")),)),
            Leavings("copper solution", "heavy metals"),
            Leavings("sulfuric acid", "neutralise", "still warm", (LeftMoles("sulfuric-acid", Decimal("0.05")),)),
        ]
    )
    assert [one.stream for one in found] == ["neutralise", "heavy metals"]
    acid = found[0].neutralising
    assert acid is not None
    assert acid.acid_mol == Decimal("0.20")
    assert found[0].what == ("acid rinse", "sulfuric acid (still warm)")
    assert found[1].neutralising is None
    assert all(one.what_to_do and one.source for one in found)
    assert "Local rules" in LOCAL_RULES


def test_the_amount_that_neutralises() -> None:
    # 0.1 mol of protons: 8.40 g of NaHCO3 (84.007 g/mol), 5.30 g of Na2CO3 (105.988 g/mol)
    found = neutralise([LeftMoles("sulfuric-acid", Decimal("0.05"))])
    masses = {one.name: one.mass_g for one in found.choices}
    assert masses["sodium hydrogencarbonate"] == pytest.approx(Decimal("8.4007"), abs=Decimal("0.001"))
    assert masses["sodium carbonate"] == pytest.approx(Decimal("5.2994"), abs=Decimal("0.001"))
    # 0.06 mol of alkali left: 0.02 mol of citric acid monohydrate (210.14 g/mol)
    alkali, acid = LeftMoles("sodium-hydroxide", Decimal("0.1")), LeftMoles("hydrochloric-acid", Decimal("0.04"))
    found = neutralise([alkali, acid])
    first = found.choices[0]
    assert (first.name, first.mol) == ("citric acid", Decimal("0.02"))
    assert first.mass_g == pytest.approx(Decimal("4.2028"), abs=Decimal("0.001"))
    assert found.working


def test_what_cancels_or_is_neutral_needs_nothing() -> None:
    pair = [LeftMoles("sodium-hydroxide", Decimal("0.1")), LeftMoles("hydrochloric-acid", Decimal("0.1"))]
    assert neutralise(pair).choices == ()
    assert neutralise([LeftMoles("sodium-chloride", Decimal(1))]).choices == ()


def test_streams_that_never_meet() -> None:
    found = never_together(
        [Leavings("permanganate", "oxidising"), Leavings("propanone", "flammable"), Leavings("x", "drain")]
    )
    assert [one.about for one in found] == ["oxidising / flammable"]
    assert "fire or explosion" in found[0].message
    assert found[0].source
    assert never_together([Leavings("a", "solid"), Leavings("b", "flammable")]) == ()


def test_nitric_acid_is_named_only_where_it_may_be() -> None:
    # EPA-600/2-80-076 (1980), compatibility chart, cells 2-4 and 2-19: oxidising acids with alcohols and ketones
    def said(*moles: LeftMoles) -> str:
        wastes = [Leavings("upper layer", "flammable"), Leavings("lower layer", "neutralise", moles=moles)]
        (one,) = never_together(wastes)
        return one.message

    assert "nitric" not in said(LeftMoles("sodium-hydroxide", Decimal("0.011")))
    assert "drain" in said(LeftMoles("sodium-hydroxide", Decimal("0.011")))
    assert "nitric" in said(LeftMoles("nitric-acid", Decimal("0.01")))
    assert "nitric" in said()


def test_a_stream_that_is_none_is_refused() -> None:
    with pytest.raises(PrepError, match="'sewer' is no waste stream"):
        streams([Leavings("x", "sewer")])


def test_every_stream_and_solute_named_in_the_tables_exists(substances: dict[str, Substance]) -> None:
    known = {row["stream"] for row in seed_table("disposal_streams")}
    assert {one.disposal for one in substances.values()} - {""} <= known
    for row in seed_table("disposal_pairs"):
        assert {row["one"], row["other"]} <= known
    solutes = {one.solute for one in substances.values()}
    assert {row["solute"] for row in seed_table("neutralising")} <= solutes
