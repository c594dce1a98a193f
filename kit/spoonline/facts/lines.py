"""Reading one written ingredient line: amount, item, preparation, mass, and what is left to ask."""

import math
import re
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from spoonline.facts.rows import find, ingredients, meanings, resolve
from spoonline.facts.weigh import grams
from spoonline.measures import PIECES, SYSTEMS, Weight, cached_by_mark, known_as, patterns, refuse, unit, weigh
from spoonline.measures.amounts import CONTAINERS, FILLS, METRIC, Amount, Head, split_line, tidy
from spoonline.measures.errors import AmountError, ItemError, KitchenError

# Words of preparation that may stand before or after a name without changing which ingredient it is.
PREPARED = frozenset((Path(__file__).parent / "preparations.txt").read_text(encoding="utf-8").split())
# What else the words of a line are known by, and what each means.
_WORDS = patterns("line_words.csv", "facts")
# Of a liquid that pours and has no figures: stocks, juices and wines of the tables run from 0.99 to 1.06 g/mL.
_DENSITY_SD = 0.03
NOT_COUNTED, TAKEN = "not counted", "was taken as typed"
TWO_UNITS = "Two units stand together"
# A tin of beans or peas, drained, over what is printed on it [g/g], and its standard uncertainty (common practice, no source: 235 to
# 265 g of a 400 g tin; the tables' own can of chickpeas is 253 g, USDA SR28 16358).
DRAINED_SHARE, DRAINED_SD = 0.6, 0.05


