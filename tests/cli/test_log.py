"""The numbered lines of the day: they hold for that day, and one short command logs each."""

from datetime import date
from pathlib import Path

import pypdfium2
import pytest

from prep.cli import common
from prep.errors import Refused
from prep.services.plan import day_lines
from prep.services.stock import changes
from prep.store.day import lines
from tests.cli.conftest import Run
from tests.databases import made_once
from tests.days import act

TODAY = date(2027, 1, 11)  # a Monday
SCHOOL = {
    "settings.toml": 'school = "Invented School"\n',
    "locations.csv": "code,name,walk_order\nPREP,Prep room,1\nACID,Acid cupboard,2\n",
    "bottles.csv": "code,item,amount,use_by,location,received\n"
    "K6G7,hydrochloric-acid,2.5 L,2028-01-01,ACID,2026-09-01\n"
    "N4H2,sodium-hydroxide,500 g,,PREP,2026-09-01\n"
    "R6M3,phenolphthalein-0.1,100 mL,2026-12-01,PREP,2026-06-01\n"
    "M2G2,magnesium-ribbon,25 g,,PREP,2026-06-01\n",
    "orders.csv": "code,item,pack,packs,placed,due\nP3,sodium-chloride,250 g,2,2026-12-20,2027-01-08\n",
    "bookings.csv": "code,date,period,room,demo,showings\n"
    "B1,2027-01-11,P2,Lab1,blue-bottle,1\nB2,2027-01-12,P2,Lab1,magnesium-rate,2\n",
}


