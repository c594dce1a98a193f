"""A card laid out: the same sections and blocks for every face, in the order in which a screen reader reads them."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from spoonline import keeping
from spoonline.card.content import CardContent, CardLine
from spoonline.card.method import times_text
from spoonline.card.words import TEXT, Words, words
from spoonline.measures.local import localised

Kind = Literal["text", "small", "list", "steps", "table", "lines", "reading"]
# What stands in full on the back or at the end, and what is a leaf of its own.
SIDES = {"full": "back", "evidence": "back", "open": "proof"}
FIGURES = TEXT["figures"].pattern


@dataclass(frozen=True)
class Block:
    """One piece of a section.

    Attributes
    ----------
    kind : str
        text and small: one paragraph an item; list and steps: bullets and numbered steps, ``group`` their heading; table: rows; lines:
        rows of grams, measure and name; reading: what is aimed at, ``large`` its beginning, when it is good, and how it is read.
    beside : tuple of str
        For steps: what stands beside each, blank for nothing.
    marked : tuple of int
        For lines: which rows are set off.
    """

    kind: Kind
    items: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    caption: str = ""
    group: str = ""
    marked: tuple[int, ...] = ()
    start: int = 1
    large: str = ""


@dataclass(frozen=True)
class Section:
    """A heading with its blocks, and its side of the leaf: front, box (in front, framed), back, or proof, which is a leaf of its own."""

    key: str
    heading: str
    blocks: tuple[Block, ...]
    side: str = "front"


@dataclass(frozen=True)
class Page:
    """A whole card, ready for any face."""

    title: str
    lang: str
    head: str
    note: str
    badges: tuple[str, ...]
    sections: tuple[Section, ...]
    foot: str
    running: str
    draft: str
    photo_alt: str


def lay_out(content: CardContent) -> Page:
    """Lay a card's content out.

    Parameters
    ----------
    content : CardContent

    Returns
    -------
    Page
    """
    wording = words(content.language, content.variant)
    say = wording.say

    def told(key: str, **figure: str) -> str:
        return say(key, **figure) if all(figure.values()) else ""

    clock = [localised(each, content.decimal) for each in times_text(content.times, wording)]
    left = len(content.open_points)
    count = say("one_point") if left == 1 else say("points", count=left)
    badges = [say("draft_line", count=count)] if left else []
    badges += [say("invented")] if content.invented else []
    unkept = say("not_ahead_baked" if content.baked else "not_ahead")
    parts = {
        "ingredients": _ingredients(content, wording), "method": _method(content, wording), "thickness": _thickness(content, wording),
        "ahead": [Block("list", content.cautions) if content.cautions else Block("text", (unkept,))],
        "allergens": _allergens(content, wording), "nutrition": [Block("text", (_nutrition(content, wording),))],
        "full": _full(content, wording), "evidence": _evidence(content, wording),
        "open": [Block("list", tuple(point.text for point in content.open_points))] if left else [],
    }  # fmt: skip
    heads = {"thickness": say("thickness_at", temperature=content.served_at)} if content.checks else {}
    heads |= {} if content.dose or content.target else {"thickness": say("aims")}
    laid = {key: blocks for key, each in parts.items() if (blocks := tuple(each))}
    # only what there is to read is framed
    sides = SIDES | {key: "box" for key, blocks in laid.items() if any(each.kind == "reading" for each in blocks)}
    head = told("serves", serves=content.serves), told("makes", makes=content.makes), *clock
    dates = told("dated", date=content.saved_on), told("printed", date=content.printed_on)
    foot = content.version, told("content", id=content.identity), *dates, content.credit
    # The foot of every leaf is one line, however long the title.
    name = content.title if len(content.title) <= 40 else f"{content.title[:39]}\u2026"
    if content.number is not None:
        name = say("version", title=name, number=content.number)
    return Page(
        title=content.title, lang=wording.lang, note=content.note, badges=tuple(badges), foot=", ".join(filter(None, foot)),
        head=" \u00b7 ".join(filter(None, head)),
        sections=tuple(Section(key, heads.get(key) or say(key), each, sides.get(key, "front")) for key, each in laid.items()),
        running=say("draft_foot", name=name) if left else name, draft=say("draft") if left else "",
        photo_alt=(content.photo.alt or say("photo", title=content.title)) if content.photo else "",
    )  # fmt: skip


def _ingredients(content: CardContent, wording: Words) -> Iterator[Block]:
    """One table a group, so that its heading is a heading."""
    groups: dict[str, list[CardLine]] = {}
    for line in content.lines:
        groups.setdefault(line.group, []).append(line)
    heads = tuple(map(wording.say, ("weight", "household", "what")))
    for place, (group, lines) in enumerate(groups.items()):
        name = group or (wording.say("and") if place else "")
        rows = tuple((each.grams, each.household, f"{each.item}, {each.preparation}".rstrip(", ")) for each in lines)
        marked = tuple(number for number, each in enumerate(lines) if each.thickens)
        yield Block("lines", heads=heads, rows=rows, group=name, marked=marked)


def _method(content: CardContent, wording: Words) -> Iterator[Block]:
    if not content.method:
        yield Block("text", (wording.say("no_method"),))
    steps = enumerate(content.method, start=1)
    for group, run in groupby(steps, key=lambda numbered: numbered[1].group):
        numbers, texts, care = zip(*((number, step.text, " ".join(step.care)) for number, step in run), strict=True)
        beside = tuple(wording.say("care", lines=each) if each else "" for each in care)
        yield Block("steps", texts, beside, group=group, start=numbers[0])


def _thickness(content: CardContent, wording: Words) -> Iterator[Block]:
    say = wording.say
    for place, check in enumerate(content.checks):
        said, figure = say("or_else", reading=check.reading, good=check.good), " ".join(check.reading.split()[:2])
        first = Block("reading", (check.reading, check.good, check.how), large=figure)
        yield Block("text", (said,)) if place else first
    if content.target and not content.checks:  # no tool of the kit reads it there
        yield Block("reading", (content.target,), large=" ".join(content.target.split()[:3]))
    for each in content.aims:
        yield Block("reading", (each.reading, each.how), large=each.reading)
    if content.mends:
        rows = tuple((mend.reading, mend.amount, mend.what) for mend in content.mends if mend.what)
        yield Block("table", heads=(say("shows"), say("add"), say("of")), rows=rows, caption=content.mend_caption)
        yield Block("list", content.mend_how)
    aim = say("aim", target=content.target) if content.target else ""
    dose = f"{'; '.join(content.dose)}." if content.dose else ""
    thick = (dose, aim, content.tested, wording.phrase(keeping.NOT_CLINICAL)) if dose or aim else ()
    if small := " ".join(filter(None, (*thick, *(each.good for each in content.aims)))):
        yield Block("small", (small,))


def _full(content: CardContent, wording: Words) -> Iterator[Block]:
    """What the front says in short, with its ranges and how it was found."""
    say = wording.say
    if content.mends:
        heads, rows = (say("it_is"), say("shows"), say("do")), tuple((m.times, m.reading, m.do) for m in content.mends)
        yield Block("table", heads=heads, rows=rows, caption=say("full_caption"))
    how = (check.how for check in content.checks[1:])
    thick = (*how, content.weigh_it, content.read_at) if content.dose or content.target else ()
    note = content.nutrition_note if content.nutrition else ""
    if texts := tuple(filter(None, (*thick, content.makes_range, note))):
        yield Block("text", texts)


def _allergens(content: CardContent, wording: Words) -> list[Block]:
    say = wording.say
    sentences = []
    for key in ("contains", "beside", "may_contain", "check_label", "not_checked"):
        if names := getattr(content, key):
            sentences.append(say(key, names=("; " if key == "check_label" else ", ").join(names)))
    if not (content.contains or content.beside):
        sentences.append(say("contains_unsettled") if content.open_points else say("contains_none"))
    note = f"{say('allergen_list', list=content.allergen_list)} {content.allergen_note}"
    return [Block("text", (" ".join(sentences),)), Block("small", (note,))]


def _nutrition(content: CardContent, wording: Words) -> str:
    """One line; without figures the reason why there are none."""
    figures = ", ".join(f"{wording.say(each.named)} {each.text}" for each in content.nutrition)
    line = wording.say("nutrition_line", share=content.serving, nutrients=figures)
    return line if figures else content.nutrition_note


def _evidence(content: CardContent, wording: Words) -> list[Block]:
    """Points that were signed off stand on the card as facts; a label with what it names."""
    signed = []
    for point in (point for point in content.points if point.reason):
        said, item = {"reason": point.reason.rstrip("."), "names": point.names}, point.key.partition("label:")[2]
        by = wording.say("signed_by", cook=point.cook) if point.cook else ""
        signed.append(wording.say("signed_label" if item else "signed", item=item, point=point.text, by=by, **said))
    return [Block("list", tuple(signed))] if signed else []