class LineReading(NamedTuple):
    """What was understood of one ingredient line.

    ``item`` is the row of the facts (None: not known), ``item_text`` the item as written, ``mass`` what the amount weighs
    (None: only an answer or a weighing can tell); ``notes`` says what was guessed and what is asked; ``pours`` is true of a
    liquid, also of one that the facts do not know.
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
    pours: bool = False

    @property
    def doubts(self) -> tuple[str, ...]:
        """What a person should look at though the line has a weight: two measures that disagree, a part that is not counted."""
        return tuple(note for note in self.notes if TAKEN in note or NOT_COUNTED in note)

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
    closed = line.rstrip().endswith(")") and line.count("(") >= line.count(")")
    plain = re.sub(r"^[-*\u2022\u00b7]+ |[ .*\u2020)]+$", "", tidy(line).replace("…", "...")) + ")" * closed
    plain = re.sub(r"\b(lbs?|pints?|lit(?:re|er)s?|kg), (?=\d)", r"\1 ", plain)  # "1 lb, 8 oz"
    juice = _WORDS["juice of"].fullmatch(plain)
    try:
        refuse(_WORDS["strange"].search(plain), "which amount", came=plain[:60])
        head, up_to = _elsewhere(split_line(juice[2] if juice else plain, system, decimal), system, decimal)
    except KitchenError as err:
        return LineReading(plain, None, (), "", None, plain, "", None, (str(err),))
    item_text, preparation, aside = _part(head.rest)
    amount, notes = head.amount, list(head.notes)
    up_to = up_to or "made up" in preparation
    if two := _two_things(plain, item_text, preparation, system, decimal):
        return LineReading(plain, None, (), "", None, plain, "", None, (two,))
    if re.match(r"juiced?\b", preparation):
        item_text, preparation = f"{item_text.removesuffix('s')} juice", ""
    if juice:
        item_text = f"{item_text.removesuffix('s')} {'juice' if juice[1].lower() == 'juice' else 'zest'}"
    if amount is not None and not amount.fill and amount.unit in ("tsp", "dsp", "tbsp", "cup"):
        fill = preparation.split(",")[0].split(" ")[0]
        amount = amount._replace(fill=fill) if fill in FILLS else amount
    item, spelling, lead, amount, asked = _item(item_text, amount)
    preparation = ", ".join(part for part in (lead, preparation, aside) if part)
    pours = item is None and (up_to or bool(_WORDS["pours"].search(spelling)))
    mass, fault = _mass(amount, head.others, item, spelling, head.size, pours)
    row = ingredients()[item] if item else None
    kind = amount.measure.kind if amount else ""
    if pours and mass:
        notes.append(f"There are no figures for {spelling[:60]!r}; it pours, and is taken to weigh what water does.")
    elif asked:
        notes.append(asked)
        mass = None if asked.startswith(TWO_UNITS) else mass
    by_weight_or_volume = any(other.measure.kind in ("mass", "volume") for other in head.others)
    if amount and amount.unit == "oz" and row and row.pours and not by_weight_or_volume:
        mass, fault = None, f"Are these ounces by weight or fluid ounces of {item}? Write g, ml or fl oz."
    notes += [row.ask] if row and row.ask and (not row.is_salt or kind not in ("", "mass")) else []
    if kind == "volume" and _WORDS["cooked"].search(preparation):
        mass, fault = None, "Measured before or after cooking? Weigh it and write grams."
    notes += [fault] if fault else []
    if amount and amount.unit in ("cup", "pint", "quart", "gallon", "gill", "fl oz"):
        notes.append(f"Read as {SYSTEMS[amount.system]}: 1 {amount.unit} = {amount.measure.size:.4g} mL.")
    if mass and row and kind == "mass" and _WORDS["trimmed"].search(preparation):
        left = row.edible_g(mass.mass_g)
        if left is not None and left < 0.97 * mass.mass_g:
            notes.append(f"Weighed before trimming? Then about {left:.0f} g is left; weigh it trimmed.")
    if _WORDS["uncounted"].search(preparation):
        notes.append(f"What stands in {preparation[:60]!r} is {NOT_COUNTED}: write it on a line of its own.")
    tinned = amount is not None and (amount.unit == "can" or _WORDS["tin"].search(amount.text))
    if tinned and _WORDS["drained"].search(preparation) and not _WORDS["drained weight"].search(plain):
        asked = f"What the tin holds was taken; drained it is less, and that is {NOT_COUNTED}: weigh it drained."
        by_mass = "mass" in (kind, *(other.measure.kind for other in head.others))
        if mass and by_mass and _WORDS["pulse"].search(item or ""):
            share = f"{100 * DRAINED_SHARE:.0f} % of what stands on the tin"
            mass = Weight(DRAINED_SHARE * mass.mass_g, DRAINED_SD * mass.mass_g, f"{share}, drained (common practice)")
            notes = [note for note in notes if note != fault]  # a tin that is known drained agrees with it
            asked = f"Drained, {share} is taken, the rest is {NOT_COUNTED}: weigh it drained."
        notes.append(asked)
    pours = pours or bool(row and row.pours and row.part == "liquid")
    return LineReading(plain, amount, head.others, head.size, item, spelling, preparation, mass, tuple(notes), pours)


def _elsewhere(head: Head, system: str, decimal: str | None) -> tuple[Head, bool]:
    """Add the measures that stand behind the name or in brackets, and take them out of the words; whether it is made up to one.

    What was typed rules: grams or millilitres anywhere in the line are of that line, unless other words say of what they are.
    """
    rest, amount, others, notes = re.sub(r" -{1,2} ", ", ", head.rest), head.amount, list(head.others), head.notes
    if amount is not None and (less := re.match(r"(?:minus|less) (?=\D{0,4}\d|an? |one )", rest)):
        inner = split_line(rest[less.end() :], system, decimal)
        alike = inner.amount is not None and inner.amount.measure.kind == amount.measure.kind
        if inner.amount and alike and amount.measure.size and amount.high is None:
            left = amount.value - inner.amount.middle * (inner.amount.measure.size or 0.0) / amount.measure.size
            refuse(left <= 0, "nothing left", came=head.amount, less=inner.amount)
            amount, rest = amount._replace(value=left, text=f"{amount.text} {less[0]}{inner.amount.text}"), inner.rest
    if up_to := _WORDS["up to"].search(rest):
        inner = split_line(rest[up_to.end() :], system, decimal)
        if inner.amount is not None and inner.amount.measure.kind == "volume":
            name = rest[: up_to.start()].strip(" ,") or up_to["with"] or re.sub(r"^with ", "", inner.rest)
            more = inner.rest if inner.rest.startswith("with ") else f"with {up_to['with']}" if up_to["with"] else ""
            return head._replace(amount=inner.amount, rest=f"{name}, made up {more}".strip()), True
    if amount is None and (times := _WORDS["times"].search(rest.split(",")[0])):
        amount, rest = Amount(float(times[1]), text=times[1]), rest[: times.start()] + rest[times.end() :]
    elif amount is not None and (times := _WORDS["times"].search(rest)):
        rest, count = rest[: times.start()], int(times[1])
        amount = amount.scaled(count)._replace(text=f"{count} x {amount.text}")
        notes += (f"Read {count} of {head.amount} as {amount} in all.",)
    for whole, inside in re.findall(r"(\(([^()]*)\))", rest):
        for part in re.split(r"[;,](?!\d)", inside):
            if found := _measure_alone(part, system, decimal):
                packs = amount and amount.unit in CONTAINERS and amount.middle != 1
                unclear = packs and not _WORDS["shared"].search(part)
                refuse(unclear, "one of them", came=head.amount, of=part.strip())
                others += _of_all(found, amount, part)
                rest = rest.replace(whole, whole.replace(part, "") if part != inside else " ", 1)
    each = None if amount is None else re.search(r"\s(?:à|@|of) (?:ca\.? )?(\d.*)$", rest)
    if each and (found := _measure_alone(each[1], system, decimal)):
        rest, others = rest[: each.start()], [*others, *_of_all(found, amount, "each")]  # "4 escalopes à 120 g"
    words, *parts = re.split(r",(?!\d)", rest)
    kept = [words]
    for part in parts:
        if found := _measure_alone(part, system, decimal):
            others += _of_all(found, amount, part)
            part = found.rest
        kept += [part] if part.strip() else []
    behind = None if amount or others else re.fullmatch(r"(\D+?)\s*[\s:-]\s*(\d.*)", kept[0].strip())
    if behind and (found := _measure_alone(behind[2], system, decimal)):  # "Butter 50 g"
        kept[0], others = behind[1], _of_all(found, None, "")
    if amount is None and others:
        amount, *others = others
    return head._replace(amount=amount, others=tuple(others), rest=tidy(",".join(kept)), notes=notes), False


def _measure_alone(text: str, system: str, decimal: str | None) -> Head | None:
    """A measure of weight or volume with nothing beside it but words of how it was weighed; None where it is none."""
    if not re.search(r"\d|\b(?:an?|one|two|three|half)\b", text):
        return None
    try:
        plain = _WORDS["each"].sub("", _WORDS["before"].sub("", text.strip()))
        found = split_line(plain, system, decimal)
    except AmountError:
        if re.search(r"\d[.,]\d{3}\b", text):  # it is one, and could be two
            raise
        return None
    beside = [word for word in re.split(r"[\s,]+", found.rest.lower()) if word]
    alone = found.amount and all(_WORDS["beside"].fullmatch(word) or word in PREPARED for word in beside)
    return found if alone and found.amount and found.amount.measure.kind in ("mass", "volume") else None


def _of_all(found: Head, amount: Amount | None, text: str) -> list[Amount]:
    """The measures of a part as the whole line's: times the count where they are of each."""
    assert found.amount is not None
    each = _WORDS["each"].search(text) and amount is not None and amount.measure.kind == "piece"
    return [one.scaled(amount.middle) if each and amount else one for one in (found.amount, *found.others)]


