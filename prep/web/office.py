"""The office: the school's page and days, what is kept of an item, the history, undoing, backups."""

from collections.abc import Mapping
from urllib.parse import urlencode

from fastapi import Response

from prep.books import JobKind
from prep.chemistry.quantities import show
from prep.dates import WEEKDAYS, read_day
from prep.errors import NotOnFile, PrepError
from prep.reports import register_lists
from prep.services.bookings import groups
from prep.services.inventory import backup
from prep.services.people import people
from prep.services.people.roles import Right
from prep.services.safety import school_rules
from prep.services.school import closed_days, page, settings
from prep.services.stock import changes, listing, orders, places, register
from prep.store.jobs.history import Moved
from prep.web.forms import Field, WebForm
from prep.web.page_request import At, Onward, PageRequest, choices
from prep.web.rights import needs, router

routes = router()


def _page_state(here: PageRequest) -> tuple[str, str]:
    """Write what the form of the school's page was drawn from, and the sentence that says so."""
    school, address = page.school_of(here.db), page.address_of(here.db)
    said = f"This was changed while the page was open: it is {school or 'no name'}, {address or 'no address'} now."
    return f"{school}|{address}", said


def _days_state(here: PageRequest) -> tuple[str, str]:
    """Write what the form of the working days was drawn from, and the sentence that says so."""
    found = settings.read(here.db)
    days = " ".join(WEEKDAYS[number] for number in sorted(found.calendar.weekdays))
    minutes, ahead = found.calendar.minutes_per_day, found.policy.make_ahead_days
    said = (
        f"This was changed while the page was open: {days}, {minutes} minutes a day, ready {ahead} days ahead"
        f"{f', {found.time_zone}' if found.time_zone else ''} now."
    )
    return f"{days}|{minutes}|{ahead}|{found.time_zone}", said


def _page_form(here: PageRequest) -> WebForm:
    hint = "such as https://prep.school.example; a bottle’s label then opens its page in any phone’s camera"
    return WebForm(
        "/settings/page",
        (
            Field("school", "The school’s name", value=page.school_of(here.db)),
            Field("address", "This page’s address", value=page.address_of(here.db), hint=hint),
        ),
        "Set",
        seen=_page_state(here)[0],
        bench=False,
    )


def _days_form(here: PageRequest) -> WebForm:
    found = settings.read(here.db)
    minutes, ahead = str(found.calendar.minutes_per_day), str(found.policy.make_ahead_days)
    days = tuple(WEEKDAYS[number] for number in sorted(found.calendar.weekdays))
    return WebForm(
        "/settings/days",
        (
            Field("weekdays", "Working days", "ticks", choices=[(d, d.capitalize()) for d in WEEKDAYS], many=days),
            Field("minutes", "Minutes of making a day", "number", "--minutes-per-day", minutes),
            Field("ahead", "Days before use that things stand ready", "number", "--make-ahead", ahead),
            Field("zone", "Time zone", "text", "--time-zone", found.time_zone, "such as Europe/London"),
        ),
        "Set",
        seen=_days_state(here)[0],
        bench=False,
    )


def _closed_form() -> WebForm:
    return WebForm(
        "/settings/closed",
        (
            Field("first", "From", "date", "FROM", required=True),
            Field("last", "To", "date", "TO", hint="the same day, if left empty"),
            Field("why", "Why", hint="such as half term"),
        ),
        "Close the room",
        bench=False,
    )


def _minimum_form() -> WebForm:
    return WebForm(
        "/settings/kept",
        (
            Field("item", "Of which substance", required=True),
            Field("minimum", "At least", option="--minimum", hint="such as 100 g"),
            Field("packs", "Packs it comes in", option="--pack", hint="such as 500 g, 1 kg"),
            Field("lead", "Days that an order takes", "number", "--lead-days"),
        ),
        "Set",
        bench=False,
    )


