"""Demonstrations on the page: curves, sheets, one's own; what is answered under /api is the commands' document."""

import json
import re
from datetime import date
from typing import Any

import pytest

from prep.reports.curves import AxisTick, Curve, CurveMark, CurvePoint, on_page
from prep.safety.deferral import DEFERRAL
from prep.services.demos import demos
from prep.services.people import people
from prep.services.people.roles import SCOPES, Role
from tests.web.conftest import DAY, NAMES, As

pytestmark = pytest.mark.on_file


def test_curves_keep_to_their_box_and_to_their_figures() -> None:
    points = (CurvePoint(0, 1.0, ("red",)), CurvePoint(10, 3.0, ("red",)), CurvePoint(20, 13.0, ("blue",)))
    drawn = on_page([Curve("flask", points, (CurveMark(10, "here"),))])
    (one,) = drawn.curves
    assert one.path.startswith("M34.0 350.0 L")
    assert one.path.endswith("690.0 10.0")
    assert len(one.runs) == 1  # the last point's colour has no piece of its own
    assert one.marks[0].x == (34 + 690) / 2
    assert drawn.across[-1] == AxisTick(690.0, "20")
    assert [tick.says for tick in drawn.up][:2] == ["1", "3"]
    both = on_page([Curve(name, points) for name in ("one", "other")])  # alike: each in a box of its own
    assert both.curves[0].path == both.curves[1].path
    assert both.across[-1].at < both.width < drawn.width


def test_a_demonstration_shows_its_curves_and_cautions_and_prints_its_sheets(signed_in: As) -> None:
    me = signed_in(Role.TEACHER)
    page = me.get("/demos/strong-acid-titration?showings=2").text
    assert page.count('class="line"') == 1
    assert me.get("/demos/ph-curves").text.count('class="chart curves"') == 4
    assert "colourless to pink" in page or "pink" in page
    assert "First aid" in page
    assert page.count(DEFERRAL.replace("'", "&#39;")) == 2  # beside the safety notes, and at the foot of every page
    for kind in ("lesson", "pupils"):
        sheet = me.get(f"/sheets/strong-acid-titration/{kind}.pdf")
        assert sheet.content[:5] == b"%PDF-", sheet.text
    assert me.get("/sheets/strong-acid-titration/nonsense.pdf").status_code in (404, 422)


def test_what_could_be_shown_on_a_day_is_what_the_command_lists(signed_in: As, monkeypatch: pytest.MonkeyPatch) -> None:
    """Asked again, the answer is known until the books change; a day that is none is said at the field."""
    me, on = signed_in(Role.TEACHER), date(2027, 1, 19)
    found = demos.possible(None, on, DAY)
    asked: list[date] = []

    def counted(db: Any, on: date, *more: Any) -> Any:
        asked.append(on)
        return demos.possible(db, on, *more)

    monkeypatch.setattr("prep.web.demos.possible", counted)
    for typed in ("2027-01-19", "19 jan", "2027-01-19"):
        page = me.get("/demos", params={"can": typed}).text
        assert set(re.findall(r'href="/book\?demo=([^"&]+)&amp;on=2027-01-19"', page)) == set(found.codes)
        assert f"<h1>{len(found.codes)} demonstrations could be shown on Tue 19 Jan 2027</h1>" in page
    assert len(asked) == 1
    copper = me.get("/demos", params={"can": "2027-01-19", "q": "copper"}).text
    assert 0 < copper.count('href="/book?') < len(found.codes)
    first = found.codes[0]
    form = me.get(f"/book?demo={first}&on=2027-01-19").text
    assert 'type="date" value="2027-01-19"' in form
    me.send("/book", {"demo": first, "on": "2027-01-18", "book": "1"})
    me.get("/demos", params={"can": "2027-01-19"})
    assert len(asked) == 3


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("2027-01-16", "On Sat 16 Jan 2027 nothing can be shown: it is closed."),
        ("2027-01-10", "it is past"),
        ("2032-01-16", "more than a year ahead"),
        ("the day after", "no date"),
    ],
)
def test_a_day_on_which_nothing_can_be_shown_is_said_beside_the_whole_list(
    typed: str, says: str, signed_in: As
) -> None:
    answer = signed_in(Role.TEACHER).get("/demos", params={"can": typed})
    assert answer.status_code == 422
    assert says in answer.text.partition('id="can-wrong"')[2].partition("</p>")[0]
    assert 'href="/demos/blue-bottle"' in answer.text


OWN = {
    "name": "Milk of lime and vinegar",
    "vessel-1": "flask",
    "inside-1": "25 mL of limewater\n3 drops of phenolphthalein-0.1",
    "added-1": "ethanoic-0.1 from dropper until colour changed",
    "left": "salt water",
    "goes": "drain",
}


def test_a_teacher_puts_a_demonstration_of_their_own_on_file(signed_in: As) -> None:
    me = signed_in(Role.TEACHER)
    looked = me.send("/demos/new", OWN | {"act": "look"})
    assert looked.status_code == 200, looked.text
    assert "What it will show" in looked.text
    assert "drops" in looked.text
    assert me.get("/demos/milk-of-lime-and-vinegar").status_code == 404
    put = me.send("/demos/new", OWN | {"act": "add"})
    assert put.headers["location"] == "/demos/milk-of-lime-and-vinegar"
    assert "25 mL" in me.get("/demos/milk-of-lime-and-vinegar").text
    again = me.send("/demos/new", OWN | {"act": "add"})
    assert again.status_code == 409
    assert "on file already" in again.text


