"""Pages of long lists: each part is one link away, and nothing is left off without a word."""

import html
import re
from collections import Counter

import pytest

from prep.services.bookings import bookings
from prep.services.people import people
from prep.services.people.roles import Role
from prep.services.stock import changes, listing
from prep.web import bookings as bookings_page
from prep.web.shelves import MOST
from tests.days import act
from tests.web.conftest import DAY, As

pytestmark = pytest.mark.on_file


def _jumps(page: str) -> list[str]:
    return re.findall(r'href="#((?:at|week)-[^"]+)"', page)


@pytest.mark.parametrize(
    ("role", "path", "names"),
    [
        (Role.TECHNICIAN, "/shelves", ["at-PREP", "at-ACID", "at-COLD"]),
        (Role.TECHNICIAN, "/bookings", ["week-2027-01-11", "week-2027-01-18"]),
        (Role.TEACHER, "/held", ["at-A", "at-S", "at-Z"]),
        (Role.TEACHER, "/demos", ["at-A", "at-B", "at-S"]),
    ],
)
def test_the_parts_of_a_long_list_are_one_link_away(role: Role, path: str, names: list[str], signed_in: As) -> None:
    page = signed_in(role).get(path).text
    jumps = _jumps(page)
    assert set(names) <= set(jumps)
    assert len(jumps) == len(set(jumps))
    places = re.findall(r' id="((?:at|week)-[^"]+)"', page)
    assert sorted(places) == sorted(jumps)


@pytest.mark.parametrize(
    "path", ["/shelves?q=urea", "/shelves?q=zzz", "/held?q=sodium", "/demos?q=acid", "/bookings?q=zz"]
)
def test_a_short_list_has_no_links_to_its_parts(path: str, signed_in: As) -> None:
    assert _jumps(signed_in(Role.TECHNICIAN).get(path).text) == []


def test_bookings_beyond_the_first_page_are_counted_and_reached(signed_in: As, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bookings_page, "MOST", 40)
    me = signed_in(Role.TECHNICIAN)
    number, seen, at = len(bookings.list_bookings(None)), set[str](), "/bookings"
    assert number > 80
    while at:
        page = html.unescape(me.get(at).text)
        assert f"<h1>{number} booked" in page
        seen |= set(re.findall(r'href="/bookings/(\w+)"', page))
        further = re.search(r'class="button quiet" href="(/bookings\?since=[^"]+)"', page)
        assert not further or further[1] != at
        at = further[1] if further else ""
    assert len(seen) == number
    for to in set(re.findall(r'href="(/bookings\?since=[^"]+)"', me.get("/bookings").text)):
        path, _, there = to.partition("#")
        assert not there or f' id="{there}"' in me.get(path).text


def test_a_day_that_is_none_is_said(signed_in: As) -> None:
    assert signed_in(Role.TECHNICIAN).get("/bookings?since=soon").status_code == 422


def test_every_bottle_is_among_what_is_held_however_many_there_are(signed_in: As) -> None:
    """400 bottles more, of a name at the end of the alphabet: the shelves say how many they leave off."""
    receipt = changes.Receipt("zinc granules", "500 g", 400, "PREP")
    changes.receive(None, receipt, act("R. Vane", DAY))
    there = len(listing.list_stock(None, None, None, False, None))
    held = signed_in(Role.TEACHER).get("/held?q=zinc granules").text
    found = re.search(r'Zinc granules</span><span class="end soft">(\d+) bottles', held)
    assert found
    assert int(found[1]) > 400
    assert "Zinc sulfate" in signed_in(Role.TEACHER).get("/held").text
    shelves = signed_in(Role.TECHNICIAN).get("/shelves").text
    assert f"<h1>{there} bottles on the shelves" in shelves
    assert f"And {there - MOST} more" in shelves
    (number,) = (one.id for one in people.everybody(None) if one.name == "R. Vane")
    key = {"Authorization": f"Bearer {people.new_token(None, number, 'till', ['read'], 'sample', '')}"}
    assert len(signed_in(None).client.get("/api/stock", headers=key).json()) == there


def test_a_place_is_reached_whole_where_the_shelves_leave_bottles_off(signed_in: As) -> None:
    """All that is shown stands at one place: the others are still one link away, each with all that stands there."""
    changes.receive(None, changes.Receipt("acetone", "500 mL", 400, "PREP"), act("R. Vane", DAY))
    me = signed_in(Role.TECHNICIAN)
    page = me.get("/shelves").text
    stand = Counter(one.location for one in listing.list_stock(None, None, None, False, None))
    jumps = re.findall(r'<li><a href="([^"]+)">[^<]*</a> <span class="soft">(\d+)</span>', page)
    assert {html.unescape(to): int(number) for to, number in jumps} == {
        f"/shelves?at={place}": number for place, number in stand.items()
    }
    for place in ("COLD", "ACID"):
        there = me.get(f"/shelves?at={place}").text
        assert f"<h1>{stand[place]} bottles found" in there
        assert there.count('<a class="code" href="/bottles/') == stand[place]


def test_each_of_many_new_bottles_has_its_label(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    said = {"item": "urea", "amount": "250 g", "bottles": "80", "location": "PREP"}
    done = me.send("/receive", said, "/receive")
    assert done.status_code == 303
    page = me.get(done.headers["location"]).text
    codes = done.headers["location"].partition("codes=")[2].split(",")
    assert len(codes) == 80
    assert [code for code in codes if f'href="/bottles/{code}"' not in page] == []
    assert me.get(f"/labels.pdf?codes={','.join(codes)}").content.startswith(b"%PDF")