def _two_things(line: str, item: str, preparation: str, system: str, decimal: str | None) -> str:
    """What is asked where a second thing is weighed in the same line; blank where none is."""
    more = bool(_WORDS["measured"].search(item) or _WORDS["and more"].search(item) or re.search(r"; ?\d", line))
    for part in preparation.split(","):
        if not more and _WORDS["measured"].match(part.strip()):
            with suppress(AmountError):
                more = bool(meanings(split_line(part, system, decimal).rest.split(" (")[0]))
    return f"{line[:60]!r} is several items: write each on its own line." if more else ""


def _part(rest: str) -> tuple[str, str, str]:
    """Part the words after the amount into item, preparation and asides such as "to taste"."""
    brackets = re.findall(r"\(([^()]*)\)", rest)
    bare = re.sub(r"\([^()]*\)", " ", rest) if "tomato puree (us)" not in rest.lower() else rest
    asides = _WORDS["aside"].findall(bare)
    bare = tidy(_WORDS["aside"].sub(" ", bare))
    bare = _WORDS["slurry"].sub(", ", bare, count=1)
    item, _, preparation = re.sub(r"\s*(?:;| - | -- )\s*", ", ", bare).partition(",")
    while not item and preparation:  # "1/2 cup, packed, light brown sugar"
        word, _, behind = preparation.partition(",")
        if word.strip() in FILLS and behind:
            preparation = f"{behind.strip()}, {word.strip()}"
            continue
        item, preparation = word.strip(), behind
    item = re.sub(r"^of\s+|\s*[.:,]+$", "", item.strip(), flags=re.IGNORECASE).strip()
    preparation = preparation.strip(" ,.")
    more = brackets if bare != rest and brackets else []
    return item, ", ".join([p for p in (preparation, *more) if p]), ", ".join(asides)


