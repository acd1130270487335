"""Each role's day in a real browser, on a phone and on a desk, with and without script; WCAG 2.2 AA by axe-core."""

import json
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Locator, Page, Response, sync_playwright

from prep.services.people import openid
from tests.web.provider import CLIENT, SECRET, Provider, new_key, serving
from tests.web.serving import PATIENCE, start

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = [pytest.mark.on_file, pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here")]
FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
).split()
SIZES = {"phone": {"width": 360, "height": 740}, "desk": {"width": 1280, "height": 800}}
SLOW = 1000 * PATIENCE
"""Milliseconds until a step has failed: the machine may be busy, and changed books are planned anew."""
PHRASE = "copper beaker lantern 7"
_WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa"]
RULES = {"resultTypes": ["violations"], "runOnly": {"type": "tag", "values": _WCAG}}
CONTRAST = {"resultTypes": ["violations"], "runOnly": {"type": "rule", "values": ["color-contrast"]}}
WIDER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
SMALL = """() => [...document.querySelectorAll('a, button, input, select, summary')]
  .filter((e) => e.offsetParent && !e.closest('p, li > span, dd, .skip, td > span, label') && e.type !== 'hidden')
  .map((e) => [e.outerHTML.slice(0, 90), e.getBoundingClientRect()])
  .filter(([, r]) => r.width > 0 && r.height < 24).map(([html]) => html)"""

GLOVED = """() => [...document.querySelectorAll('.bench main, .hands main')].flatMap((main) =>
  [...main.querySelectorAll('a, button, input, select, summary')])
  .filter((e) => e.offsetParent && !e.closest('.soft'))
  .map((e) => [e.outerHTML.slice(0, 90), (e.type === 'checkbox' ? e.closest('label') : e).getBoundingClientRect()])
  .filter(([, r]) => r.width > 0 && (r.height < 44 || r.width < 44)).map(([html]) => html)"""
"""What is less than 44 px where it is pressed at the bench; a link within a sentence is not."""
LITTLE = """() => [...document.querySelectorAll('.bench main *')]
  .filter((e) => e.offsetParent && [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim()))
  .filter((e) => parseFloat(getComputedStyle(e).fontSize) < 18).map((e) => e.outerHTML.slice(0, 90))"""
"""What is written in less than 18 px at the bench."""


@dataclass
class ServedItem:
    """A server of the invented school, and a signed-in browser's state for each role."""

    at: str
    browser: Browser
    states: dict[str, Any]
    provider: Provider

    def open(self, role: str, size: str = "desk", script: bool = True, dark: bool = False) -> BrowserContext:
        """A browser of somebody."""
        context = self.browser.new_context(
            viewport=SIZES[size],
            java_script_enabled=script,
            color_scheme="dark" if dark else "light",
            storage_state=self.states[role],
            base_url=self.at,
        )
        context.set_default_timeout(SLOW)
        return context


def follow(leads: Locator) -> None:
    """Press what leads to another page, and wait until that page is there: a busy machine answers late."""
    with leads.page.expect_navigation():
        leads.click()


@pytest.fixture(scope="module")
def served() -> Iterator[ServedItem]:
    """The sample school on a port of its own, with a provider of sign-ins that is on another site."""
    with serving(new_key()) as provider:
        with pytest.MonkeyPatch.context() as environment:
            environment.setenv(openid.ISSUER, provider.issuer)
            environment.setenv(openid.CLIENT, CLIENT)
            environment.setenv(openid.SECRET, SECRET)
            server = start("--sample")
        found = (re.match(r"  (\w+) +(http\S+)", line) for line in server.said)
        links = {one[1]: one[2] for one in found if one}
        at = server.at.replace("127.0.0.1", "localhost")
        try:
            with sync_playwright() as driver:
                browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS, timeout=SLOW)
                states = {role: _came_in(browser, link, at) for role, link in links.items()}
                yield ServedItem(at, browser, states, provider)
                browser.close()
        finally:
            server.stop()


def _came_in(browser: Browser, link: str, at: str) -> Any:
    context = browser.new_context(java_script_enabled=False)
    context.set_default_timeout(SLOW)
    page = context.new_page()
    page.goto(link)
    page.fill("input[name=phrase]", PHRASE)
    follow(page.locator("form.box button"))
    assert page.url.startswith(at)
    state = context.storage_state()
    context.close()
    return state


