"""Ways in: a label's code read by a telephone, the page that was asked for before the sign-in, a form sent too late."""

import html
import re
from datetime import date
from urllib.parse import urlsplit

import pypdfium2
import pytest
import zxingcpp
from fastapi import FastAPI

from prep.errors import PrepError
from prep.services.bookings import bookings
from prep.services.people.roles import Role
from prep.services.school import page as school_page
from prep.services.stock import listing
from prep.web.app import ServedInventory, create_app
from tests.days import act
from tests.web.conftest import DAY, NAMES, PHRASE, As, Person, at_browser, hidden

pytestmark = pytest.mark.on_file
BOTTLE = "G7P4"


def _come_in(guest: Person, sign_in: str, role: Role) -> str:
    """Sign in on the page that was come to, and go where it leads."""
    said = hidden(guest.get(sign_in).text, "/sign-in") | {"name": NAMES[role], "phrase": PHRASE}
    return str(guest.client.post("/sign-in", data=said, headers=guest.headers).headers["location"])


def test_a_label_s_code_leads_to_its_bottle_signed_in_and_after_the_sign_in(signed_in: As) -> None:
    """Read off the printed sheet by a general reader of codes (ISO/IEC 18004), as a telephone's camera does."""
    school_page.set_page(None, "Wendlemoor School", "https://prep.school.example:8443", act("M. Sarr", DAY))
    me = signed_in(Role.TECHNICIAN)
    sheet = pypdfium2.PdfDocument(me.get(f"/labels.pdf?codes={BOTTLE}").content)
    (read,) = zxingcpp.read_barcodes(sheet[0].render(scale=3).to_pil())
    assert urlsplit(read.text)[:2] == ("https", "prep.school.example:8443")
    address = urlsplit(read.text).path
    assert me.get(address).headers["location"] == f"/bottles/{BOTTLE}"
    guest = signed_in(None)
    guest.visitor()
    asked = guest.get(address).headers["location"]
    assert _come_in(guest, asked, Role.TECHNICIAN) == address


def test_a_teacher_s_telephone_is_shown_what_is_held_of_a_label(signed_in: As) -> None:
    me = signed_in(Role.TEACHER)
    leads = me.get(f"/b/{BOTTLE}").headers["location"]
    page = html.unescape(me.get(leads).text)
    assert listing.show(None, BOTTLE).bottle.name in page
    assert BOTTLE not in page
    assert me.get("/b/Q9Q9").status_code == 404


def test_the_sign_in_leads_on_to_all_that_was_asked_for(signed_in: As) -> None:
    guest = signed_in(None)
    guest.visitor()
    asked = guest.get("/shelves?q=silver+nitrate&at=PREP").headers["location"]
    assert _come_in(guest, asked, Role.TECHNICIAN) == "/shelves?q=silver+nitrate&at=PREP"


