"""A card laid out: the same sections and blocks for every face, in the order in which a screen reader reads them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from spoonline import keeping
from spoonline.card.content import CardContent
from spoonline.card.method import times_text
from spoonline.card.words import Words, words
from spoonline.measures.local import localised

Kind = Literal["text", "small", "list", "steps", "table"]
BOXED = ("thickness", "ahead", "open")


@dataclass(frozen=True)
class Block:
    """One piece of a section.

    Attributes
    ----------
    kind : str
        text and small: one paragraph an item; list and steps: bullets and numbered steps, ``group`` their heading; table: rows.
    beside : tuple of str
        For steps: what stands beside each, blank for nothing.
    numeric : tuple of int
        For a table: which of its columns hold figures.
    named : int
        For a table: the column that names its row.
    """

    kind: Kind
    items: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    caption: str = ""
    group: str = ""
    numeric: tuple[int, ...] = ()
    named: int = 0
    start: int = 1


@dataclass(frozen=True)
class Section:
    """A heading with its blocks; ``boxed`` is set apart by a rule."""

    key: str
    heading: str
    blocks: tuple[Block, ...]
    boxed: bool = False


@dataclass(frozen=True)
class Page:
    """A whole card, ready for any face."""

    title: str
    lang: str
    head: tuple[str, ...]
    note: str
    badges: tuple[str, ...]
    sections: tuple[Section, ...]
    foot: str
    running: str
    draft: str
    index: tuple[str, ...]
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
    yields = [say("serves", serves=content.serves)] if content.serves else []
    yields += [say("makes", makes=content.makes)] if content.makes else []
    clock = ", ".join(localised(each, content.decimal) for each in times_text(content.times, wording))
    left = len(content.open_points)
    count = say("one_point") if left == 1 else say("points", count=left)
    badges = [say("draft_line", count=count)] if left else []
    badges += [say("invented")] if content.invented else []
    parts = {
        "ingredients": _ingredients(content, wording), "method": _method(content, wording), "thickness": _thickness(content, wording),
        "aims": [Block("text", content.aims)] if content.aims else [],
        "ahead": [Block("list", content.cautions) if content.cautions else Block("text", (say("not_ahead"),))],
        "allergens": _allergens(content, wording), "nutrition": _nutrition(content, wording), "evidence": _evidence(content, wording),
        "open": [Block("list", tuple(point.text for point in content.open_points))] if left else [],
    }  # fmt: skip
    sections = (Section(key, say(key), tuple(blocks), key in BOXED) for key, blocks in parts.items())
    foot = [content.version]
    foot += [say("content", id=content.identity)] if content.identity else []
    foot += [say("dated", date=content.saved_on)] if content.saved_on else []
    foot += [say("printed", date=content.printed_on)] if content.printed_on else []
    foot += [content.credit] if content.credit else []
    # The foot of every leaf is one line, however long the title.
    name = content.title if len(content.title) <= 60 else f"{content.title[:59]}\u2026"
    if content.number is not None:
        name = say("version", title=name, number=content.number)
    return Page(
        title=content.title, lang=wording.lang, note=content.note, badges=tuple(badges), foot=", ".join(foot),
        head=tuple(each[0].upper() + each[1:] for each in (", ".join(yields), clock) if each),
        sections=tuple(section for section in sections if section.blocks),
        running=say("draft_foot", name=name) if left else name, draft=say("draft") if left else "",
        index=tuple(dict.fromkeys(line.item for line in content.lines)),
        photo_alt=(content.photo.alt or say("photo", title=content.title)) if content.photo else "",
    )  # fmt: skip


def _ingredients(content: CardContent, wording: Words) -> Iterator[Block]:
    """One table a group, so that its heading is a heading."""
    groups: dict[str, list[tuple[str, ...]]] = {}
    for line in content.lines:
        what = f"{line.item}, {line.preparation}" if line.preparation else line.item
        groups.setdefault(line.group, []).append((line.grams, line.household, what))
    heads = tuple(map(wording.say, ("weight", "household", "what")))
    for place, (group, rows) in enumerate(groups.items()):
        name = group or (wording.say("and") if place else "")
        yield Block("table", heads=heads, rows=tuple(rows), group=name, numeric=(0,), named=2)


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
    if not (content.dose or content.target):
        return  # nothing is dosed and nothing aimed at, so there is nothing to read
    if content.dose:
        yield Block("text", (f"{'; '.join(content.dose)}. {content.weigh_it}",))
    if content.target:
        yield Block("text", (say("aim", target=content.target),))
    if content.checks:
        rows = tuple((wording.phrase(check.tool), check.reading, check.how) for check in content.checks)
        caption = say("check_caption", temperature=content.served_at)
        yield Block("table", heads=(say("tool"), say("shows"), say("how")), rows=rows, caption=caption)
    if content.mends:
        shows = say("tool_shows", tool=wording.phrase(content.mend_tool)) if content.mend_tool else "Pa s"
        rows = tuple((mend.times, mend.reading, mend.do) for mend in content.mends)
        yield Block("table", heads=(say("it_is"), shows, say("do")), rows=rows, caption=say("mend_caption"))
        yield Block("list", content.mend_how)
    yield Block("text", (f"{content.tested} {content.read_at}".strip(),))
    yield Block("small", (wording.phrase(keeping.NOT_CLINICAL),))


def _allergens(content: CardContent, wording: Words) -> list[Block]:
    say = wording.say
    sentences = [say("allergen_list", list=content.allergen_list)]
    for key in ("contains", "beside", "may_contain", "check_label", "not_checked"):
        if names := getattr(content, key):
            sentences.append(say(key, names=("; " if key == "check_label" else ", ").join(names)))
    if not (content.contains or content.beside):
        sentences.append(say("contains_unsettled") if content.open_points else say("contains_none"))
    return [Block("text", tuple(sentences)), Block("small", (content.allergen_note,))]


def _nutrition(content: CardContent, wording: Words) -> Iterator[Block]:
    say = wording.say
    if content.nutrition:
        rows = tuple((say(each.named), each.text) for each in content.nutrition)
        caption = say("nutrition_caption", share=content.serving)
        yield Block("table", heads=(say("nutrient"), say("amount")), numeric=(1,), rows=rows, caption=caption)
    yield Block("small", (content.nutrition_note,))


def _evidence(content: CardContent, wording: Words) -> list[Block]:
    """Points that were signed off stand on the card with their reasons."""
    signed = tuple(
        wording.say("signed_by" if point.cook else "signed", point=point.text, reason=point.reason, cook=point.cook)
        for point in content.points
        if point.reason
    )
    return [Block("list", signed)] if signed else []