PAGES = {
    "technician": [
        "/today",
        "/week",
        "/shelves?at=PREP",
        "/shelves?q=zzz",
        "/bottles/G7P4",
        "/orders",
        "/orders/P1/arrived",
        "/bookings/B1",
        "/why/B1",
        "/what-if?change=bottle+Q9V3+gone",
        "/history",
        "/nowhere",
    ],
    "auditor": ["/counts", "/held", "/history?kind=make"],
    "office": ["/people", "/people/1", "/settings", "/history"],
    "teacher": [
        "/showings",
        "/book",
        "/demos",
        "/demos?can=2027-01-19",
        "/demos?can=2027-01-16",
        "/demos/strong-acid-titration",
        "/demos/new",
        "/demos/new?like=strong-acid-titration",
        "/held",
        "/me",
        "/sign-in",
    ],
}


ZOOMED = {"width": 640, "height": 400}
"""A window of 1280 x 800 at 200 %."""


@pytest.mark.parametrize("role", PAGES)
def test_no_page_keeps_anybody_out(role: str, served: ServedItem) -> None:
    """Each page once: light and dark, on the phone, on the desk, and at twice the size there."""
    context = served.open(role, "phone")
    page, found = context.new_page(), []
    noisy: list[str] = []
    page.on("console", lambda message: noisy.append(message.text) if "Content Security" in message.text else None)
    makes = [_first_make(page)] if role == "technician" else _count(page) if role == "auditor" else []
    for path in [*PAGES[role], *makes]:
        page.goto(path)
        found += [(path, *wrong) for wrong in _violations(page, RULES)]
        found += [(path, "a small target", html) for html in page.evaluate(SMALL)]
        found += [(path, "small at the bench", html) for html in page.evaluate(LITTLE)]
        page.emulate_media(color_scheme="dark")
        found += [(path, "dark", *wrong) for wrong in _violations(page, CONTRAST)]
        page.emulate_media(color_scheme="light")
        for size in (SIZES["desk"], ZOOMED, SIZES["phone"]):
            page.set_viewport_size(size)
            found += [(path, "not for a glove", size["width"], html) for html in page.evaluate(GLOVED)]
            if page.evaluate(WIDER) > 0:
                found.append((path, "scrolls sideways", size["width"]))
    context.close()
    assert found == []
    assert noisy == []


def _violations(page: Page, rules: dict[str, Any]) -> list[tuple[str, str]]:
    found = Axe().run(page, options=rules).response["violations"]
    return [(wrong["id"], wrong["nodes"][0]["html"][:150]) for wrong in found]


def _count(page: Page) -> list[str]:
    """The pages of a count that is closed, and of one that is open."""
    page.goto("/counts")
    page.select_option("select[name=location]", "HALO")
    follow(page.get_by_role("button", name="Open a count"))
    closed = page.url
    page.goto(f"{closed}/at/HALO")
    page.locator("li[data-bottle]").first.get_by_role("button", name="Not there").click()
    _sent(page)
    page.goto(closed)
    page.check("input[name=partial]")
    page.check("input[name=as_counted]")
    follow(page.get_by_role("button", name="Close and sign off"))
    assert page.url == f"{closed}/report", page.inner_text("main")[:300]
    page.goto("/counts")
    page.select_option("select[name=location]", "DITH")
    follow(page.get_by_role("button", name="Open a count"))
    return [closed, f"{closed}/report", page.url, f"{page.url}/at/DITH"]


def _first_make(page: Page) -> str:
    page.goto("/today")
    found = page.locator("a[href^='/makes/']").first.get_attribute("href")
    assert found
    return found


def test_a_long_name_leaves_the_words_beside_it_whole(served: ServedItem) -> None:
    """80 characters, the longest that a name may have, on a phone."""
    office = served.open("office", "phone")
    page = office.new_page()
    page.goto("/people")
    page.fill("input[name=name]", ("Wilhelmina-Anastasia Featherstonehaugh " * 3)[:78].strip())
    page.check("input[value=teacher]")
    follow(page.get_by_role("button", name="Invite"))
    link = page.inner_text(".secret")
    guest = served.browser.new_context(viewport=SIZES["phone"])
    guest.set_default_timeout(SLOW)
    other = guest.new_page()
    other.goto(link)
    other.fill("input[name=phrase]", PHRASE)
    follow(other.get_by_role("button", name="Choose it"))
    out = other.get_by_role("button", name="Sign out").bounding_box()
    assert out is not None
    assert out["width"] > out["height"]
    assert other.evaluate(WIDER) <= 0
    office.close()
    guest.close()