def _place_form() -> WebForm:
    return WebForm(
        "/settings/places",
        (
            Field("code", "Code", required=True, hint="short, such as ACID"),
            Field("name", "Name", required=True),
            Field("order", "Its place in the walk round the room", "number", "--order", "99"),
        ),
        "Add a place",
        bench=False,
    )


def _rule_form(here: PageRequest) -> WebForm:
    kinds = [(g.name, g.name) for g in groups.age_groups(here.db)]
    return WebForm(
        "/settings/rules",
        (
            Field("item", "Substance, solution or demo", required=True, hint="a solute is meant at every strength"),
            Field("at_most", "Not stronger than", option="--at-most", hint="such as 0.5 mol/L; barred, if left empty"),
            Field("room", "Only in this room", option="--room"),
            Field("group", "Only for this class", "choice", "--group", choices=choices(kinds, "everybody")),
            Field("from_group", "Only for classes before", "choice", "--from-group", choices=choices(kinds, "no one")),
            Field("why", "Why", option="--why", hint="such as county policy"),
        ),
        "Add the rule",
        bench=False,
    )


@routes.post("/settings/rules", include_in_schema=False)
@needs(Right.RULE)
def add_rule(here: At) -> Response:
    """Add a limit of the school's own."""

    def do() -> Onward:
        typed = here.typed
        asked = school_rules.RuleRequest(
            typed["item"],
            typed.maybe("at_most"),
            typed["room"],
            typed["group"],
            typed["why"],
            from_group=typed["from_group"],
        )
        made = school_rules.add(here.db, asked, here.act())
        return Onward("/settings#rules", f"Rule {made.number}, about {made.name}, holds from now on.")

    return here.answer(_rule_form(here), "A rule of the school", do)


@routes.post("/settings/rules/{number}/remove", include_in_schema=False)
@needs(Right.RULE)
def remove_rule(here: At, number: int) -> Response:
    """Take a limit off, unless another has its number by now."""

    def now() -> tuple[str, str]:
        there = next((one for one in school_rules.rules(here.db) if one.number == number), None)
        said = f"rule {number} is about {there.name}" if there else f"there is no rule {number}"
        return str(there.rule) if there else "", f"The rules were changed while this page was open: {said} now."

    to = f"/settings/rules/{number}/remove"
    form = WebForm(to, (), "Take it off", seen=now()[0], danger=True, bench=False)

    def do() -> Onward:
        gone = school_rules.remove(here.db, number, here.act())
        return Onward("/settings#rules", f"The rule about {gone.name} is off.")

    return here.answer(form, "A rule of the school", do, here.unchanged(now))


@routes.get("/settings", include_in_schema=False)
@needs(Right.RULE)
def settings_page(here: At) -> Response:
    """Show everything that the school sets."""
    return here.show(
        "settings.html",
        page=_page_form(here),
        days=_days_form(here),
        closed=_closed_form(),
        spans=[span for span in closed_days.listed(here.db) if span.last >= here.today],
        keep=_minimum_form(),
        minimums=orders.minimums(here.db),
        place=_place_form(),
        places=places.list_places(here.db),
        rules=school_rules.rules(here.db),
        rule=_rule_form(here),
    )


@routes.post("/settings/page", include_in_schema=False)
@needs(Right.RULE)
def set_page(here: At) -> Response:
    """Set the school's name and its page's address."""

    def do() -> Onward:
        page.set_page(here.db, here.typed["school"], here.typed["address"], here.act())
        return Onward("/settings", "Set.")

    return here.answer(_page_form(here), "The school’s page", do, here.unchanged(lambda: _page_state(here)))


@routes.post("/settings/days", include_in_schema=False)
@needs(Right.RULE)
def set_days(here: At) -> Response:
    """Set working days and minutes."""

    def do() -> Onward:
        typed = here.typed
        wanted = settings.PlanSettings(
            minutes_per_day=typed.number("minutes", 240),
            make_ahead_days=typed.number("ahead"),
            weekdays=" ".join(typed.all("weekdays")),
            time_zone=typed.maybe("zone"),
        )
        settings.change(here.db, wanted, here.act())
        return Onward("/settings", "Set.")

    return here.answer(_days_form(here), "Working days", do, here.unchanged(lambda: _days_state(here)))


