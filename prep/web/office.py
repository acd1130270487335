"""The office: the school's page and days, what is kept of an item, the history, undoing, backups."""

from fastapi import Response

from prep.dates import WEEKDAYS, read_day
from prep.services.bookings import groups
from prep.services.inventory import backup
from prep.services.people.roles import Right
from prep.services.safety import school_rules
from prep.services.school import closed_days, page, settings, usual
from prep.services.stock import orders, places
from prep.web.forms import Choice, Field, WebForm
from prep.web.page_request import At, NextPage, PageRequest, PageState, choices, drawn_from
from prep.web.rights import needs, router
from prep.wording import Flag

routes = router()
PERIODS = "such as P1=09:00-09:50; P2=10:00-10:50"


def _page_state(here: PageRequest) -> PageState:
    """Write what the form of the school's page was drawn from, and the sentence that says so."""
    school, address = page.school_of(here.db), page.address_of(here.db)
    said = f"This was changed while the page was open: it is {school or 'no name'}, {address or 'no address'} now."
    return PageState(f"{school}|{address}", said)


def _days_state(here: PageRequest) -> PageState:
    """Write what the form of the working days was drawn from, and the sentence that says so."""
    found = settings.read(here.db)
    days = " ".join(WEEKDAYS[number] for number in sorted(found.calendar.weekdays))
    minutes, ahead = found.calendar.minutes_per_day, found.policy.make_ahead_days
    margin = found.policy.order_margin_days
    said = (
        f"This was changed while the page was open: {days}, {minutes} minutes a day, ready {ahead} days ahead, "
        f"orders there {margin} working days before need"
        f"{f', {found.time_zone}' if found.time_zone else ''} now."
    )
    return PageState(f"{days}|{minutes}|{ahead}|{margin}|{found.time_zone}", said)


def _page_form(here: PageRequest) -> WebForm:
    hint = "such as https://prep.school.example; a bottle’s label then opens its page in any phone’s camera"
    return WebForm(
        "/settings/page",
        (
            Field("school", "The school’s name", value=page.school_of(here.db)),
            Field("address", "This page’s address", value=page.address_of(here.db), hint=hint),
        ),
        "Set",
        seen=_page_state(here).drawn_from,
        bench=False,
    )


def _days_form(here: PageRequest) -> WebForm:
    found = settings.read(here.db)
    minutes, ahead = str(found.calendar.minutes_per_day), str(found.policy.make_ahead_days)
    margin = str(found.policy.order_margin_days)
    days = tuple(WEEKDAYS[number] for number in sorted(found.calendar.weekdays))
    return WebForm(
        "/settings/days",
        (
            Field(
                "weekdays", "Working days", "ticks", choices=[Choice(d, d.capitalize()) for d in WEEKDAYS], many=days
            ),
            Field("minutes", "Minutes of making a day", "number", "--minutes-per-day", minutes),
            Field("ahead", "Days before use that things stand ready", "number", "--make-ahead", ahead),
            Field("margin", "Working days before need that orders are there", "number", "--order-margin", margin),
            Field("zone", "Time zone", "text", "--time-zone", found.time_zone, "such as Europe/London"),
        ),
        "Set",
        seen=_days_state(here).drawn_from,
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
            Field("order", "Its place in the walk round the room", "number", "--order"),
            Field("rename", "It is there already, and gets this name", "tick", "--rename"),
        ),
        "Add a place",
        bench=False,
    )


def _usual_state(here: PageRequest) -> PageState:
    """Write what the form of what is usual was drawn from, and the sentence that says so."""
    found = usual.read(here.db)
    told = drawn_from(found.made_at, found.arrived_at, found.deliveries, *found.periods)
    said = f"This was changed while the page was open: made at {found.made_at or 'no place'}, comes to "
    said += f"{found.arrived_at or 'no place'}, deliveries {found.deliveries or 'at no time'} now."
    return PageState(told, said)


def _usual_form(here: PageRequest) -> WebForm:
    found = usual.read(here.db)
    listed = places.list_places(here.db)
    made, arrived = (choices(listed, "" if at else "not set") for at in (found.made_at, found.arrived_at))
    return WebForm(
        "/settings/usual",
        (
            Field("made", "What is made is put at", "choice", "--made-at", found.made_at, choices=made),
            Field("arrived", "What comes is put at", "choice", "--arrived-at", found.arrived_at, choices=arrived),
            Field("deliveries", "Deliveries come by", "text", "--deliveries", found.deliveries, "such as 10:30"),
            Field("periods", "Periods", "text", "--period", "; ".join(found.periods), PERIODS),
        ),
        "Set",
        seen=_usual_state(here).drawn_from,
        bench=False,
    )


@routes.post("/settings/usual", include_in_schema=False)
@needs(Right.RULE)
def set_usual(here: At) -> Response:
    """Set where things are put, when deliveries come, and the periods."""

    def do() -> NextPage:
        typed = here.typed
        periods = tuple(text.strip() for text in typed["periods"].split(";") if text.strip())
        wanted = usual.SchoolUsual("", typed["made"], typed["arrived"], "", periods, typed["deliveries"])
        usual.change(here.db, wanted, here.act())
        return NextPage("/settings#usual", "Set.")

    return here.answer(_usual_form(here), "What is usual", do, here.unchanged(lambda: _usual_state(here)))


