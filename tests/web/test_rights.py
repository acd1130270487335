"""Every route x every role, from the route table itself; and the ways round the door."""

import html
import re
from collections.abc import Callable, Iterator

import pytest
from fastapi import FastAPI, Request, Response
from fastapi.responses import PlainTextResponse
from fastapi.routing import APIRoute

from prep.services.people import people, sign_in
from prep.services.people.roles import SCOPES, WHO, Right, Role
from prep.services.people.sign_in import Device, Guesses, TooManyGuesses
from prep.web import app as web
from prep.web.rights import csrf_of, needs
from tests.web.conftest import DAY, NAMES, PHRASE, As, Person, at_browser

pytestmark = pytest.mark.on_file
ROUTES = [route for module in web._subjects() for route in module.routes.routes if isinstance(route, APIRoute)]
PARTS = {
    "ref": "B1",
    "code": "B1",
    "secret": "x",
    "number": "1",
    "job": "1",
    "place": "PREP",
    "bottle": "G7P4",
    "key": "x",
}
PARTS |= {"what": "B1", "kind": "lesson", "status": "release"}
PARTS |= {"first": "2027-03-01", "last": "2027-03-01", "end": "csv"}


def _address(route: APIRoute) -> str:
    return re.sub(r"\{(\w+)(?::\w+)?\}", lambda m: PARTS[m[1]], route.path)


def _each() -> Iterator[tuple[str, APIRoute]]:
    for route in ROUTES:
        for method in sorted(route.methods - {"HEAD"}):
            yield method, route


def test_every_route_names_a_right() -> None:
    assert len(ROUTES) > 50
    assert [route.path for route in ROUTES if not isinstance(getattr(route.endpoint, "right", None), Right)] == []


def test_every_right_is_somebody_s() -> None:
    assert set(WHO) == set(Right) - {Right.ANYONE}
    assert all(WHO.values())
    assert WHO[Right.RULE] == {Role.OFFICE}
    assert WHO[Right.COUNT] == {Role.AUDITOR}
    assert Role.AUDITOR not in WHO[Right.WORK] | WHO[Right.BOOK]
    assert Role.TEACHER not in WHO[Right.SEE_STOCK] | WHO[Right.WORK] | WHO[Right.SEE_HISTORY]


@pytest.fixture
def doors(school: str, monkeypatch: pytest.MonkeyPatch) -> FastAPI:
    """The application with its guards, and behind each of them nothing but "come in"."""

    async def come_in(_: Request) -> Response:
        return PlainTextResponse("come in")

    monkeypatch.setattr(APIRoute, "get_route_handler", lambda _: come_in)
    assert school
    return web.create_app(web.ServedInventory(None, lambda: DAY, frozenset({"testserver"})))


@pytest.mark.parametrize("role", [None, *Role])
def test_every_route_serves_those_of_its_right_alone(role: Role | None, doors: FastAPI) -> None:
    me = at_browser(doors, role)
    token = csrf_of(me.secret or me.visitor())
    wrong = []
    for method, route in _each():
        right = route.endpoint.right
        sent = {"data": {"csrf": token}, "headers": me.headers} if method == "POST" else {}
        answer = me.client.request(method, _address(route), **sent)
        if route.path.startswith("/api/"):  # a session opens no door of the programs'
            fine = answer.status_code == (200 if right is Right.ANYONE else 401)
        elif right is Right.ANYONE or (role is not None and role in WHO[right]):
            fine = answer.text == "come in"
        elif role is None:
            fine = answer.headers.get("location", "").split("?")[0] == "/sign-in"
        else:
            fine = answer.status_code == 403
        if not fine:
            wrong.append((method, route.path, answer.status_code))
    assert wrong == []


