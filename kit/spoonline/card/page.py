"""A card laid out: the same sections and blocks for every face, in the order in which a screen reader reads them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from spoonline import keeping
from spoonline.card.content import CardContent
from spoonline.card.method import said_times
from spoonline.card.words import Words, words
from spoonline.measures.local import localised

Kind = Literal["text", "small", "list", "steps", "table"]


@dataclass(frozen=True)
class Block:
    """One piece of a section.

    Attributes
    ----------
    kind : str
        text and small: one paragraph an item; list and steps: bullets and numbered steps, ``group`` their heading; table: rows.
    numeric : int
        For a table: how many of its first columns hold figures.
    named : int
        For a table: the column that names its row.
    """

    kind: Kind
    items: tuple[str, ...] = ()
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    caption: str = ""
    group: str = ""
    numeric: tuple[int, ...] = ()
    named: int = 0
    start: int = 1


@dataclass(frozen=True)
class Section:
    """A heading with its blocks; ``boxed`` is set apart by a rule; ``side`` may stand beside the next one."""

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
    said = words(content.language, content.variant)
    yields = [said.say("serves", serves=content.serves)] if content.serves else []
    yields += [said.say("makes", makes=content.makes)] if content.makes else []
    clock = ", ".join(localised(each, content.decimal) for each in said_times(content.times, said))
    badges = [said.say("invented")] if content.invented else []
    left = len(content.open_points)
    if left:
        count = said.say("one_point") if left == 1 else said.say("points", count=left)
        badges.insert(0, said.say("draft_line", count=count))
    sections = [
        _ingredients(content, said), _method(content, said), _thickness(content, said), _ahead(content, said),
        _allergens(content, said), _nutrition(content, said), _evidence(content, said),
    ]  # fmt: skip
    if left:
        sections.append(
            Section(
                "open",
                said.say("open"),
                (Block("list", tuple(point.said for point in content.open_points)),),
                boxed=True,
            )
        )
    foot = [content.version]
    foot += [said.say("content", id=content.identity)] if content.identity else []
    foot += [said.say("dated", date=content.saved_on)] if content.saved_on else []
    foot += [said.say("printed", date=content.printed_on)] if content.printed_on else []
    foot += [content.credit] if content.credit else []
    # The foot of every leaf is one line, however long the title.
    name = content.title if len(content.title) <= 60 else f"{content.title[:59]}\u2026"
    if content.number is not None:
        name = said.say("version", title=name, number=content.number)
    return Page(
        title=content.title,
        lang=said.lang,
        head=tuple(each[0].upper() + each[1:] for each in (", ".join(yields), clock) if each),
        note=content.note,
        badges=tuple(badges),
        sections=tuple(section for section in sections if section.blocks),
        foot=", ".join(foot),
        running=said.say("draft_foot", name=name) if left else name,
        draft=said.say("draft") if left else "",
        index=tuple(dict.fromkeys(line.item for line in content.lines)),
        photo_alt=(content.photo.alt or said.say("photo", title=content.title)) if content.photo else "",
    )


def _ingredients(content: CardContent, said: Words) -> Section:
    """One table a group, so that its heading is a heading."""
    groups: dict[str, list[tuple[str, ...]]] = {}
    for line in content.lines:
        what = f"{line.item}, {line.preparation}" if line.preparation else line.item
        groups.setdefault(line.group, []).append((line.grams, line.household, what))
    heads = (said.say("weight"), said.say("household"), said.say("what"))
    return Section(
        "ingredients", said.say("ingredients"),
        tuple(
            Block("table", heads=heads, rows=tuple(rows), group=group or (said.say("and") if place else ""), numeric=(0,), named=2)
            for place, (group, rows) in enumerate(groups.items())
        ),
    )  # fmt: skip


def _method(content: CardContent, said: Words) -> Section:
    if not content.method:
        return Section("method", said.say("method"), (Block("text", (said.say("no_method"),)),))
    blocks: list[Block] = []
    for number, step in enumerate(content.method, start=1):
        if blocks and blocks[-1].group == step.group:
            blocks[-1] = Block("steps", (*blocks[-1].items, step.text), group=step.group, start=blocks[-1].start)
        else:
            blocks.append(Block("steps", (step.text,), group=step.group, start=number))
    if content.care:
        blocks.append(Block("list", content.care, group=said.say("care")))
    return Section("method", said.say("method"), tuple(blocks))


def _thickness(content: CardContent, said: Words) -> Section:
    blocks = []
    if content.dose:
        blocks.append(Block("text", (f"{'; '.join(content.dose)}. {said.say('weigh_it')}",)))
    if content.target:
        blocks.append(Block("text", (said.say("aim", target=content.target),)))
    if content.checks:
        blocks.append(Block(
            "table", heads=(said.say("tool"), said.say("shows"), said.say("how")),
            rows=tuple((said.phrase(check.tool), check.reading, check.how) for check in content.checks),
            caption=said.say("check_caption", temperature=content.served_at),
        ))  # fmt: skip
    if content.mends:
        shows = said.say("tool_shows", tool=said.phrase(content.mend_tool)) if content.mend_tool else "Pa s"
        blocks.append(Block(
            "table", heads=(said.say("it_is"), shows, said.say("do")),
            rows=tuple((mend.times, mend.reading, mend.do) for mend in content.mends), caption=said.say("mend_caption"),
        ))  # fmt: skip
        blocks.append(Block("list", content.mend_how))
    blocks.append(Block("text", (content.tested,)))
    blocks.append(Block("small", (said.phrase(keeping.NOT_CLINICAL),)))
    return Section("thickness", said.say("thickness"), tuple(blocks), boxed=True)


def _ahead(content: CardContent, said: Words) -> Section:
    block = Block("list", content.cautions) if content.cautions else Block("text", (said.say("not_ahead"),))
    return Section("ahead", said.say("ahead"), (block,), boxed=True)


def _allergens(content: CardContent, said: Words) -> Section:
    names = ", ".join(content.contains)
    told = [said.say("contains", names=names) if names else said.say("contains_none")]
    if content.check_label:
        told.append(said.say("check_label", names="; ".join(content.check_label)))
    if content.not_checked:
        told.append(said.say("not_checked", names=", ".join(content.not_checked)))
    return Section(
        "allergens", said.say("allergens"), (Block("text", tuple(told)), Block("small", (content.allergen_note,)))
    )


def _nutrition(content: CardContent, said: Words) -> Section:
    note = Block("small", (content.nutrition_note,))
    if not content.nutrition:
        return Section("nutrition", said.say("nutrition"), (note,))
    table = Block(
        "table", heads=(said.say("nutrient"), said.say("amount")), numeric=(1,),
        rows=tuple((said.say(each.named), each.text) for each in content.nutrition),
        caption=said.say("nutrition_caption", share=content.serving),
    )  # fmt: skip
    return Section("nutrition", said.say("nutrition"), (table, note))


def _evidence(content: CardContent, said: Words) -> Section:
    """Points that were signed off stand on the card with their reasons."""
    told = tuple(
        said.say("signed_by" if point.cook else "signed", point=point.said, reason=point.reason, cook=point.cook)
        for point in content.points
        if point.reason
    )
    return Section("evidence", said.say("evidence"), (Block("list", told),) if told else ())
