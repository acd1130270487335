"""The day on the page: cautions and numbers as printed, lines marked as done; a count's sheet; the school's rules."""

import csv
import html
import io
import re
from datetime import date, timedelta
from urllib.parse import parse_qsl

import pypdfium2
import pytest
from fastapi import FastAPI

from prep.chemistry import quantities
from prep.planning.by_day import PlanDays
from prep.reports.formatting import in_days
from prep.reports.plan.sheet_rows import day_rows, week_of
from prep.services.bookings import answers, bookings
from prep.services.catalogue import lookup
from prep.services.people.roles import Role
from prep.services.plan import day_lines
from prep.services.plan import plan as plans
from prep.services.safety import school_rules
from prep.services.school import usual
from prep.services.stock import listing
from prep.services.stocktake import stocktake
from prep.web.app import ServedInventory, create_app
from tests.days import act
from tests.web.conftest import DAY, NAMES, As, at_browser, hidden

pytestmark = pytest.mark.on_file


def test_today_says_what_the_command_says_of_each_make(signed_in: As) -> None:
    page = html.unescape(signed_in(Role.TECHNICIAN).get("/today").text)
    drawn = plans.plan(None, None, None, None, DAY).cautioned([DAY])
    found = PlanDays(drawn.plan, drawn.snapshot).of(DAY)
    assert found.batches
    cautions = [caution for batch in found.batches for caution in batch.cautions]
    assert cautions
    assert [caution for caution in cautions if caution not in page] == []
    for line in day_lines.listed(None, DAY):
        assert f'<span class="away">line </span>{line.number}</span>' in page or f">{line.number}</td>" in page, line
    for batch in found.batches:
        at_the_bench = html.unescape(signed_in(Role.TECHNICIAN).get(f"/makes/{batch.id}").text)
        assert [c for c in batch.cautions if c not in at_the_bench] == []


def test_no_page_names_a_make_or_an_order_by_the_id_that_programs_use(signed_in: As, app: FastAPI) -> None:
    me = signed_in(Role.TECHNICIAN)
    drawn = app.state.plans.of(DAY)
    of = {
        take.source.to_place: batch.id for batch in drawn.plan.batches for take in batch.takes if take.kind == "order"
    }
    chained = next(b.id for b in drawn.plan.batches for take in b.takes if take.kind == "batch")
    given = [one.code for one in drawn.plan.bottles if any(draw.user.item for draw in one.takes)]
    order = next(line.id for line in drawn.plan.orders)
    need = next(one.id for one in drawn.plan.requirements if any(share.kind == "batch" for share in one.served))
    makes = [f"/makes/{ref}" for ref in (chained, *of.values())]
    whys = [f"/why/{ref}" for ref in (chained, need, order, *of.values())]
    paths = [*makes, *whys, *(f"/bottles/{code}" for code in given[:5])]
    assert len(paths) >= 12
    for path in paths:
        page = me.get(path)
        assert page.status_code == 200, path
        said = html.unescape(re.sub(r"<[^>]*>", " ", page.text))
        assert re.findall(r"\S*(?:@20\d\d|order:|requirement )\S*", said) == [], path


def test_a_bottle_to_be_written_off_is_said_once_on_the_page_as_on_the_sheet(signed_in: As) -> None:
    page = signed_in(Role.TECHNICIAN).get("/today").text
    drawn = plans.plan(None, None, None, None, DAY).cautioned([DAY])
    found = PlanDays(drawn.plan, drawn.snapshot).of(DAY)
    (row,) = day_rows(drawn.plan, drawn.snapshot, [DAY])
    assert found.discards
    assert [one.code for one in found.discards if page.count(f'href="/bottles/{one.code}"') != 1] == []
    wrong = html.unescape(page.partition('id="wrong"')[2])
    assert wrong.count("<li>") == len(row.minds)
    assert [one.code for one in found.discards if one.code in wrong] == []