def test_what_must_not_be_made_is_said_before_the_button(signed_in: As) -> None:
    gas = {"inside-1": "25 mL of bleach", "added-1": "hcl-2 from dropper until 20 drops"}
    answer = signed_in(Role.TEACHER).send("/demos/new", OWN | gas | {"act": "look"})
    assert answer.status_code == 200, answer.text
    assert "chlorine" in answer.text.partition('role="alert"')[2].partition("</div>")[0]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"name": ""}, "Give it a name."),
        ({"inside-1": "25 pints of limewater"}, "pints"),
        ({"inside-1": "25 mL of moonshine"}, "<p>flask: &#34;moonshine&#34; is neither"),
        ({"vessel-1": ""}, "Name the vessel 1"),
        ({"added-1": "ethanoic-0.1 from dropper until the bell rings"}, "bell"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_is_kept(change: dict[str, str], says: str, signed_in: As) -> None:
    answer = signed_in(Role.TEACHER).send("/demos/new", OWN | change | {"act": "look"})
    assert answer.status_code == 422
    assert says in answer.text
    assert "--" not in answer.text.partition('role="alert"')[2].partition("</div>")[0]
    assert "salt water" in answer.text


def test_one_like_another_is_stronger(signed_in: As) -> None:
    me = signed_in(Role.TEACHER)
    page = me.get("/demos/new?like=strong-acid-titration").text
    assert 'name="swap-phenolphthalein-0.1"' in page
    said = {"like": "strong-acid-titration", "name": "With another indicator"}
    said |= {"swap-phenolphthalein-0.1": "bromothymol blue indicator", "act": "add"}
    assert me.send("/demos/new", said).headers["location"] == "/demos/with-another-indicator"


def test_a_booking_s_day_goes_by_the_interface_alone(signed_in: As) -> None:
    """What is asked, changed and done by a program, from the booking to what was used."""
    client = signed_in(None).client
    key = _key(Role.TECHNICIAN)

    def ask(method: str, path: str, said: Any = None) -> Any:
        answer = client.request(method, path, json=said, headers={"Authorization": f"Bearer {key}"})
        assert answer.status_code == 200, (path, answer.text)
        return answer.json()

    made = ask("POST", "/api/bookings", {"demo": "blue-bottle", "on": "2027-02-02", "period": "P4", "teacher": "Ada"})
    code = made["code"]
    assert ask("GET", f"/api/bookings/{code}")["teacher"] == "Ada"
    assert ask("POST", f"/api/bookings/{code}/change", {"room": "S9"})["room"] == "S9"
    assert code in [one["code"] for one in ask("GET", "/api/bookings?first=2027-02-02&last=2027-02-02")]
    assert ask("POST", f"/api/bookings/{code}/cancel")["status"] == "cancelled"
    order = ask("POST", "/api/orders", {"item": "urea", "packs": 2, "pack": "250 g"})
    assert order["controlled"] == []
    listed = ask("GET", "/api/orders", None)
    assert {"controlled", "days_late"} <= set(listed[0])
    assert len(ask("POST", f"/api/orders/{order['code']}/arrived", {"location": "PREP"})) == 2
    how = ask("GET", "/api/makes?solution=nacl-0.1&volume=100+mL")
    assert how["steps"]
    assert ask("GET", "/api/demos/strong-acid-titration/prediction")["vessels"]
    assert ask("POST", "/api/stock/G7P4/quarantine", {"reason": "label"})["status"] == "quarantine"


def test_a_teacher_s_key_books_under_the_own_name_and_leaves_others_alone(signed_in: As) -> None:
    client, headers = signed_in(None).client, {"Authorization": f"Bearer {_key(Role.TEACHER)}"}
    said = {"demo": "blue-bottle", "on": "2027-02-02", "teacher": "Somebody Else"}
    assert client.post("/api/bookings", json=said, headers=headers).json()["teacher"] == NAMES[Role.TEACHER]
    for act in ("change", "cancel", "done"):
        assert client.post(f"/api/bookings/B2/{act}", json={}, headers=headers).status_code == 409


def test_a_count_goes_by_the_interface_alone(signed_in: As) -> None:
    client, headers = signed_in(None).client, {"Authorization": f"Bearer {_key(Role.AUDITOR)}"}
    opened = client.post("/api/counts", json={"location": "DIL"}, headers=headers).json()
    sheet = client.get(f"/api/counts/{opened['count']}/sheet", headers=headers).json()["bottles"]
    assert len(sheet) == opened["bottles"]
    at = f"/api/counts/{opened['count']}"
    entry = client.post(f"{at}/bottles/{sheet[0]['bottle']}", json={"not_found": True}, headers=headers)
    assert entry.json()["kind"] == "not found"
    assert sheet[0]["bottle"] not in client.get(at, headers=headers).json()["missing"]
    refused = client.post(f"{at}/close", json={}, headers=headers)
    assert refused.status_code == 409
    assert "“partial”" in json.loads(refused.text)["error"]["message"]


def _key(role: Role) -> str:
    person = next(p for p in people.everybody(None) if p.name == NAMES[role])
    return people.new_token(None, person.id, "till", list(SCOPES), person.name, "")