@pytest.fixture
def room(prep: Run, url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """A small school on a Monday: acid to dilute for tomorrow, a booking today, an overdue order, an old bottle."""
    monkeypatch.setattr(common, "today", lambda: TODAY)
    folder = tmp_path / "school"
    folder.mkdir()
    for name, text in SCHOOL.items():
        (folder / name).write_text(text, encoding="utf-8")

    def fill() -> None:
        done = prep("init", "--from", folder)
        assert done.code == 0, done.err

    made_once(url, "day_lines", fill)
    return prep


def numbered(room: Run) -> dict[str, int]:
    return {line["says"]: line["number"] for line in room("log", "--json").json}


def of(room: Run, start: str) -> int:
    return next(number for says, number in numbered(room).items() if says.startswith(start))


def test_every_line_of_the_day_keeps_its_number_when_others_are_logged(room: Run) -> None:
    shown = room("plan", "--day", "today")
    assert shown.code == 0, shown.err
    before = numbered(room)
    assert sorted(before.values()) == list(range(1, len(before) + 1))
    make = of(room, "make")
    assert f"{make:>2} [ ] " in shown.out
    done = room("log", make, "--at", "PREP")
    assert done.code == 0, done.err
    assert "Write " in done.out
    late = room("book", "add", "magnesium-rate", "--on", "wednesday", "--room", "Lab2")
    assert late.code == 0, late.err
    again = room("plan", "--day", "today").out
    after = numbered(room)
    assert {says: after[says] for says in before} == before
    assert "OVERDUE by 3 days" in again
    refused = room("log", make)
    assert (refused.code, "logged already" in refused.err) == (1, True)


def test_a_make_is_logged_with_just_what_the_line_says(room: Run) -> None:
    room("plan", "--day", "today")
    make = next(number for says, number in numbered(room).items() if "Hydrochloric acid, 2 mol/L" in says)
    held = room("stock", "show", "K6G7", "--json").json["amount"]["value"]
    done = room("log", make, "--at", "PREP", "--json").json[0]
    lines = [one for one in room("stock", "history", "--json").json if one["job"] == done["job"]]
    assert {line["kind"] for line in lines} == {"make"}
    assert room("stock", "show", "K6G7", "--json").json["amount"]["value"] < held
    assert room("stock", "undo", done["job"]).code == 0
    assert f"{make:>3} [ ]" in room("log").out  # undone, it is to be logged again
    assert room("log", make, "--at", "PREP").code == 0
    assert room("db", "check").code == 0


def test_a_make_that_is_on_the_books_of_the_day_already_is_said(room: Run) -> None:
    room("plan", "--day", "today")
    line = next(one for one in room("log", "--json").json if "Hydrochloric acid, 2 mol/L" in one["says"])
    volume = line["says"].split(" of ")[0].removeprefix("make ")
    first = room("make", "hcl-2", "--volume", volume, "--log", "--at", "PREP")
    assert "already" not in first.out
    again = room("log", line["number"], "--at", "PREP")
    assert f"{volume} of it was logged for the same day already" in again.out
    assert "if that is the same make: prep stock undo " in again.out
    job = again.out.rsplit("prep stock undo ", 1)[1].split()[0]
    assert room("stock", "undo", job).code == 0
    assert "already" in room("make", "hcl-2", "--volume", volume, "--log", "--at", "PREP").out  # as the first still is
    assert "already" not in room("make", "hcl-2", "--volume", "100 mL", "--log", "--at", "PREP").out


def test_set_out_shown_arrived_and_discarded_are_one_command_each(room: Run) -> None:
    room("plan", "--day", "today")
    for start, options in (
        ("set out B1", ()),
        ("shown B1", ()),
        ("arrived: order P3", ("--at", "PREP", "--use-by", "12/2030", "--packs", "1")),
        ("discard R6M3", ()),
    ):
        done = room("log", of(room, start), *options)
        assert done.code == 0, done.err
    assert room("book", "list", "--all", "--json").json[0]["status"] == "done"
    assert [o["packs"] for o in room("order", "list", "--json").json["placed"]] == [1]
    came = [b for b in room("stock", "list", "--json").json if b["item"] == "sodium-chloride"]
    assert [b["use_by"] for b in came] == ["2030-12-31"]
    assert room("stock", "show", "R6M3", "--json").json["status"] == "discarded"
    kinds = {one["kind"] for one in room("stock", "history", "--json").json}
    assert {"set out", "done", "arrive", "discard"} <= kinds


def test_one_place_goes_for_all_lines_that_are_put_there(room: Run) -> None:
    """A delivery is logged at once where it is put; so is what is made."""
    room("plan", "--day", "today")
    makes = [str(number) for says, number in numbered(room).items() if says.startswith("make")]
    arrived = str(of(room, "arrived"))
    assert makes
    done = room("log", arrived, *makes, "--at", "ACID")
    assert done.code == 0, done.err
    assert done.out.count("at ACID") == len(makes) + 2  # two packs came
    refused = room("log", arrived, str(of(room, "discard")), "--at", "ACID")
    assert refused.code != 0


def test_what_came_out_otherwise_says_what_to_do_if_it_was_spilt(room: Run) -> None:
    room("plan", "--day", "today")
    make = of(room, "make")
    volume = next(says for says, number in numbered(room).items() if number == make).split(" of ")[0]
    done = room("log", make, "--made", f"{float(volume.split()[1]) * 0.8:g} {volume.split()[2]}", "--at", "PREP")
    assert done.code == 0, done.err
    assert "All that was taken is in it, so it is " in done.out
    assert f'prep log {make}, then prep stock use CODE AMOUNT --reason "spilt".' in done.out


def test_a_make_that_was_titrated_says_what_was_found_and_against_what(room: Run) -> None:
    room("plan", "--day", "today")
    (held,) = room("stock", "receive", "naoh-1", "500 mL", "--at", "PREP", "--json").json
    make = next(number for says, number in numbered(room).items() if "Hydrochloric acid, 1 mol/L" in says)
    titres = "25 mL of it = 24.9 mL, 24.95 mL of NaOH 1 mol/L"
    done = room("log", make, "--titrated", titres, "--made", "1 L", "--at", "ACID")
    assert done.code == 0, done.err
    assert "Found 0.997 +- " in done.out
    assert "NOT RELIABLE: Sodium hydroxide takes up water" in done.out
    assert f"The standard went off bottle {held['code']}" in done.out
    assert "spilt" not in done.out  # as much came out as the line says


def test_of_all_that_must_not_stand_beside_a_make_the_worst_is_said_and_the_rest_counted(room: Run) -> None:
    for item in ("potassium-permanganate", "potassium-iodate", "potassium-nitrate"):
        assert room("stock", "receive", item, "100 g", "--at", "PREP").code == 0
    room("plan", "--day", "today")
    make = next(number for says, number in numbered(room).items() if "Hydrochloric acid, 1 mol/L" in says)
    said = room("log", make, "--at", "PREP").out
    assert said.count("Mind: PREP: Hydrochloric acid") == 1
    assert " more there must not share its place (prep safety storage)." in said


def test_an_order_line_is_logged_as_placed_and_not_asked_for_again(room: Run) -> None:
    room("plan", "--day", "today")
    orders = [number for says, number in numbered(room).items() if says.startswith("order ")]
    assert orders
    done = room("log", *orders)
    assert done.code == 0, done.err
    assert "due " in done.out
    assert not [o for o in room("order", "list", "--json").json["to_order"] if o["item"] == "magnesium-ribbon"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("99",), "has no line 99"),
        (("x",), '"x" is no line'),
        (("1-",), "is no line"),
        (("1", "2", "--made", "1 L"), "--made is about one line"),
        (("--made", "1 L"), "Say which line"),
    ],
)
def test_what_cannot_be_logged_is_said_in_a_sentence(room: Run, words: tuple[str, ...], told: str) -> None:
    room("plan", "--day", "today")
    before = room("stock", "history", "--json").out
    done = room("log", *words)
    assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)
    assert told in done.err
    assert room("stock", "history", "--json").out == before


