"""Reading an amount as cooks write it: fractions, ranges, fills, packs, and two measures side by side."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from spoonline.measures.errors import AmountError
from spoonline.measures.local import decimal_mark
from spoonline.measures.units import FEEL_ML, PIECES, SPELLINGS, SYSTEMS, Unit, unit

FILLS = ("level", "scant", "rounded", "heaped", "generous", "packed")
_SYSTEM_WORDS = {"us": "us", "u.s.": "us", "american": "us", "metric": "metric", "australian": "au"}
_FILL_WORDS = {"bare": "scant", "good": "generous", "heaping": "heaped", "levelled": "level", "leveled": "level"}
_SIZE_WORDS = {"med": "medium", "med.": "medium", "big": "large"}
# What stands for a character of these Unicode categories: nothing, a hyphen, a space.
_BY_CATEGORY = {"Cf": "", "Pd": "-"} | dict.fromkeys(("Zs", "Cc", "Zl", "Zp", "Cs"), " ")
_ONE_LETTER = {"T": "tbsp", "t": "tsp", "c": "cup"}
_COUNTS = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]
_WORD_NUMBERS = {word: float(n) for n, word in enumerate(_COUNTS, start=1)}
_WORD_NUMBERS |= {"a": 1.0, "an": 1.0, "half": 0.5, "quarter": 0.25, "dozen": 12.0}
_WORD = "|".join(("an?", *_COUNTS))
_NUMBER = (
    r"(?:\d{1,6}(?:-|\s+|\s*(?:and|&)\s*)\d{1,3}\s?/\s?\d{1,3}|\d{1,3}\s?/\s?\d{1,3}|\d+(?:[.,]\d+)+|\.\d+|\d+)"
    r"(?![\d/]|[.,]\d|\s*%|[\s-]*per\s?cent)"
    rf"|(?i:half a dozen|(?:an? |one |two )?dozen|three quarters?(?: of an?)?"
    rf"|(?:an? |one )?quarter(?: of an?)?"
    rf"|(?:a )?half(?: an?)?|(?:{_WORD})(?: and (?:a|one)[ -](?:half|quarter))?)(?=\s|$|-[A-Za-z])"
)


@dataclass(frozen=True, slots=True)
class Amount:
    """How much, as it was written.

    ``value`` is the figure, or the lower end of a range whose upper end is ``high``; ``unit`` a canonical name ("g", "tbsp",
    "clove", "pinch"), blank for plain counts ("2 onions"); ``fill`` how a spoon was filled ("level", "scant", "rounded",
    "heaped", "generous", "packed"), blank where nothing was said; ``text`` what was typed; ``system`` whose spoons and cups
    are meant ("us", "label", "metric", "uk" or "au").

    >>> Amount(2.5, None, "tbsp", "heaped", "2 1/2 heaped tbsp").scaled(2).value
    5.0
    """

    value: float
    high: float | None = None
    unit: str = ""
    fill: str = ""
    text: str = ""
    system: str = "us"

    @property
    def measure(self) -> Unit:
        """The unit with its kind and size (a plain count is a piece)."""
        return unit(self.unit, self.system) if self.unit else Unit("", "piece", None, self.system)

    @property
    def middle(self) -> float:
        """The figure, or the middle of the range."""
        return self.value if self.high is None else (self.value + self.high) / 2

    def scaled(self, factor: float) -> Amount:
        """Multiply by a factor; the text becomes the new figure in the same words."""
        high = None if self.high is None else self.high * factor
        new = replace(self, value=self.value * factor, high=high, text="")
        return replace(new, text=str(new))

    def __str__(self) -> str:
        """Write figure, fill and unit in plain words."""
        number = f"{self.value:g}" if self.high is None else f"{self.value:g}-{self.high:g}"
        return " ".join(part for part in (number, self.fill, self.unit) if part)


@dataclass(frozen=True, slots=True)
class Head:
    """The measuring part of an ingredient line, and what is left of the line."""

    amount: Amount | None
    others: tuple[Amount, ...]
    size: str
    rest: str
    notes: tuple[str, ...]


def tidy(text: str) -> str:
    """Write fractions, dashes and spaces in one way, so that the grammar meets one spelling.

    >>> tidy("1½–2 cups")
    '1 1/2-2 cups'
    """
    out = [
        " " + unicodedata.normalize("NFKC", ch)
        if unicodedata.decomposition(ch).startswith("<fraction>")
        else _BY_CATEGORY.get(unicodedata.category(ch), ch)
        for ch in text.replace("−", "-")
    ]
    return re.sub(r"\s+", " ", "".join(out).replace("⁄", "/")).strip()


@cache
def _parser() -> Any:
    from lark import Lark

    def spellings(names: Collection[str], extra: str = "") -> str:
        words = sorted((w for w, name in SPELLINGS.items() if name in names), key=len, reverse=True)
        listed = "|".join(re.escape(w).replace(r"\ ", r"\s+") for w in words)
        return rf"(?:(?i:{listed})(?i:s)?{extra})(?![A-Za-z'])\.?"

    sized = set(SPELLINGS.values()) - set(FEEL_ML) - set(PIECES)
    text = (Path(__file__).parent / "grammar.lark").read_text(encoding="utf-8")
    filled = {
        "NUMBER": _NUMBER,
        "UNIT": spellings(sized, "|T|t|c"),
        "FEEL": spellings(FEEL_ML),
        "PIECE": spellings(PIECES),
        "WORD": _WORD,
    }
    for name, pattern in filled.items():
        text = text.replace(f"%{name}%", pattern.replace("/", r"\/"))
    return Lark(text, start=["amount", "line"], parser="lalr", lexer="contextual")


def number(text: str) -> float:
    """Read one figure in any spelling; refuse what is none, or could be two ("1,250").

    >>> number("1 1/2"), number("1,5"), number("half a dozen")
    (1.5, 1.5, 6.0)
    """
    plain = tidy(text).lower()
    if re.fullmatch(r"[a-z -]+", plain):
        words = [w for w in re.split(r"[ -]", plain) if w not in ("and", "of")]
        if words[:2] == ["half", "a"] and words[2:] == ["dozen"]:
            return 6.0
        if words[:1] == ["three"] and len(words) > 1 and words[1].startswith("quarter"):
            return 0.75
        figures = [_WORD_NUMBERS[w] for w in words if w in _WORD_NUMBERS]
        if "dozen" in words:
            return 12.0 * (figures[0] if len(figures) > 1 else 1.0)
        fractions = [f for f in figures if f < 1]
        whole = [f for w, f in zip(words, figures, strict=False) if f >= 1 and w not in ("a", "an")]
        if fractions:
            return fractions[0] + (whole[0] if whole else 1.0 if words[0] in ("a", "an") and len(words) > 3 else 0.0)
        if figures:
            return figures[0]
        raise AmountError(f"{text!r} is no figure; write for example 2, 1/2 or 1.5.", text)
    if len(plain) > 14:
        raise AmountError(f"{text!r} is too long for a kitchen figure; write it in a larger unit.", text)
    if "/" in plain:
        *whole_part, top, bottom = re.findall(r"\d+", plain)
        if int(bottom) == 0:
            raise AmountError(f"{text!r} divides by nothing; write a fraction such as 1/2.", text)
        if whole_part and int(top) >= int(bottom):
            raise AmountError(f"{text!r} is no mixed number; write for example 1 1/2.", text)
        return (int(whole_part[0]) if whole_part else 0) + int(top) / int(bottom)
    if decimal_mark() != "," and re.fullmatch(r"[1-9]\d{0,2},\d{3}", plain):
        raise AmountError(
            f"{text!r} could be {plain.replace(',', '')} or {plain.replace(',', '.')}: thousands or decimals?"
            " Write it without a comma.",
            text,
        )
    if not re.fullmatch(r"\d*[.,]?\d+", plain):
        raise AmountError(f"{text!r} is no figure; write for example 2, 1/2 or 1.5.", text)
    return float(plain.replace(",", "."))


class _Read(NamedTuple):
    """One measure while it is being read."""

    amount: Amount
    size: str
    notes: list[str]


def _span(count: Any) -> tuple[float, float | None]:
    figures = [number(str(t)) for t in count.children if t.type == "NUMBER"]
    if len(figures) == 1:
        return figures[0], None
    low, high = figures
    if not low < high <= 3 * low:
        raise AmountError(
            f"{low:g} to {high:g} does not read as a range; write the two ends small first, or one figure.", (low, high)
        )
    return low, high


def _measure(tree: Any, text: str, system: str) -> _Read:
    counts = [t for t in tree.children if getattr(t, "data", "") == "count"]
    tokens = [t for t in tree.children if not hasattr(t, "data")]
    tokens += [t.children[0] for t in tree.children if getattr(t, "data", "") == "qual"]
    by_type: dict[str, str] = {}
    for token in tokens:
        by_type.setdefault(token.type, str(token))
    spoken = by_type.get("SYSTEM", "").lower()
    system = _SYSTEM_WORDS.get(spoken, "uk") if spoken else system
    size = re.split(r"[ -]sized?$", by_type.get("SIZE", "").lower())[0].replace("-", " ")
    size = _SIZE_WORDS.get(size, size)
    fill = by_type.get("FILL", "").lower()
    fill = "packed" if fill.endswith("packed") else _FILL_WORDS.get(fill, fill)
    name = by_type.get("UNIT") or by_type.get("FEEL") or by_type.get("PIECE") or ""
    name = _ONE_LETTER.get(name.rstrip("."), re.sub(r"\s+", " ", name))
    value, high = _span(counts[0]) if counts else (1.0, None)
    measure = unit(name, system) if name else Unit("", "piece", None, system)
    notes: list[str] = []
    if tree.data == "pair":
        first, second = (unit(str(t), system) for t in tokens if t.type == "UNIT")
        if first.kind != second.kind or first.size is None or second.size is None or first.size <= second.size:
            raise AmountError(f"{text!r} joins two units that do not go together; write one measure.", text)
        measure = first
        value += number(by_type["SMALLER"]) * second.size / first.size
    if len(counts) == 2:
        each, each_high = _span(counts[1])
        if each_high is not None or high is not None or measure.kind not in ("mass", "volume"):
            raise AmountError(f"{text!r} gives packs of no one weight; write the total in grams.", text)
        if tree.data == "packs" and not by_type.get("PIECE") and value != 1 and "(" in text:
            raise AmountError(f"In {text!r}, is {each:g} {measure.name} one of them or all together?", text)
        if value != 1:
            notes.append(f"Read {value:g} of {each:g} {measure.name} as {value * each:g} {measure.name} in all.")
        value *= each
    if (fill and fill != "packed" and measure.kind in ("mass", "length")) or (fill and not measure.name):
        raise AmountError(f"{text!r} is {fill}, which only a spoon or a cup can be; write a spoon, or grams.", text)
    return _Read(Amount(value, high, measure.name, fill, text, system), size, notes)


def _total(reads: list[_Read], text: str) -> _Read:
    """Add measures joined by plus, in the unit of the first."""
    first = reads[0]
    for more in reads[1:]:
        a, b = first.amount, more.amount
        same = (a.unit, a.system) == (b.unit, b.system)
        ratio = 1.0 if same else (b.measure.size or 0.0) / (a.measure.size or 1.0)
        if a.measure.kind != b.measure.kind or a.high is not None or b.high is not None or not ratio:
            raise AmountError(f"{text!r} adds unlike measures; write them as two lines.", text)
        first = _Read(replace(a, value=a.value + b.value * ratio), first.size, first.notes + more.notes)
    return first


def _read(text: str, start: str, system: str) -> Any:
    from lark.exceptions import LarkError

    if system not in SYSTEMS:
        unit("g", system)
    if not text:
        raise AmountError("Nothing was written; write an amount such as 2 tbsp or 30 g.", text)
    if len(text) > 300:
        raise AmountError(f"{text[:40]!r}... is too long for one line; write one ingredient a line.", text)
    try:
        return _parser().parse(text, start=start)
    except LarkError:
        return None


@lru_cache(maxsize=4096)
def parse_amount(text: str, system: str = "us") -> Amount:
    """Read an amount as a cook writes it.

    Parameters
    ----------
    text : str
        Such as "2 1/2 heaped tbsp", "1½ cups", "2-3", "400 g", "1 lb 2 oz", "2 x 400 g tins", "a pinch".
    system : str, optional
        Whose spoons and cups where the text does not say: "us", "label", "metric", "uk" or "au".

    Raises
    ------
    AmountError
        If the text is no amount, or could mean two ("1,250 g").

    Notes
    -----
    Source: common practice of written recipes. A descending hyphen is a mixed number ("2-1/2" is 2.5).

    Examples
    --------
    >>> parse_amount("2 1/2 heaped tbsp")
    Amount(value=2.5, high=None, unit='tbsp', fill='heaped', text='2 1/2 heaped tbsp', system='us')
    >>> parse_amount("2 or 3").high
    3.0
    """
    plain = tidy(str(text))
    tree = _read(plain, "amount", system)
    if tree is None:
        raise AmountError(
            f"{str(text)[:60]!r} is no amount; write a figure and a unit, such as 2 tbsp, 1/2 cup or 30 g.", text
        )
    parts = [t for t in tree.children if hasattr(t, "data")]
    total = _total([_measure(t, plain, system) for t in parts if t.data not in ("bracket", "also")], plain).amount
    for also in (t for t in parts if t.data == "also"):
        second = _measure(also.children[-1], plain, system).amount
        if also.children[0] != "/" and second.unit == total.unit:
            total = _range(total, second, plain)
    return replace(total, text=str(text))


def _range(low: Amount, high: Amount, text: str) -> Amount:
    if low.unit != high.unit or low.high is not None or high.high is not None:
        raise AmountError(f"{text!r} gives two measures; write one, or a range in one unit.", text)
    if not low.value < high.value <= 3 * low.value:
        raise AmountError(f"{text!r} does not read as a range; write the two ends small first.", text)
    return replace(low, high=high.value)


@lru_cache(maxsize=4096)
def split_line(text: str, system: str = "us") -> Head:
    """Part an ingredient line into its measures, as `parse_amount` reads them, and the rest; a line may give none.

    Raises `AmountError` if a figure stands there that cannot be read, or could mean two.

    >>> head = split_line("1/4 cup (57 g) butter, melted")
    >>> head.amount.value, head.others[0].value, head.rest
    (0.25, 57.0, 'butter, melted')
    """
    plain = tidy(text)
    tree, aside = _read(plain, "line", system), ""
    bracket = re.search(r"\(([^()]*)\)", plain)
    if tree is None and bracket:
        aside = ", " + bracket[1].strip()
        plain = tidy(plain.replace(bracket[0], " ", 1))
        tree = _read(plain, "line", system) if plain else None
    if tree is None:
        if re.match(r"\W*\d", plain):
            raise AmountError(f"The figures in {plain[:60]!r} could not be read; write amount, unit, ingredient.", text)
        return Head(None, (), "", plain + aside, ())
    mains: list[_Read] = []
    others: list[Amount] = []
    notes: list[str] = []
    rest = ""
    for part in tree.children:
        kind = getattr(part, "data", None)
        if kind in ("bracket", "also"):
            seps = [str(t) for t in part.children if getattr(t, "type", "") == "SEP"]
            inner = [_measure(t, plain, system) for t in part.children if hasattr(t, "data")]
            main = mains[0].amount
            if any(getattr(t, "type", "") == "EACH" for t in part.children):
                each = inner[0].amount
                mains = [mains[0]._replace(amount=replace(each, value=main.middle * each.value))]
                notes.append(f"Read {main} of {each} each as {main.middle * each.value:g} {each.unit} in all.")
            elif len(inner) == 1 and inner[0].amount.unit == "" and main.measure.kind == "piece":
                raise AmountError(f"{plain[:60]!r} gives two counts; write one, or a range such as 2-3.", text)
            elif kind == "also" and seps != ["/"] and inner[0].amount.unit == main.unit:
                mains[0] = mains[0]._replace(amount=_range(main, inner[0].amount, plain))
            else:
                others += [r.amount for r in inner]
        elif kind is not None:
            mains.append(_measure(part, plain, system))
        elif part.type == "REST":
            rest = str(part).strip()
    total = _total(mains, plain)
    size = next((r.size for r in mains if r.size), "")
    last = max(t.end_pos for part in tree.children if hasattr(part, "data") for t in part.scan_values(bool))
    written = plain[:last] + (")" if plain[:last].count("(") > plain[:last].count(")") else "")
    return Head(replace(total.amount, text=written), tuple(others), size, rest + aside, (*total.notes, *notes))
