"""The faces of a card, one row each: HTML for paper and screen, PDF, Markdown, JSON-LD, plain text."""

import functools
import re
from collections.abc import Callable
from typing import Any, NamedTuple

from spoonline import keeping
from spoonline.card.content import TURNS, CardContent, data_uri
from spoonline.card.json_ld import to_json_ld
from spoonline.card.page import FIGURES, Block, lay_out
from spoonline.card.pdf import PAPERS, to_pdf
from spoonline.card.words import TEXT
from spoonline.measures import localised


@functools.cache
def _environment(package: str) -> Any:
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup, escape

    made = Environment(
        loader=PackageLoader(package), autoescape=lambda name: bool(name and name.endswith(".html")),
        undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    made.filters |= {"md": plain, "line": one_line, "columns": columns, "local": lambda each: localised(str(each))}
    # Times and temperatures of a step in bold.
    made.filters["strong"] = lambda text: Markup(re.sub(FIGURES, r"<b>\g<0></b>", str(escape(text))))
    return made


def render(template: str, package: str = "spoonline.card", /, **what: object) -> str:
    """Fill one of a package's page templates; in a page of HTML every text is escaped, nothing is fetched, nothing turned round."""
    made = _environment(package).get_template(template)
    return TURNS.sub("", made.render(not_clinical=keeping.NOT_CLINICAL, **what))


def to_html(content: CardContent, paper: str = "a4") -> str:
    """One self-contained page with its own print style; every text is escaped, nothing is fetched."""
    from markupsafe import Markup

    # Inside a script element only "<" can end it; written as an escape it is the same JSON.
    data = to_json_ld(content).replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
    photo = data_uri(content.photo.media, content.photo.data) if content.photo else ""
    small = paper in ("a5", "5x8")
    return render("card.html", p=lay_out(content), photo=photo, json_ld=Markup(data), page=PAPERS[paper], small=small)


def to_text(content: CardContent, template: str = "card.txt") -> str:
    """The same card as plain text, a paragraph on one line; or, by ``card.md``, as Markdown (with pipe tables)."""
    return render(template, p=lay_out(content), photo=content.photo is not None) + "\n"


class Face(NamedTuple):
    """A form in which a card is handed over: ending and media type of its file, its name on a screen, and what makes it of a card's
    content for a paper."""

    ending: str
    media: str
    label: str
    make: Callable[[CardContent, str], str | bytes]


FACES = {
    "html": Face("html", "text/html", "as a page (HTML)", to_html),
    "pdf": Face("pdf", "application/pdf", "for paper (PDF)", lambda content, paper: to_pdf([content], paper=paper)),
    "markdown": Face("md", "text/markdown", "as Markdown", lambda content, _: to_text(content, "card.md")),
    "json_ld": Face("jsonld", "application/ld+json", "for machines (JSON-LD)", lambda content, _: to_json_ld(content)),
    "text": Face("txt", "text/plain", "as plain text", lambda content, _: to_text(content)),
}


def plain(text: str) -> str:
    """Escape what Markdown would read as markup or as an address, so that a title prints as typed."""
    line = TEXT["markup"].sub(r"\\\g<0>", one_line(text))
    start = re.match(r"\d{0,9}", line)
    assert start is not None
    first = TEXT["markup at the start"]
    return first.sub(r"\\\g<0>", line, count=1) if first.match(line, start.end()) else line


def one_line(text: str) -> str:
    """A text on one line."""
    return " ".join(text.split())


def columns(block: Block) -> str:
    """A table in columns, figures to the right."""
    rows = [[one_line(cell) for cell in row] for row in (block.heads, *block.rows)]
    sides = [str.rjust if block.kind == "lines" else str.ljust, *[str.ljust] * (len(block.heads) - 1)]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    set_out = ((side(cell, width) for side, cell, width in zip(sides, row, widths, strict=True)) for row in rows)
    return "\n".join("  ".join(cells).rstrip() for cells in set_out)