def test_a_day_of_many_makes_is_short_on_a_phone_and_printed_whole(served: ServedItem) -> None:
    """What is to be minded of each is folded on the screen, beside its signal word, and stands there on paper."""
    context = served.open("technician", "phone")
    page = context.new_page()
    page.goto("/today?day=2027-01-12")
    makes = page.locator("ol.plain > li:has(a[href^='/makes/'])")
    minds = page.locator("details.mind p.hazard, details.mind div.hazard")
    assert makes.count() >= 8
    assert minds.count() > 20
    heights = [(one.bounding_box() or {"height": 9e9})["height"] for one in makes.all()]
    assert max(heights) < SIZES["phone"]["height"] / 2
    assert minds.first.is_hidden()
    makes.first.locator("summary").click()
    assert minds.first.is_visible()
    assert [*page.evaluate(GLOVED), *_violations(page, RULES)] == []
    page.emulate_media(media="print")
    assert [one for one in minds.all() if not one.is_visible()] == []
    context.close()


def test_the_keyboard_alone_reaches_everything(served: ServedItem) -> None:
    context = served.open("technician")
    page = context.new_page()
    page.goto("/shelves")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    seen = set()
    for _ in range(24):
        page.keyboard.press("Tab")
        seen.add(page.evaluate("document.activeElement.name || document.activeElement.textContent.trim()"))
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert outline not in ("none", ""), page.evaluate("document.activeElement.outerHTML")
    assert {"Today", "Orders", "q", "at", "Find"} <= seen
    context.close()


def _how(*ways: tuple[str, bool]) -> Any:
    names = [f"{size}, {'with' if script else 'no'} script" for size, script in ways]
    return pytest.mark.parametrize(("size", "script"), ways, ids=names)


@_how(("phone", True), ("desk", False))
def test_a_technician_s_day(size: str, script: bool, served: ServedItem) -> None:
    context = served.open("technician", size, script)
    page = context.new_page()
    page.goto("/today")
    assert page.inner_text("h1").startswith("Make ")
    link = page.locator("a[href^='/makes/']").first
    name = link.inner_text()
    follow(link)
    assert name.split(" ", 2)[2][:10] in page.inner_text("h1")
    if script:
        page.locator("ol.steps label").first.click()
        assert "ticked" in (page.locator("ol.steps li").first.get_attribute("class") or "")
    for where in page.locator("select[name=location]").all():
        where.select_option("PREP")
    follow(page.get_by_role("button", name="It is made"))
    assert page.inner_text("h1").startswith("Label 1 bottle"), page.inner_text("main")[:400]
    code = page.locator("td a.code").first.inner_text()
    page.goto("/today")
    assert name not in [one.inner_text() for one in page.locator("a[href^='/makes/']").all()]
    _use_and_undo(page, code)
    context.close()


def _use_and_undo(page: Page, code: str) -> None:
    page.goto("/shelves")
    page.fill("#q", code)
    follow(page.get_by_role("button", name="Find"))
    follow(page.locator(f"a[href='/bottles/{code}']"))
    before = page.inner_text(".lead")
    page.fill("input[name=amount]", "7 mL")
    follow(page.get_by_role("button", name="Take it"))
    assert "Taken: 7 mL" in page.inner_text(".said")
    assert page.inner_text(".lead") != before
    follow(page.locator("a", has_text="Undo").first)
    follow(page.get_by_role("button", name=re.compile("Undo job")))
    page.goto(f"/bottles/{code}")
    assert page.inner_text(".lead") == before


@_how(("phone", False), ("desk", True))
def test_a_teacher_s_day(size: str, script: bool, served: ServedItem) -> None:
    context = served.open("teacher", size, script)
    page = context.new_page()
    page.goto("/book")
    day = "2027-02-03" if script else "2027-02-04"
    page.fill(
        "input[name=demo]",
        "Blue bottle" if page.locator("datalist option[value='Blue bottle']").count() else "blue-bottle",
    )
    page.fill("input[name=on]", day)
    page.fill("input[name=period]", "P4")
    follow(page.get_by_role("button", name="See whether"))
    assert "can" in page.inner_text("h1"), page.inner_text("main")[:300]
    follow(page.get_by_role("button", name=re.compile("Book it")))
    assert "booked" in page.inner_text(".said")
    code = page.inner_text(".lead .code")
    page.goto(f"/showings?day={day}")
    follow(page.locator(f"a[href='/bookings/{code}']"))
    page.locator("summary", has_text="Cancel it").click()
    follow(page.get_by_role("button", name="Cancel this showing"))
    assert "cancelled" in page.inner_text(".lead")
    page.goto("/shelves")
    assert page.inner_text("h1") == "This page is not for you"
    context.close()


