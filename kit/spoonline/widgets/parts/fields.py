"""The fields, buttons and figures of the forms, each with its label, and where they stand."""

import tomllib
from collections.abc import Callable, Iterable, Sequence
from importlib.resources import files
from operator import attrgetter
from typing import Any

import ipywidgets as w
from markupsafe import Markup

from spoonline.figures.drawn import Drawn
from spoonline.measures.errors import KitchenError
from spoonline.recipes import Version
from spoonline.widgets.parts.markup import download, notes, tag
from spoonline.widgets.parts.rows_table import RowsTable


class Message(w.HTML):
    """A line of text that a screen reader announces when it changes."""

    def __init__(self, role: str = "", css: str = "") -> None:
        super().__init__("")
        self._role, self._css = role, css
        self.say("")

    def say(self, text: str, *, markup: str = "") -> None:
        """Show escaped text, and optionally trusted markup after it."""
        made = tag("div", text, Markup(markup), role=self._role, class_=self._css)
        self.value = made if text or markup or self._role else ""

    def tell(self, words: Callable[[], object], *fields: w.Widget) -> None:
        """Say the words that come of what was typed into these fields, if words come of it; what is wrong with it marks them as wrong."""
        wrong = ""
        try:
            made = words()
            self.say(made if isinstance(made, str) else "")
        except KitchenError as err:
            # beside the field it came from
            wrong = str(err)
            self.say("", markup=tag("span", wrong, class_="sl-wrong"))
        quoted = [field for field in fields if repr(field.value) in wrong] or fields
        for field in fields:
            marked(field, "sl-invalid", wrong and field in quoted)


def marked(field: w.Widget, css: str, there: object) -> None:
    """Mark a field, or no more; the page tells who hears it, and where it is said what is wrong."""
    (field.add_class if there else field.remove_class)(css)


def blank(*parts: w.Widget) -> None:
    """Show nothing there: of what cannot be worked out now, nothing of before stays."""
    for part in parts:
        part.say("") if isinstance(part, Message) else part.set_trait("value", "")


def text_field(label: str, value: str = "", hint: str = "", *, live: bool = False) -> w.Text:
    """A labelled text field; it speaks on Enter and on leaving, or with ``live`` while one types."""
    return w.Text(value=value, placeholder=hint, continuous_update=live, description=label)


def text_area(label: str, value: str = "", hint: str = "", *, rows: int = 10) -> w.Textarea:
    """A labelled field of several lines; it speaks on leaving."""
    return w.Textarea(value=value, placeholder=hint, rows=rows, continuous_update=False, description=label)


def choice(label: str, options: Iterable[Any] = (), value: Any = None) -> w.Dropdown:
    """A labelled list to choose from."""
    chosen = {} if value is None else {"value": value}  # else the first
    return w.Dropdown(options=[*options], **chosen, description=label)


def rows_table(label: str, columns: list[str], **more: Any) -> RowsTable:
    """A table to type into, two rows blank."""
    return RowsTable(label=label, columns=columns, rows=[[""] * len(columns)] * 2, **more)


def labelled(kind: type[w.Widget], **usual: Any) -> Callable[..., w.Widget]:
    """What makes a widget of this kind with its label."""
    return lambda label, **given: kind(description=label, **usual | given)


KINDS: dict[str, Callable[..., w.Widget]] = {
    **{made.__name__: made for made in (text_field, text_area, choice, rows_table)},
    # speaks when it is let go, or by "continuous_update" while it moves
    "slider": labelled(w.FloatSlider, readout_format=".1f", continuous_update=False),
    "file_field": labelled(w.FileUpload, multiple=False),
    "tick": labelled(w.Checkbox, indent=False),
    "toggles": labelled(w.ToggleButtons),
}


def _settled(told: Any) -> Any:
    """A list of a table as a value of a choice, which two can be compared by."""
    return tuple(map(_settled, told)) if isinstance(told, list) else told


ACTS = ("act", "of", "show")
FORMS = tomllib.loads((files("spoonline.widgets.parts") / "forms.toml").read_text(encoding="utf-8"))


def declared(form: w.Widget, *groups: str, **options: Iterable[Any]) -> list[w.Widget]:
    """Give a form the fields that ``forms.toml`` declares in these groups, each under its name there.

    Parameters
    ----------
    form : Widget
        A panel, or a part that has its ``_panel``.
    *groups : str
    **options : iterable
        What can be chosen, by the name of the field, where only the logbook or a room knows it.

    Returns
    -------
    list of Widget
        In the order of the table.
    """
    panel, found = getattr(form, "_panel", form), []
    for name, told in (each for group in groups for each in FORMS[group].items()):
        (kind, label), *rest = told.items()
        # what a button does is told by its name in the form
        given = {key: attrgetter(each)(form) if key in ACTS else _settled(each) for key, each in rest}
        make = KINDS.get(kind) or getattr(panel, kind)
        made = make(label, **given | ({"options": options[name]} if name in options else {}))
        made.always = getattr(made, "options", ())
        setattr(form, name, made)
        found.append(made)
    return found