def test_an_option_of_another_kind_of_line_is_refused(room: Run) -> None:
    assert "was not printed yet" in room("log").out
    room("plan", "--day", "today")
    done = room("log", of(room, "set out"), "--made", "1 L")
    assert done.code == 2
    assert "--made goes with make" in done.err


def test_a_titration_takes_what_it_used_off_the_books(inventory: Run) -> None:
    written = "25 mL of it = 24.6 mL, 24.7 mL of hydrochloric acid 1 mol/L"
    made = inventory("make", "naoh-1", "--volume", "250 mL", "--log", "--titrated", written, "--json")
    assert made.code == 0, made.err
    code, volume = made.json["bottles"][0], made.json["amount"]["value"]
    held = inventory("stock", "show", code, "--json").json
    assert held["amount"]["value"] == volume - 50
    acid = inventory("make", "hcl-1", "--volume", "100 mL", "--log", "--json").json["bottles"][0]
    before = inventory("stock", "show", acid, "--json").json["amount"]["value"]
    titrated = f"25 mL of it = 24.5 mL, 24.5 mL of bottle {acid}"
    done = inventory("stock", "standardise", code, "--titrated", titrated)
    assert done.code == 0, done.err
    assert inventory("stock", "show", acid, "--json").json["amount"]["value"] == before - 49
    assert inventory("stock", "show", code, "--json").json["amount"]["value"] == volume - 100
    assert inventory("db", "check").code == 0


def test_what_must_not_be_kept_is_destroyed_by_a_line_of_its_day(room: Run) -> None:
    for item, amount in (("silver-nitrate", "25 g"), ("ammonia-880", "500 mL"), ("glucose", "100 g")):
        assert room("stock", "receive", item, amount, "--at", "PREP").code == 0
    assert room("usual", "--made-at", "PREP").code == 0
    assert room("stock", "receive", "hno3-2", "500 mL", "--at", "ACID").code == 0
    assert room("book", "add", "silver-mirror", "--on", TODAY, "--period", "P5", "--room", "Lab1").code == 0
    shown = room("plan", "--day", "today")
    assert "what is left of Ammoniacal silver nitrate: destroy it as soon as its period is over" in " ".join(
        shown.out.split()
    )
    line = of(room, "destroy what is left of Ammoniacal silver nitrate")
    early = room("log", line)
    assert (early.code, "nothing of it is left" in early.err) == (1, True)
    makes = [number for says, number in numbered(room).items() if says.startswith("make")]
    assert room("log", *makes, "--on", TODAY).code == 0
    assert room("log", of(room, "shown B3"), "--on", TODAY).code == 0
    done = room("log", line)
    assert done.code == 0, done.err
    held = room("stock", "list", "--json").json
    assert not [one for one in held if one["item"] == "tollens" and one["amount"]["value"]]