@_how(("phone", True), ("desk", False))
def test_an_auditor_s_count(size: str, script: bool, served: ServedItem) -> None:
    context = served.open("auditor", size, script)
    page = context.new_page()
    place = "DIL"
    page.goto("/counts")
    page.select_option("select[name=location]", place)
    follow(page.get_by_role("button", name="Open a count"))
    count = page.url.rpartition("/")[2]
    follow(page.locator(f"a[href='/counts/{count}/at/{place}']"))
    items = page.locator("li[data-bottle]")
    number, first = items.count(), items.first.get_attribute("data-bottle")
    items.first.locator("summary").click()
    items.first.locator("input[name=full]").fill("1 L")
    items.first.get_by_role("button", name="Unopened").click()
    if script:  # what was pressed is sent behind the page's back
        _sent(page)
    page.goto(f"/counts/{count}")
    assert page.inner_text("h1").startswith(f"{number - 1} bottle"), (first, page.inner_text("h1"))
    if page.locator("input[name=partial]").count():
        page.check("input[name=partial]")
    if page.locator("input[name=as_counted]").count():
        page.check("input[name=as_counted]")
    follow(page.get_by_role("button", name="Close and sign off"))
    assert f"Count {count}" in page.inner_text("h1"), page.inner_text("main")[:300]
    context.close()


