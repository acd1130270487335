"""Bookings and their answers, as JSON and on the screen."""

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from prep.chemistry import quantities
from prep.findings import Finding
from prep.planning.booking_answer import BookingAnswer, BookingState, ToMake, ToOrder
from prep.planning.model import Booking
from prep.planning.set_out import how_often, sensibly
from prep.reports import terminal
from prep.reports.finding_texts import finding_document, with_cure
from prep.reports.formatting import short_day
from prep.wording import AtTerminal, Sentence

if TYPE_CHECKING:
    from prep.services.bookings.usage import ShownBooking


def booking_document(b: Booking) -> dict[str, Any]:
    """Write a booking as JSON."""
    return {
        "code": b.code,
        "date": b.on.isoformat(),
        "period": b.period,
        "room": b.room,
        "teacher": b.teacher,
        "demo": b.demo,
        "showings": b.showings,
        "status": b.status,
        "group": b.group,
        "note": b.note,
        "item": b.item or None,
        "trials": b.trials,
        "set_out": b.set_out or None,
        "allowed_by": b.allowed_by or None,
        "allowed_on": _iso(b.allowed_on),
    }


def answer_document(answer: BookingAnswer) -> dict[str, Any]:
    """Write a booking with the plan's answer as JSON."""
    return booking_document(answer.booking) | {
        "can_be_served": answer.can_be_shown,
        "state": answer.state.value,
        "state_on": _iso(answer.state_on),
        "ready_by": _iso(answer.ready_by),
        "ready_by_past": answer.late,
        "place": answer.place,
        "minutes": answer.minutes,
        "must_be_allowed": answer.must_be_allowed,
        "first_day": _iso(answer.first_day),
        "takes": [
            {
                "item": one.item,
                "name": one.name,
                "amount": quantities.as_json(one.amount, one.measure),
                "from": one.source,
                "places": list(one.places),
                "short": quantities.as_json(one.short, one.measure) if one.short else None,
            }
            for one in answer.takes
        ],
        "makes": [
            {
                "solution": one.solution,
                "name": one.name,
                "on": one.on.isoformat(),
                "amount": {"value": one.amount / 1e6, "unit": "mL"},
                "minutes": one.minutes,
            }
            for one in answer.makes
        ],
        "orders": [_order(one) for one in answer.orders],
        "orders_today": [_order(one) for one in answer.orders_today],
        "against": [_finding(one) for one in answer.against],
        "warnings": [_finding(one) for one in (*answer.against, *answer.mind)],
        "says": answer_lines(answer),
    }


def answer_lines(answer: BookingAnswer) -> list[str]:
    """Write the answer in sentences: the same ones whichever command asks."""
    lines = [headline(answer)]
    if answer.can_be_shown is None:
        return [*lines, *map(with_cure, answer.against)]
    for finding in answer.against:
        lines.append(with_cure(finding))
    if answer.can_be_shown is False and answer.booking.stands:
        if answer.first_day:
            lines.append(f"As things stand it can be shown from {_day(answer.first_day)} on.")
        elif answer.searched_to:
            lines.append(f"No day up to {_day(answer.searched_to)} would do either, as things stand.")
    if answer.orders_today:
        lines.append(f"To be ordered today: {', '.join(map(_pack, answer.orders_today))}.")
    later = [one for one in answer.orders if not one.code and one not in answer.orders_today]
    if later:
        lines.append(f"To be ordered: {', '.join(f'{_pack(one)} by {_day(one.order_by)}' for one in later)}.")
    for one in answer.orders:
        if one.code:
            lines.append(f"On its way: {_pack(one)} (order {one.code}), due {_day(one.arrives)}.")
    if answer.makes:
        lines.append(f"To be made, about {answer.minutes} minutes: {', '.join(_makes(answer.makes))}.")
    if answer.ready_by:
        past = ", which is past: it is made late" if answer.late else ""
        lines.append(f"Ready by {_day(answer.ready_by)}{past}.")
    return [*lines, *map(with_cure, answer.mind)]


def headline(answer: BookingAnswer) -> str:
    """Say yes, no or not known, and how far the booking is."""
    booking = answer.booking
    if not booking.stands:
        return f"It is {booking.status}."
    if answer.can_be_shown is None:
        return "Whether it can be shown is not known."
    if not answer.can_be_shown:
        return "As things stand it cannot be served in full:"
    if answer.must_be_allowed and answer.state is BookingState.ASKED:
        return "It can be served, and must be allowed first."
    return f"It can be served; {state_words(answer)}."


def state_words(answer: BookingAnswer) -> str:
    """Say how far a booking is, as a teacher reads it."""
    on = answer.state_on
    if answer.state is BookingState.WAITS and on:
        return f"it waits for an order, there on {_day(on)}"
    if answer.state is BookingState.TO_MAKE and on:
        return f"to be made on {_day(on)}"
    if answer.state is BookingState.SET_OUT:
        return f"set out at {answer.place}" if answer.place else "set out"
    return {BookingState.MADE: "all of it stands ready made"}.get(answer.state, answer.state.value)


