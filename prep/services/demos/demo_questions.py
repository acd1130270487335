"""A demonstration asked for in words: by options, or question by question at a terminal."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from typing import Any

from prep.errors import PrepError
from prep.wording import AtTerminal, Flag

_INSIDE = re.compile(r"\s*(?P<amount>.+?)\s+of\s+(?P<item>.+?)\s*")
_INSIDE_PLAIN = re.compile(r"\s*(?P<amount>(?:\d+\s*x\s*)?\d[\d.,]*\s*[^\W\d]\w*)\s+(?P<item>.+?)\s*")
"""The same as one says it quickly: `3 drops phenolphthalein`."""
_ADDED = re.compile(
    r"\s*(?:(?P<amount>[0-9].*?)\s+of\s+)?(?P<item>.+?)(?:\s+from\s+(?P<from>.+?))?(?:\s+until\s+(?P<until>.+?))?\s*"
)
_MORE = re.compile(
    r"(?P<rest>.+),\s*(?:(?P<word>fresh|shared)|(?P<key>stays|note|portions)\s+(?P<value>\"[^\"]+\"|[^,\"]+?))\s*"
)


@dataclass(frozen=True, slots=True)
class AskedDemo:
    """What is said of a demo: `contains` are `VESSEL=AMOUNT of ITEM`, `adds` `VESSEL=ITEM from DROPPER until END`.

    Behind either may stand, after commas: `fresh`, `shared`, `portions 4`, `stays 10 mL`, `note ...`; in
    quotes a note may hold commas.
    """

    name: str = ""
    code: str = ""
    about: str = ""
    principle: str = ""
    caution: str = ""
    contains: tuple[str, ...] = ()
    adds: tuple[str, ...] = ()
    leaves: tuple[str, ...] = ()
    kind: str = ""
    other_names: tuple[str, ...] = ()
    spare_pct: str = ""
    ask_first: str = ""
    source: str = ""
    trials: int = 0


@dataclass(frozen=True, slots=True)
class Conversation:
    """How somebody is asked: `question` asks, `mistake` names the first in a demo's file, `tell` shows it."""

    question: Callable[[str], str]
    mistake: Callable[[str], str]
    tell: Callable[[str], None]

    def until_right(self, prompt: str, before: AskedDemo, part: str, start: str = "") -> str:
        """Ask until the answer, put to what was said `before`, is no mistake; empty where nothing was answered."""
        while said := self.question(prompt):
            whole = f"{start}{said}"
            put: dict[str, Any] = {part: whole if part == "name" else (*getattr(before, part), whole)}
            try:
                problem = self.mistake(toml_of(replace(before, **put)))
            except PrepError as found:
                problem = found.sentence.on_page(lambda _: "").lstrip()  # as on a page, no option was typed
            if not problem:
                break
            self.tell(f"  {problem} Once more:")
        return said


_PATIENCE = 3
"""How often what a demo cannot be without is asked for."""


def _needed(ask_once: Callable[[], str], how: Conversation, without: str) -> str:
    """Ask for what a demo cannot be without, again where nothing was answered; empty after some times."""
    for _ in range(_PATIENCE):
        if said := ask_once():
            return said
        how.tell(f"  {without} Once more:")
    return ""


def ask(asked: AskedDemo, how: Conversation) -> AskedDemo:
    """Ask for what is not said yet; an empty answer leaves a part out, and ends a list."""
    blank = AskedDemo(name="-", code="x", contains=("-=1 mL of water",))
    coded = replace(blank, code=asked.code)
    name = asked.name or _needed(
        lambda: how.until_right("What is it called?", coded, "name"), how, "It cannot be put on file without a name."
    )
    about = asked.about or how.question("What does it show, in a sentence?")
    contains, adds = list(asked.contains), list(asked.adds)
    prompt = "A vessel, such as flask (empty: no more)"
    while vessel := (
        how.question(prompt)
        if contains
        else _needed(lambda: how.question(prompt), how, "Something must be in a vessel.")
    ):
        here = AskedDemo(name="-", code="x")
        inside_it = f"  in the {vessel}: AMOUNT of ITEM, such as 25 mL of hcl-0.1 (empty: no more)"
        while inside := how.until_right(inside_it, here, "contains", f"{vessel}="):
            here = replace(here, contains=(*here.contains, f"{vessel}={inside}"))
        contains += here.contains
        here = here if here.contains else blank
        into_it = f"  added to the {vessel}: ITEM from DROPPER until END (empty: nothing more)"
        while added := how.until_right(into_it, here, "adds", f"{vessel}="):
            adds.append(f"{vessel}={added}")
    left_over, leaves = "What does it leave, WHAT=WHERE such as salt water=drain (empty: no more)", list(asked.leaves)
    caution = asked.caution or how.question("What is to be minded?")
    while left := how.until_right(left_over, blank, "leaves"):
        leaves.append(left)
    return replace(
        asked,
        name=name,
        about=about,
        caution=caution,
        contains=tuple(contains),
        adds=tuple(adds),
        leaves=tuple(leaves),
    )


