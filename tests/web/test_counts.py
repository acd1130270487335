"""A count at the shelf: some bottles at a time, so that a full place is light and short on a phone."""

import re

import pytest

from prep.services.people import people
from prep.services.people.roles import Role
from prep.services.stocktake import adjustments, stocktake
from prep.services.stocktake.entry import TypedCount
from prep.web.counts import AT_ONCE
from tests.days import act
from tests.web.conftest import DAY, As, Person, hidden

pytestmark = pytest.mark.on_file
HEAVIEST = 100_000
"""Bytes of a page that a phone is to have at once; common practice, no source."""


def _opened(signed_in: As, place: str = "PREP") -> tuple[Person, list[str]]:
    """An auditor in a count of the whole store, and the bottles of a place on its list."""
    stocktake.open_count(None, None, False, act("K. Ode", DAY))
    return signed_in(Role.AUDITOR), [line.code for line in stocktake.sheet(None, "C1").lines if line.place == place]


def _asked(page: str) -> list[str]:
    return re.findall(r'data-bottle="(\w+)"', page)


def test_a_full_place_is_asked_for_some_bottles_at_a_time(signed_in: As) -> None:
    me, codes = _opened(signed_in)
    assert len(codes) > 100
    page = me.get("/counts/C1/at/PREP")
    assert len(page.content) < HEAVIEST
    assert _asked(page.text) == codes[:AT_ONCE]
    seen: list[str] = []
    for first in range(1, len(codes) + 1, AT_ONCE):
        page = me.get(f"/counts/C1/at/PREP?from={first}")
        assert len(page.content) < HEAVIEST
        seen += _asked(page.text)
    assert seen == codes
    assert _asked(me.get("/counts/C1/at/PREP?all=1").text) == codes


def test_every_bottle_of_a_place_is_one_link_away(signed_in: As) -> None:
    me, codes = _opened(signed_in)
    page = me.get("/counts/C1/at/PREP").text
    found = {code: first for first, code in re.findall(r'href="\?from=(\d+)#bottle-(\w+)"><span', page)}
    assert list(found) == codes
    for code in (codes[0], codes[AT_ONCE], codes[-1]):
        assert f'id="bottle-{code}" data-bottle' in me.get(f"/counts/C1/at/PREP?from={found[code]}").text


@pytest.mark.parametrize("asked", ["0", "-3", "x", "9999999", "999", "1e9", "١"])
def test_a_start_that_is_none_shows_bottles_all_the_same(asked: str, signed_in: As) -> None:
    me, codes = _opened(signed_in)
    found = _asked(me.get("/counts/C1/at/PREP", params={"from": asked}).text)
    assert found
    assert set(found) <= set(codes)


def test_an_entry_leads_back_to_where_it_was_made(signed_in: As) -> None:
    me, codes = _opened(signed_in)
    page = me.get("/counts/C1/at/PREP?from=25").text
    for code, then in ((codes[24], ""), (codes[26], f"#bottle-{codes[27]}")):
        to = f"/counts/C1/bottles/{code}"
        done = me.client.post(to, data=hidden(page, to) | {"how": "not there"}, headers=me.headers)
        assert done.headers["location"] == f"/counts/C1/at/PREP?from=25{then}"
    left = [code for code in codes if code not in (codes[24], codes[26])]
    assert _asked(me.get("/counts/C1/at/PREP?from=25").text) == left[24:36]


def test_the_list_is_printed_whole(signed_in: As) -> None:
    """Whatever part of it stands on the screen; on paper once each."""
    me, codes = _opened(signed_in)
    page = me.get("/counts/C1/at/PREP?from=25").text
    assert re.findall(r'<li (?:class="paper" )?id="bottle-(\w+)"', page) == codes


def test_a_small_place_has_no_parts(signed_in: As) -> None:
    me, codes = _opened(signed_in, "HALO")
    assert 0 < len(codes) <= AT_ONCE
    page = me.get("/counts/C1/at/HALO").text
    assert _asked(page) == codes
    assert "from=" not in page


def _signed_off() -> int:
    """A count that an auditor signed off, by the number of its job."""
    by = act("K. Ode", DAY)
    stocktake.open_count(None, "DIL", False, by)
    stocktake.enter(None, "C1", stocktake.sheet(None, "C1").lines[0].code, TypedCount(not_found=True), by)
    return adjustments.close(None, "C1", adjustments.LeftOpen(partial=True, as_counted=True), by).job


def test_a_sign_off_is_undone_by_the_office_alone(signed_in: As) -> None:
    job = _signed_off()
    for role, link in ((Role.TECHNICIAN, False), (Role.AUDITOR, False), (Role.OFFICE, True)):
        me = signed_in(role)
        assert (f"/jobs/{job}/undo" in me.get("/history?kind=count").text) is link, role
        answer = me.send(f"/jobs/{job}/undo")
        assert answer.status_code == (303 if link else 409), answer.text
    assert [one.status for one in stocktake.counts(None)] == ["open"]


def test_a_program_undoes_no_sign_off_for_a_technician(signed_in: As) -> None:
    job = _signed_off()
    (number,) = (one.id for one in people.everybody(None) if one.name == "R. Vane")
    key = {"Authorization": f"Bearer {people.new_token(None, number, 'till', ['work'], 'sample', '')}"}
    client = signed_in(None).client
    refused = client.post(f"/api/jobs/{job}/undo", headers=key)
    assert refused.status_code == 409
    assert "undone by the office" in refused.json()["error"]["message"]
    people.set_roles(None, number, ["technician", "office"], "sample", "")
    assert client.post(f"/api/jobs/{job}/undo", headers=key).json()["reverses"] == job
