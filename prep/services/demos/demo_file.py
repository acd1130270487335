"""A demonstration as a TOML file, in and out: vessel by vessel, with every mistake by its line."""

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from prep.chemistry import quantities
from prep.chemistry.acid_base import droppers
from prep.chemistry.acid_base.until import AddedUntil, until_of
from prep.chemistry.catalogue import WATER
from prep.chemistry.model import Measure
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.errors import PrepError
from prep.planning.model import Demo, DemoKind, Leftover, Need
from prep.planning.set_out import MOST_PORTIONS, Portions, as_portions, uneven
from prep.services.catalogue.names import candidates, choose_item
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import STREAMS
from prep.services.files.csv_file import read_text
from prep.services.input.checks import printable

TOP = "code name kind about principle other_names spare_pct trials caution ask_first source vessel leftover".split()
VESSEL = "name contains add".split()
CONTAINS = "item amount portions stays shared fresh note".split()
ADD = "item from until amount portions stays shared fresh note".split()
LEFTOVER = "what goes note".split()
_OR_ITS_END = ', or how it ends: "until pH 7", "until colour changed", "until 20 drops"'
_HEADER = re.compile(r"\s*\[\[?\s*([A-Za-z0-9_.\s\"']+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"\s*([A-Za-z0-9_-]+)\s*=")


@dataclass(frozen=True, slots=True)
class ReadDemo:
    """A demo as it was read, or every mistake in it, each with its line of the file or its vessel.

    `taken` says of each name that may mean several things, or had a wrong letter, what it was taken for.
    """

    demo: Demo | None
    mistakes: tuple[str, ...]
    taken: tuple[str, ...] = ()


def read_demo(path: Path, on_file: OnFile) -> ReadDemo:
    """Read a demo's TOML file. Raises PrepError where it cannot be read at all."""
    return read_text_demo(read_text(path), path.name, on_file)


def read_text_demo(text: str, name: str, on_file: OnFile) -> ReadDemo:
    """Read a demo from TOML; `name` is what the file is called, empty where it was made of what somebody typed."""
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        return ReadDemo(None, (f"{name or 'What was typed'}: {problem}.",))
    except RecursionError:
        return ReadDemo(None, (f"{name or 'What was typed'}: it nests too deeply.",))
    reader = _Reader(name, _lines(text), on_file)
    demo = reader.demo(document)
    return ReadDemo(None if reader.mistakes else demo, tuple(reader.mistakes), tuple(dict.fromkeys(reader.taken)))


LONGEST_CODE = 50


def code_of(name: str) -> str:
    """Make a code from a name: `Rates with light` becomes `rates-with-light`."""
    code = re.sub(r"[^a-z0-9.]+", "-", name.casefold()).strip("-.")
    if len(code) > LONGEST_CODE:  # as many whole words as there is room for
        code = (code[: LONGEST_CODE + 1].rpartition("-")[0] or code[:LONGEST_CODE]).strip("-.")
    if not code:
        raise PrepError("Give the demo a code: its name holds no plain letters.")
    return code


@dataclass(frozen=True, slots=True)
class _MeasuredItem:
    """What a part of a vessel is, and by what it is counted."""

    code: str
    measure: Measure


@dataclass(frozen=True, slots=True)
class _Taken:
    """What a showing takes: in the item's unit, in drops, and in how many portions."""

    base: int
    drops: int
    portions: int = 1


class _Reader:
    """Reads the parts of a file and keeps every mistake."""

    def __init__(self, name: str, lines: Mapping[tuple[str, ...], int], on_file: OnFile) -> None:
        self.mistakes: list[str] = []
        self.taken: list[str] = []
        self._name, self._lines, self._on_file = name, lines, on_file
        self._vessels: list[str] = []

    def wrong(self, at: tuple[str, ...], why: str) -> None:
        """Keep a mistake at a key, or at the table that should have it; nobody knows the lines of what was typed."""
        if not self._name:
            where = self._vessels[int(at[1])] if at[0] == "vessel" and len(at) > 1 else f'"{at[-1]}"'
            self.mistakes.append(f"{where}: {why}")
            return
        line = next((self._lines[at[:n]] for n in range(len(at), 0, -1) if at[:n] in self._lines), 1)
        self.mistakes.append(f'{self._name}, line {line}, "{at[-1]}": {why}')

    def demo(self, document: Mapping[str, Any]) -> Demo | None:
        """Read the demo of a document; None where there are mistakes."""
        self._known(document, TOP, ())
        name = self._text(document, "name", (), need=True)
        code = self._text(document, "code", ())
        if code and not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}", code):
            self.wrong(("code",), f'"{code[:40]}" is no code; use letters, digits, dots and hyphens.')
        names = document.get("other_names", [])
        if not isinstance(names, list) or not all(isinstance(one, str) and ";" not in one for one in names):
            self.wrong(("other_names",), 'write a list of names, such as ["old name", "nickname"].')
            names = []
        kind = self._text(document, "kind", ()) or DemoKind.DEMONSTRATION
        if kind not in tuple(DemoKind):
            self.wrong(("kind",), f'"{kind[:40]}" is not one of: {", ".join(DemoKind)}.')
        spare = self._number(document, "spare_pct", (), 10, 1000)
        trials = self._number(document, "trials", (), 0, 100)
        needs: list[Need] = []
        for n, vessel in self._tables(document, "vessel", ()):
            self._vessels.append(str(vessel.get("name", "")))
            needs += self._vessel(vessel, ("vessel", str(n)))
        left = [self._leftover(one, ("leftover", str(n))) for n, one in self._tables(document, "leftover", ())]
        if not needs and not self.mistakes:
            self.wrong(("vessel",), "a demo needs at least one vessel with something in it.")
        if self.mistakes:
            return None
        return Demo(
            code or code_of(name),
            name,
            tuple(needs),
            spare / 100,
            tuple(one for one in left if one),
            self._text(document, "about", ()),
            self._text(document, "caution", ()),
            self._text(document, "source", ()) or "common practice, no source",
            tuple(names),
            self._text(document, "principle", ()),
            int(trials),
            DemoKind(kind),
            self._text(document, "ask_first", ()),
        )

    def _vessel(self, vessel: Mapping[str, Any], at: tuple[str, ...]) -> list[Need]:
        self._known(vessel, VESSEL, at)
        name = self._text(vessel, "name", at, need=True)
        out = [self._contains(one, (*at, "contains", str(n)), name) for n, one in self._tables(vessel, "contains", at)]
        out += [self._add(one, (*at, "add", str(n)), name) for n, one in self._tables(vessel, "add", at)]
        if not out:
            self.wrong((*at, "name"), "nothing is in this vessel; give it [[vessel.contains]].")
        found = [one for one in out if one]
        if why := uneven(found):
            self.wrong((*at, "name"), why)
        return found

    def _contains(self, part: Mapping[str, Any], at: tuple[str, ...], vessel: str) -> Need | None:
        self._known(part, CONTAINS, at)
        item = self._item(part, at)
        taken = self._portions(part, at, item, need=True)
        need = Need(item.code if item else "", taken.base, vessel, drops=taken.drops, portions=taken.portions)
        return None if item is None else self._need(part, at, need, item)

    def _add(self, part: Mapping[str, Any], at: tuple[str, ...], vessel: str) -> Need | None:
        self._known(part, ADD, at)
        item = self._item(part, at)
        dropper = ""
        if said := self._text(part, "from", at):
            try:
                dropper = droppers.dropper(said).code
            except PrepError as problem:
                self.wrong((*at, "from"), problem.sentence)
        end = AddedUntil()
        if said := self._text(part, "until", at):
            try:
                end = until_of(said)
            except PrepError as problem:
                self.wrong((*at, "until"), problem.sentence)
        taken = self._portions(part, at, item, need=not part.get("until"))
        if item and item.measure is Measure.MASS and (dropper or end.drops):
            where = "from" if part.get("from") else "until"
            self.wrong((*at, where), f"{item.code} is weighed, not dropped; give its amount, or a solution of it.")
        if end.drops:
            rate = (droppers.dropper(dropper) if dropper else droppers.common()).dropper.drops_per_ml
            counted = end.drops * taken.portions
            taken = replace(taken, base=round(counted / rate * BASE_PER_UNIT), drops=counted)
        need = Need(item.code if item else "", taken.base, vessel, drops=taken.drops, portions=taken.portions)
        need = replace(need, until=end.said, dropper=dropper)
        return None if item is None else self._need(part, at, need, item)

    def _need(self, part: Mapping[str, Any], at: tuple[str, ...], need: Need, item: _MeasuredItem) -> Need:
        for key in ("fresh", "shared"):
            if not isinstance(part.get(key, False), bool):
                self.wrong((*at, key), "write true or false.")
        dead = self._amount(part, "stays", at, item).base
        note = self._text(part, "note", at)
        return replace(need, dead=dead, fresh=part.get("fresh") is True, shared=part.get("shared") is True, note=note)

    def _leftover(self, part: Mapping[str, Any], at: tuple[str, ...]) -> Leftover | None:
        self._known(part, LEFTOVER, at)
        what, goes = self._text(part, "what", at, need=True), self._text(part, "goes", at, need=True)
        if goes and goes not in STREAMS:
            self.wrong((*at, "goes"), f'"{goes[:40]}" is not one of: {", ".join(STREAMS)}.')
        return Leftover(what, goes, self._text(part, "note", at))

    def _item(self, part: Mapping[str, Any], at: tuple[str, ...]) -> _MeasuredItem | None:
        said = self._text(part, "item", at, need=True)
        if not said:
            return None
        if said.casefold() == WATER:
            return _MeasuredItem(WATER, Measure.VOLUME)
        try:
            chosen = choose_item(said, self._on_file)
            found = chosen.item
            if found.measure is Measure.MASS and _is_liquid(part) and candidates(said, self._on_file, "solution"):
                # Drops of a solid's name are of its solution.
                chosen = choose_item(said, self._on_file, only="solution", held=self._on_file.held)
                found = chosen.item
        except PrepError as problem:
            self.wrong((*at, "item"), problem.sentence)
            return None
        if chosen.says:
            self.taken.append(chosen.says)
        return _MeasuredItem(found.code, found.measure)

    def _portions(
        self, part: Mapping[str, Any], at: tuple[str, ...], item: _MeasuredItem | None, *, need: bool
    ) -> _Taken:
        """Read what a showing takes in all, in the item's unit and in drops, and in how many portions: `4 x 25 mL`."""
        text = part.get("amount")
        said = as_portions(text) if isinstance(text, str) else Portions(1, "")
        times = said.count
        one = self._amount({**part, "amount": said.each} if times != 1 else part, "amount", at, item, need=need)
        given = part.get("portions", times)
        if isinstance(given, bool) or not isinstance(given, int) or not 1 <= given <= MOST_PORTIONS:
            self.wrong(
                (*at, "portions" if "portions" in part else "amount"), f"there are 1 to {MOST_PORTIONS} portions."
            )
            given = times
        elif times not in (1, given):
            self.wrong((*at, "portions"), f'"amount" says {times} portions.')
        return _Taken(one.base * times, one.drops * times, given)

    def _amount(
        self,
        part: Mapping[str, Any],
        key: str,
        at: tuple[str, ...],
        item: _MeasuredItem | None,
        need: bool = False,
    ) -> _Taken:
        """Read an amount in the item's unit, and how many drops it is said as."""
        text = self._text(part, key, at, need=need)
        if not text:
            return _Taken(0, 0)
        try:
            typed = quantities.amount(text, zero=key == "stays")
        except PrepError as problem:
            self.wrong((*at, key), problem.sentence)
            return _Taken(0, 0)
        if item and typed.measure is not item.measure and (typed.base or typed.drops):
            self.wrong((*at, key), f"{item.code} is counted by {item.measure.value}; write its amount so.")
        rate = Decimal(str(droppers.common().dropper.drops_per_ml))
        return _Taken(typed.base_with(rate), typed.drops)

    def _text(self, table: Mapping[str, Any], key: str, at: tuple[str, ...], *, need: bool = False) -> str:
        value = table.get(key, "")
        if not isinstance(value, str):
            self.wrong((*at, key), "write it between quotation marks.")
            return ""
        if need and not value.strip():
            self.wrong((*at, key), f"its {key} must be given{_OR_ITS_END if 'add' in at and key == 'amount' else ''}.")
        try:
            return printable(value.strip(), 500, "this")
        except PrepError as problem:
            self.wrong((*at, key), problem.sentence)
            return ""

    def _number(self, table: Mapping[str, Any], key: str, at: tuple[str, ...], default: int, most: int) -> Decimal:
        value = table.get(key, default)
        try:
            found = Decimal(str(value)) if not isinstance(value, bool) else Decimal(-1)
        except InvalidOperation:
            found = Decimal(-1)
        if not found.is_finite() or not 0 <= found <= most or (key == "trials" and found != int(found)):
            self.wrong((*at, key), f"write a number from 0 to {most}.")
            return Decimal(default)
        return found

    def _known(self, table: Mapping[str, Any], keys: Sequence[str], at: tuple[str, ...]) -> None:
        for key in table:
            if key not in keys:
                self.wrong((*at, key), f"is not known here; there are {', '.join(keys)}.")

    def _tables(self, table: Mapping[str, Any], key: str, at: tuple[str, ...]) -> list[tuple[int, Mapping[str, Any]]]:
        found = table.get(key, [])
        if not isinstance(found, list) or not all(isinstance(one, dict) for one in found):
            self.wrong((*at, key), f"write each as a table of its own, [[{key}]].")
            return []
        return list(enumerate(found))


