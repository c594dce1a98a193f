"""The fields and buttons of the forms, each with its label."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import ipywidgets as w

from spoonline.recipes import Version
from spoonline.widgets.parts.markup import tag


def _usual(label: str, width: str = "34rem") -> dict[str, Any]:
    """The look of every labelled field."""
    return {
        "description": label, "style": {"description_width": "13rem"}, "layout": w.Layout(width=f"min({width}, calc(100% - 6px))"),
    }  # fmt: skip


def text_field(label: str, value: str = "", hint: str = "", *, live: bool = False, width: str = "34rem") -> w.Text:
    """A labelled text field; it speaks on Enter and on leaving, or with ``live`` while one types."""
    return w.Text(value=value, placeholder=hint, continuous_update=live, **_usual(label, width))


def text_area(label: str, value: str = "", hint: str = "", *, rows: int = 14, width: str = "54rem") -> w.Textarea:
    """A labelled field of several lines; it speaks on leaving."""
    made = w.Textarea(value=value, placeholder=hint, rows=rows, continuous_update=False, **_usual(label, width))
    made.layout.height = f"{1.4 * rows + 0.5:g}rem"
    return made


def choice(label: str, options: Iterable[Any], value: Any = None) -> w.Dropdown:
    """A labelled list to choose from."""
    chosen = {} if value is None else {"value": value}  # else the first
    return w.Dropdown(options=list(options), **chosen, **_usual(label))


def file_field(label: str, endings: str) -> w.FileUpload:
    """A button that takes one file with one of these endings."""
    return w.FileUpload(accept=endings, multiple=False, description=label, layout=as_wide_as_its_words())


def as_wide_as_its_words() -> w.Layout:
    """The layout of a button."""
    return w.Layout(width="auto", align_self="flex-start")


def tick(label: str, value: bool = False) -> w.Checkbox:
    """A labelled box to tick."""
    return w.Checkbox(value=value, description=label, indent=False, layout=w.Layout(width="auto"))


def watch(act: Callable[[Any], Any], *fields: w.Widget) -> None:
    """Do this whenever one of these fields changes."""
    for field in fields:
        field.observe(act, "value")


def appear(widget: w.Widget, there: object) -> None:
    """Show a part of the form, or hide it."""
    widget.layout.display = "" if there else "none"


def put_in(box: w.Box, parts: Iterable[w.Widget]) -> None:
    """Put parts into a box in place of those before, which are closed."""
    old, box.children = box.children, tuple(parts)
    for each in old:
        close_with_parts(each)


def close_with_parts(widget: w.Widget) -> None:
    """Close a part of a form with everything in it."""
    for child in getattr(widget, "children", ()):
        close_with_parts(child)
    widget.close()


def fill(field: w.Dropdown, options: Iterable[tuple[str, Any]], chosen: Any = None) -> None:
    """Offer these; the one to choose, or the one chosen so far, is chosen where it is among them, else the first."""
    pairs, chosen = list(options), field.value if chosen is None else chosen
    if list(field.options) != pairs:
        field.options = pairs
    if chosen in [value for _, value in pairs]:
        field.value = chosen
    elif pairs and field.index is None:  # of a list that was empty nothing is chosen by itself
        field.index = 0


def fill_versions(field: w.Dropdown, versions: Sequence[Version], chosen: int) -> None:
    """Offer the versions of a recipe, each with its note, and choose one."""
    fill(field, [(f"{each.number}: {each.note or 'no note'}"[:60], each.number) for each in versions], chosen)


def button(label: str, on_press: Callable[[Any], Any], *, primary: bool = False) -> w.Button:
    """A button named by a verb of the kitchen."""
    made = w.Button(description=label, button_style="primary" if primary else "", layout=as_wide_as_its_words())
    made.on_click(on_press)
    return made


def slider(label: str, value: float, low: float, high: float, step: float, *, live: bool = False) -> w.FloatSlider:
    """A labelled slider; it speaks when it is let go, or with ``live`` while it moves."""
    look = {"readout_format": ".1f", **_usual(label, "44rem")}
    return w.FloatSlider(value=value, min=low, max=high, step=step, continuous_update=live, **look)


def row(*parts: w.Widget) -> w.HBox:
    """Fields side by side, each below its label, as far as the page is wide."""
    made = w.HBox(parts)
    made.add_class("sl-row")
    return made


def heading(text: str) -> w.HTML:
    """A heading inside a form."""
    return w.HTML(tag("h3", text))
