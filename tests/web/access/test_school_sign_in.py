"""Coming in by the school's own account: the real flow against a provider of our own, and every way it may be bent.

The rules of the flow: OpenID Connect Core 1.0, 3.1.3.7 (what is checked of an ID token); RFC 7636 (PKCE); RFC 9207.
"""

import time
from collections.abc import Callable, Iterator
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

import httpx
import pytest
from fastapi import FastAPI
from joserfc import jwt
from joserfc.jwk import OctKey, RSAKey

from prep.errors import PrepError
from prep.services.people import openid, people, sign_in
from prep.services.people.openid import (
    AfterSignIn,
    AskedProvider,
    NotTrusted,
    OpenIdSettings,
    Purpose,
    SchoolProvider,
    SignInQuestions,
)
from prep.services.people.people import hashed
from prep.services.people.roles import Role
from prep.services.people.sign_in import Device
from tests.web.conftest import NAMES, PHRASE, As, Person
from tests.web.provider import CLIENT, SECRET, Provider, new_key, serving

pytestmark = pytest.mark.on_file
HERE = {"Sec-Fetch-Site": "same-origin"}


@pytest.fixture(scope="module")
def key() -> RSAKey:
    """The provider's key, drawn once."""
    return new_key()


@pytest.fixture
def provider(app: FastAPI, key: RSAKey) -> Iterator[Provider]:
    """The school's provider, set for the page."""
    with serving(key) as one:
        app.state.school_provider = SchoolProvider(OpenIdSettings(one.issuer, CLIENT, SECRET))
        yield one


def number_of(role: Role) -> int:
    return next(p.id for p in people.everybody(None) if p.name == NAMES[role])


def linked(role: Role) -> str | None:
    return people.one(None, number_of(role)).subject


def new_link(role: Role) -> str:
    return people.invite_again(None, number_of(role), NAMES[Role.OFFICE], "").secret


def log(kind: str) -> list[str]:
    return [f"{line.by}: {line.about}" for line in people.log_of_access(None) if line.kind == kind]


def at_provider(me: Person, start: str) -> str:
    """Follow the page's link to the provider, and find the address to which that sends the browser back."""
    answer = me.get(start, headers=HERE)
    assert answer.status_code == 303, answer.text
    return httpx.get(answer.headers["location"]).headers["location"].removeprefix("http://testserver")


def come_in(me: Person, start: str = "/sign-in/school") -> Any:
    return me.get(at_provider(me, start))


def take_up(signed_in: As, role: Role = Role.TEACHER) -> Person:
    """Somebody who took up an invitation by the school's account."""
    me = signed_in(None)
    assert come_in(me, f"/invited/{new_link(role)}/school").status_code == 303
    return me


# What is to work ---------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("provider")
def test_an_invitation_is_taken_up_and_the_account_opens_the_page_from_then_on(signed_in: As) -> None:
    secret = new_link(Role.TEACHER)
    me = signed_in(None)
    page = me.get(f"/invited/{secret}").text
    assert f'href="/invited/{secret}/school"' in page
    assert come_in(me, f"/invited/{secret}/school").headers["location"] == "/"
    assert "T. Okonjo" in me.get("/me").text
    assert linked(Role.TEACHER) == "t-okonjo"
    assert signed_in(None).get(f"/invited/{secret}").status_code == 409  # taken up once

    again = signed_in(None)
    assert 'href="/sign-in/school?to=/showings"' in again.get("/sign-in?to=/showings").text
    answer = come_in(again, "/sign-in/school?to=/showings")
    assert answer.headers["location"] == "/showings"
    assert again.get("/showings").status_code == 200
    assert "T. Okonjo: with the school's account" in log("took up the invitation")
    assert "T. Okonjo: with the school's account" in log("signed in")
    assert "T. Okonjo: T. Okonjo: t-okonjo" in log("linked the school's account")


