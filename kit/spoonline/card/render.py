"""The written faces of a card: HTML for paper and screen, Markdown, plain text."""

from __future__ import annotations

import base64
import functools
import re
from typing import TYPE_CHECKING

from spoonline import keeping
from spoonline.card.content import CardContent
from spoonline.card.json_ld import to_json_ld
from spoonline.card.page import Block, lay_out
from spoonline.card.pdf import PAPERS

if TYPE_CHECKING:
    from jinja2 import Environment


@functools.cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("spoonline.card"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def render(template: str, **what: object) -> str:
    """Fill one of the page templates; every text is escaped, nothing is fetched."""
    return _environment().get_template(template).render(not_clinical=keeping.NOT_CLINICAL, **what)


def to_html(content: CardContent, paper: str = "a4") -> str:
    """One self-contained page with its own print style; every text is escaped, nothing is fetched."""
    from markupsafe import Markup

    # Inside a script element only "<" can end it; written as an escape it is the same JSON.
    data = to_json_ld(content).replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
    photo = ""
    if content.photo is not None:
        photo = f"data:{content.photo.media};base64,{base64.b64encode(content.photo.data).decode()}"
    small = paper in ("a5", "5x8")
    return render("card.html", p=lay_out(content), photo=photo, json_ld=Markup(data), page=PAPERS[paper], small=small)


_SPECIAL = re.compile(r"([\\`*_{}\[\]<>()#+\-.!|~&:@$^=\"'/])")


def plain(text: str) -> str:
    """Escape what Markdown would read as markup or as an address, so that a title prints as typed."""
    return _SPECIAL.sub(r"\\\1", " ".join(text.split()))


def to_markdown(content: CardContent) -> str:
    """The same card as Markdown (with pipe tables)."""
    page = lay_out(content)
    out = [f"# {plain(page.title)}", ""]
    if content.photo is not None:
        out += [f"*{plain(page.photo_alt)}*", ""]
    out += [each for badge in page.badges for each in (f"**{plain(badge)}**", "")]
    out += [each for line in (page.note, *page.head) if line for each in (plain(line), "")]
    for section in page.sections:
        out += [f"## {plain(section.heading)}", ""]
        for block in section.blocks:
            out += _markdown(block)
    return "\n".join([*out, "---", "", plain(page.foot), ""])


def _markdown(block: Block) -> list[str]:
    out = [f"### {plain(block.group)}", ""] if block.group else []
    if block.kind == "table":
        out += [f"*{plain(block.caption)}*", ""] if block.caption else []
        out.append("| " + " | ".join(plain(head) for head in block.heads) + " |")
        out.append(
            "|" + "|".join(" ---: " if column in block.numeric else " --- " for column in range(len(block.heads))) + "|"
        )
        out += ["| " + " | ".join(plain(cell) for cell in row) + " |" for row in block.rows]
    elif block.kind == "steps":
        out += [f"{number}. {plain(step)}" for number, step in enumerate(block.items, start=block.start)]
    elif block.kind == "list":
        out += [f"- {plain(item)}" for item in block.items]
    else:
        out += [each for item in block.items for each in (plain(item), "")][:-1]
    return [*out, ""]


def to_text(content: CardContent) -> str:
    """The same card as plain text; tables stand in columns, a paragraph is one line."""
    page = lay_out(content)
    out = [_one_line(page.title), ""]
    out += [f"[{_one_line(page.photo_alt)}]", ""] if content.photo is not None else []
    out += [_one_line(each) for each in (*page.badges, page.note, *page.head) if each]
    for section in page.sections:
        out += ["", section.heading.upper(), ""]
        for block in section.blocks:
            out += [_one_line(block.group) + ":"] if block.group else []
            out += [_one_line(block.caption) + ":"] if block.caption else []
            if block.kind == "table":
                rows = [block.heads, *block.rows]
                wide = [max(len(_one_line(row[column])) for row in rows) for column in range(len(block.heads))]
                for row in rows:
                    cells = [_one_line(cell) for cell in row]
                    out.append("  ".join(
                        cell.rjust(width) if column in block.numeric else cell.ljust(width)
                        for column, (cell, width) in enumerate(zip(cells, wide, strict=True))
                    ).rstrip())  # fmt: skip
            elif block.kind == "steps":
                out += [f"{number}. {_one_line(step)}" for number, step in enumerate(block.items, start=block.start)]
            else:
                out += [("- " if block.kind == "list" else "") + _one_line(item) for item in block.items]
    return "\n".join([*out, "", _one_line(page.foot), ""])


def _one_line(text: str) -> str:
    return " ".join(text.split())