def test_every_day_of_the_plan_is_shown_and_leads_on(signed_in: As, app: FastAPI) -> None:
    """Also a day on which something is made that must not be kept: its line leads to the make."""
    me, drawn = signed_in(Role.TECHNICIAN), app.state.plans.of(DAY)
    days = sorted({b.on for b in drawn.snapshot.bookings if b.on >= DAY} | {b.make_on for b in drawn.plan.batches})
    destroyed = {one.id for on in days for one in PlanDays(drawn.plan, drawn.snapshot).of(on).destroys}
    seen = ""
    for on in days:
        page = me.get(f"/today?day={on}")
        assert page.status_code == 200, on
        seen += html.unescape(page.text.partition("<h2>Write off</h2>")[2])
    assert destroyed
    assert [ref for ref in destroyed if f'href="/makes/{ref}">Its make' not in seen] == []


def test_a_page_leads_nobody_where_they_may_not_go_nor_to_what_is_not_there(signed_in: As, app: FastAPI) -> None:
    drawn = app.state.plans.of(DAY)
    planned = set(drawn.plan.bookings().values())
    barred = next(b.code for b in drawn.snapshot.bookings if b.stands and b.on > DAY and b.code not in planned)
    for code, leads in ((barred, False), (min(planned), True)):
        page = signed_in(Role.TECHNICIAN).get(f"/bookings/{code}").text
        assert (f'href="/why/{code}"' in page) is leads
    empty = max(b.on for b in drawn.snapshot.bookings) + timedelta(days=20)
    for role, leads in ((Role.AUDITOR, False), (Role.TECHNICIAN, True)):
        page = signed_in(role).get(f"/today?day={empty}").text
        assert "Nothing is booked in the weeks ahead." in page
        assert ('href="/book"' in page) is leads


def test_the_day_printed_from_the_page_has_what_the_sheet_has(signed_in: As) -> None:
    """Steps, what keeps it and the blanks to write in are on the page for paper alone."""
    me = signed_in(Role.TECHNICIAN)
    page = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", me.get("/today").text)).split())
    sheet = pypdfium2.PdfDocument(me.get("/today.pdf").content)
    printed = "".join(" ".join(one.get_textpage().get_text_range() for one in sheet).split())
    drawn = plans.plan(None, None, None, None, DAY).cautioned([DAY])
    (row,) = day_rows(drawn.plan, drawn.snapshot, [DAY])
    steps = [step for make in row.makes for step in make.steps]
    said = [*steps, *(f"use by {make.use_by}" for make in row.makes)]
    said += ["Made by:", "Really made:", "Bottle code:", "Found strength:"]
    assert len(steps) > 5
    assert [one for one in said if " ".join(one.split()) not in page] == []
    assert [one for one in said if "".join(one.split()) not in printed] == []


def test_the_day_s_heading_says_when_its_makes_are_wanted(signed_in: As) -> None:
    """By the clock where the school's periods have times, by the period where they have none."""
    me = signed_in(Role.TECHNICIAN)
    drawn = plans.plan(None, None, None, None, DAY)
    of_day = PlanDays(drawn.plan, drawn.snapshot).of
    on = next(
        day for day in (b.on for b in drawn.snapshot.bookings) if any(x.first_use == day for x in of_day(day).batches)
    )
    heading = re.search(r"<h1>([^<]+)", me.get(f"/today?day={on}").text)
    assert heading
    said = re.search(r"^Make (\d+) solutions?(?:, the first)? by (P\d)", heading[1])
    assert said, heading[1]
    usual.change(None, usual.SchoolUsual(periods=(f"{said[2]}=10:40-11:40",)), act("sample", DAY))
    assert " by 10:40" in me.get(f"/today?day={on}").text


