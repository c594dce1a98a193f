"""Reading an amount as cooks write it: fractions, ranges, fills, packs, and two measures side by side."""

import math
import re
import unicodedata
from collections.abc import Collection
from functools import cache, reduce
from pathlib import Path
from typing import Any, NamedTuple, Self

from spoonline.measures.doors import plain as in_unit
from spoonline.measures.doors import takes_quantities
from spoonline.measures.local import cached_by_mark, decimal_mark
from spoonline.measures.tables import patterns, read_table, refuse, said
from spoonline.measures.units import COUNT, FEEL, GROUPS, PIECES, SPELLINGS, SYSTEMS, Unit, unit

FILLS = ("level", "scant", "rounded", "heaped", "generous", "packed")
_SAID = {row.pop("name"): row for row in read_table("said.toml", "measures")}
# What stands for a character of these Unicode categories: nothing, a hyphen, a space.
_BY_CATEGORY = {"Cf": "", "Pd": "-"} | dict.fromkeys(("Zs", "Cc", "Zl", "Zp", "Cs"), " ")
_WORD_NUMBERS: dict[str, float] = _SAID["count"] | _SAID["part"]
# What brings words beside a figure into the order that the grammar knows.
_WORDS = patterns("words.csv", "measures")
# Three digits behind a mark, as often as the mark is repeated, and decimals behind the other mark.
_GROUPED = re.compile(r"[1-9]\d{0,2}([.,])\d{3}(?:\1\d{3})*(?:(?!\1)[.,]\d+)?")
CONTAINERS = ("can", "jar", "packet", "carton", "tub", "bottle", "bag", "box", "block")
METRIC, _SPOONS_AND_CUPS = ("mg", "g", "kg", "ml", "cl", "dl", "l"), ("tsp", "dsp", "tbsp", "cup")
MOST_G = 100e3  # no kitchen line is longer [g or mL]


class Amount(NamedTuple):
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

    @classmethod
    def of(cls, quantity: Any) -> Self:
        """The amount that a pint quantity is: in the kitchen's own measure where it names one, else in g or mL.

        Raises `AmountError` if it is neither a mass, a volume nor a measure of the kitchen, or below 0.

        >>> from spoonline.measures.registry import units
        >>> print(Amount.of(units("2 tbsp_au")), Amount.of(units("2 tbsp_au")).system, Amount.of(units("0.5 kg")))
        2 tbsp au 500 g
        """
        name = str(quantity.units)
        if group := GROUPS.get(name):
            unit, value = name.removesuffix(f"_{group}").replace("_", " "), quantity.magnitude
        else:
            unit = "g" if quantity.check("[mass]") else "ml"
            value = in_unit(quantity, unit, "amount")
        refuse(hasattr(value, "__len__") or not 0 <= value < math.inf, "quantity", came=quantity)
        return cls(float(value), None, unit, "", str(quantity), group if group in SYSTEMS else "us")

    @property
    def measure(self) -> Unit:
        """The unit with its kind and size (a plain count is a piece)."""
        return unit(self.unit, self.system) if self.unit else COUNT

    @property
    def middle(self) -> float:
        """The figure, or the middle of the range."""
        return self.value if self.high is None else (self.value + self.high) / 2

    def scaled(self, factor: float) -> Self:
        """Multiply by a factor; the text becomes the new figure in the same words."""
        high = None if self.high is None else self.high * factor
        new = self._replace(value=self.value * factor, high=high, text="")
        return new._replace(text=str(new))

    def __str__(self) -> str:
        """Write figure, fill and unit in plain words."""
        figures = "-".join(written(each) for each in (self.value, self.high) if each is not None)
        return " ".join(part for part in (figures, self.fill, self.unit) if part)


class Head(NamedTuple):
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

    def one(ch: str) -> str:
        fraction = unicodedata.decomposition(ch).startswith("<fraction>")
        return f" {unicodedata.normalize('NFKC', ch)}" if fraction else _BY_CATEGORY.get(unicodedata.category(ch), ch)

    plain = re.sub(r"\s+", " ", "".join(map(one, text.replace("−", "-"))).replace("⁄", "/")).strip()
    plain = re.sub(r"^a couple(?: of)? ", "2 ", plain, flags=re.IGNORECASE)
    return _WORDS["article"].sub("", _WORDS["fill aside"].sub(r"\1", plain))


