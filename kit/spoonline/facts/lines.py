"""Reading one written ingredient line: amount, item, preparation, mass, and what is left to ask."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from spoonline.facts.rows import find, ingredients, resolve
from spoonline.facts.weigh import grams
from spoonline.measures.amounts import FILLS, Amount, parse_amount, split_line, tidy
from spoonline.measures.errors import AmountError, ItemError, KitchenError
from spoonline.measures.local import cached_by_mark
from spoonline.measures.units import PIECES, SYSTEMS, known_as
from spoonline.measures.weights import Weight

# Words of preparation that may stand before or after a name without changing which ingredient it is.
_PREPARED = frozenset((Path(__file__).parent / "preparations.txt").read_text(encoding="utf-8").split())
_ASIDE = re.compile(
    r"\b(?:to taste|as (?:needed|required)|if (?:needed|liked)|optional"
    r"|(?:for|to) (?:serv(?:e|ing)|finish|dust(?:ing)?|garnish))\b",
    re.IGNORECASE,
)
_JUICE = re.compile(r"(?:the )?(juice|zest|rind|grated rind|grated zest) of (.+)", re.IGNORECASE)
_COOKED = re.compile(r"\b(?:cooked|boiled|roasted|mashed|pureed|popped)\b")
_TRIMMED = re.compile(r"\b(?:peeled|trimmed|pared|cored|cleaned|deseeded|seeded|scraped)\b")


@dataclass(frozen=True, slots=True)
class LineReading:
    """What was understood of one ingredient line.

    ``item`` is the row of the facts (None: not known), ``item_text`` the item as written, ``mass`` what the amount weighs
    (None: only an answer or a weighing can tell); ``notes`` says what was guessed and what is asked.
    """

    text: str
    amount: Amount | None
    others: tuple[Amount, ...]
    size: str
    item: str | None
    item_text: str
    preparation: str
    mass: Weight | None
    notes: tuple[str, ...]

    @property
    def measures(self) -> list[Amount]:
        """The amount and all others that the line gives of the same thing."""
        return [self.amount, *self.others] if self.amount else []


@cached_by_mark
def read_line(line: str, system: str = "us", decimal: str | None = None) -> LineReading:
    """Read one ingredient line, in the spoons and cups of a system where it does not say; any text gives a reading, never an error.

    The decimal mark is that of the context where none is given. What is ambiguous stands in ``notes`` as a question, and is not
    guessed. Source: common practice of written recipes; figures as in `grams`.

    >>> line = read_line("2 large onions, peeled and diced")
    >>> line.item, line.mass.mass_g, line.preparation
    ('onion', 300.0, 'peeled and diced')
    >>> read_line("1,250 g flour").mass is None
    True
    """
    plain = tidy(line)
    juice = _JUICE.fullmatch(plain)
    try:
        head = split_line(juice[2] if juice else plain, system, decimal)
    except KitchenError as err:
        return LineReading(plain, None, (), "", None, plain, "", None, (str(err),))
    item_text, preparation, aside = _part(head.rest)
    amount, notes = head.amount, list(head.notes)
    if re.match(r"juiced?\b", preparation):
        item_text, preparation = f"{item_text.removesuffix('s')} juice", ""
    if juice:
        item_text = f"{item_text.removesuffix('s')} {'juice' if juice[1].lower() == 'juice' else 'zest'}"
    if amount is None and preparation:
        first, _, behind = preparation.partition(",")  # "flour, 2 tablespoons"
        try:
            amount, preparation = parse_amount(first, system, decimal), behind.strip()
        except KitchenError as err:
            notes += [str(err)] if re.search(r"\d[.,]\d{3}\b", first) else []
    if amount is not None and not amount.fill and amount.measure.kind == "volume":
        fill = preparation.split(",")[0].split(" ")[0]
        amount = replace(amount, fill=fill) if fill in FILLS else amount
    item, spelling, lead, amount, asked = _item(item_text, amount)
    preparation = ", ".join(part for part in (lead, preparation, aside) if part)
    mass, fault = _mass(amount, head.others, item, spelling, head.size)
    row = ingredients()[item] if item else None
    kind = amount.measure.kind if amount else ""
    if asked:
        notes.append(asked)
    by_weight_or_volume = any(other.measure.kind in ("mass", "volume") for other in head.others)
    if amount and amount.unit == "oz" and row and row.pours and not by_weight_or_volume:
        mass, fault = None, f"Are these ounces by weight or fluid ounces of {item}? Write g, ml or fl oz."
    if row and row.ask and (not row.is_salt or kind not in ("", "mass")):
        notes.append(row.ask)
    if kind == "volume" and _COOKED.search(preparation):
        mass, fault = None, "Measured before or after cooking? Weigh it and write grams."
    if fault:
        notes.append(fault)
    if amount and amount.unit in ("cup", "pint", "quart", "gallon", "gill", "fl oz"):
        notes.append(f"Read as {SYSTEMS[amount.system]}: 1 {amount.unit} = {amount.measure.size:.4g} mL.")
    if mass and row and kind == "mass" and _TRIMMED.search(preparation):
        left = row.edible_g(mass.mass_g)
        if left is not None and left < 0.97 * mass.mass_g:
            notes.append(f"Weighed before trimming? Then about {left:.0f} g is left; weigh it trimmed.")
    return LineReading(plain, amount, head.others, head.size, item, spelling, preparation, mass, tuple(notes))


def _part(rest: str) -> tuple[str, str, str]:
    """Part the words after the amount into item, preparation and asides such as "to taste"."""
    brackets = re.findall(r"\(([^()]*)\)", rest)
    bare = re.sub(r"\([^()]*\)", " ", rest) if "tomato puree (us)" not in rest.lower() else rest
    asides = _ASIDE.findall(bare)
    bare = tidy(_ASIDE.sub(" ", bare))
    item, _, preparation = re.sub(r"\s*(?:;| - | -- )\s*", ", ", bare).partition(",")
    item = re.sub(r"^of\s+|\s*[.:,]+$", "", item.strip(), flags=re.IGNORECASE).strip()
    preparation = preparation.strip(" ,.")
    more = brackets if bare != rest and brackets else []
    return item, ", ".join([p for p in (preparation, *more) if p]), ", ".join(asides)


def _item(text: str, amount: Amount | None) -> tuple[str | None, str, str, Amount | None, str]:
    """Give row, spelling, stripped words, amount (a piece may stand behind the name) and what is asked."""
    if not text:
        return None, "", "", amount, "No ingredient is named; write what it is."
    words, fault = text.split(), ""
    for start, end in _stripped(words):
        try:
            found = _row(words[start:end], amount)
        except ItemError as err:
            fault = str(err)
            continue
        if found and not ("fresh" in words[:start] and found[0].startswith(("dried", "ground", "canned", "frozen"))):
            row, loose, spelling, amount = found
            note = f"Read {spelling!r} as {row}; write the kind if it is another." if loose and row != spelling else ""
            return row, spelling, " ".join([*words[:start], *words[end:]]), amount, note
    choice = re.search(r"\s(or|and|and/or|&)\s", text)
    if choice and not fault:
        one = choice[1] == "or"
        several = "one choice of several: which one?" if one else "several items: write each on its own line."
        fault = f"{text[:60]!r} is {several}"
    if not fault:
        try:
            resolve(text)
        except ItemError as err:
            fault = str(err)
    return None, text, "", amount, fault


def _stripped(words: list[str]) -> Iterator[tuple[int, int]]:
    """Give the words whole, then with words of preparation taken off either end, at most six."""
    for start in range(min(len(words), 7)):
        if start and words[start - 1].lower().rstrip(",") not in (*_PREPARED, "and"):
            return
        for end in range(len(words), max(start, len(words) - 7), -1):
            if end < len(words) and words[end].lower() not in _PREPARED:
                break
            yield start, end


def _row(words: list[str], amount: Amount | None) -> tuple[str, bool, str, Amount | None] | None:
    """Find the row; a tin of chickpeas is canned chickpeas, 2 sprigs thyme are fresh thyme, 3 garlic cloves cloves of garlic."""
    spelling, counted = " ".join(words), " ".join(words[:-1])
    if amount is not None:
        tinned = re.search(r"\b(?:tin|can)s?\b", amount.text)
        state = "canned" if tinned else "fresh" if amount.unit in ("sprig", "bunch", "leaf", "handful") else ""
        if state and (row := find(f"{state} {spelling}")):
            return row[0], False, row[0], amount
    if row := find(spelling):
        return *row, spelling, amount
    piece = known_as(words[-1])
    if amount is not None and not amount.unit and counted and piece in PIECES and (row := find(counted)):
        return *row, counted, replace(amount, unit=piece, text=f"{amount.text} {words[-1]}")
    return None


def _mass(
    amount: Amount | None, others: tuple[Amount, ...], item: str | None, spelling: str, size: str
) -> tuple[Weight | None, str]:
    """Weigh the surest of the amounts; give what is asked where none can be weighed, or two do not agree."""
    if amount is None:
        return None, "No amount is given; weigh what you use and write the grams."
    found: list[tuple[Amount, Weight]] = []
    fault = ""
    # a mass is surer than a metric volume, and that is surer than a spoon, a cup or a count
    metric = ("ml", "cl", "dl", "l")
    for each in sorted((amount, *others), key=lambda each: (each.measure.kind != "mass", each.unit not in metric)):
        if item is None and each.measure.kind != "mass":
            break
        try:
            found.append((each, grams(each, item or spelling, size=size)))
        except (AmountError, ItemError) as err:
            fault = fault or str(err)
    if not found:
        return None, fault
    (first, best), *others_found = found
    for each, weight in others_found:
        if abs(weight.mass_g - best.mass_g) > 0.16 * max(weight.mass_g, best.mass_g):
            masses = f"{best.mass_g:.0f} and {weight.mass_g:.0f} g"
            return best, f"{first} and {each} are not the same ({masses}): which one?"
    return best, ""