def test_the_week_printed_from_the_page_has_what_its_paper_has(signed_in: As) -> None:
    """The same on both, and nothing on either that is to be typed at a terminal."""
    me = signed_in(Role.TECHNICIAN)
    page = "".join(html.unescape(re.sub(r"<[^>]+>", " ", me.get("/week").text)).split())
    paper, sheets = me.get("/week.pdf"), me.get("/week.pdf?sheets=1")
    printed, longer = (
        "".join("".join(one.get_textpage().get_text_range() for one in pypdfium2.PdfDocument(a.content)).split())
        for a in (paper, sheets)
    )
    drawn = plans.plan(None, None, None, None, DAY)
    rows = day_rows(drawn.plan, drawn.snapshot, week_of(DAY, drawn.plan, drawn.snapshot))
    said = [part for row in rows for make in row.makes for part in (make.name, make.amount)]
    said += [part for row in rows for b in row.bookings for part in (b.demo, b.teacher, b.room)]
    said += [part for row in rows for order in row.orders for part in (order.packs, order.what, order.for_)]
    said += [one.text for row in rows for one in row.arrivals]
    assert len(said) > 40
    assert [one for one in said if "".join(in_days(one).split()) not in page] == []
    assert [one for one in said if "".join(in_days(one).split()) not in printed] == []
    assert "Daysheet:Tue12Jan2027" in longer
    assert "Daysheet" not in printed
    assert [word for word in ("prepbook", "prepmake", "prepsafety") if word in longer] == []


def test_a_figure_alone_has_the_unit_beside_it(signed_in: As) -> None:
    """As it is read off the balance: 252.4, where 252.2 g is wanted."""
    me = signed_in(Role.TECHNICIAN)
    assert me.get("/weighed?wanted=252.2+g&got=252.4").json() == {"says": "0.079 % over."}
    assert me.get("/weighed?wanted=252.2+g&got=252,4").json() == {"says": "0.079 % over."}
    assert "may be" in me.get("/weighed?wanted=1250+g&got=1,250").json()["says"]
    assert "1000.0 times" in me.get("/weighed?wanted=0.639+g&got=639").json()["says"]
    assert "%" in me.get("/weighed?wanted=1.5+L&got=1490+mL").json()["says"]
    found = re.search(r'href="(/makes/[^"]+)"', me.get("/today").text)
    assert found
    make = html.unescape(found[1])
    page = me.get(make).text
    taken = re.search(r'name="(took-\w+)"[^>]*data-wanted="([\d.]+) (\w+)"', page)
    assert taken
    said = hidden(page, make) | {"location": "PREP", taken[1]: taken[2]}
    assert me.client.post(make, data=said, headers=me.headers).status_code == 303
    newest = listing.history(None, taken[1].removeprefix("took-"), 1)[0]
    assert quantities.show(-newest.amount, newest.measure, None) == f"{taken[2]} {taken[3]}"


def test_a_count_s_figure_alone_has_the_unit_of_its_label(signed_in: As) -> None:
    me = signed_in(Role.AUDITOR)
    me.send("/counts", {"location": "DIL"}, "/counts")
    first = stocktake.sheet(None, "C1").lines[0]
    assert "What is in it, in mL" in me.get("/counts/C1/at/DIL").text
    said = {"how": "counted", "place": "DIL", "unit": "mL", "amount": "240", "at": ""}
    assert me.send(f"/counts/C1/bottles/{first.code}", said, "/counts").status_code == 303
    (one,) = stocktake.progress(None, "C1").verdicts
    assert one.counted == 240_000_000
    assert me.send("/counts/C1/bottles/" + first.code, said | {"unit": "furlongs"}, "/counts").status_code == 422