def toml_of(asked: AskedDemo) -> str:
    """Write what was asked as a demo's file. Raises PrepError for a line that is not as it must be."""
    if not asked.name:
        raise PrepError("Give the demo a name: ", Flag("--name"), " NAME (or another demo: ", Flag("--like"), " DEMO).")
    if not asked.contains:
        raise PrepError("Say what is in it, such as ", Flag("--in"), ' "flask=25 mL of hcl-0.1".')
    lines = [_line("name", asked.name)]
    for key in ("code", "kind", "about", "principle", "caution", "ask_first", "source"):
        if value := getattr(asked, key):
            lines.append(_line(key, value))
    if asked.other_names:
        lines.append(f"other_names = [{', '.join(_line('', one).partition('= ')[2] for one in asked.other_names)}]")
    if asked.spare_pct:
        lines.append(f"spare_pct = {_number(asked.spare_pct, Flag('--spare'))}")
    if asked.trials:
        lines.append(f"trials = {asked.trials}")
    inside = [_split(text, Flag("--in")) for text in asked.contains]
    added = [_split(text, Flag("--add")) for text in asked.adds]
    for vessel in dict.fromkeys(name for name, _ in (*inside, *added)):
        lines += ["[[vessel]]", _line("name", vessel)]
        for name, text in inside:
            if name == vessel:
                lines += [
                    "[[vessel.contains]]",
                    *_parts((_INSIDE, _INSIDE_PLAIN), text, Flag("--in"), "25 mL of hcl-0.1"),
                ]
        for name, text in added:
            if name == vessel:
                lines += [
                    "[[vessel.add]]",
                    *_parts((_ADDED,), text, Flag("--add"), "naoh-0.1 from dropper until pH 7"),
                ]
    for text in asked.leaves:
        what, goes = _split(text, Flag("--leaves"))
        lines += ["[[leftover]]", _line("what", what), _line("goes", goes)]
    return "\n".join(lines) + "\n"


def pairs(texts: Sequence[str], option: str) -> Mapping[str, str]:
    """Read the `ITEM=OTHER` of an option. Raises PrepError."""
    return dict(_split(text, option) for text in texts)


def factors(texts: Sequence[str]) -> Mapping[str, Decimal]:
    """Read the `ITEM=TIMES` of --stronger. Raises PrepError."""
    out = {}
    for name, times in pairs(texts, Flag("--stronger")).items():
        try:
            out[name] = Decimal(times.strip())
        except InvalidOperation:
            raise PrepError(Flag("--stronger"), f' "{times[:40]}" is no number; write such as naoh-0.1=10.') from None
    return out


def _split(text: str, option: str) -> tuple[str, str]:
    name, sign, rest = text.partition("=")
    if not sign or not name.strip() or not rest.strip():
        raise PrepError(option, f' "{text[:60]}": write two parts with = between them.')
    return name.strip(), rest.strip()


def _parts(forms: Sequence[re.Pattern[str]], text: str, option: str, example: str) -> list[str]:
    said, more = text, []
    while tail := _MORE.fullmatch(said):
        said = tail["rest"]
        if tail["word"]:
            more.append(f"{tail['word']} = true")
        elif tail["key"] == "portions":
            more.append(f"portions = {_number(tail['value'], 'portions')}")
        else:
            more.append(_line(tail["key"], tail["value"].strip('"')))
    found = next((found for form in forms if (found := form.fullmatch(said))), None)
    if found is None:
        typed = AtTerminal(f'{option} "flask=', on_page='"')
        raise PrepError(option, f' "{text[:60]}": write it such as ', typed, f'{example}".')
    return [*(_line(key, value) for key, value in found.groupdict().items() if value), *more]


def _number(text: str, option: str) -> Decimal:
    try:
        return Decimal(text.strip())
    except InvalidOperation:
        raise PrepError(option, f' "{text[:40]}" is no number; write such as 20.') from None


def _line(key: str, value: str) -> str:
    escaped = value.replace("\\", "\\\\").replace('"', '\\"')
    if not escaped.isprintable():
        raise PrepError(f"{key}: write it on one line of plain text.")
    return f'{key} = "{escaped}"'
