"""Names as chemists say them, reduced to words: one spelling, one nomenclature, the hydrate and the grade apart.

The words that mean the same, the words of form (powder, pellets) and those that say nothing of what is in the
bottle are seed_data/tables/name_words.csv.
"""

import re
import unicodedata
from dataclasses import replace
from decimal import Decimal
from functools import cache, cached_property, lru_cache

from prep.chemistry.interval import Interval
from prep.records import record
from prep.resources import seed_table

_WATERS = {
    **dict(zip("mono di tri tetra penta hexa hepta octa nona deca".split(), range(1, 11), strict=True)),
    "hemi": 0.5,
    "sesqui": 1.5,
    "undeca": 11,
    "dodeca": 12,
    "octadeca": 18,
}
_HYDRATE = re.compile(rf"\(?\b({'|'.join(sorted(_WATERS, key=len, reverse=True))})-?hydrate\b\)?")
_COUNTED = re.compile(
    r"(?:(?<=[a-z0-9)\]])\s*[.,·•*×x]\s*|[(\s·•*×]|(?<![a-z0-9.])|^)\(?(\d{1,2}(?:\.5)?|1/2)?\s*-?\s*"
    r"(?:h2o(?!\d)|hydrate\b|water\b(?=\)?$))\)?"
)
_DRY = re.compile(r"\(?\b(?:anhydrous|anhyd|anh|dried|fused|exsiccated|water[- ]free)\b\.?\)?")
_SOME = re.compile(r"\(?\b(?:hydrated|hydrate|crystalline|cryst)\b\.?\)?")
_PERCENT = re.compile(
    r"\(?(?:about|approx\.?|ca\.?|min\.?|>|~)?\s*(\d+(?:\.\d+)?)\s*(?:(?:-|–|to)\s*(\d+(?:\.\d+)?)\s*)?%"
    r"(?:\s*\(?(?:w/w|m/m|v/v|w/v|m/v|by (?:mass|weight|volume))\)?)?"
    r"(?:\s*\(?(?:available\s+|av\.?\s+)?(?:cl2?|chlorine)\b\)?)?\)?"
)
_GRAVITY = re.compile(r"\(?\b(?:s\.?\s?g\.?|sp\.?\s?gr\.?|density|d)\s*[=:]?\s*(\d?\.\d+)\)?(?:\s*g/(?:ml|cm3))?")
_NUMERAL = re.compile(r"\(\s*(0|[ivx]+)\s*\)")
_CHARGE = re.compile(
    r"\(\s*([1-7])\s*(?:\+\s*\)|\)(?=\s*[a-z]+(?:ide|ate|ite)\b))|(?<=[a-z])\s+([1-4])(?=\s+[a-z]+(?:ide|ate|ite)\b)"
)
_UNSAID = re.compile(r"'s\b|(?<=s)'|\([+\-±−]\)-?|ortho(?=phosph|boric)")
_CONC = re.compile(r"^c\.\s*(?=[a-z])")
_FIGURE = re.compile(r"\d")
_THOUSANDS = re.compile(r"(?<=\d),(?=\d)")
_BEFORE_VOL = re.compile(r"(?<=\d)(?=vol)")
_HYPHEN = re.compile(r"(?<=\w)[-‐-–](?=\w)")
_WORDS = re.compile(r"[\w.+/]+")
_OUTER = re.compile(r"^[/+]+|[./+]+$|^\.(?!\d)")
_DECIMAL = re.compile(r"\d*\.\d+")
_DRIED = ("anh", "dried", "fused", "exsiccated", "water")
_NUMERALS = ("", *"i ii iii iv v vi vii viii".split())
_ROMAN = frozenset(_NUMERALS[1:])
_SIZES = frozenset("fine coarse small medium large".split())
_PREFIX = frozenset("mono di tri tetra penta hexa per thio bi hypo ortho meta".split())