def test_what_is_logged_on_the_page_is_marked_on_the_printed_day(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    found = re.search(r'href="(/makes/[^"]+)"', me.get("/today").text)
    assert found
    make = html.unescape(found[1])
    first = next(line for line in day_lines.listed(None, DAY) if line.kind == "make")
    said = hidden(me.get(make).text, make) | {"location": "PREP"}
    assert me.client.post(make, data=said, headers=me.headers).status_code == 303
    order = next(line for line in day_lines.listed(None, DAY) if line.kind == "order")
    links = re.findall(r"/orders/new\?([^\"]+)", html.unescape(me.get("/orders").text))
    asks = [dict(parse_qsl(link)) for link in links]
    asked = next(one for one in asks if lookup.names(None)[order.key.split()[1]] == one["item"])
    assert me.send("/orders", asked, "/orders/new").status_code == 303
    said = re.search(r'role="status">([^<]*)<', me.get("/orders").text)
    assert said
    assert re.search(r"due [A-Z][a-z]{2} \d+ [A-Z][a-z]{2} 2027\.$", said[1])  # a day as everywhere on the page
    done = {line.key: line.job for line in day_lines.listed(None, DAY)}
    assert done[first.key] is not None
    assert done[order.key] is not None
    kept = [one.says for one in day_lines.done(None, DAY)]
    assert [one.startswith(line.says) for one, line in zip(kept, (first, order), strict=True)] == [True, True]
    page = html.unescape(me.get("/today").text)
    assert [one for one in kept if f'<s class="done">{one} ·' not in page] == []
    sheet = pypdfium2.PdfDocument(me.get("/today.pdf").content)
    printed = "".join(" ".join(one.get_textpage().get_text_range() for one in sheet).split())
    assert [one for one in kept if "".join(one.split()) not in printed] == []
    assert {(move.kind, move.by) for move in listing.history(None, None, 3)} == {
        ("make", NAMES[Role.TECHNICIAN]),
        ("order", NAMES[Role.TECHNICIAN]),
    }


def test_a_sheet_that_came_back_is_taken_and_a_wrong_row_is_named(signed_in: As) -> None:
    me = signed_in(Role.AUDITOR)
    me.send("/counts", {"location": "DIL"}, "/counts")
    sheet = me.get("/counts/C1/sheet.csv").text
    assert me.get("/counts/C1/sheet.pdf").content[:5] == b"%PDF-"
    lines = stocktake.sheet(None, "C1").lines
    rows = list(csv.reader(io.StringIO(sheet.lstrip("\ufeff"))))
    count = rows[0].index("count")
    rows[1][count], rows[2][count] = "NF", "half a bucket"
    filled = io.StringIO()
    csv.writer(filled).writerows(rows)
    back = {"sheet": ("../../count.csv", filled.getvalue().encode(), "text/csv")}
    answer = me.send("/counts/C1/sheet", files=back)
    assert answer.status_code == 303, answer.text
    page = me.get("/counts/C1").text
    assert "half a bucket" in page
    assert f"{len(lines) - 1} bottles still to count" in page


def test_an_entry_that_was_refused_keeps_how_it_was_meant(signed_in: As) -> None:
    me = signed_in(Role.AUDITOR)
    me.send("/counts", {"location": "DIL"}, "/counts")
    first, other = (line.code for line in stocktake.sheet(None, "C1").lines[:2])
    said = {"how": "unopened", "place": "DIL", "note": "behind the tray", "again": "1", "at": ""}
    refused = me.send(f"/counts/C1/bottles/{first}", said, "/counts")
    assert refused.status_code == 422
    assert '<option value="unopened" selected>' in refused.text
    assert "behind the tray" in refused.text
    done = me.send(f"/counts/C1/bottles/{first}", said | {"full": "1 L"}, "/counts")
    assert done.headers["location"] == "/counts/C1/at/DIL?again=1"
    me.send("/counts/C1/found", {"bottle": other, "amount": "90 mL", "place": "DIL"}, "/counts")
    assert {first, other} == {one.bottle for one in stocktake.progress(None, "C1").verdicts}


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("count.exe", b"MZ", "is no such file"),
        ("", b"", "Choose a file"),
        ("count.csv", b"\x00\xff\xfe", ""),
        ("count.csv", b"a,b\n1,2\n", "count"),
    ],
)
def test_a_file_that_is_no_sheet_is_refused(name: str, content: bytes, says: str, signed_in: As) -> None:
    me = signed_in(Role.AUDITOR)
    me.send("/counts", {"location": "DIL"}, "/counts")
    answer = me.send("/counts/C1/sheet", files={"sheet": (name, content, "text/csv")} if name else None)
    assert answer.status_code in (415, 422)
    assert says in answer.text


