"""Two people at one thing, a page left open, a form sent twice; hostile words; the description fuzzed."""

import re
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, given, settings

from prep.services.people import people, sign_in
from prep.services.people.roles import SCOPES, Role
from prep.services.people.sign_in import Device
from prep.services.stock import changes, listing
from tests.days import act as act_of
from tests.web.conftest import DAY, NAMES, PHRASE, As, Person, hidden

HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>{{7*7}}${7*7}%0d%0aSet-Cookie:a=b"


def _post(me: Person, to: str, said: dict[str, Any]) -> Any:
    return me.client.post(to, data=said, headers=me.headers)


def test_the_second_of_two_at_one_bottle_is_told(signed_in: As) -> None:
    one, two = signed_in(Role.TECHNICIAN), signed_in(Role.TECHNICIAN)
    use = "/bottles/G7P4/use"
    first, second = (hidden(me.get("/bottles/G7P4").text, use) for me in (one, two))
    assert _post(one, use, {**first, "amount": "10 mL"}).status_code == 303
    told = _post(two, use, {**second, "amount": "10 mL"})
    assert told.status_code == 409
    assert "it holds 100 mL" in told.text
    assert 'value="10 mL"' in told.text
    assert "100 mL" in one.get("/bottles/G7P4").text


def test_a_page_left_open_over_a_command_is_told_too(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    move = "/bottles/G7P4/move"
    said = hidden(me.get("/bottles/G7P4").text, move)
    changes.use(None, "G7P4", "5 mL", "", act_of("Ben", DAY))
    assert _post(me, move, {**said, "location": "DIL"}).status_code == 409


def test_a_form_sent_twice_is_done_once(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    said = hidden(me.get("/receive").text, "/receive") | {"item": "urea", "amount": "250 g", "location": "PREP"}
    before = len(listing.list_stock(None, "urea", None, True, None))
    answers = [_post(me, "/receive", said) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [303, 303, 303]
    assert len(listing.list_stock(None, "urea", None, True, None)) == before + 1


@pytest.mark.parametrize(
    ("role", "page", "action", "typed"),
    [
        (Role.TEACHER, "/me", "/me/keys", {"name": "reader", "scopes": "read"}),
        (Role.TEACHER, "/me", "/me/feed", {}),
        (Role.OFFICE, "/people", "/people", {"name": "N. Abara", "roles": "teacher"}),
        (Role.OFFICE, "/people/1", "/people/1/link", {}),
    ],
)
def test_a_second_press_shows_the_secret_that_the_first_one_made(
    role: Role, page: str, action: str, typed: dict[str, str], signed_in: As
) -> None:
    """The browser shows the last answer only: what it shows is what is on the books, and there is one of it."""
    me = signed_in(role)
    said = hidden(me.get(page).text, action) | typed
    before = len(people.log_of_access(None))
    first, second = (_post(me, action, said) for _ in range(2))
    assert [first.status_code, second.status_code] == [200, 200]
    shown = [re.findall(r'class="secret">([^<]+)<', answer.text) for answer in (first, second)]
    assert len(shown[0]) == 1
    assert shown[0] == shown[1]
    assert len(people.log_of_access(None)) == before + 1
    if typed:  # the same page, filled in for something else, shows nobody else's
        assert 'class="secret"' not in _post(me, action, said | {"name": "other"}).text
    again = _post(me, action, hidden(me.get(page).text, action) | typed | ({"name": "B. Sow"} if typed else {}))
    assert re.findall(r'class="secret">([^<]+)<', again.text) not in ([], shown[0])


def test_a_second_press_shows_no_link_that_was_used(signed_in: As) -> None:
    me = signed_in(Role.OFFICE)
    said = hidden(me.get("/people").text, "/people") | {"name": "N. Abara", "roles": "teacher"}
    secret = re.findall(r"/invited/([\w-]+)", _post(me, "/people", said).text)[0]
    sign_in.accept(None, secret, PHRASE, Device())
    told = _post(me, "/people", said)
    assert (told.status_code, secret in told.text) == (422, False)
    assert "sent before" in told.text


def test_a_form_that_was_wrong_may_be_sent_again(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    said = hidden(me.get("/receive").text, "/receive") | {"item": "urea", "location": "PREP"}
    wrong = _post(me, "/receive", said | {"amount": "250 pints", "lot": "L 77"})
    assert wrong.status_code == 422
    assert 'value="L 77"' in wrong.text
    assert 'aria-invalid="true"' in wrong.text
    assert _post(me, "/receive", said | {"amount": "250 g"}).status_code == 303


def test_one_make_is_logged_once_by_two(signed_in: As) -> None:
    one, two = signed_in(Role.TECHNICIAN), signed_in(Role.TECHNICIAN)
    found = re.search(r'href="(/makes/[^"]+)"', one.get("/today").text)
    assert found
    make = found[1].replace("&#39;", "'")
    said = [hidden(me.get(make).text, make) | {"location": "PREP"} for me in (one, two)]
    assert _post(one, make, said[0]).status_code == 303
    told = _post(two, make, said[1])
    assert told.status_code in (404, 409, 422)
    assert "made already" in told.text


def test_another_s_booking_is_left_alone(signed_in: As) -> None:
    me = signed_in(Role.TEACHER)
    for act in ("change", "cancel", "done"):
        assert me.send(f"/bookings/B2/{act}", {"room": "S9"}, "/showings").status_code in (403, 409)
    page = signed_in(Role.TECHNICIAN).get("/bookings/B2").text
    assert "S2" in page


def test_what_is_written_stands_under_the_own_name_whoever_is_said(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    me.send("/bottles/G7P4/use", {"amount": "1 mL", "by": "Somebody Else", "who": "1"}, "/me")
    assert listing.history(None, "G7P4", 1)[0].by == NAMES[Role.TECHNICIAN]


def test_hostile_words_run_nowhere(signed_in: As) -> None:
    technician, office = signed_in(Role.TECHNICIAN), signed_in(Role.OFFICE)
    word = HOSTILE[:80]
    invited = office.send("/people", {"name": word, "roles": "technician"}, "/people")
    assert invited.status_code == 200
    technician.send("/bottles/G7P4/use", {"amount": "1 mL", "reason": HOSTILE}, "/me")
    technician.send("/bottles/G7P4/correct", {"note": HOSTILE, "lot": word, "use_by": "2027-07-06"}, "/me")
    office.send("/settings/places", {"code": "X1", "name": word}, "/settings")
    office.send("/settings/page", {"school": word, "address": ""}, "/settings")
    me = [("/bottles/G7P4", technician), ("/shelves?q=" + HOSTILE[:40], technician), ("/today", technician)]
    me += [
        ("/history", office),
        ("/people", office),
        ("/settings", office),
        ("/what-if?change=" + HOSTILE[:60], technician),
    ]
    for path, who in me:
        answer = who.get(path)
        assert answer.status_code < 500, path
        assert "<script>alert" not in answer.text, path
        assert "<img" not in answer.text, path
        assert "set-cookie: a=b" not in str(answer.headers).lower(), path
    for field in ("amount", "reason", "on"):
        answer = technician.send("/bottles/G7P4/use", {"amount": "1 mL", field: HOSTILE + "\r\nX: y\x00"}, "/me")
        assert answer.status_code < 500
        assert "<script>alert" not in answer.text


@pytest.mark.on_file
def test_the_description_fuzzed_brings_no_server_error(app: FastAPI) -> None:
    person = people.invite(None, "F. Uzz", [role.value for role in Role], "sample")
    key = people.new_token(None, person.person, "fuzz", list(SCOPES), "sample", "")
    headers = {"Authorization": f"Bearer {key}", "Host": "testserver"}
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", app, headers={"Host": "testserver"})
    tried = set()
    for operation in schema.get_all_operations():
        found = operation.ok()

        @settings(max_examples=3, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
        @given(case=found.as_strategy())
        def each(case: Any) -> None:
            answer = case.call(headers=headers, timeout=300)
            assert answer.status_code < 500, (case.method, case.path, case.body, answer.text[:300])

        each()
        tried.add(found.path)
    assert len(tried) > 12


def test_decanting_fills_a_new_bottle_and_an_old_page_pours_nothing(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    decant = "/bottles/G7P4/decant"
    said = hidden(me.get("/bottles/G7P4").text, decant) | {"amount": "30 mL"}
    poured = _post(me, decant, said)
    assert poured.status_code == 303, poured.text
    new = poured.headers["location"].rpartition("=")[2]
    assert "30 mL" in me.get(f"/bottles/{new}").text
    assert "80 mL" in me.get("/bottles/G7P4").text
    assert _post(me, decant, said).status_code == 303  # sent twice
    assert _post(me, decant, said | {"mark": "0" * 32}).status_code == 409
    assert "80 mL" in me.get("/bottles/G7P4").text
    back = {"source": new, "amount": ""}
    assert me.send("/bottles/G7P4/top-up", back).status_code == 303
    assert "110 mL" in me.get("/bottles/G7P4").text
    assert me.send("/bottles/G7P4/split", {"into": "3"}).status_code == 303
    assert me.send("/bottles/G7P4/split", {"into": "3"}).status_code in (409, 422)