def test_an_account_is_linked_from_my_page_and_unlinked_again(signed_in: As, provider: Provider) -> None:
    me, other = signed_in(Role.TEACHER), signed_in(Role.TEACHER)
    assert "Link it" in me.get("/me").text
    wrong = me.send("/me/school", {"known": "not the phrase"})
    assert wrong.status_code == 422
    assert "The pass phrase is not that." in wrong.text
    page = me.send("/me/school", {"known": PHRASE})
    onward = page.text.partition(f'href="{provider.issuer}')[2].partition('"')[0].replace("&amp;", "&")
    back = httpx.get(provider.issuer + onward).headers["location"].removeprefix("http://testserver")
    assert me.get(back).headers["location"] == "/me"
    assert linked(Role.TEACHER) == "t-okonjo"
    assert me.get("/me").status_code == 200
    assert other.get("/me").status_code == 303  # signed out everywhere else
    assert come_in(signed_in(None)).headers["location"] == "/"

    assert me.send("/me/school/end").headers["location"] == "/me"
    assert linked(Role.TEACHER) is None
    assert come_in(signed_in(None)).status_code == 403
    assert log("unlinked the school's account") == ["T. Okonjo: T. Okonjo: t-okonjo"]


def test_the_office_unlinks_and_whoever_is_left_without_a_way_in_does_not(signed_in: As, provider: Provider) -> None:
    invited = people.invite(None, "N. Abara", [Role.TEACHER], NAMES[Role.OFFICE])
    provider.who = "n-abara"
    me, office = signed_in(None), signed_in(Role.OFFICE)
    come_in(me, f"/invited/{invited.secret}/school")
    assert "You have none." in me.get("/me").text
    refused = me.send("/me/school/end")
    assert refused.status_code == 409
    assert "ask the office for a link" in refused.text
    assert "n-abara" in office.get(f"/people/{invited.person}").text
    assert office.send(f"/people/{invited.person}/unlink").status_code == 303
    assert me.get("/me").status_code == 303
    assert come_in(signed_in(None)).status_code == 403
    assert "M. Sarr: N. Abara: n-abara" in log("unlinked the school's account")


def test_a_key_that_the_provider_changed_is_asked_for(signed_in: As, provider: Provider) -> None:
    take_up(signed_in)
    provider.key = new_key()
    assert come_in(signed_in(None)).status_code == 303


def test_without_a_provider_no_link_is_shown_and_nothing_is_there(signed_in: As) -> None:
    me = signed_in(Role.TEACHER)
    secret = new_link(Role.TECHNICIAN)
    for page in ("/sign-in", f"/invited/{secret}", "/me"):
        assert "chool’s account" not in signed_in(Role.TEACHER).get(page).text
        assert "/school" not in me.get(page).text
    for page in ("/sign-in/school", f"/invited/{secret}/school", "/sign-in/school/back"):
        assert me.get(page, headers=HERE).status_code == 404


# Who is not let in -------------------------------------------------------------------------------------------


def test_an_account_that_is_nobody_s_is_told_to_ask_the_office(signed_in: As, provider: Provider) -> None:
    provider.who, provider.name = "somebody-else", "<b>Somebody</b>"
    before = len(people.everybody(None))
    me = signed_in(None)
    answer = come_in(me)
    assert answer.status_code == 403
    assert "Ask the office for an invitation." in answer.text
    assert me.get("/me").status_code == 303
    assert len(people.everybody(None)) == before  # no open registration
    assert any(line.startswith("somebody-else: ") for line in log("refused"))  # never by a name that it gave itself
    shown = signed_in(Role.OFFICE).get("/history").text
    assert "&lt;b&gt;Somebody" in shown
    assert "<b>Somebody" not in shown


@pytest.mark.usefixtures("provider")
def test_an_account_of_one_person_takes_up_nobody_else_s_invitation(signed_in: As) -> None:
    take_up(signed_in)
    secret = new_link(Role.TECHNICIAN)
    me = signed_in(None)
    answer = come_in(me, f"/invited/{secret}/school")
    assert answer.status_code == 403
    assert "somebody else’s here already" in answer.text
    assert linked(Role.TECHNICIAN) is None
    assert me.get("/me").status_code == 303
    assert signed_in(None).get(f"/invited/{secret}").status_code == 200  # the link is not used up
    assert any("somebody else" in line for line in log("refused"))


def test_an_account_is_linked_to_one_person(signed_in: As, provider: Provider) -> None:
    take_up(signed_in)
    me = signed_in(Role.TECHNICIAN)
    page = me.send("/me/school", {"known": PHRASE})
    onward = page.text.partition(f'href="{provider.issuer}')[2].partition('"')[0].replace("&amp;", "&")
    answer = me.get(httpx.get(provider.issuer + onward).headers["location"].removeprefix("http://testserver"))
    assert answer.status_code == 409
    assert "somebody else’s here already" in answer.text
    assert linked(Role.TECHNICIAN) is None


