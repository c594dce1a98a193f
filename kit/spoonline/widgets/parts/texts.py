"""Text in a form: a field for several lines, lists, lines in small type, and the drawing of a test."""

from __future__ import annotations

from collections.abc import Iterable
from importlib.resources import files

import ipywidgets as w

from spoonline.widgets.parts.markup import escaped, for_screen


def sketch(tool: str) -> str:
    """The drawing of a thickness test as markup; its title says what it shows; nothing where nobody has drawn it."""
    drawing = files("spoonline.widgets.parts") / "sketches" / f"{tool}.svg"
    return drawing.read_text(encoding="utf-8") if drawing.is_file() else ""


def area(label: str, value: str = "", hint: str = "", *, rows: int, height: str, width: str = "54rem") -> w.Textarea:
    """A labelled field for several lines; it speaks on leaving."""
    return w.Textarea(
        value=value, description=label, placeholder=hint, rows=rows, continuous_update=False,
        style={"description_width": "13rem"}, layout=w.Layout(width=f"min({width}, 100%)", height=height),
    )  # fmt: skip


def small(*lines: object) -> str:
    """Lines in small type, a paragraph each."""
    return "".join(f"<p class='sl-note'>{for_screen(line)}</p>" for line in lines)


def plain(*lines: object) -> str:
    """Lines, a paragraph each."""
    return "".join(f"<p>{for_screen(line)}</p>" for line in lines)


def bullets(lines: Iterable[object], title: str = "") -> str:
    """A list, with a heading if it has one."""
    head = f"<h3>{escaped(title)}</h3>" if title else ""
    return f"{head}<ul>{''.join(f'<li>{for_screen(line)}</li>' for line in lines)}</ul>"