def test_the_office_sets_and_takes_off_a_rule_and_an_old_page_takes_off_nothing(signed_in: As) -> None:
    me = signed_in(Role.OFFICE)
    said = {"item": "potassium dichromate", "why": "county policy"}
    (shipped,) = school_rules.rules(None)
    assert me.send("/settings/rules", said, "/settings").status_code == 303
    assert "county policy" in me.get("/settings").text
    assert me.send("/settings/rules", {"item": "unobtainium"}, "/settings").status_code == 422
    remove = "/settings/rules/2/remove"
    seen = hidden(me.get("/settings").text, remove)
    assert me.client.post(remove, data=seen | {"seen": "another"}, headers=me.headers).status_code == 409
    assert len(school_rules.rules(None)) == 2
    assert me.client.post(remove, data=hidden(me.get("/settings").text, remove), headers=me.headers).status_code == 303
    assert school_rules.rules(None) == [shipped]
    assert NAMES[Role.OFFICE] in me.get("/history").text


def test_periods_and_weeks_are_booked_by_ticking_once_the_answer_was_seen(signed_in: As) -> None:
    me = signed_in(Role.TEACHER)
    said = {"demo": "blue-bottle", "on": "2027-02-02", "periods": ["P1", "P2"], "later": ["1", "2"], "showings": "1"}
    seen = me.send("/book", said, "/book")
    assert seen.status_code == 200
    assert "Book these 4" in seen.text
    assert "The room is closed on" in seen.text
    assert seen.text.count('type="hidden" name="periods"') == 2
    assert me.send("/book", said | {"book": "1"}, "/book").status_code == 303
    which = bookings.BookingFilter(teacher=NAMES[Role.TEACHER])
    made = [(b.on.isoformat(), b.period) for b in bookings.list_bookings(None, which) if b.demo == "blue-bottle"]
    wanted = [(on, period) for on in ("2027-02-02", "2027-02-09") for period in ("P1", "P2")]
    assert [one for one in wanted if one not in made] == []
    assert [one for one in made if one[0] == "2027-02-16"] == []


@pytest.mark.parametrize(
    "path", ["/bottles/Q9Q9", "/demos/nothing", "/bookings/B999", "/counts/C9", "/orders/P999/arrived"]
)
def test_what_is_not_on_file_is_no_such_page(path: str, signed_in: As) -> None:
    assert signed_in(Role.TECHNICIAN).get(path).status_code == 404