@pytest.mark.usefixtures("provider")
def test_whoever_has_left_stays_out(signed_in: As) -> None:
    take_up(signed_in)
    people.set_status(None, number_of(Role.TEACHER), "left", NAMES[Role.OFFICE], "")
    assert come_in(signed_in(None)).status_code == 403


def test_whoever_says_no_at_the_provider_is_not_let_in(signed_in: As, provider: Provider) -> None:
    take_up(signed_in)
    provider.says_no = True
    answer = come_in(signed_in(None))
    assert answer.status_code == 403
    assert "did not let you in" in answer.text
    assert any("access_denied" in line for line in log("refused"))


BENT: dict[str, dict[str, Any]] = {
    "another nonce": {"claims": {"nonce": "another"}},
    "no nonce": {"claims": {"nonce": None}},
    "run out": {"claims": {"exp": 1_700_000_000, "iat": 1_699_999_000}},
    "no end": {"claims": {"exp": None}},
    "for another page": {"claims": {"aud": "another-page"}},
    "for two, by another": {"claims": {"aud": [CLIENT, "another-page"], "azp": "another-page"}},
    "of another issuer": {"claims": {"iss": "https://elsewhere.example"}},
    "of nobody": {"claims": {"sub": None}},
    "of an empty name": {"claims": {"sub": ""}},
    "of a number": {"claims": {"sub": 7}},
    "not signed": {"unsigned": True},
}


@pytest.mark.parametrize("bent", BENT)
def test_a_token_that_does_not_hold_lets_nobody_in(bent: str, signed_in: As, provider: Provider) -> None:
    take_up(signed_in)
    for name, value in BENT[bent].items():
        setattr(provider, name, value)
    me = signed_in(None)
    answer = come_in(me)
    assert answer.status_code == 403
    assert openid.UNSOUND in answer.text
    assert me.get("/me").status_code == 303
    assert log("refused")


def test_a_token_signed_by_another_key_lets_nobody_in(signed_in: As, provider: Provider) -> None:
    take_up(signed_in)
    provider.signed_with = new_key()
    assert openid.UNSOUND in come_in(signed_in(None)).text


