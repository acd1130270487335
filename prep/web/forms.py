"""Forms: what is asked, what was typed, and what is wrong with it, in the page's own words."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from prep.chemistry.model import Measure
from prep.chemistry.typed_number import point
from prep.errors import PrepError
from prep.reports.formatting import in_days
from prep.wording import Sentence


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing to choose: what the form sends, and what is read."""

    value: str
    label: str


Choices = Sequence[Choice]


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that is asked. `option` is what the commands call it: their sentences name it so.

    `kind` is text, date, number, password, choice, tick, ticks, hidden, or heading, which asks nothing; `suggest`
    are words to choose from.
    """

    name: str
    label: str
    kind: str = "text"
    option: str = ""
    value: str = ""
    hint: str = ""
    choices: Choices = ()
    suggest: Choices = ()
    required: bool = False
    error: str = ""
    many: tuple[str, ...] = ()
    mode: str = ""
    auto: str = "off"


@dataclass(frozen=True, slots=True)
class WebForm:
    """A form: where it goes, what it asks, its button. `seen` is the state of what it was filled in for."""

    action: str
    fields: tuple[Field, ...]
    button: str
    seen: str = ""
    danger: bool = False
    files: bool = False
    error: str = ""
    about: str = ""
    bench: bool = True

    def filled(self, texts: Mapping[str, Sequence[str]]) -> "WebForm":
        """Fill the form with what was typed."""
        fields = tuple(
            replace(
                f,
                value="" if f.kind == "password" else (texts.get(f.name) or [""])[-1][:2000],
                many=tuple(texts.get(f.name, ())),
            )
            for f in self.fields
        )
        return replace(self, fields=fields, seen=(texts.get("seen") or [self.seen])[-1][:400])

    def wrong(self, problem: Exception) -> "WebForm":
        """Write on the form what is wrong, at the field that it is about where that can be told."""
        asked = (f for f in self.fields if f.required and f.kind not in ("password", "file"))
        if (empty := next((f for f in asked if not f.value.strip()), None)) is not None:
            said = f"Fill in “{empty.label}”."
            return replace(self, fields=tuple(replace(f, error=said) if f is empty else f for f in self.fields))
        sentence = problem.sentence if isinstance(problem, PrepError) else Sentence(str(problem))
        about = next((f.name for f in self.fields if f.option in sentence.options), "")
        quoted = re.search(r'"([^"]+)"', sentence)
        if not about and quoted:
            said = quoted[1].strip().casefold()
            about = next((f.name for f in self.fields if f.value and f.value.strip().casefold()[:40] == said[:40]), "")
        plain = in_words(sentence, self.fields)
        if not about:
            return replace(self, error=plain)
        return replace(self, fields=tuple(replace(f, error=plain) if f.name == about else f for f in self.fields))


@dataclass(slots=True)
class TypedForm:
    """What was typed into a form, read by name."""

    texts: Mapping[str, Sequence[str]] = field(default_factory=dict)

    def __getitem__(self, name: str) -> str:
        """Read the text of a field, without blanks around it; empty where there was none."""
        return (self.texts.get(name) or [""])[-1].strip()

    def maybe(self, name: str) -> str | None:
        """Read the text of a field; None where nothing was typed."""
        return self[name] or None

    def all(self, name: str) -> list[str]:
        """List every text of a field that may be ticked several times."""
        return [text.strip() for text in self.texts.get(name, ()) if text.strip()]

    def ticked(self, name: str) -> bool:
        """Tell whether a box was ticked."""
        return bool(self[name])

    def amount(self, name: str, unit: str = "") -> str | None:
        """Read the text of an amount; a figure alone has the unit that the form names beside it.

        A decimal comma is read as a point. Raises PrepError where it may divide thousands.
        """
        return in_unit(point(self[name]), unit) or None

    def amounts(self, name: str) -> list[str]:
        """List the amounts of a field that takes several, between commas or semicolons. Raises PrepError.

        A comma between two figures is a decimal one, as in `2,5 L, 1 L`.
        """
        return [point(part.strip()) for part in _BETWEEN.split(self[name]) if part.strip()]

    def number(self, name: str, default: int = 0) -> int:
        """Read a whole number; `default` where nothing was typed. Raises PrepError."""
        text = self[name]
        if not text:
            return default
        if not re.fullmatch(r"-?[0-9]{1,9}", text):
            raise PrepError(f'"{text[:40]}" is no whole number; write it in digits, such as 2.')
        return int(text)


_BETWEEN = re.compile(r";|,(?!(?<=\d,)\d{1,3}(?!\d))")


def bare_unit(measure: Measure) -> str:
    """Name the unit in which a figure alone is read, where an amount of something is asked for."""
    return "mL" if measure is Measure.VOLUME else "g"


def in_unit(text: str, unit: str) -> str:
    """Add its unit to a figure that was typed alone; leave all else as it is."""
    return f"{text} {unit}" if unit and re.fullmatch(r"\d*\.?\d+", text) and float(text) else text


def in_words(said: str, fields: Sequence[Field] = ()) -> str:
    """Write a sentence as a page says it: options by the labels of their fields, nothing to be typed at a terminal."""
    labels = {f.option: f.label for f in fields if f.option}

    def label(option: str) -> str:
        return f"“{labels.get(option) or option.removeprefix('--').replace('-', ' ')}”"

    text = as_said(said, label)
    return text if "such as" in text else in_days(text)


def as_said(said: str, label: Callable[[str], str]) -> str:
    """Write a sentence without a terminal's words, each option by its label, to its full stop."""
    text = (said.on_page(label) if isinstance(said, Sentence) else said).strip().rstrip(";,: ")
    return text if not text or text[-1] in ".!?" else text + "."


def day_field(name: str = "on", label: str = "On", value: str = "", option: str = "--on", **more: Any) -> Field:
    """Make a field for a day."""
    return Field(name, label, "date", option=option, value=value, **more)