@cache
def _parser() -> Any:
    from lark import Lark

    def spellings(names: Collection[str], extra: str = "") -> str:
        words = sorted((w for w, name in SPELLINGS.items() if name in names), key=len, reverse=True)
        listed = "|".join(re.escape(w).replace(r"\ ", r"\.?[\s-]*") for w in words)
        return rf"(?:(?i:{listed})(?i:s)?{extra})(?![A-Za-z'])\.?"

    sized, words = set(SPELLINGS.values()) - {*FEEL, *PIECES}, "|".join(("an?", *_SAID["count"]))
    filled = {"UNIT": spellings(sized, "|T|t|c|C"), "FEEL": spellings(FEEL), "PIECE": spellings(PIECES), "WORD": words}
    text = (Path(__file__).parent / "grammar.lark").read_text(encoding="utf-8")
    for name, pattern in filled.items():
        text = text.replace(f"%{name}%", pattern)
    return Lark(text, start=["amount", "line"], parser="lalr", lexer="contextual")


def number(text: str, measure: Unit = COUNT, decimal: str | None = None) -> float:
    """Read one figure in any spelling; refuse what is none, or could be two ("1,250").

    A point or comma before exactly three digits can part thousands or decimals ("1.250 g"). It is asked, unless one reading
    falls away: a comma where the kitchen writes decimal commas (``decimal``); two marks ("1,250.5"); a 0 in front ("0.125"); a
    spoon or a cup, which nobody counts by the thousand; a unit of which thousands come to more than 100 kg or 100 L
    ("1.250 kg", "1.500 l"); a point with a unit that only countries of the decimal point use ("1.125 oz"); the kitchen's own
    mark without a unit.

    >>> number("1 1/2"), number("1,5"), number("half a dozen"), number("1,250.5"), number("1.500", unit("l"))
    (1.5, 1.5, 6.0, 1250.5, 1.5)
    """
    plain = tidy(text).lower()
    words = [word for word in re.split(r"[ -]", plain) if word not in ("and", "of")]
    if words and all(word in _WORD_NUMBERS for word in words):
        figures = [_WORD_NUMBERS[word] for word in words if word != "dozen"] or [1.0]
        part, whole = min(figures), max(figures)
        if "dozen" in words:
            return 12.0 * (part if part < 1 else whole)
        return whole + part if " and " in plain else whole * min(part, 1.0)
    if dozens := re.fullmatch(r"(\d+) dozen", plain):
        return 12.0 * int(dozens[1])
    refuse(len(plain) > 14, "long figure", came=text)
    if "/" in plain:
        *whole_part, top, bottom = re.findall(r"\d+", plain)
        refuse(int(bottom) == 0, "by nothing", came=text)
        refuse(whole_part and int(top) >= int(bottom), "no mixed number", came=text)
        return (int(whole_part[0]) if whole_part else 0) + int(top) / int(bottom)
    if _GROUPED.fullmatch(plain):
        marks = re.findall(r"[.,]", plain)
        thousands, decimals = plain.replace(marks[0], ""), plain.replace(",", ".")
        if len(marks) > 1:
            plain = thousands
        elif not _is_decimal(marks[0], float(thousands), measure, decimal or decimal_mark()):
            name, small = f" {measure.name}".rstrip(), written(float(decimals))
            raise said.error("two ways", came=text, name=name, large=thousands, small=small)
    refuse(not re.fullmatch(r"\d*[.,]?\d+", plain), "no figure", came=text)
    return float(plain.replace(",", "."))


def _is_decimal(mark: str, thousands: float, measure: Unit, decimal: str) -> bool:
    """Whether a figure such as 1.250 can only have decimals, by the rule of `number`."""
    if measure.kind in ("mass", "volume"):
        absurd = measure.name in _SPOONS_AND_CUPS or thousands * (measure.size or 0.0) > MOST_G
        return absurd or mark == decimal == "," or (mark == "." and measure.name not in METRIC)
    return mark == decimal