@pytest.mark.parametrize(("stood", "leads"), [(f"/bottles/{BOTTLE}", ""), (f"/bottles/{BOTTLE}/use", "/")])
def test_a_form_sent_after_the_session_ended_says_so_and_leads_back(stood: str, leads: str, signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    said = hidden(me.get(f"/bottles/{BOTTLE}").text, f"/bottles/{BOTTLE}/use") | {"amount": "5"}
    before = listing.show(None, BOTTLE).bottle.balance
    me.client.post("/sign-out", data={"csrf": said["csrf"]}, headers=me.headers)
    me.client.cookies.set("prep_session", me.secret)
    sent = me.headers | {"Referer": f"http://testserver{stood}"}
    answer = me.client.post(f"/bottles/{BOTTLE}/use", data=said, headers=sent)
    assert answer.headers["location"] == f"/sign-in?to={leads or stood}"
    assert "what you sent was not done" in me.get(answer.headers["location"]).text
    assert listing.show(None, BOTTLE).bottle.balance == before


def test_a_page_that_is_not_somebody_s_does_not_say_that_something_was_not_done(signed_in: As) -> None:
    me = signed_in(Role.TEACHER)
    assert "<h1>This page is not for you</h1>" in me.get("/shelves").text
    assert "<h1>That was not done</h1>" in me.send("/orders", {"item": "urea"}).text


def test_a_figure_alone_is_read_in_the_bottle_s_unit(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    before = listing.show(None, BOTTLE).bottle.balance
    assert me.send(f"/bottles/{BOTTLE}/use", {"amount": "2,5"}).status_code == 303
    assert before - listing.show(None, BOTTLE).bottle.balance == 2_500_000


def test_an_address_below_a_path_is_refused_with_what_can_be_set() -> None:
    with pytest.raises(PrepError, match=r"host name of its own, such as https://www\.school\.example:8443$"):
        school_page.set_page(None, "", "https://www.school.example:8443/prep/", act("M. Sarr", DAY))


def test_why_a_make_is_in_the_plan_is_asked_in_words(signed_in: As) -> None:
    page = html.unescape(signed_in(Role.TECHNICIAN).get("/why/naoh-0.5@2027-01-11").text)
    assert "L of Sodium hydroxide, 0.5 mol/L is in the plan</h1>" in page
    assert ">made</a> on Mon 11 Jan 2027: " in page


def test_why_names_what_it_speaks_of_and_has_the_code_beside(signed_in: As, app: FastAPI) -> None:
    """No code of an item or a demo stands alone in a sentence; the working is there, folded."""
    me, drawn = signed_in(Role.TECHNICIAN), app.state.plans.of(DAY)
    snapshot = drawn.snapshot
    codes = {code for of in (snapshot.substances, snapshot.solutions, snapshot.demos) for code in of if "-" in code}
    for ref in ("naoh-0.5@2027-01-11", "cuso4-0.5@2027-01-11", "B1", drawn.plan.orders[0].id):
        page = me.get(f"/why/{ref}").text
        said = html.unescape(re.sub(r'<span class="code soft">[^<]*</span>|<[^>]*>', " ", page))
        assert [word for word in re.findall(r"[\w.-]*\w", said) if word in codes] == [], ref
        assert ref == drawn.plan.orders[0].id or "<summary>Working</summary>" in page or ref == "B1"
    page = me.get("/why/naoh-0.5@2027-01-11").text
    assert 'Sodium hydroxide, 2 mol/L <span class="code soft">naoh-2</span> is the source' in page
    assert 'Blue bottle <span class="code soft">blue-bottle</span> x1' in page


def test_every_change_that_is_supposed_counts_or_none_does(signed_in: As) -> None:
    """A bottle is gone by the last of many lines; where there are too many, all of them stand there still."""
    me = signed_in(Role.TECHNICIAN)
    moved, gone = "booking B1 on 2027-01-20", "bottle Q9V3 gone"
    lines = [moved] * 24
    without, two, many_lines = (
        html.unescape(me.get("/what-if", params={"change": "\n".join(changes)}).text).partition("<h2>Then")[2]
        for changes in ([moved], [moved, gone], [*lines, gone])
    )
    assert without != two
    assert many_lines == two
    many = me.get("/what-if", params={"change": "\n".join([*lines * 3, gone])})
    assert many.status_code == 422
    assert "more than 50 changes" in many.text
    assert "bottle Q9V3 gone</textarea>" in many.text
    assert "<h2>Then" not in many.text


@pytest.mark.usefixtures("school")
def test_who_only_reads_is_led_to_no_form_of_a_delivery() -> None:
    """On the day on which an order comes: the technician puts it on the shelf, the auditor reads that it comes."""
    on_the_day = create_app(ServedInventory(None, lambda: date(2027, 1, 15), frozenset({"testserver"})))
    pages = [at_browser(on_the_day, role).get("/today").text for role in (Role.TECHNICIAN, Role.AUDITOR)]
    assert ["Comes today" in page for page in pages] == [True, True]
    assert ["/arrived" in page for page in pages] == [True, False]


def test_a_day_in_the_history_is_in_words(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    there = bookings.booking(None, "B1")
    asked = {"to": "2027-01-20", "period": there.period, "room": there.room, "showings": str(there.showings)}
    assert me.send("/bookings/B1/change", asked).status_code == 303
    page = me.get("/history?kind=rebook").text
    assert "B1: to Wed 20 Jan 2027" in page
    job = re.search(r'href="(/jobs/\d+/undo)"', page)
    assert job
    assert "B1: to Wed 20 Jan 2027" in me.get(job[1]).text