def short_state(answer: BookingAnswer) -> str:
    """Write the state for a column: `made`, `to be made on 13 Jan`, `waits for an order, due 20 Jan`."""
    on = answer.state_on
    if answer.booking.stands and answer.can_be_shown is False and not answer.booking.set_out:
        return "asked: cannot be served"
    if answer.must_be_allowed and answer.state is BookingState.ASKED:
        return "asked: to be allowed first"
    if answer.state is BookingState.WAITS and on:
        return f"waits for an order, due {short_day(on)}"
    if answer.state is BookingState.TO_MAKE and on:
        return f"to be made on {short_day(on)}"
    if answer.state is BookingState.SET_OUT:
        return f"set out at {answer.place}" if answer.place else "set out"
    return answer.state.value


def show_answer(answer: BookingAnswer) -> None:
    """Print a booking with its answer."""
    b = answer.booking
    what = f"{b.what} {how_often(b)}"
    where = "".join(f", {said}" for said in (b.period, b.room, b.group) if said)
    terminal.say(f"{b.code}: {what} on {b.on}{where}.")
    first, *rest = answer_lines(answer)
    if answer.can_be_shown is False and rest:
        _bullets(first, rest[: len(answer.against)])
        rest = rest[len(answer.against) :]
    else:
        terminal.say(first)
    for one in answer.takes:
        amount = sensibly(one.amount, one.measure)
        places = f" ({', '.join(filter(None, one.places))})" if any(one.places) else ""
        lacks = "all of it" if one.short == one.amount else quantities.show(one.short, one.measure, 3)
        short = f"; short of {lacks}" if one.short else ""
        terminal.say(f"  {amount} of {one.name}" + (f", {one.source}{places}" if one.source else "") + short, hang=4)
    for line in rest:
        terminal.say(line, hang=2)


def show_brief(answer: BookingAnswer) -> None:
    """Print a booking and its answer on a line or two: of many at once."""
    b = answer.booking
    who = f"  {b.teacher}" if b.teacher else ""
    when = f"{b.on} {b.period}".rstrip()
    terminal.say(f"{b.code}  {when}  {b.what} {how_often(b)}{who}: {short_state(answer)}", hang=2)
    if answer.can_be_shown is not True:
        for line in answer_lines(answer)[1:]:
            terminal.say(f"  {line}", hang=4)


def _bullets(head: str, lines: Sequence[str]) -> None:
    terminal.say(head)
    for line in lines:
        terminal.say(f"  {line}", hang=4)


def _pack(one: ToOrder) -> str:
    size = quantities.show(one.pack, one.measure)
    return f"{f'{one.packs} x ' if one.packs > 1 else ''}{size} of {one.name}"


def _makes(makes: Sequence[ToMake]) -> list[str]:
    """List what is made on which day; several makes of one solution on a day stand as one."""
    times = Counter((one.name, one.on) for one in makes)
    return [f"{f'{count} x ' if count > 1 else ''}{name} on {on}" for (name, on), count in times.items()]


def _order(one: ToOrder) -> dict[str, Any]:
    return {
        "item": one.item,
        "name": one.name,
        "packs": one.packs,
        "pack": quantities.as_json(one.pack, one.measure),
        "order": one.code or None,
        "order_by": None if one.code else one.order_by.isoformat(),
        "arrives": one.arrives.isoformat(),
    }


def _finding(one: Finding) -> dict[str, str]:
    return {**finding_document(one), "cure": one.cure}


def _day(day: Any) -> str:
    return str(day.isoformat())


def _iso(day: Any) -> str | None:
    return day.isoformat() if day else None


def not_set_out(shown: "ShownBooking", again: str = "") -> list[str]:
    """Say what was short on the day and is not booked; with the command to log it `again`, what to do if it was used.

    One sentence or two an item.
    """
    out = []
    for taken in shown.taken:
        if taken.not_set_out:
            amount = quantities.show(taken.not_set_out, taken.measure)
            cure = AtTerminal(
                f" If it was used all the same: prep stock undo {shown.job}, then {again} --used {taken.item}=AMOUNT"
            )
            said = f"{amount} of {taken.name} was short that day and is not booked."
            out.append(Sentence(said, cure) if again else said)
    return out


def shown_document(shown: "ShownBooking") -> dict[str, Any]:
    """Write what a showing used as JSON."""
    sorts = ("planned", "put_out", "used", "returned", "wasted", "short", "not_set_out")
    taken = [
        {"item": t.item, "measured": t.measured}
        | {sort: quantities.as_json(getattr(t, sort), t.measure) for sort in sorts}
        for t in shown.taken
    ]
    return booking_document(shown.booking) | {"job": shown.job, "taken": taken}