def written(value: float) -> str:
    """A figure in six digits that reads back as itself: 1.125 is written 1.1250, since 1.125 could be read as thousands.

    >>> written(2.5), written(1.125)
    ('2.5', '1.1250')
    """
    text = f"{value:.6g}"
    return f"{text}0" if _GROUPED.fullmatch(text) else text


_Read = tuple[Amount, str, tuple[str, ...]]  # one measure while it is being read: the amount, its size in words, notes


def _span(count: Any, measure: Unit, decimal: str | None) -> tuple[float, float | None]:
    low, *high = (number(str(token), measure, decimal) for token in count.children if token.type == "NUMBER")
    return low, _upper(low, high[0]) if high else None


def _upper(low: float, high: float) -> float:
    """The upper end of a range, if it can be one."""
    refuse(not low < high <= 3 * low, "no range", low=low, high=high)
    return high


def _measure(tree: Any, text: str, system: str, decimal: str | None) -> _Read:
    counts = [part for part in tree.children if getattr(part, "data", "") == "count"]
    # of two of a kind the first counts
    told = {token.type: str(token) for token in reversed([*tree.scan_values(bool)])}
    if "SYSTEM" in told:
        system = _SAID["system"].get(told["SYSTEM"].lower(), "uk")
    size = re.split(r"[ -]sized?$", told.get("SIZE", "").lower())[0].replace("-", " ")
    fill = told.get("FILL", "").lower()
    fill = "" if fill.startswith("loosely") else "packed" if fill.endswith("packed") else _SAID["fill"].get(fill, fill)
    name = told.get("UNIT") or told.get("FEEL") or told.get("PIECE") or ""
    measure = unit(_SAID["letter"].get(name.rstrip("."), name), system) if name else COUNT
    value, high = _span(counts[0], measure, decimal) if counts else (1.0, None)
    notes: tuple[str, ...] = ()
    if tree.data == "pair":
        second = unit(str(tree.children[-1]), system)
        if measure.kind != second.kind or not measure.size or not second.size or measure.size <= second.size:
            raise said.error("unlike units", came=text)
        value += number(told["SMALLER"]) * second.size / measure.size
    if len(counts) == 2:
        each, each_high = _span(counts[1], measure, decimal)
        one = each_high is None and high is None and measure.kind in ("mass", "volume")
        refuse(not one, "packs", came=text)
        unclear = tree.data == "packs" and "PIECE" not in told and value != 1 and "(" in text
        refuse(unclear, "together", came=text, of=f"{each:g} {measure.name}")
        if value != 1:
            notes = (f"Read {value:g} of {each:g} {measure.name} as {value * each:g} {measure.name} in all.",)
        value *= each
    if (fill and fill != "packed" and measure.kind in ("mass", "length")) or (fill and not measure.name):
        raise said.error("filled", came=text, fill=fill)
    return Amount(value, high, measure.name, fill, text, system), _SAID["size"].get(size, size), notes


def _sum(first: _Read, more: _Read) -> _Read:
    """Two measures joined by plus, in the unit of the first."""
    (a, size, notes), (b, more_size, more_notes) = first, more
    same = (a.unit, a.system) == (b.unit, b.system)
    ratio = 1.0 if same else (b.measure.size or 0.0) / (a.measure.size or 1.0)
    if a.measure.kind != b.measure.kind or a.high is not None or b.high is not None or not ratio:
        raise said.error("unlike sum", came=a.text)
    return a._replace(value=a.value + b.value * ratio), size or more_size, notes + more_notes


def _tree(text: str, start: str, system: str) -> Any:
    from lark.exceptions import LarkError

    unit("g", system)  # refuses a system that is none
    refuse(not text, "nothing", came=text)
    refuse(len(text) > 300, "long line", came=text[:40])
    try:
        return _parser().parse(text, start=start)
    except LarkError:
        return None