def watch(act: Callable[[Any], Any], *fields: w.Widget) -> None:
    """Do this whenever one of these fields changes."""
    for field in fields:
        field.observe(act, "value")


def appear(there: object, *parts: w.Widget) -> None:
    """Show these parts of the form, or hide them."""
    for part in parts:
        part.layout.display = "" if there else "none"


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


class FigureBox(w.VBox):
    """Shows a figure, and gives its files when asked.

    Parameters
    ----------
    name : str
        Of the files, without ending.
    marked : bool, optional
        Whether a line moves over the picture, such as one at a slider's place. The slider then stands right below, and the panel
        gives ``along``, the files, a place of their own.
    """

    def __init__(self, name: str, *, marked: bool = False) -> None:
        self.name = name
        self._drawn: Drawn | None = None
        self.picture, self.files, self.over = w.HTML(), w.HTML(), w.HTML().add_class("sl-mark")
        self.take = button("Get this figure as a file", self._give)
        self.along = w.VBox([self.take, self.files])
        plot = w.VBox([self.picture, self.over]).add_class("sl-plot")
        super().__init__([plot] if marked else [plot, self.along])
        self.show(None)

    def mark(self, x: float, text: str) -> None:
        """Put the line at ``x``, with a word beside it; where that lies outside there is none."""
        marks = []
        for name, narrow in (("sl-at-wide", False), ("sl-at-narrow", True)):
            line = self._drawn.upright(x, narrow) if self._drawn is not None else None
            if line is not None:
                left, bottom, top = (100 * each for each in line)
                css = f"sl-line {name}{' sl-far' if left > 75 else ''}"
                where = f"left:{left:.3f}%;bottom:{bottom:.2f}%;height:{top - bottom:.2f}%"
                marks.append(tag("div", tag("span", text), class_=css, style=where, aria_hidden="true"))
        self.over.value = tag("div", *marks, class_="sl-place sl-over") if marks else ""

    @property
    def value(self) -> str:
        """The picture as markup; blank where there is none."""
        return str(self.picture.value)

    def show(self, drawn: Drawn | None) -> None:
        """Show a figure in place of the one before; None shows nothing."""
        self._drawn = drawn
        self.picture.value = "" if drawn is None else drawn._repr_html_()
        self.files.value = self.over.value = ""
        appear(drawn, self.take)

    def _give(self, _button: Any = None) -> None:
        if self._drawn is not None:
            png, svg, words = self._drawn.png(dpi=220), self._drawn.svg(), notes([f"In words: {self._drawn.text}"])
            page = download(f"{self.name}.png", "image/png", png, "Download it as PNG, for a page or a slide")
            sharp = download(f"{self.name}.svg", "image/svg+xml", svg, "Download it as SVG, sharp at any size")
            self.files.value = page + sharp + words


def laid_out(form: w.Widget, name: str) -> list[w.Widget]:
    """The parts of a form where the layout of ``forms.toml`` puts them; its places for what is shown are ``form.places`` then."""
    form.places = []
    return [_placed(form, part) for part in FORMS["layout"][name]]


def _placed(form: w.Widget, part: Any) -> w.Widget:
    if isinstance(part, list):
        return row(*(_placed(form, each) for each in part))
    if isinstance(part, str):
        mark, _, text = part.partition(" ")
        if mark in ("#", ">"):
            return heading(text) if mark == "#" else w.HTML(notes([text]))
        place = part.strip("<>()")
        if part.startswith("("):
            setattr(form, place, Message("status", "sl-note"))
        elif part.startswith("<"):
            form.places.append(w.HTML())
            setattr(form, place, form.places[-1])
        return attrgetter(place)(form)
    held = {name: [_placed(form, each) for each in parts] for name, parts in part.items() if isinstance(parts, list)}
    if "figure" in part:
        made = form.figure = FigureBox(part["figure"], marked=part.get("marked", False))
    elif "fold" in part:
        made = folded(part["fold"], *held["parts"])
    elif "buttons" in part:
        made = w.HBox(held["buttons"])
    else:
        made = two(**held, seen=part.get("seen", True)) if "left" in part else w.VBox(held["parts"])
    if "name" in part:
        setattr(form, part["name"], made)
    return made