@record(frozen=True, slots=False)
class Name:
    """What a name says: its words in order, the waters of crystallisation, the grade of a concentrate.

    `waters` None: not said, 0: anhydrous; `hydrated`: some, without a number. `percent` is the range of
    assays that is named, `gravity` the density [g/mL]; `made`: a solution or an indicator, not a solid; `dilute`:
    never a concentrate.
    """

    words: tuple[str, ...]
    waters: Decimal | None = None
    hydrated: bool = False
    concentrated: bool = False
    percent: Interval[Decimal] | None = None
    gravity: Decimal | None = None
    made: bool = False
    dilute: bool = False

    @cached_property
    def joined(self) -> str:
        """The words as one, for names that are written together or apart."""
        return "".join(self.words)

    @cached_property
    def sorted(self) -> tuple[str, ...]:
        """The words whatever their order."""
        return tuple(sorted(self.words))

    @cached_property
    def without_numeral(self) -> "Name":
        """Without the oxidation number of the first element: `iron ii sulfate` is said `iron sulfate`.

        That of an acid or anion stays: nitric(III) acid is nitrous acid, and no nitric acid.
        """
        kept = tuple(w for i, w in enumerate(self.words) if not self._of_metal(i))
        return self if kept == self.words else replace(self, words=kept)

    @cached_property
    def numerals(self) -> tuple[str, ...]:
        """The oxidation numbers within the name."""
        return tuple(w for i, w in enumerate(self.words) if w in _ROMAN and 0 < i < len(self.words) - 1)

    def _of_metal(self, at: int) -> bool:
        inside = self.words[at] in _ROMAN and 0 < at < len(self.words) - 1
        return inside and not self.words[at - 1].endswith(("ate", "ite", "ic"))

    @cached_property
    def as_sold(self) -> bool:
        """Whether the trade says it of what comes in the bottle alone: `formalin`."""
        return bool(self.words) and all(w in word_table()["sold"] for w in self.words)

    @cached_property
    def without_size(self) -> "Name":
        """Without how large its pieces are: `iron filings fine` are iron filings."""
        kept = tuple(w for w in self.words if w not in _SIZES)
        return self if kept == self.words else replace(self, words=kept)

    @cached_property
    def without_form(self) -> "Name":
        """Without powder, pellets and the like."""
        forms = word_table()["form"]
        kept = tuple(w for w in self.words if w not in forms)
        return self if kept == self.words else replace(self, words=kept)

    def begins(self, other: "Name") -> bool:
        """Tell whether the other name begins with these words, or has them all."""
        return bool(self.words) and other.words[: len(self.words)] == self.words

    def says_as(self, other: "Name") -> bool:
        """Tell whether both have the same words, in whatever order, written together or apart."""
        return bool(self.words) and (self.joined == other.joined or self.sorted == other.sorted)


@lru_cache(maxsize=16384)
def read_name(text: str) -> Name:
    """Read the words of a name. Never fails: what says nothing has no words."""
    said = _plain(text)
    # Searching costs more than looking for what must be there: a command reads all names on file.
    watery = "h2o" in said or "hydrate" in said or "water" in said
    waters, hydrated = None, False
    if watery and (found := _HYDRATE.search(said)):
        waters, said = Decimal(str(_WATERS[found[1]])), _cut(said, found)
    elif watery and (found := _COUNTED.search(said)) and (found[1] or "h2o" in found[0]) and found.start():
        number = found[1] or "1"
        waters, said = Decimal("0.5") if number == "1/2" else Decimal(number), _cut(said, found)
    elif any(word in said for word in _DRIED) and (found := _DRY.search(said)):
        waters, said = Decimal(0), _cut(said, found)
    elif (watery or "cryst" in said) and (found := _SOME.search(said)):
        hydrated, said = True, _cut(said, found)
    percent = gravity = None
    if "%" in said and (found := _PERCENT.search(said)):
        low, high = sorted((Decimal(found[1]), Decimal(found[2] or found[1])))
        percent, said = Interval(low, high), _cut(said, found)
    if "." in said and (found := _GRAVITY.search(said)):
        gravity, said = Decimal(found[1]), _cut(said, found)
    words = _meant(_split(said))
    silent, made = _silent(), word_table()["made"]
    kept = tuple(w for w in words if w not in silent) or tuple(w for w in words if w != "concentrated")
    if kept and kept[-1].endswith("ic") and kept[:-1] in ((), ("glacial",)):
        kept = (*kept, "acid")  # `conc sulfuric` means the acid
    is_made = any(w in made for w in words)
    return Name(kept, waters, hydrated, "concentrated" in words, percent, gravity, is_made, "dilute" in words)