def test_how_far_bookings_are_is_found_once_while_the_books_stay(
    signed_in: As, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn: list[object] = []
    from_one_plan = answers.StandingAnswers
    monkeypatch.setattr(answers, "StandingAnswers", lambda *given: drawn.append(given) or from_one_plan(*given))
    me = signed_in(Role.TECHNICIAN)
    assert me.get("/bookings").text == me.get("/bookings").text
    assert len(drawn) == 1
    assert me.send("/bookings/B1/cancel", hidden(me.get("/bookings/B1").text, "/bookings/B1/cancel")).status_code == 303
    assert 'href="/bookings/B1"' not in me.get("/bookings").text
    assert len(drawn) == 2


def test_a_demonstration_is_booked_by_any_word_of_it(signed_in: As) -> None:
    me = signed_in(Role.TEACHER)
    several = me.send("/book", {"demo": "alkali", "on": "2027-02-03"}, "/book")
    assert several.status_code == 422
    page = html.unescape(several.text)
    assert "Several are called so: choose one." in page
    assert '<option value="ions-with-alkali"' in page
    assert 'value="2027-02-03"' in page
    one = me.send("/book", {"demo": "bottle blue", "on": "2027-02-03"}, "/book")
    assert one.status_code == 200
    assert "The answer" in one.text


def test_no_showing_is_booked_on_a_day_that_is_over_nor_moved_there(signed_in: As) -> None:
    me = signed_in(Role.TEACHER)
    asked = me.send("/book", {"demo": "blue-bottle", "on": "2026-01-20"}, "/book")
    moved = me.send("/bookings/B1/change", {"to": "2026-01-20", "period": "P2", "showings": "2"}, "/me")
    for told in (asked, moved):
        assert told.status_code == 422
        assert "Tue 20 Jan 2026 is over; choose a day from today on." in told.text
        assert 'value="2026-01-20"' in told.text
    assert bookings.booking(None, "B1").on == date(2027, 1, 12)


def test_a_showing_that_asks_for_leave_is_allowed_on_the_page_and_then_set_out(signed_in: As) -> None:
    me, technician = signed_in(Role.TEACHER), signed_in(Role.TECHNICIAN)
    booked = me.send("/book", {"demo": "thermite", "on": "2027-02-03", "room": "S3", "book": "1"}, "/book")
    at = booked.headers["location"]
    refused = technician.send(f"{at}/set-out", {"place": "S3"}, "/me")
    assert refused.status_code == 409
    assert "must be allowed before it is set out" in refused.text
    assert "Leave to show it" in me.get(at).text
    assert me.send(f"{at}/allow", {"who_allowed": ""}, "/me").status_code == 422
    assert me.send(f"{at}/allow", {"who_allowed": "the head"}, "/me").status_code == 303
    page = me.get(at).text
    assert "By the head" in page
    assert "Leave to show it" not in page
    assert technician.send(f"{at}/set-out", {"place": "S3"}, "/me").status_code == 303


def _words(text: str) -> set[str]:
    """The words of a text, but days, which paper writes in full, and what only heads its pages."""
    words = set(re.findall(r"[A-Za-z]{2,}|[0-9]{2,}", re.sub(r"[0-9]{1,2}\s[A-Z][a-z]{2}\s[0-9]{2,4}", " ", text)))
    return {word.lower() for word in words} - {"page", "working", "aid", "prevail", "movements", "item", "unit", "date"}


@pytest.mark.parametrize("what", ["sheet", "report", "history"])
def test_what_is_printed_from_the_page_has_what_the_paper_has(what: str, signed_in: As) -> None:
    me = signed_in(Role.AUDITOR)
    me.send("/counts", {"location": "DIL"}, "/counts")
    pages = {"sheet": ("/counts/C1/at/DIL", "/counts/C1/sheet.pdf")}
    pages |= {"report": ("/counts/C1/report", "/counts/C1/report.pdf")}
    pages |= {"history": ("/history?item=urea", "/history.pdf?item=urea")}
    shown, paper = (me.get(address) for address in pages[what])
    page = html.unescape(re.sub(r"<[^>]+>", " ", shown.text))
    sheet = pypdfium2.PdfDocument(paper.content)
    printed = " ".join(one.get_textpage().get_text_range() for one in sheet)
    assert len(_words(printed)) > 10
    assert _words(printed) - _words(page) == set()


@pytest.mark.usefixtures("school")
def test_a_booking_of_an_earlier_day_is_asked_about_until_it_is_said() -> None:
    """The day leads to the booking, where it is said."""
    later = create_app(ServedInventory(None, lambda: date(2027, 1, 13), frozenset({"testserver"})))
    me = at_browser(later, Role.TECHNICIAN)
    page = html.unescape(me.get("/today").text)
    asked = page.partition("Not said yet: shown or not?")[2].partition("</section>")[0]
    open_ones = [b for b in bookings.list_bookings(None, bookings.BookingFilter()) if b.on < date(2027, 1, 13)]
    assert open_ones
    assert [b.code for b in open_ones[-6:] if f'href="/bookings/{b.code}"' not in asked] == []
