"""What a form shows beside its fields: text made harmless, notes, lists, tables from frames, links and files."""

import html
import json
from collections.abc import Iterable, Mapping, Sequence
from numbers import Number
from typing import Any

import pandas as pd
from markupsafe import Markup

from spoonline.card import data_uri
from spoonline.measures import Range, localised, read_table
from spoonline.recipes import Recipe
from spoonline.tasters import Session

Rows = pd.DataFrame | Sequence[Mapping[str, object]]
# Columns of the rooms' tables by name: how a screen heads them, and how it writes their numbers.
COLUMNS = {row["column"]: (row["heading"], row["form"]) for row in read_table("columns.csv", "widgets/parts")}


def escaped(text: object) -> str:
    """Text made harmless for HTML."""
    return html.escape(str(text), quote=True)


def for_screen(text: object) -> str:
    """Text of ours made ready to show: in the kitchen's decimal mark, harmless for HTML; markup of ours stays markup."""
    return str(text) if isinstance(text, Markup) else escaped(localised(str(text)))


def tag(name: str, *inside: object, **attributes: object) -> Markup:
    """An element of a page: text inside is made harmless, markup stays; a blank attribute is left out.

    >>> tag("th", "Dose, g/L", scope="col", class_="")
    Markup('<th scope="col">Dose, g/L</th>')
    """
    given = {key.strip("_").replace("_", "-"): each for key, each in attributes.items() if each}
    marks = "".join(f' {key}="{escaped(each)}"' for key, each in given.items())
    return Markup(f"<{name}{marks}>{''.join(map(for_screen, inside))}</{name}>")


def notes(texts: Iterable[object], css: str = "sl-note") -> Markup:
    """Sentences in small type, one a line; with ``sl-wrong``, what is wrong or must be asked."""
    return Markup("").join(tag("div", text, class_=css) for text in texts)


def paragraphs(*texts: object) -> Markup:
    """Sentences, a paragraph each."""
    return Markup("").join(tag("p", text) for text in texts)


def bullets(texts: Iterable[object], title: str = "") -> Markup:
    """Sentences as a list, with a heading if it has one."""
    return (tag("h2", title) if title else Markup("")) + tag("ul", *(tag("li", text) for text in texts))


def invented(data: Recipe | Session) -> Markup:
    """Says of invented data that they are."""
    return tag("b", " Invented data.") if data.invented else Markup("")


def fold(summary: str, *inside: object) -> Markup:
    """Something folded away under its summary."""
    return tag("details", tag("summary", summary), *inside)


def frame_table(frame: Rows, caption: str = "", formats: Mapping[str, str] | None = None) -> Markup:
    """A frame as an HTML table, numbers and ranges to the right; nothing where it has no rows.

    Parameters
    ----------
    frame : DataFrame, or sequence of mappings
        One row a mapping; the names of the columns are the headings, units in them. Text is shown as it is, a missing figure is blank.
    caption : str
    formats : mapping of str to str
        How the numbers of a column are written, such as ``{"Dose, g/L": ".1f"}``.
    """
    data, forms = pd.DataFrame(frame, dtype=object), formats or {}
    if data.empty:
        return Markup("")
    numbers = [any(isinstance(cell, (Number, Range)) for cell in data.iloc[:, n]) for n in range(data.shape[1])]
    heads = list(zip(map(str, data), numbers, strict=True))
    # On a narrow page a table of many columns is read row by row, so each cell carries its heading.
    many = len(heads) > 4

    def cell(name: str, number: bool, what: Any, first: bool) -> Markup:
        text, label = _written(what, forms.get(name, "")), name if many else ""
        if first:
            return tag("th", text, scope="row", data_label=label)
        # A day or a short word never breaks over two lines.
        css = "num" if number else "tight" if 0 < len(str(text)) <= 10 else ""
        return tag("td", text, class_=css, data_label=label)

    rows = [
        tag("tr", *(cell(*head, what, n == 0) for n, (head, what) in enumerate(zip(heads, row, strict=True))))
        for row in data.itertuples(index=False, name=None)
    ]
    top = tag("tr", *(tag("th", name, scope="col", class_="num" if number else "") for name, number in heads))
    title = tag("caption", caption) if caption else ""
    return tag("table", title, tag("thead", top), tag("tbody", *rows), class_="sl-many" if many else "")


def columns_table(frame: Rows, caption: str = "", formats: Mapping[str, str] | None = None) -> Markup:
    """As :func:`frame_table`, headed and written as ``columns.csv`` says; a column that is not there by its name and ``formats``."""
    data = pd.DataFrame(frame, dtype=object).rename(columns={name: heading for name, (heading, _) in COLUMNS.items()})
    return frame_table(data, caption, dict(COLUMNS.values()) | {**(formats or {})})


def _written(cell: Any, form: str) -> Any:
    if isinstance(cell, (str, Range)):
        return format(cell, form) if isinstance(cell, Range) else cell
    if pd.isna(cell):
        return ""
    return format(cell, form or ("g" if isinstance(cell, float) else "")) if isinstance(cell, Number) else cell


def download(name: str, kind: str, content: str | bytes, label: str) -> Markup:
    """A link that gives a file to the browser without any server."""
    data = content.encode() if isinstance(content, str) else content
    return tag("p", tag("a", label, download=name, href=data_uri(kind, data)))


def link(notebook: str, label: str, dish: str = "") -> Markup:
    """A link to another notebook; the lab opens it beside this one, any other page follows it as it is."""
    path = f"{notebook}.ipynb"
    return tag(
        "a", label, href=path, data_commandlinker_command="docmanager:open", data_commandlinker_args=json.dumps({"path": path}),
        data_dish=dish,
        # Heard out of its row, a link still says which dish it is about.
        aria_label=f"{label}: {dish}" if dish else "",
    )  # fmt: skip