def _head(tree: Any, text: str, system: str, decimal: str | None) -> Head:
    """What a tree of the grammar says."""
    parts = [part for part in tree.children if hasattr(part, "data")]
    mains = (_measure(part, text, system, decimal) for part in parts if part.data not in ("bracket", "also"))
    total, size, notes = reduce(_sum, mains)
    others: list[Amount] = []
    for part in (part for part in parts if part.data in ("bracket", "also")):
        first, *more = (_measure(each, text, system, decimal)[0] for each in part.children if hasattr(each, "data"))
        marks = {each.type: str(each) for each in part.children if not hasattr(each, "data")}
        packs = total.unit in CONTAINERS and total.middle != 1
        if "EACH" in marks:
            all_g = total.middle * first.value
            notes += (f"Read {total} of {first} each as {all_g:g} {first.unit} in all.",)
            total = first._replace(value=all_g)
        elif part.data == "bracket" and packs and first.measure.kind in ("mass", "volume"):
            raise said.error("together", came=text[:60], of=first)
        elif not more and first.unit == "" and total.measure.kind == "piece":
            raise said.error("two counts", came=text[:60])
        elif part.data == "also" and marks["SEP"] != "/" and first.unit == total.unit:
            refuse(total.high is not None or first.high is not None, "two measures", came=text)
            total = total._replace(high=_upper(total.value, first.value))
        else:
            others += [first, *more]
    last = max(token.end_pos for part in parts for token in part.scan_values(bool))
    end = ")" if text[:last].count("(") > text[:last].count(")") else ""
    rest = "".join(str(part).strip() for part in tree.children if getattr(part, "type", "") == "REST")
    return Head(total._replace(text=text[:last] + end), tuple(others), size, rest, notes)


@takes_quantities
@cached_by_mark
def parse_amount(text: str, system: str = "us", decimal: str | None = None) -> Amount:
    """Read an amount as a cook writes it.

    Parameters
    ----------
    text : str
        Such as "2 1/2 heaped tbsp", "1½ cups", "2-3", "400 g", "1 lb 2 oz", "2 x 400 g tins", "a pinch".
    system : str, optional
        Whose spoons and cups where the text does not say: "us", "label", "metric", "uk" or "au".
    decimal : str, optional
        The decimal mark of this kitchen, "." or ","; that of the context (`write_decimals_with`) unless given.

    Raises
    ------
    AmountError
        If the text is no amount, or could mean two: "1,250 g" and "1.250 g" are 1250 g or 1.25 g.

    Notes
    -----
    Source: common practice of written recipes. A descending hyphen is a mixed number ("2-1/2" is 2.5). What counts as two
    readings of a figure stands with `number`.

    Examples
    --------
    >>> parse_amount("2 1/2 heaped tbsp")
    Amount(value=2.5, high=None, unit='tbsp', fill='heaped', text='2 1/2 heaped tbsp', system='us')
    >>> parse_amount("2 or 3").high
    3.0
    """
    plain = tidy(str(text))
    tree = _tree(re.sub(r"\s*\([^()]* in all\)$", "", plain), "amount", system)
    refuse(tree is None, "no amount", came=str(text)[:60])
    amount = _head(tree, plain, system, decimal).amount
    assert amount is not None
    return amount._replace(text=str(text))


@cached_by_mark
def split_line(text: str, system: str = "us", decimal: str | None = None) -> Head:
    """Part an ingredient line into its measures, as `parse_amount` reads them, and the rest; a line may give none.

    Raises `AmountError` if a figure stands there that cannot be read, or could mean two.

    >>> head = split_line("1/4 cup (57 g) butter, melted")
    >>> head.amount.value, head.others[0].value, head.rest
    (0.25, 57.0, 'butter, melted')
    """
    plain, aside = tidy(text), ""
    if length := _WORDS["length"].match(plain):
        plain, aside = tidy(plain[: length.end(1)] + plain[length.end() :]), f", {length[3]}"
    tree = _tree(plain, "line", system)
    bracket = re.search(r"\(([^()]*)\)", plain)
    if tree is None and bracket:
        aside += ", " + bracket[1].strip()
        plain = tidy(plain.replace(bracket[0], " ", 1))
        tree = _tree(plain, "line", system) if plain else None
    if tree is None:
        refuse(re.match(r"\W*\d", plain) and not re.match(r"[\d.,]+\s*%", plain), "unread", came=plain[:60])
        return Head(None, (), "", plain + aside, ())
    head = _head(tree, plain, system, decimal)
    return head._replace(rest=head.rest + aside)