def _sent(page: Page) -> None:
    """Wait until nothing waits on the device any more."""
    for _ in range(SLOW // 200):
        if not page.inner_text("#waiting"):
            return
        page.wait_for_timeout(200)
    raise AssertionError(page.inner_text("#waiting"))


def test_entries_wait_on_the_device_while_there_is_no_network(served: ServedItem) -> None:
    context = served.open("auditor", "phone")
    page = context.new_page()
    page.goto("/counts")
    page.select_option("select[name=location]", "PREP")
    follow(page.get_by_role("button", name="Open a count"))
    count = page.url.rpartition("/")[2]
    page.goto(f"/counts/{count}/at/PREP")
    left = int(page.inner_text("#left"))
    context.set_offline(True)
    for _ in range(3):
        page.locator("li[data-bottle]:not(.hidden)").first.get_by_role("button", name="Not there").click()
    assert page.inner_text("#left") == str(left - 3)
    assert "3 entries wait" in page.inner_text("#waiting")
    context.set_offline(False)
    _sent(page)
    page.goto(f"/counts/{count}")
    assert page.inner_text("h1").startswith(f"{left - 3} bottle")
    context.close()


def test_a_full_place_is_counted_to_its_end_without_a_network(served: ServedItem) -> None:
    """Some bottles stand on the page at a time; the rest came while there was a network."""
    context = served.open("auditor", "phone")
    page = context.new_page()
    page.goto("/counts")
    page.select_option("select[name=location]", "FLAM")
    follow(page.get_by_role("button", name="Open a count"))
    count = page.url.rpartition("/")[2]
    page.goto(f"/counts/{count}/at/FLAM")
    page.locator("ol[data-whole]").wait_for()
    shown, left = page.locator("li[data-bottle]:visible"), int(page.inner_text("#left"))
    assert left > 2 * shown.count() > 0
    assert [one.inner_text() for one in page.locator(".turn a:visible").all()] == [f"The next {shown.count()}"]
    page.locator("summary", has_text="Look for a bottle").click()
    assert _violations(page, RULES) == []
    assert [page.evaluate(GLOVED), page.evaluate(LITTLE), page.evaluate(WIDER)] == [[], [], 0]
    context.set_offline(True)
    last = page.locator("[data-of] a").last
    code = last.inner_text().split()[0]
    last.click()
    assert [code] == [one.get_attribute("data-bottle") for one in shown.all()]
    assert page.evaluate("document.activeElement.closest('li').dataset.bottle") == code
    for _ in range(left):
        shown.first.get_by_role("button", name="Not there").click()
    assert page.inner_text("#left") == "0"
    assert f"{left} entries wait" in page.inner_text("#waiting")
    context.set_offline(False)
    _sent(page)
    page.goto(f"/counts/{count}")
    assert page.inner_text("h1").startswith("Every bottle is counted")
    context.close()


def test_entries_wait_on_the_device_while_nobody_is_signed_in(served: ServedItem) -> None:
    context = served.open("auditor", "phone")
    page = context.new_page()
    page.goto("/counts")
    page.select_option("select[name=location]", "ACID")
    follow(page.get_by_role("button", name="Open a count"))
    at = page.url + "/at/ACID"
    page.goto(at)
    left = int(page.inner_text("#left"))
    signed = context.cookies()
    context.clear_cookies()
    for _ in range(2):
        page.locator("li[data-bottle]:not(.hidden)").first.get_by_role("button", name="Not there").click()
    page.get_by_text("2 entries wait on this device: open this page again").wait_for()
    context.add_cookies(signed)
    page.goto(at)
    _sent(page)
    page.goto(at)
    assert page.inner_text("#left") == str(left - 2)
    context.close()


def test_the_office_invites_and_lets_go(served: ServedItem) -> None:
    context = served.open("office")
    page = context.new_page()
    page.goto("/people")
    page.fill("input[name=name]", "P. Lind")
    page.check("input[value=teacher]")
    follow(page.get_by_role("button", name="Invite"))
    link = page.inner_text(".secret")
    guest = served.browser.new_context()
    guest.set_default_timeout(SLOW)
    other = guest.new_page()
    other.goto(link)
    other.fill("input[name=phrase]", PHRASE)
    follow(other.get_by_role("button", name="Choose it"))
    assert other.url.endswith("/showings")
    page.goto("/people")
    follow(page.get_by_role("link", name="P. Lind"))
    follow(page.get_by_role("button", name="Has left"))
    other.goto(f"{served.at}/showings")
    assert "/sign-in" in other.url
    guest.close()
    context.close()


@_how(("phone", True), ("desk", False))
def test_the_school_s_account_lets_in(size: str, script: bool, served: ServedItem) -> None:
    """By an invitation, then by itself; the provider is on another site, as it is at a school."""
    served.provider.who = f"guest on a {size}"
    office = served.open("office")
    page = office.new_page()
    page.goto("/people")
    page.fill("input[name=name]", f"Guest on a {size}")
    page.check("input[value=teacher]")
    follow(page.get_by_role("button", name="Invite"))
    link = page.inner_text(".secret")
    office.close()
    context = served.browser.new_context(viewport=SIZES[size], java_script_enabled=script, base_url=served.at)
    context.set_default_timeout(SLOW)
    guest = context.new_page()
    guest.goto(link)
    found: list[tuple[str, str]] = []

    def look() -> None:
        if script:  # which the library needs as well
            found.extend(_violations(guest, RULES))

    look()
    follow(guest.get_by_role("link", name="Come in with the school’s account instead"))
    assert guest.url == f"{served.at}/showings"
    guest.goto("/me")
    look()
    follow(guest.get_by_role("button", name="Sign out").first)
    look()
    follow(guest.get_by_role("link", name="Sign in with the school’s account"))
    assert guest.url == f"{served.at}/showings"
    follow(guest.get_by_role("button", name="Sign out").first)
    served.provider.who = "nobody here"
    follow(guest.get_by_role("link", name="Sign in with the school’s account"))
    assert "Ask the office for an invitation." in guest.inner_text("[role=alert]")
    look()
    assert guest.evaluate(WIDER) <= 0
    context.close()
    assert found == []


def test_a_double_click_and_the_back_button_do_it_once(served: ServedItem) -> None:
    context = served.open("technician", script=False)
    page = context.new_page()
    page.goto("/bottles/B8W4")
    before, undoable = page.inner_text(".lead"), page.locator("a", has_text="Undo").count()
    page.fill("input[name=amount]", "1 g")
    page.get_by_role("button", name="Take it").dblclick()
    page.locator(".said").wait_for()
    page.wait_for_load_state("networkidle")
    page.goto("/bottles/B8W4")
    after = page.inner_text(".lead")
    assert after != before
    assert page.locator("a", has_text="Undo").count() == undoable + 1
    page.fill("input[name=amount]", "2 g")
    follow(page.get_by_role("button", name="Take it"))
    page.go_back()
    assert page.inner_text(".lead") not in (before, after)  # never the page of before: it says what is there now
    context.close()


def test_the_first_page_is_light_and_from_here_alone(served: ServedItem) -> None:
    context = served.open("technician")
    page = context.new_page()
    answers: list[Response] = []
    page.on("response", lambda answer: answers.append(answer))
    page.goto("/today")
    page.wait_for_load_state("networkidle")
    sizes = {answer.url: len(answer.body()) for answer in answers}
    context.close()
    assert all(url.startswith((served.at, "data:")) for url in sizes), json.dumps(list(sizes))
    assert sum(sizes.values()) < 100_000, sizes