@routes.post("/settings/closed", include_in_schema=False)
@needs(Right.RULE)
def close_days(here: At) -> Response:
    """Close the room for days."""

    def do() -> Onward:
        typed = here.typed
        first = read_day(typed["first"], "FROM", here.today)
        last = read_day(typed["last"], "TO", first) if typed["last"] else first
        done = closed_days.add(here.db, first, last, typed["why"] or "closed", here.by, here.today)
        codes = ", ".join(f"{b.code} on {b.on}" for b in done.bookings)
        return Onward(
            "/settings", "The room is closed then." + (f" These bookings stand there: {codes}." if codes else "")
        )

    return here.answer(_closed_form(), "Close the room", do)


@routes.post("/settings/closed/{first}/{last}/open", include_in_schema=False)
@needs(Right.RULE)
def open_days(here: At, first: str, last: str) -> Response:
    """Open closed days again."""
    start, end = read_day(first, "FROM", here.today), read_day(last, "TO", here.today)
    closed_days.remove(here.db, start, end, here.by, here.today)
    return here.go("/settings", "Those days are open again.")


@routes.post("/settings/kept", include_in_schema=False)
@needs(Right.RULE)
def set_minimum(here: At) -> Response:
    """Set what is kept of a substance."""

    def do() -> Onward:
        typed = here.typed
        packs = [pack.strip() for pack in typed["packs"].split(",") if pack.strip()]
        lead = typed.number("lead") if typed["lead"] else None
        kept = orders.set_minimum(
            here.db, typed["item"], orders.MinimumRequest(typed.maybe("minimum"), packs, lead), here.act()
        )
        return Onward("/settings", f"{kept.name}: {kept.shown()}.")

    return here.answer(_minimum_form(), "What is kept", do)


@routes.post("/settings/places", include_in_schema=False)
@needs(Right.RULE)
def add_place(here: At) -> Response:
    """Add a place."""

    def do() -> Onward:
        order = here.typed.number("order", 99)
        places.add_place(here.db, here.typed["code"], here.typed["name"], order, here.act())
        return Onward("/settings", "Added.")

    return here.answer(_place_form(), "Add a place", do)


# History -------------------------------------------------------------------------------------------


def _asked(here: PageRequest, given: Mapping[str, str]) -> register.RegisterQuery:
    """Read which lines of the history are wanted, as typed. Raises PrepError."""
    since, until = (
        read_day(given[name], f"--{name}", here.today) if given[name] else None for name in ("since", "until")
    )
    kinds = (given["kind"],) if given["kind"] else ()
    return register.RegisterQuery(
        given["item"] or None, location=given["at"] or None, since=since, until=until, kinds=kinds
    )


def _moves(here: PageRequest, given: Mapping[str, str], most: int) -> list[Moved]:
    """Find the newest lines of the history, or those that are asked for. Raises PrepError."""
    bottle, by = given["bottle"].strip().upper(), given["by"].strip().casefold()
    if not any(given[name] for name in ("item", "at", "since", "until", "kind")):
        found = listing.history(here.db, bottle or None, 100_000 if by else most)
    else:
        found = [m for m in register.history(here.db, _asked(here, given)) if not bottle or m.bottle == bottle]
    return [m for m in found if by in m.by.casefold()][:most]


def _given(**typed: str) -> dict[str, str]:
    return {name: text.strip()[:100] for name, text in typed.items()}


