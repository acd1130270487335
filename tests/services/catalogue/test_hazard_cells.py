"""Hazard cells of a substance that a person imports are looked at: CAS number, supplements, flash point.

The check digit: CAS Registry; flash points: Regulation (EC) No 1272/2008, Annex I, 2.6.2.
"""

import pytest

from prep.errors import PrepError
from prep.services.catalogue.substances import SUBSTANCE_COLUMNS, read_substance
from prep.services.files.csv_file import read_rows
from prep.services.safety.hazards import classify_typed


def read(tmp_path, **cells: str):  # type: ignore[no-untyped-def]
    file = tmp_path / "ours.csv"
    row = {"code": "ours", "name": "Ours", "form": "liquid", "classification": "Flam. Liq. 2 H225"} | cells
    written = ",".join(f'"{row.get(column, "")}"' for column in SUBSTANCE_COLUMNS)
    file.write_text(f"{','.join(SUBSTANCE_COLUMNS)}\n{written}\n", encoding="utf-8")
    (one,) = read_rows(file, SUBSTANCE_COLUMNS)
    return read_substance(one)


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ({"cas": "64-17-6"}, "is no CAS number"),
        ({"cas": "ethanol"}, "is no CAS number"),
        ({"supplemental": "EUH999"}, "is not a supplemental statement"),
        ({"supplemental": "EUH059"}, "no longer in the regulation; it now has H420"),
        ({"flash_point_c": "-400"}, "is no flash point"),
        ({"flash_point_c": "80"}, "is no flash point of Flam. Liq. 2"),
        ({"flash_point_c": "nan"}, "is no flash point"),
        ({"flash_point_c": "low"}, "is no number"),
        ({"classification": "Flam. Liq. 9 H225"}, "is not a hazard class"),
    ],
)
def test_what_cannot_be_is_refused_with_one_sentence(tmp_path, cells: dict[str, str], said: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(PrepError, match=said) as refused:
        read(tmp_path, **cells)
    assert "\n" not in str(refused.value)


def test_what_can_be_is_read(tmp_path) -> None:  # type: ignore[no-untyped-def]
    one = read(tmp_path, cas="64-17-5", supplemental="EUH066", flash_point_c="13")
    assert (one.cas, one.supplemental, one.flash_point_c) == ("64-17-5", "EUH066", 13)


def test_a_measured_flash_point_may_lie_far_below_zero_and_no_further() -> None:
    # diethyl ether flashes at -45 degC: NFPA 497
    assert classify_typed(["ethanal 40 % w/w"], flash_point="-45 degC").hazards.classes
    for wrong in ("-151", "501", "low"):
        with pytest.raises(PrepError, match="is not accepted; write a temperature"):
            classify_typed(["ethanal 40 % w/w"], flash_point=wrong)