def _is_liquid(part: Mapping[str, Any]) -> bool:
    """Tell whether a part's amount is a volume or drops, or it is added from a dropper."""
    text = part.get("amount")
    try:
        return bool(part.get("from")) or quantities.amount(as_portions(str(text)).each).measure is Measure.VOLUME
    except PrepError:
        return False


def _lines(text: str) -> dict[tuple[str, ...], int]:
    """Find the line of every header and key: `("vessel", "0", "contains", "1", "item")` -> 14."""
    out: dict[tuple[str, ...], int] = {}
    counts: dict[tuple[str, ...], int] = {}
    at: tuple[str, ...] = ()
    for number, line in enumerate(text.splitlines(), 1):
        if (found := _HEADER.match(line)) and line.lstrip().startswith("["):
            parts = [part.strip().strip("\"'") for part in found[1].split(".")]
            at = ()
            for n, part in enumerate(parts):
                where = (*at, part)
                if n == len(parts) - 1 and line.lstrip().startswith("[["):
                    counts[where] = counts.get(where, -1) + 1
                    for inner in [one for one in counts if one[: len(where)] == where and one != where]:
                        if inner[len(where) :][0].isdigit() and int(inner[len(where)]) == counts[where]:
                            del counts[inner]
                at = (*where, str(max(counts.get(where, 0), 0)))
            out[at] = number
        elif found := _KEY.match(line):
            out[(*at, found[1])] = number
    return out