@routes.get("/history", include_in_schema=False)
@needs(Right.SEE_HISTORY)
def history(here: At, bottle: str = "", item: str = "", at: str = "", kind: str = "", by: str = "", since: str = "",
            until: str = "", most: int = 100) -> Response:  # fmt: skip
    """Show the newest jobs, or those of a bottle, an item, a place, a kind, a person, some days; and who came in."""
    given = _given(bottle=bottle, item=item, at=at, kind=kind, by=by, since=since, until=until)
    problem, moves, kept = "", [], min(max(most, 1), 2000)
    try:
        moves = _moves(here, given, kept)
    except PrepError as wrong:
        problem = str(wrong)
    asked = any(given.values())
    access = people.log_of_access(here.db) if here.may(Right.RULE) and not asked else []
    words = urlencode({name: text for name, text in given.items() if text})
    kinds = [str(one) for one in JobKind]
    return here.show("history.html", 422 if problem else 200, moves=moves, access=access, show=show, most=kept,
                     given=given, asked=asked, problem=problem, words=words, kinds=kinds,
                     places=places.list_places(here.db))  # fmt: skip


@routes.get("/history.{end}", include_in_schema=False)
@needs(Right.SEE_HISTORY)
def history_file(here: At, end: str, bottle: str = "", item: str = "", at: str = "", kind: str = "", by: str = "",
                 since: str = "", until: str = "") -> Response:  # fmt: skip
    """Write the lines of the history for a spreadsheet (`csv`) or to print (`pdf`). Raises PrepError."""
    given = _given(bottle=bottle, item=item, at=at, kind=kind, by=by, since=since, until=until)
    found = register_lists.moves(_moves(here, given, 100_000))
    if end == "csv":
        name = {"Content-Disposition": "attachment; filename=history.csv"}
        return Response(found.csv(), media_type="text/csv; charset=utf-8", headers=name)
    if end == "pdf":
        return Response(found.pdf(), media_type="application/pdf")
    raise NotOnFile("There is no such page.")


def _undo_form(job: int) -> WebForm:
    about = "It is reversed as a whole; both lines stay on the books."
    return WebForm(f"/jobs/{job}/undo", (), f"Undo job {job}", danger=True, about=about)


@routes.get("/jobs/{job}/undo", include_in_schema=False)
@needs(Right.SEE_HISTORY)
def undo_page(here: At, job: int) -> Response:
    """Ask before a job is undone."""
    lines = [move for move in listing.history(here.db, None, 2000) if move.job == job]
    title = f"Undo job {job}" + (f": {lines[0].kind}, {lines[0].reason}" if lines else "")
    return here.show("form.html", title=title, form=_undo_form(job), back="/history")


@routes.post("/jobs/{job}/undo", include_in_schema=False)
@needs(Right.SIGNED_IN)
def undo(here: At, job: int) -> Response:
    """Reverse a job: what the technician did; a sign-off, by the office."""
    lines = [move for move in listing.history(here.db, None, 2000) if move.job == job]
    signed = bool(lines) and lines[0].kind == "count"
    if not here.may(Right.RULE if signed else Right.WORK):
        raise PrepError("A sign-off is undone by the office, any other job by a technician.")

    def do() -> Onward:
        new = changes.undo(here.db, job, here.act())
        return Onward("/history", f"Job {job} is undone by job {new}.")

    return here.answer(_undo_form(job), f"Undo job {job}", do)


# Backups -------------------------------------------------------------------------------------------


@routes.post("/settings/check", include_in_schema=False)
@needs(Right.RULE)
def check(here: At) -> Response:
    """Recompute every balance, and say what differs."""
    found = backup.check(here.db)
    said = "Every balance is the sum of its movements." if not found else " ".join(f.message for f in found[:5])
    return here.go("/settings", said)


@routes.post("/settings/backup", include_in_schema=False)
@needs(Right.RULE)
def make_backup(here: At) -> Response:
    """Copy the inventory beside itself, and check the copy."""

    def do() -> Onward:
        made = backup.backup(here.db, None)
        wrong = " ".join(f.message for f in backup.check(made)[:5])
        found = f"What the copy holds is not sound: {wrong}" if wrong else "The copy was checked: its books are sound."
        return Onward("/settings", f"Copied to {made.name}, beside the inventory. {found}")

    return here.answer(WebForm("/settings/backup", (), "Make a backup", bench=False), "Make a backup", do)