def test_each_page_answers_whoever_may_see_it(signed_in: As) -> None:
    wrong = []
    people_ = {role: signed_in(role) for role in Role}
    for method, route in _each():
        right = route.endpoint.right
        if method != "GET" or right is Right.ANYONE or route.path.startswith("/api/"):
            continue
        role = next(role for role in (Role.TECHNICIAN, Role.OFFICE, Role.AUDITOR, Role.TEACHER) if role in WHO[right])
        answer = people_[role].get(_address(route))
        if answer.status_code >= 500 or answer.status_code in (401, 403):
            wrong.append((route.path, answer.status_code))
    assert wrong == []


def test_a_teacher_learns_what_is_held_and_not_how_much_or_where(signed_in: As) -> None:
    page = signed_in(Role.TEACHER).get("/held?q=sodium").text
    assert "odium chloride" in page
    assert not re.search(r"\d (g|kg|mL|L|mg)\b", re.sub(r"<[^>]+>", " ", page.partition('<ul class="plain">')[2]))
    assert signed_in(Role.TEACHER).get("/shelves").status_code == 403


def test_a_route_without_a_right_is_served_to_nobody(app: FastAPI, signed_in: As) -> None:
    from prep.web.rights import router

    forgotten = router()

    @forgotten.get("/forgotten")
    def handler() -> str:
        return "secret"

    app.include_router(forgotten)
    for role in Role:
        assert signed_in(role).get("/forgotten").status_code == 403
    assert needs(Right.ANYONE)(handler).right is Right.ANYONE


@pytest.mark.parametrize("role", Role)
def test_a_program_s_key_does_what_its_scope_and_its_person_may(role: Role, doors: FastAPI) -> None:
    person = next(p for p in people.everybody(None) if p.name == NAMES[role])
    client, wrong = at_browser(doors, None).client, []
    for scope in SCOPES:
        key = people.new_token(None, person.id, scope, [scope], person.name, "")
        for method, route in _each():
            right = route.endpoint.right
            if route.path.startswith("/api/") and right is not Right.ANYONE:
                answer = client.request(method, _address(route), headers={"Authorization": f"Bearer {key}"})
                allowed = right in SCOPES[scope] and role in WHO[right]
                if answer.status_code != (200 if allowed else 403):
                    wrong.append((scope, method, route.path, answer.status_code))
    assert wrong == []


def test_a_key_that_was_ended_opens_nothing(signed_in: As) -> None:
    person = next(p for p in people.everybody(None) if p.name == NAMES[Role.TECHNICIAN])
    key = people.new_token(None, person.id, "till", ["read"], person.name, "")
    client, headers = signed_in(None).client, {"Authorization": f"Bearer {key}"}
    assert client.get("/api/me", headers=headers).json()["name"] == person.name
    kept = sign_in.tokens_of(None, person.id)
    assert key not in str(kept)
    people.end_token(None, person.id, kept[0].key, person.name, "")
    assert client.get("/api/me", headers=headers).status_code == 401