def test_a_token_signed_with_what_both_know_lets_nobody_in(
    signed_in: As, provider: Provider, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The provider offers HS256 too, but the client's secret is no key of the provider's own."""
    take_up(signed_in)
    shared = OctKey.import_key(SECRET.encode())
    monkeypatch.setattr(provider, "signed", lambda claims: jwt.encode({"alg": "HS256"}, claims, shared))
    assert openid.UNSOUND in come_in(signed_in(None)).text


@pytest.mark.usefixtures("provider")
def test_an_answer_counts_only_in_the_browser_that_asked(signed_in: As) -> None:
    take_up(signed_in)
    me, victim = signed_in(None), signed_in(None)
    victim.get("/sign-in")
    back = at_provider(me, "/sign-in/school")
    planted = victim.get(back)
    assert planted.status_code == 403
    assert openid.STALE in planted.text
    assert victim.get("/me").status_code == 303
    assert me.get(back).status_code == 303  # and there still does


@pytest.mark.parametrize("said", [{"state": "made up"}, {}, {"state": "\ud83d" * 2000}])
@pytest.mark.usefixtures("provider")
def test_an_answer_to_no_question_lets_nobody_in(said: dict[str, str], signed_in: As) -> None:
    me = signed_in(None)
    sent = urlencode({"code": "x", **said}, errors="surrogatepass")
    answer = me.get(f"/sign-in/school/back?{sent}")
    assert answer.status_code == 403
    assert openid.STALE in answer.text


def test_an_answer_is_read_once(signed_in: As, provider: Provider) -> None:
    take_up(signed_in)
    provider.reads_code_twice = True  # even where the provider would give it again
    me = signed_in(None)
    back = at_provider(me, "/sign-in/school")
    assert me.get(back).status_code == 303
    assert me.get(back).status_code == 403


@pytest.mark.usefixtures("provider")
def test_a_code_of_another_sign_in_lets_nobody_in(signed_in: As) -> None:
    """A stolen code does not pass: it belongs to another verifier (RFC 7636, 4.6)."""
    take_up(signed_in)
    stolen = parse_qs(urlsplit(at_provider(signed_in(None), "/sign-in/school")).query)["code"][0]
    me = signed_in(None)
    asked = parse_qs(urlsplit(at_provider(me, "/sign-in/school")).query)
    answer = me.get(f"/sign-in/school/back?{urlencode({'state': asked['state'][0], 'code': stolen})}")
    assert answer.status_code == 403
    assert openid.UNSOUND in answer.text


def test_an_answer_of_another_issuer_is_not_taken_to_ours(signed_in: As, provider: Provider) -> None:
    take_up(signed_in)
    me = signed_in(None)
    back = at_provider(me, "/sign-in/school").partition("&iss=")[0]
    provider.asked.clear()
    assert me.get(f"{back}&iss=https%3A%2F%2Felsewhere.example").status_code == 403
    assert provider.asked == []


@pytest.mark.usefixtures("provider")
def test_coming_in_gives_a_new_session_whatever_was_planted(signed_in: As) -> None:
    take_up(signed_in)
    me = signed_in(None)
    me.client.cookies.set("prep_session", "planted")
    answer = come_in(me)
    cookie = next(c for c in answer.headers.get_list("set-cookie") if c.startswith("prep_session="))
    assert "planted" not in cookie
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie
    assert sign_in.who_is(None, "planted") is None


def test_linking_counts_only_for_whoever_is_still_signed_in(signed_in: As, provider: Provider) -> None:
    me = signed_in(Role.TEACHER)
    page = me.send("/me/school", {"known": PHRASE})
    onward = page.text.partition(f'href="{provider.issuer}')[2].partition('"')[0].replace("&amp;", "&")
    back = httpx.get(provider.issuer + onward).headers["location"].removeprefix("http://testserver")
    me.client.cookies.set("prep_session", signed_in(Role.TECHNICIAN).secret)
    assert me.get(back).status_code == 409
    assert linked(Role.TEACHER) is linked(Role.TECHNICIAN) is None


@pytest.mark.parametrize("headers", [{"Sec-Fetch-Site": "cross-site"}, {"Referer": "https://elsewhere.example/"}, {}])
def test_another_site_begins_nobody_s_invitation(headers: dict[str, str], signed_in: As, provider: Provider) -> None:
    me = signed_in(None)
    assert me.get(f"/invited/{new_link(Role.TEACHER)}/school", headers=headers).status_code == 403
    assert provider.asked == []


@pytest.mark.usefixtures("provider")
def test_on_the_bench_s_tablet_nobody_links(signed_in: As, app: FastAPI) -> None:
    me = signed_in(None)
    secret = sign_in.sign_in(None, NAMES[Role.TEACHER], PHRASE, Device(bench=True), app.state.guesses)
    me.client.cookies.set("prep_session", secret)
    assert me.send("/me/school", {"known": PHRASE}).status_code == 403


@pytest.mark.parametrize("to", ["https://elsewhere.example", "//elsewhere.example", "/\\elsewhere.example"])
@pytest.mark.usefixtures("provider")
def test_the_school_s_sign_in_leads_nowhere_else(to: str, signed_in: As) -> None:
    take_up(signed_in)
    assert come_in(signed_in(None), f"/sign-in/school?{urlencode({'to': to})}").headers["location"] == "/"


@pytest.mark.usefixtures("provider")
def test_guessing_at_it_is_slowed(signed_in: As, app: FastAPI) -> None:
    app.state.guesses.clock = lambda: 0.0
    me = signed_in(None)
    codes = [me.get("/sign-in/school/back?state=x&code=y").status_code for _ in range(7)]
    assert codes[0] == 403
    assert codes[-1] == 429
    assert me.get("/sign-in/school").status_code == 429
    assert len(log("refused")) <= 6


# A provider that does not answer, or answers nonsense ----------------------------------------------------------


def test_a_provider_that_is_down_is_one_sentence_and_the_pass_phrase_still_works(
    signed_in: As, provider: Provider
) -> None:
    provider.down = True
    me = signed_in(None)
    answer = me.get("/sign-in/school")
    assert answer.status_code == 403
    assert openid.SILENT in answer.text
    asked = len(provider.asked)
    me.get("/sign-in/school")
    assert len(provider.asked) == asked  # nobody waits for it again at once
    assert me.send("/sign-in", {"name": NAMES[Role.TEACHER], "phrase": PHRASE}, "/sign-in").status_code == 303


def test_a_provider_that_goes_down_in_between_is_one_sentence(signed_in: As, provider: Provider) -> None:
    secret = new_link(Role.TEACHER)
    me = signed_in(None)
    back = at_provider(me, f"/invited/{secret}/school")
    provider.down = True
    answer = me.get(back)
    assert answer.status_code == 403
    assert openid.SILENT in answer.text
    assert f'action="/invited/{secret}"' in answer.text  # the invitation still stands


def test_a_provider_that_nobody_serves_is_one_sentence(signed_in: As, app: FastAPI) -> None:
    app.state.school_provider = SchoolProvider(OpenIdSettings("http://127.0.0.1:9", CLIENT, SECRET))
    assert openid.SILENT in signed_in(None).get("/sign-in/school").text


def test_a_provider_of_another_name_is_not_trusted(signed_in: As, provider: Provider) -> None:
    provider.calls_itself = "https://elsewhere.example"
    assert openid.UNSOUND in signed_in(None).get("/sign-in/school").text
    assert any("https://elsewhere.example" in line for line in log("refused"))


# Rules of their own ------------------------------------------------------------------------------------------


def _asked(visitor: str, until: float) -> AskedProvider:
    return AskedProvider(AfterSignIn(Purpose.COME_IN, "/"), hashed(visitor), "n", "v", "http://testserver/back", until)


def test_a_question_waits_ten_minutes() -> None:
    now = [0.0]
    waiting = SignInQuestions(clock=lambda: now[0])
    waiting.remember("a", _asked("me", openid.WAITS_S), "1")
    now[0] = openid.WAITS_S + 1
    with pytest.raises(NotTrusted):
        waiting.take("a", "me")
    assert openid.WAITS_S == 600


def test_questions_that_nobody_answers_are_forgotten_the_oldest_first() -> None:
    waiting = SignInQuestions(most=4, most_from=2, clock=lambda: 0.0)
    for state, address in (("a", "1"), ("b", "1"), ("c", "1"), ("d", "2"), ("e", "3"), ("f", "4")):
        waiting.remember(state, _asked("me", 1.0), address)
    kept = []
    for state in "abcdef":
        try:
            waiting.take(state, "me")
            kept.append(state)
        except NotTrusted:
            pass
    assert kept == ["c", "d", "e", "f"]


SET: list[tuple[dict[str, str], str]] = [
    ({openid.ISSUER: "https://login.school.example"}, openid.CLIENT),
    ({openid.CLIENT: "prep"}, openid.ISSUER),
    ({openid.ISSUER: "http://login.school.example", openid.CLIENT: "prep"}, "https://"),
    ({openid.ISSUER: "login.school.example", openid.CLIENT: "prep"}, "https://"),
]


@pytest.mark.parametrize(("given", "said"), SET)
def test_settings_that_do_not_hold_are_one_sentence(
    given: dict[str, str], said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in (openid.ISSUER, openid.CLIENT, openid.SECRET):
        monkeypatch.setenv(name, given.get(name, ""))
    with pytest.raises(PrepError, match=said):
        openid.openid_settings()


def test_settings_are_read_from_the_environment_and_the_secret_is_not_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in (openid.ISSUER, openid.CLIENT, openid.SECRET):
        monkeypatch.delenv(name, raising=False)
    assert openid.openid_settings() is None
    monkeypatch.setenv(openid.ISSUER, "https://login.school.example/")
    monkeypatch.setenv(openid.CLIENT, "prep")
    monkeypatch.setenv(openid.SECRET, "brass tongs")
    found = openid.openid_settings()
    assert found == OpenIdSettings("https://login.school.example/", "prep", "brass tongs")
    assert "brass" not in repr(found)
    assert openid.openid_installed()


def test_the_time_is_told_by_the_clock_of_the_token(provider: Provider) -> None:
    """A token is a moment late, as two machines' clocks are: that is let in."""
    provider.claims = {"exp": int(time.time()) - 20}
    asks: Callable[..., str] = SchoolProvider(OpenIdSettings(provider.issuer, CLIENT, SECRET)).ask
    one = asks.__self__  # type: ignore[attr-defined]
    back = httpx.get(asks(AfterSignIn(Purpose.COME_IN), "v" * 43, "http://testserver/back", "")).headers["location"]
    said = {name: value[-1] for name, value in parse_qs(urlsplit(back).query).items()}
    assert one.account(one.waiting.take(said["state"], "v" * 43), said).subject == "t-okonjo"