def test_a_day_looked_at_ahead_is_numbered_anew_until_it_comes(room: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    for on in ("2027-01-12", "2027-01-13"):
        assert room("book", "add", "magnesium-rate", "--on", on, "--room", "Lab2").code == 0
    assert room("plan", "--day", "2027-01-12").code == 0
    assert room("book", "cancel", "B2").code == 0
    assert room("plan", "--day", "2027-01-12").code == 0
    monkeypatch.setattr(common, "today", lambda: date(2027, 1, 12))
    printed = room("log", "--json").json
    assert [line["number"] for line in printed] == list(range(1, len(printed) + 1))
    assert any("B3" in line["says"] for line in printed)
    assert not any("B2" in line["says"] for line in printed)
    assert room("book", "add", "magnesium-rate", "--on", "2027-01-12", "--room", "Lab2", "--again").code == 0
    assert room("plan", "--day", "today").code == 0
    set_out = {line["says"]: line["number"] for line in printed if "B3" in line["says"]}
    assert set_out.items() <= numbered(room).items()


def test_what_is_made_goes_beside_its_other_strengths_or_to_the_usual_place(inventory: Run) -> None:
    inventory("stock", "place", "DIL", "Dilute acids shelf")
    inventory("usual", "--made-at", "PREP")
    inventory("stock", "receive", "hcl-2", "500 mL", "--at", "DIL")
    inventory("stock", "receive", "sodium-chloride", "500 g", "--at", "PREP")
    acid = inventory("make", "hcl-0.5", "--volume", "100 mL", "--log")
    assert (acid.code, "at DIL" in acid.out) == (0, True), acid.err
    salt = inventory("make", "nacl-0.1", "--volume", "500 mL", "--log")
    assert (salt.code, "at PREP" in salt.out) == (0, True), salt.err


def test_a_booking_of_an_earlier_day_is_asked_about_until_it_is_said(
    room: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """On the screen, on paper and in the document; on its own day and on a day ahead it is not."""
    assert "NOT SAID YET" not in room("plan", "--day", "today").out
    monkeypatch.setattr(common, "today", lambda: date(2027, 1, 13))
    out = room("plan", "--day", "today").out
    assert "2 bookings not said yet" in out
    first, second = of(room, "shown B1"), of(room, "shown B2")
    assert f"{first:>2} [ ] B1  Mon 11 Jan: Blue bottle x1" in out
    assert f"Shown or not? prep log {second}, or: prep book cancel B2" in out
    assert "NOT SAID YET" not in room("plan", "--day", "2027-01-14").out
    assert "booking-past" not in room("plan", "--day", "today", "--from", "2027-01-11").out
    said = room("plan", "--day", "today", "--json").json["not_said_yet"]
    assert [(one["code"], one["date"]) for one in said] == [("B1", "2027-01-11"), ("B2", "2027-01-12")]
    assert room("plan", "--pdf", "day", tmp_path / "day.pdf", "--day", "today").code == 0
    printed = pypdfium2.PdfDocument(tmp_path / "day.pdf")[0].get_textpage().get_text_range()
    assert "Not said yet" in printed
    assert "Tue 12 Jan: Magnesium in acid at three strengths x2" in printed
    assert room("log", first).code == 0
    assert room("book", "cancel", "B2").code == 0
    assert {b["code"]: b["status"] for b in room("book", "list", "--all", "--json").json} == {
        "B1": "done",
        "B2": "cancelled",
    }
    assert "NOT SAID YET" not in room("plan", "--day", "today").out


def test_of_many_that_nobody_spoke_of_the_latest_are_named_and_the_rest_counted(
    room: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    weeks = room("book", "add", "magnesium-rate", "--on", "2027-01-15", "--weeks", 8, "--json")
    assert weeks.code == 0, weeks.err
    monkeypatch.setattr(common, "today", lambda: date(2027, 3, 31))
    out = room("plan", "--day", "today").out
    assert "10 bookings not said yet" in out
    assert out.count("Magnesium in acid at three strengths x1") == 6
    assert "and 4 bookings before those" in out
    assert "Fri 5 Mar: " in out
    assert "Mon 11 Jan: " not in out


def test_what_was_short_on_the_day_is_named_and_not_booked(room: Run) -> None:
    """Neither as used on nobody's books, nor off a bottle that came later for something else; unless it is said."""
    assert "SHORT of all of it" in room("plan", "--day", "today").out
    (sugar,) = room("stock", "receive", "glucose", "50 g", "--at", "PREP", "--json").json
    line = of(room, "shown B1")
    done = room("log", line)
    assert done.code == 0, done.err
    said = " ".join(done.out.split())
    assert "11 g of D-Glucose was short that day and is not booked." in said
    assert "Methylene blue, 0.1 % was short that day and is not booked." in said
    assert "of Methylene blue, 0.1 % is on no bottle's books" not in said
    assert room("stock", "show", sugar["code"], "--json").json["amount"]["value"] == 50
    job = next(one["job"] for one in room("log", "--json").json if one["number"] == line)
    assert f"prep stock undo {job}, then prep log {line} --used glucose=AMOUNT" in said
    assert room("stock", "undo", job).code == 0
    again = room("log", line, "--used", "glucose=8 g")
    assert "D-Glucose was short" not in again.out
    assert room("stock", "show", sugar["code"], "--json").json["amount"]["value"] == 42


def test_what_was_short_is_not_booked_either_way_of_saying_that_it_was_shown(room: Run) -> None:
    room("plan", "--day", "today")
    done = room("book", "done", "B1", "--json").json
    sugar = next(one for one in done["taken"] if one["item"] == "glucose")
    assert [sugar[key]["value"] for key in ("planned", "used", "short", "not_set_out")] == [10, 0, 0, 11]
    assert room("stock", "undo", done["job"]).code == 0
    told = " ".join(room("book", "done", "B1").out.split())
    assert "11 g of D-Glucose was short that day and is not booked." in told
    assert "D-Glucose: " not in told


@pytest.mark.parametrize("start", ["make", "set out B1", "shown B1", "order", "arrived", "discard R6M3"])
def test_a_line_is_done_and_marked_whole_or_not_at_all(room: Run, monkeypatch: pytest.MonkeyPatch, start: str) -> None:
    """What ends the program between the two, as a loss of power would, leaves neither behind."""
    room("plan", "--day", "today")
    options = ("--at", "PREP") if start in ("make", "arrived") else ()
    before = room("stock", "history", "--json").json
    marks = lines.logged

    class PowerLoss(BaseException):
        pass

    def fail(*_: object) -> None:
        raise PowerLoss

    monkeypatch.setattr(lines, "logged", fail)
    with pytest.raises(PowerLoss):
        room("log", of(room, start), *options)
    assert room("stock", "history", "--json").json == before
    monkeypatch.setattr(lines, "logged", marks)
    done = room("log", of(room, start), *options)
    assert done.code == 0, done.err
    twice = room("log", of(room, start), *options)
    assert (twice.code, "logged already" in twice.err) == (1, True)
    kinds = [one for one in room("log", "--json").json if one["number"] == of(room, start)]
    assert kinds[0]["job"]
    assert room("db", "check").code == 0


def test_a_line_that_somebody_logs_meanwhile_is_not_logged_again(room: Run) -> None:
    """Both have looked before either has written."""
    room("plan", "--day", "today")
    number = of(room, "discard R6M3")
    with day_lines.logging(TODAY, number) as first:
        changes.discard(None, ["R6M3"], "", act("A. Reed", TODAY))
    assert first.job
    with pytest.raises(Refused, match=f"logged already, as job {first.job}"), day_lines.logging(TODAY, number):
        changes.discard(None, ["M2G2"], "", act("B. Moss", TODAY))
    assert room("stock", "show", "M2G2", "--json").json["status"] == "in service"