# The ways round ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("headers", "token"),
    [
        ({"Origin": "https://elsewhere.example"}, True),
        ({"Origin": "null"}, True),
        ({"Origin": "http://testserver.elsewhere.example"}, True),
        ({"Origin": "http://testserver", "Sec-Fetch-Site": "cross-site"}, True),
        ({}, True),
        ({"Origin": "http://testserver"}, False),
    ],
)
def test_a_form_of_another_site_does_nothing(headers: dict[str, str], token: bool, signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    said = {"csrf": me.token() if token else "0" * 64, "amount": "1 mL"}
    answer = me.client.post("/bottles/G7P4/use", data=said, headers=headers)
    assert answer.status_code == 403
    assert "110 mL" in me.get("/bottles/G7P4").text


def test_a_proxy_that_loses_the_address_is_named(signed_in: As) -> None:
    """The browser says that the form is ours, the host that was handed on has another port or scheme."""
    me = signed_in(Role.TECHNICIAN)
    for origin in ("https://testserver", "http://testserver:8443"):
        headers = {"Origin": origin, "Sec-Fetch-Site": "same-origin"}
        answer = me.client.post("/bottles/G7P4/use", data={"csrf": me.token(), "amount": "1 mL"}, headers=headers)
        assert answer.status_code == 403
        assert "the proxy before this page hands its address on as http://testserver." in answer.text
    assert "110 mL" in me.get("/bottles/G7P4").text


def test_another_session_s_token_does_not_do(signed_in: As) -> None:
    token = signed_in(Role.OFFICE).token()
    me = signed_in(Role.TECHNICIAN)
    answer = me.client.post("/bottles/G7P4/use", data={"csrf": token, "amount": "1 mL"}, headers=me.headers)
    assert answer.status_code == 403


def test_signing_in_gives_a_new_session_whatever_was_there(signed_in: As) -> None:
    me = signed_in(None)
    me.client.cookies.set("prep_session", "planted")
    answer = me.send("/sign-in", {"name": "R. Vane", "phrase": PHRASE}, "/sign-in")
    assert answer.status_code == 303
    cookie = answer.headers["set-cookie"]
    assert "planted" not in cookie
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie


def test_signed_out_the_old_secret_opens_nothing(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    assert me.get("/today").status_code == 200
    me.send("/sign-out")
    me.client.cookies.set("prep_session", me.secret)
    assert me.get("/today").status_code == 303


def test_a_person_who_left_is_out_at_once(signed_in: As) -> None:
    me, office = signed_in(Role.TECHNICIAN), signed_in(Role.OFFICE)
    number = next(p.id for p in people.everybody(None) if p.name == "R. Vane")
    assert office.send(f"/people/{number}/status", {"status": "left"}).status_code == 303
    assert me.get("/today").status_code == 303
    last = next(p.id for p in people.everybody(None) if p.name == "M. Sarr")
    assert office.send(f"/people/{last}/status", {"status": "left"}).status_code == 409


def test_an_invitation_works_once_and_ends_what_was_before(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    number = next(p.id for p in people.everybody(None) if p.name == "R. Vane")
    secret = people.invite_again(None, number, "M. Sarr", "").secret
    new = signed_in(None)
    said = {"phrase": "seven brass tongs humming"}
    assert new.send(f"/invited/{secret}", said, "/sign-in").status_code == 303
    assert me.get("/today").status_code == 303
    assert signed_in(None).send(f"/invited/{secret}", said, "/sign-in").status_code == 409


@pytest.mark.parametrize("phrase", ["short", "aaaaaaaaaaaaaaaa", "r vane r vane r vane", "x" * 300])
def test_a_weak_pass_phrase_is_refused_and_the_link_still_works(phrase: str, signed_in: As) -> None:
    number = next(p.id for p in people.everybody(None) if p.name == "R. Vane")
    secret = people.invite_again(None, number, "M. Sarr", "").secret
    new = signed_in(None)
    assert new.send(f"/invited/{secret}", {"phrase": phrase}, "/sign-in").status_code == 422
    assert new.get(f"/invited/{secret}").status_code == 200


def test_guessing_is_slowed_for_the_name_and_the_address(signed_in: As, app: FastAPI) -> None:
    app.state.guesses.clock = lambda: 0.0  # no time passes, however long a machine takes over a guess
    me = signed_in(None)
    codes = [me.send("/sign-in", {"name": "R. Vane", "phrase": f"wrong {n}"}, "/sign-in").status_code for n in range(8)]
    assert codes[0] == 403
    assert codes[-1] == 429
    right = me.send("/sign-in", {"name": "R. Vane", "phrase": PHRASE}, "/sign-in")
    assert right.status_code == 429
    assert int(right.headers["retry-after"]) >= 1
    lines = [line for line in people.log_of_access(None) if line.kind == "refused"]
    assert lines
    assert lines[0].by == "R. Vane"


def test_the_wait_doubles_and_ends() -> None:
    now = [0.0]
    guesses = Guesses(clock=lambda: now[0])
    waits = []
    for _ in range(12):
        try:
            guesses.check("name:x")
        except TooManyGuesses as slowed:
            waits.append(slowed.seconds)
            now[0] += slowed.seconds
        guesses.wrong("name:x")
    assert waits == sorted(waits)
    assert waits[-1] > waits[0]
    guesses.right("name:x")
    guesses.check("name:x")


def test_who_is_on_file_cannot_be_told_from_the_answer(signed_in: As) -> None:
    me = signed_in(None)
    bodies = [me.send("/sign-in", {"name": n, "phrase": "nonsense"}, "/sign-in").text for n in ("R. Vane", "Nobody")]
    assert sign_in.WRONG in bodies[0]
    assert sign_in.WRONG in bodies[1]


@pytest.mark.parametrize(
    "to", ["https://elsewhere.example", "//elsewhere.example", "/\\elsewhere.example", "/a\r\nX: y"]
)
def test_the_sign_in_leads_nowhere_else(to: str, signed_in: As) -> None:
    me = signed_in(None)
    answer = me.send("/sign-in", {"name": "R. Vane", "phrase": PHRASE, "to": to}, "/sign-in")
    assert answer.headers["location"] == "/"


@pytest.mark.parametrize("host", ["elsewhere.example", "testserver.elsewhere.example", "testserver@elsewhere.example"])
def test_another_host_name_is_refused(host: str, signed_in: As) -> None:
    assert signed_in(None).client.get("/sign-in", headers={"Host": host}).status_code == 400


def test_every_page_says_what_may_run_on_it(signed_in: As) -> None:
    answer = signed_in(Role.TECHNICIAN).get("/today")
    policy = answer.headers["content-security-policy"]
    assert "unsafe" not in policy
    assert "default-src 'none'" in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cache-control"] == "no-store"
    assert not re.search(r"<script>|\son\w+=|style=", answer.text)


def test_what_is_too_large_is_refused(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    said = {"csrf": me.token(), "reason": "x" * (web.LARGEST + 1)}
    assert me.client.post("/bottles/G7P4/use", data=said, headers=me.headers).status_code == 413

    def chunks() -> Iterator[bytes]:
        yield b"csrf=x&reason="
        for _ in range(web.LARGEST // 100_000 + 2):
            yield b"y" * 100_000

    kind = {**me.headers, "Content-Type": "application/x-www-form-urlencoded"}
    assert me.client.post("/bottles/G7P4/use", content=chunks(), headers=kind).status_code in (400, 413)


@pytest.mark.parametrize(
    "path", ["/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2fapp.py", "/b/..%2f..%2fetc"]
)
def test_paths_lead_to_nothing_else(path: str, signed_in: As) -> None:
    answer = signed_in(None).get(path)
    assert "create_app" not in answer.text
    assert answer.status_code in (303, 404)


def test_the_shared_tablet_asks_who_and_keeps_the_name(signed_in: As, app: FastAPI) -> None:
    number = next(p.id for p in people.everybody(None) if p.name == "R. Vane")
    people.set_pin(None, number, "4826")
    tablet = signed_in(None)
    secret = sign_in.sign_in(None, "K. Ode", PHRASE, Device(bench=True), app.state.guesses)
    tablet.client.cookies.set("prep_session", secret)
    page = "/me"
    assert tablet.send("/bottles/G7P4/use", {"amount": "1 mL"}, page).status_code == 409
    assert tablet.send("/bottles/G7P4/use", {"amount": "1 mL", "who": number, "pin": "1111"}, page).status_code == 409
    assert tablet.send("/bottles/G7P4/use", {"amount": "1 mL", "who": number, "pin": "4826"}, page).status_code == 303
    assert "R. Vane" in signed_in(Role.TECHNICIAN).get("/bottles/G7P4").text


def test_the_tablet_s_cookie_lasts_as_long_as_its_session(
    signed_in: As, app: FastAPI, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each use renews the session, and the cookie with it; one's own browser forgets it when it is closed."""
    own, tablet = signed_in(Role.AUDITOR), signed_in(None)
    secret = sign_in.sign_in(None, "K. Ode", PHRASE, Device(bench=True), app.state.guesses)
    tablet.client.cookies.set("prep_session", secret)
    assert "prep_session" not in str(tablet.get("/shelves").headers.get_list("set-cookie"))  # not yet renewed
    monkeypatch.setattr(sign_in, "_TOUCH_S", -1)
    given = [one for one in tablet.get("/shelves").headers.get_list("set-cookie") if one.startswith("prep_session=")]
    assert len(given) == 1
    assert given[0].startswith(f"prep_session={secret};")
    for part in ("HttpOnly", "SameSite=lax", "Path=/", f"Max-Age={30 * 24 * 3600}"):
        assert part in given[0]
    assert "prep_session" not in str(own.get("/shelves").headers.get_list("set-cookie"))
    taken = tablet.send("/sign-out").headers.get_list("set-cookie")
    assert [one.partition(";")[0] for one in taken if "prep_session" in one] == ['prep_session=""']
    assert tablet.get("/me").status_code == 303


def test_guessing_a_pin_is_slowed_for_the_person_and_the_tablet(signed_in: As, app: FastAPI) -> None:
    app.state.guesses.clock = lambda: 0.0
    numbers = [p.id for p in people.everybody(None)]
    for number in numbers:
        people.set_pin(None, number, "4826")
    tablet = signed_in(None)
    secret = sign_in.sign_in(None, "R. Vane", PHRASE, Device(bench=True), app.state.guesses)
    tablet.client.cookies.set("prep_session", secret)

    def tried(number: int, pin: str) -> int:
        said = {"amount": "1 mL", "who": str(number), "pin": pin}
        return int(tablet.send("/bottles/G7P4/use", said, "/me").status_code)

    codes = [tried(number, pin) for number in numbers for pin in ("1357", "2468")]
    assert codes[:5] == [409] * 5
    assert codes[5:] == [429] * 3
    assert tried(numbers[0], "4826") == 429


REFUSALS: dict[str, tuple[Callable[[Person, FastAPI], object], str, str]] = {
    "a page": (lambda me, _: me.get("/settings"), "R. Vane", "GET /settings"),
    "a form": (lambda me, _: me.send("/settings/days", {"minutes": "1"}), "R. Vane", "POST /settings/days"),
    "another site's form": (
        lambda me, _: me.client.post("/orders", data={"csrf": me.token()}, headers={"Origin": "https://x.example"}),
        "R. Vane", "POST /orders"),
    "a form of another sign-in": (
        lambda me, _: me.client.post("/orders", data={"csrf": "0" * 64}, headers=me.headers), "R. Vane",
        "POST /orders"),
    "a wrong pass phrase": (
        lambda me, _: me.send("/me/phrase", {"old": "guessed", "new": "seven brass tongs humming"}), "R. Vane",
        "wrong pass phrase, signed in"),
    "a wrong key": (
        lambda me, _: me.client.get("/api/me", headers={"Authorization": "Bearer prep_x"}), "a program",
        "a key that opens nothing"),
    "a wrong PIN": (
        lambda me, app: _at_the_tablet(me, app, {"amount": "1 mL", "who": "1", "pin": "1357"}), "T. Okonjo",
        "wrong PIN, on the bench's tablet"),
}  # fmt: skip


def _at_the_tablet(me: Person, app: FastAPI, said: dict[str, str]) -> None:
    me.client.cookies.set(
        "prep_session", sign_in.sign_in(None, "R. Vane", PHRASE, Device(bench=True), app.state.guesses)
    )
    assert me.send("/bottles/G7P4/use", said).status_code == 409


@pytest.mark.parametrize("case", REFUSALS)
def test_every_refusal_is_a_line_of_the_history(case: str, signed_in: As, app: FastAPI) -> None:
    do, by, about = REFUSALS[case]
    do(signed_in(Role.TECHNICIAN), app)
    line = people.log_of_access(None)[0]
    assert (line.kind, line.by, line.about) == ("refused", by, about)
    assert about in html.unescape(signed_in(Role.OFFICE).get("/history").text)


def test_the_day_of_the_tests_is_the_school_s(signed_in: As) -> None:
    assert f"{DAY.day} Jan {DAY.year}" in signed_in(Role.TECHNICIAN).get("/today").text