def _plain(text: str) -> str:
    """Write a name in small letters and one spelling, without its marks of optical rotation and possession."""
    said = text if text.isascii() else unicodedata.normalize("NFKC", text.replace("½", "0.5"))
    said = said.casefold().replace("sulph", "sulf").replace("’", "'")
    if "'" in said or "(" in said or "ortho" in said:
        said = _UNSAID.sub("", said)
    # As a bottle of acid is marked: c. HCl.
    return _CONC.sub("concentrated ", said) if said.startswith("c.") else said


def _cut(said: str, found: re.Match[str]) -> str:
    return f"{said[: found.start()]} {said[found.end() :]}"


def _split(said: str) -> list[str]:
    if figures := _FIGURE.search(said):
        said = _CHARGE.sub(lambda m: f" {_NUMERALS[int(m[1] or m[2])]} ", said)  # iron(2+) and iron 2 are iron(II)
    if "(" in said:
        said = _NUMERAL.sub(r" \1 ", said)
    if figures:
        said = _BEFORE_VOL.sub(" ", _THOUSANDS.sub("", said))
    said = _HYPHEN.sub("", said)
    words: list[str] = []
    for word in _WORDS.findall(said):
        if not word.isalnum():
            word = _OUTER.sub("", word)
        word = _singular(word)
        if not word:
            continue
        if "." in word and _DECIMAL.fullmatch(word):
            word = f"{Decimal(word).normalize():f}"
        # In `hypo crystals` hypo is no prefix.
        prefixes = words and words[-1] in _PREFIX and word not in word_table()["form"]
        if words and (prefixes or (words[-1].endswith("hydrogen") and word.endswith(("ate", "ite")))):
            words[-1] += word
        else:
            words.append(word)
    return words


def _singular(word: str) -> str:
    plural = len(word) > 4 and word.endswith("s") and not word.endswith(("ss", "us", "is", "as"))
    return word[:-1] if plural else word


@lru_cache(maxsize=8192)
def _said(word: str) -> str:
    return _singular(re.sub(r"[-,]", "", word))


def _meant(words: list[str]) -> tuple[str, ...]:
    """Replace each word, or run of words, by what the table of names says it means."""
    same, runs = word_table()["same"], _runs()
    out: list[str] = []
    at = 0
    while at < len(words):
        for length in runs.get(words[at], ()):
            means = same.get(tuple(words[at : at + length])) if at + length <= len(words) else None
            if means is not None:
                out += means
                at += length
                break
        else:
            out.append(words[at])
            at += 1
    return tuple(out)


@cache
def _runs() -> dict[str, tuple[int, ...]]:
    """List how long the runs of words are that mean something, by their first word; the longest first."""
    found: dict[str, set[int]] = {}
    for run in word_table()["same"]:
        assert isinstance(run, tuple)
        found.setdefault(run[0], set()).add(len(run))
    return {first: tuple(sorted(lengths, reverse=True)) for first, lengths in found.items()}


@cache
def _silent() -> frozenset[object]:
    """Gather the words that say nothing of what is in the bottle."""
    return frozenset({"concentrated", *word_table()["drop"], *word_table()["made"]})


@cache
def word_table() -> dict[str, dict[object, tuple[str, ...]]]:
    """Read the table of words in names, by what each word is.

    `same`: a run of words and what it means; single words of `form`, `made` up, `sold`, to `drop`, of a `buffer`.
    """
    table: dict[str, dict[object, tuple[str, ...]]] = {
        kind: {} for kind in ("same", "form", "made", "drop", "sold", "buffer")
    }
    for row in seed_table("name_words"):
        written, means = (tuple(map(_said, row[column].split())) for column in ("written", "means"))
        table[row["kind"]][written if row["kind"] == "same" else written[0]] = means
    return table