def _item(text: str, amount: Amount | None) -> tuple[str | None, str, str, Amount | None, str]:
    """Give row, spelling, stripped words, amount (a piece may stand behind the name) and what is asked."""
    if not text:
        return None, "", "", amount, "No ingredient is named; write what it is."
    words, fault = text.split(), ""
    second = known_as(words[0])
    if amount is not None and amount.unit and second and unit(second).kind in ("mass", "volume") and len(words) > 1:
        return None, text, "", amount, f"{TWO_UNITS}, {amount.unit} and {second}: which one is meant?"
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
    beside = re.search(r"\s(?:with|without|for|in|from|on)\s", text)
    if beside and not fault:
        known, name, before, amount, said = _item(text[: beside.start()], amount)
        if known:
            behind = ", ".join(filter(None, (before, text[beside.start() :].strip())))
            return known, name, behind, amount, said
    choice = re.search(r"\s(or|and|and/or|&|\+|plus)\s", text)
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
        if start and words[start - 1].lower().rstrip(",") not in (*PREPARED, "and"):
            return
        for end in range(len(words), max(start, len(words) - 7), -1):
            if end < len(words) and words[end].lower() not in PREPARED:
                break
            yield start, end


def _row(words: list[str], amount: Amount | None) -> tuple[str, bool, str, Amount | None] | None:
    """Find the row; a tin of chickpeas is canned chickpeas, 2 sprigs thyme are fresh thyme, 3 garlic cloves cloves of garlic."""
    spelling, counted = " ".join(words), " ".join(words[:-1])
    if amount is not None:
        tinned = _WORDS["tin"].search(amount.text)
        state = "canned" if tinned else "fresh" if amount.unit in ("sprig", "bunch", "leaf", "handful") else ""
        if state and (row := find(f"{state} {spelling}")):
            return row[0], False, row[0], amount
    piece = known_as(words[-1])
    if row := find(spelling):
        pieces = ingredients()[row[0]].pieces
        sized = {"one", "medium"} & pieces.keys()
        if amount is not None and not amount.unit and piece in PIECES and piece in pieces and not sized:
            amount = amount._replace(unit=piece)  # "4 mackerel fillets"
        return *row, spelling, amount
    if amount is not None and not amount.unit and counted and piece in PIECES and (row := find(counted)):
        return *row, counted, amount._replace(unit=piece, text=f"{amount.text} {words[-1]}")
    return None


def _mass(
    amount: Amount | None, others: tuple[Amount, ...], item: str | None, spelling: str, size: str, pours: bool
) -> tuple[Weight | None, str]:
    """Weigh the surest of the amounts; give what is asked where none can be weighed, or two do not agree."""
    if amount is None:
        return None, "No amount is given; weigh what you use and write the grams."
    found: list[tuple[Amount, Weight]] = []
    fault = ""

    # a mass is surer than a metric volume, and that is surer than a spoon, a cup or a count; of two masses a US kitchen means the first
    def order(each: Amount) -> tuple[bool, bool]:
        mass = each.measure.kind == "mass"
        return not mass, each.unit not in METRIC and not (mass and each.system in ("us", "label"))

    for each in sorted((amount, *others), key=order):
        if item is None and each.measure.kind != "mass" and not (pours and each.measure.kind == "volume"):
            continue
        try:
            found.append((each, _as_water(each) if pours else grams(each, item or spelling, size=size)))
        except (AmountError, ItemError) as err:
            fault = fault or str(err)
    if not found:
        return None, fault
    (first, best), *others_found = found
    for each, weight in others_found:
        if abs(weight.mass_g - best.mass_g) > max(0.16 * max(weight.mass_g, best.mass_g), weight.sd_g):
            both = f"{best.mass_g:.0f} and {weight.mass_g:.0f} g"
            if first.measure.kind == each.measure.kind == "mass":
                return None, f"{first} and {each} are not the same ({both}): which one?"
            return (best, f"{first} and {each} are not the same ({both}): {first} {TAKEN}; which one is right?")
    return best, ""


def _as_water(amount: Amount) -> Weight:
    """The weight of a liquid that the facts do not know."""
    mass, sd = weigh(amount, g_per_ml=1.0, liquid=True)
    spread = _DENSITY_SD * mass if amount.measure.kind == "volume" else 0.0
    return Weight(mass, math.hypot(sd, spread), f"as water, 1.00 g/mL give or take {100 * _DENSITY_SD:.0f} %")
