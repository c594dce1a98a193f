"""The fields and buttons of the forms, each with its label."""

import tomllib
from collections.abc import Callable, Iterable, Sequence
from importlib.resources import files
from typing import Any

import ipywidgets as w

from spoonline.recipes import Version
from spoonline.widgets.parts.markup import tag


def text_field(label: str, value: str = "", hint: str = "", *, live: bool = False) -> w.Text:
    """A labelled text field; it speaks on Enter and on leaving, or with ``live`` while one types."""
    return w.Text(value=value, placeholder=hint, continuous_update=live, description=label)


def text_area(label: str, value: str = "", hint: str = "", *, rows: int = 10) -> w.Textarea:
    """A labelled field of several lines; it speaks on leaving."""
    return w.Textarea(value=value, placeholder=hint, rows=rows, continuous_update=False, description=label)


def choice(label: str, options: Iterable[Any] = (), value: Any = None) -> w.Dropdown:
    """A labelled list to choose from."""
    chosen = {} if value is None else {"value": value}  # else the first
    pairs = [tuple(each) if isinstance(each, list) else each for each in options]
    return w.Dropdown(options=pairs, **chosen, description=label)


def file_field(label: str, endings: str) -> w.FileUpload:
    """A button that takes one file with one of these endings."""
    return w.FileUpload(accept=endings, multiple=False, description=label)


def slider(label: str, value: float, low: float, high: float, step: float, *, live: bool = False) -> w.FloatSlider:
    """A labelled slider; it speaks when it is let go, or with ``live`` while it moves."""
    given = {"description": label, "readout_format": ".1f", "continuous_update": live}
    return w.FloatSlider(value=value, min=low, max=high, step=step, **given)


def tick(label: str, value: bool = False) -> w.Checkbox:
    """A labelled box to tick."""
    return w.Checkbox(value=value, description=label, indent=False)


KINDS: dict[str, Callable[..., w.Widget]] = {
    made.__name__: made for made in (text_field, text_area, choice, slider, file_field, w.HTML)
}
FORMS = tomllib.loads((files("spoonline.widgets.parts") / "forms.toml").read_text(encoding="utf-8"))


def declared(form: w.Widget, group: str, **options: Iterable[Any]) -> list[w.Widget]:
    """Give a form the fields that ``forms.toml`` declares in a group, each under its name there.

    Parameters
    ----------
    form : Widget
    group : str
    **options : iterable
        What can be chosen, by the name of the field, where only the logbook or a room knows it.

    Returns
    -------
    list of Widget
        In the order of the table.
    """
    for name, told in FORMS[group].items():
        (kind, label), *rest = told.items()
        made = KINDS[kind](label, **dict(rest) | ({"options": options[name]} if name in options else {}))
        made.always = getattr(made, "options", ())
        setattr(form, name, made)
    return [getattr(form, name) for name in FORMS[group]]


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


def fill(field: w.Dropdown, options: Iterable[str | tuple[str, Any]], chosen: Any = None) -> None:
    """Offer these, after what its form declares; the one to choose, or the one chosen so far, is chosen where it is among them, else the
    first."""
    pairs = [each if isinstance(each, tuple) else (each, each) for each in (*getattr(field, "always", ()), *options)]
    chosen = field.value if chosen is None else chosen
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
    made = w.Button(description=label, button_style="primary" if primary else "")
    made.on_click(on_press)
    return made


def row(*parts: w.Widget) -> w.HBox:
    """Fields side by side, each below its label, as far as the page is wide."""
    return w.HBox(parts).add_class("sl-row")


def two(left: Iterable[w.Widget], right: Iterable[w.Widget], *, seen: bool = True) -> w.HBox:
    """What is typed, beside what comes of it, which stays in view (or not); on a narrow page one below the other."""
    return w.HBox([w.VBox([*left]), w.VBox([*right])]).add_class("sl-seen" if seen else "sl-two")


def folded(title: str, *parts: w.Widget) -> w.Accordion:
    """What is rarely changed, folded away under its title."""
    return w.Accordion([w.VBox(parts)], titles=(title,))


def heading(text: str) -> w.HTML:
    """A heading inside a form."""
    return w.HTML(tag("h2", text))