def _rule_form(here: PageRequest) -> WebForm:
    kinds = {g.name: g.name for g in groups.age_groups(here.db)}
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

    def do() -> NextPage:
        typed = here.typed
        asked = school_rules.RuleRequest(
            typed["item"],
            typed.amount("at_most"),
            typed["room"],
            typed["group"],
            typed["why"],
            from_group=typed["from_group"],
        )
        made = school_rules.add(here.db, asked, here.act())
        return NextPage("/settings#rules", f"Rule {made.number}, about {made.name}, holds from now on.")

    return here.answer(_rule_form(here), "A rule of the school", do)


@routes.post("/settings/rules/{number}/remove", include_in_schema=False)
@needs(Right.RULE)
def remove_rule(here: At, number: int) -> Response:
    """Take a limit off, unless another has its number by now."""

    def now() -> PageState:
        there = next((one for one in school_rules.rules(here.db) if one.number == number), None)
        said = f"rule {number} is about {there.name}" if there else f"there is no rule {number}"
        said = f"The rules were changed while this page was open: {said} now."
        return PageState(str(there.rule) if there else "", said)

    to = f"/settings/rules/{number}/remove"
    form = WebForm(to, (), "Take it off", seen=now().drawn_from, danger=True, bench=False)

    def do() -> NextPage:
        gone = school_rules.remove(here.db, number, here.act())
        return NextPage("/settings#rules", f"The rule about {gone.name} is off.")

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
        usual=_usual_form(here),
        places=places.list_places(here.db),
        rules=school_rules.rules(here.db),
        rule=_rule_form(here),
    )


@routes.post("/settings/page", include_in_schema=False)
@needs(Right.RULE)
def set_page(here: At) -> Response:
    """Set the school's name and its page's address."""

    def do() -> NextPage:
        page.set_page(here.db, here.typed["school"], here.typed["address"], here.act())
        return NextPage("/settings", "Set.")

    return here.answer(_page_form(here), "The school’s page", do, here.unchanged(lambda: _page_state(here)))


@routes.post("/settings/days", include_in_schema=False)
@needs(Right.RULE)
def set_days(here: At) -> Response:
    """Set working days and minutes."""

    def do() -> NextPage:
        typed = here.typed
        wanted = settings.PlanSettings(
            minutes_per_day=typed.number("minutes", 240),
            make_ahead_days=typed.number("ahead"),
            order_margin_days=typed.number("margin"),
            weekdays=" ".join(typed.all("weekdays")),
            time_zone=typed.maybe("zone"),
        )
        settings.change(here.db, wanted, here.act())
        return NextPage("/settings", "Set.")

    return here.answer(_days_form(here), "Working days", do, here.unchanged(lambda: _days_state(here)))


@routes.post("/settings/closed", include_in_schema=False)
@needs(Right.RULE)
def close_days(here: At) -> Response:
    """Close the room for days."""

    def do() -> NextPage:
        typed = here.typed
        first = read_day(typed["first"], Flag("FROM"), here.today)
        last = read_day(typed["last"], Flag("TO"), first) if typed["last"] else first
        done = closed_days.add(here.db, first, last, typed["why"] or "closed", here.by, here.today)
        codes = ", ".join(f"{b.code} on {b.on}" for b in done.bookings)
        return NextPage(
            "/settings", "The room is closed then." + (f" These bookings stand there: {codes}." if codes else "")
        )

    return here.answer(_closed_form(), "Close the room", do)


@routes.post("/settings/closed/{first}/{last}/open", include_in_schema=False)
@needs(Right.RULE)
def open_days(here: At, first: str, last: str) -> Response:
    """Open closed days again."""
    start, end = read_day(first, Flag("FROM"), here.today), read_day(last, Flag("TO"), here.today)
    closed_days.remove(here.db, start, end, here.by, here.today)
    return here.go("/settings", "Those days are open again.")


@routes.post("/settings/kept", include_in_schema=False)
@needs(Right.RULE)
def set_minimum(here: At) -> Response:
    """Set what is kept of a substance."""

    def do() -> NextPage:
        typed = here.typed
        lead = typed.number("lead") if typed["lead"] else None
        asked = orders.MinimumRequest(typed.amount("minimum"), typed.amounts("packs"), lead)
        kept = orders.set_minimum(here.db, typed["item"], asked, here.act())
        return NextPage("/settings", f"{kept.name}: {kept.shown()}.")

    return here.answer(_minimum_form(), "What is kept", do)


@routes.post("/settings/places", include_in_schema=False)
@needs(Right.RULE)
def add_place(here: At) -> Response:
    """Add a place, or give one another name."""

    def do() -> NextPage:
        typed = here.typed
        renamed = typed.ticked("rename")
        order = typed.number("order") if typed["order"] else None
        write = places.rename_place if renamed else places.add_place
        write(here.db, typed["code"], typed["name"], order, here.act())
        return NextPage("/settings", "Renamed." if renamed else "Added.")

    return here.answer(_place_form(), "Add a place", do)


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

    def do() -> NextPage:
        made = backup.backup(here.db, None)
        wrong = " ".join(f.message for f in backup.check(made)[:5])
        found = f"What the copy holds is not sound: {wrong}" if wrong else "The copy was checked: its books are sound."
        return NextPage("/settings", f"Copied to {made.name}, beside the inventory. {found}")

    return here.answer(WebForm("/settings/backup", (), "Make a backup", bench=False), "Make a backup", do)
