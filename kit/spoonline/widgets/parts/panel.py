"""What every form hangs in: one root, one line that says what happened, one line that says what is wrong."""

from __future__ import annotations

import base64
import functools
import html
import json
import os
import traceback
from collections.abc import Callable, Iterable, Mapping, Sequence
from importlib.resources import files
from numbers import Number
from typing import TYPE_CHECKING, Any, TypeVar

import anywidget
import ipywidgets as w
import traitlets
from markupsafe import Markup

from spoonline.measures.errors import KitchenError
from spoonline.measures.local import localised
from spoonline.measures.ranges import Range
from spoonline.recipes import Version

if TYPE_CHECKING:
    import pandas as pd

LOOK = f"<style>{(files('spoonline.widgets.parts') / 'look.css').read_text(encoding='utf-8')}</style>"
GUARD = (files("spoonline.widgets.parts") / "guard.js").read_text(encoding="utf-8")


class Guard(anywidget.AnyWidget):
    """Keeps single-key notebook shortcuts off the form (``x`` would cut its cell) and gives sliders their name."""

    _esm = traitlets.Unicode(GUARD).tag(sync=True)


def escaped(text: object) -> str:
    """Text made harmless for HTML."""
    return html.escape(str(text), quote=True)


def said(text: object) -> str:
    """Text of ours made ready to show: in the kitchen's decimal mark, harmless for HTML; markup of ours stays markup."""
    return str(text) if isinstance(text, Markup) else escaped(localised(str(text)))


def tag(name: str, *inside: object, **attributes: object) -> Markup:
    """An element of a page: text inside is made harmless, markup stays; a blank attribute is left out.

    >>> tag("th", "Dose, g/L", scope="col", class_="")
    Markup('<th scope="col">Dose, g/L</th>')
    """
    marks = "".join(
        f' {key.strip("_").replace("_", "-")}="{escaped(value)}"' for key, value in attributes.items() if value
    )
    return Markup(f"<{name}{marks}>{''.join(map(said, inside))}</{name}>")


def notes(texts: Iterable[object], css: str = "sl-said") -> Markup:
    """Sentences in small type, one a line; with ``sl-wrong``, what is wrong or must be asked."""
    return Markup("").join(tag("div", text, class_=css) for text in texts)


def bullets(texts: Iterable[object]) -> Markup:
    """Sentences as a list."""
    return tag("ul", *(tag("li", text) for text in texts))


def fold(summary: str, *inside: object) -> Markup:
    """Something folded away under its summary."""
    return tag("details", tag("summary", summary), *inside)


class Line(w.HTML):
    """A line of text that a screen reader is told about when it changes."""

    def __init__(self, role: str = "", css: str = "") -> None:
        super().__init__("")
        self._role, self._css = role, css

    def say(self, text: str, *, markup: str = "") -> None:
        """Show escaped text, and optionally trusted markup after it."""
        made = tag("div", text, Markup(markup), role=self._role, class_=self._css)
        self.value = made if text or markup or self._role else ""

    def wrong(self, text: str) -> None:
        """Say beside a field what is wrong with it."""
        self.say("", markup=tag("span", text, class_="sl-wrong"))

    def tell(self, words: Callable[[], str]) -> None:
        """Say what comes of what was typed, or what is wrong with it."""
        try:
            self.say(words())
        except KitchenError as err:
            self.wrong(str(err))


Method = TypeVar("Method", bound=Callable[..., Any])


def shown(method: Method) -> Method:
    """Every callback of a panel: a wrong input is said in the form; anything else too, with its details in a fold."""

    @functools.wraps(method)
    def wrapper(self: Panel, *args: Any, **kwargs: Any) -> Any:
        try:
            result = method(self, *args, **kwargs)
        except KitchenError as err:
            self.say_wrong(str(err))
            return None
        except Exception as err:
            details = Markup(escaped("".join(traceback.format_exception(err))[-4000:]))
            self.alert.say(
                "This went wrong through no fault of yours; what you typed is kept. Press again, or run the cell again.",
                markup=fold("Details", tag("pre", details)),
            )
            if os.environ.get("SPOONLINE_RAISE") == "1":
                raise
            return None
        return result

    return wrapper  # type: ignore[return-value]


SAID = "said here"


class Panel(w.VBox):
    """The root of a form.

    Parameters
    ----------
    children : iterable of Widget
        The form, top to bottom; the answer first. ``SAID`` in it marks where the form says what happened (else at the end).
    """

    purpose = "a form"

    def __init__(self, children: Iterable[Any]) -> None:
        self.status = Line("status")
        self.alert = Line("alert")
        self.status.say("")
        self.alert.say("")
        guard = Guard()
        guard.on_msg(lambda _guard, content, _buffers: self.went_to(str(content.get("dish", ""))))
        form = list(children)
        at = form.index(SAID) if SAID in form else len(form)
        super().__init__([w.HTML(LOOK), *form[:at], self.alert, self.status, *form[at + 1 :], guard])
        self.add_class("spoonline")

    def __repr__(self) -> str:
        """Say in one sentence how to start the form; a notebook that was not run shows this."""
        return f"spoonline: {self.purpose}. Choose Run, then Run All Cells, to use it."

    def went_to(self, dish: str) -> None:
        """A link of this dish was followed to another notebook."""

    @shown
    def guarded(self, act: Callable[[], Any]) -> Any:
        """Do what a part of the form asks; what goes wrong is said in the form."""
        return act()

    def button(self, label: str, act: Callable[[], Any], *, primary: bool = False) -> w.Button:
        """A button of this form, named by a verb of the kitchen."""
        return button(label, lambda _button: self.guarded(act), primary=primary)

    def watch(self, act: Callable[[], Any], *fields: w.Widget, trait: str = "value") -> None:
        """Do this whenever one of these fields changes."""
        for field in fields:
            field.observe(lambda _change: self.guarded(act), trait)

    def begin(self, dishes: w.Dropdown, chosen: Callable[[], Any]) -> None:
        """Show the dish that stands chosen; where there is none, say where to begin."""
        if dishes.options:
            self.guarded(chosen)
        else:
            self.say_wrong("This logbook holds no recipe yet; save one in notebook 0 first.")

    def say(self, text: str) -> None:
        """Say what happened, and clear what was wrong."""
        self.alert.say("")
        self.status.say(text)

    def say_wrong(self, text: str) -> None:
        """Say what is wrong and what to do; what was typed stays."""
        self.status.say("")
        self.alert.say(text)

    def close_all(self) -> None:
        """Close the form with everything in it."""
        _close(self)


def _close(widget: w.Widget) -> None:
    for child in getattr(widget, "children", ()):
        _close(child)
    widget.close()


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
    options = list(options)
    first = options[0] if options else None
    start = value if value is not None else (first[1] if isinstance(first, tuple) else first)
    return w.Dropdown(options=options, value=start, **_usual(label))


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


def fill_versions(field: w.Dropdown, versions: Sequence[Version], chosen: int) -> None:
    """Offer the versions of a recipe, each with its note, and choose one."""
    field.options = [(f"{each.number}: {each.note or 'no note'}"[:60], each.number) for each in versions]
    field.value = chosen


def button(label: str, on_press: Callable[[Any], Any], *, primary: bool = False) -> w.Button:
    """A button named by a verb of the kitchen."""
    made = w.Button(description=label, button_style="primary" if primary else "", layout=as_wide_as_its_words())
    made.on_click(on_press)
    return made


def frame_table(
    frame: pd.DataFrame | Sequence[Mapping[str, object]], caption: str = "", formats: Mapping[str, str] | None = None
) -> Markup:
    """A frame as an HTML table, numbers and ranges to the right; nothing where it has no rows.

    Parameters
    ----------
    frame : DataFrame, or sequence of mappings
        One row a mapping; the names of the columns are the headings, units in them. Text is shown as it is, a missing figure is blank.
    caption : str
    formats : mapping of str to str
        How the numbers of a column are written, such as ``{"Dose, g/L": ".1f"}``.
    """
    import pandas as pd

    data, forms = pd.DataFrame(frame, dtype=object), formats or {}
    if data.empty:
        return Markup("")
    heads = [(str(name), any(isinstance(cell, (Number, Range)) for cell in data[name])) for name in data]
    rows = [[_written(cell, forms.get(str(name), "")) for name, cell in row.items()] for row in data.to_dict("records")]
    return Markup(table(heads, rows, caption))


def _written(cell: Any, form: str) -> Any:
    import pandas as pd

    if isinstance(cell, (str, Range)):
        return format(cell, form) if isinstance(cell, Range) else cell
    if pd.isna(cell):
        return ""
    return format(cell, form or ("g" if isinstance(cell, float) else "")) if isinstance(cell, Number) else cell


def table(headers: Iterable[tuple[str, bool]], rows: Iterable[Iterable[object]], caption: str = "") -> str:
    """An HTML table, every cell escaped; the flag beside a header says whether its column holds numbers."""
    heads = list(headers)
    # On a narrow page a table of many columns is read row by row, so each cell carries its heading.
    many = len(heads) > 5

    def cell(number: bool, name: str, what: object, first: bool) -> Markup:
        # A day or a short word never breaks over two lines.
        css = "num" if number else "tight" if 0 < len(str(what)) <= 10 else ""
        label = name if many else ""
        return (
            tag("th", what, scope="row", data_label=label) if first else tag("td", what, class_=css, data_label=label)
        )

    def row(cells: Iterable[object]) -> Markup:
        pairs = zip(heads, cells, strict=True)
        return tag("tr", *(cell(number, name, what, n == 0) for n, ((name, number), what) in enumerate(pairs)))

    top = tag("tr", *(tag("th", name, scope="col", class_="num" if number else "") for name, number in heads))
    title = tag("caption", caption) if caption else ""
    body = tag("tbody", *map(row, rows))
    return str(tag("table", title, tag("thead", top), body, class_="sl-many" if many else ""))


def download(name: str, kind: str, content: str | bytes, label: str) -> Markup:
    """A link that gives a file to the browser without any server."""
    data = base64.b64encode(content.encode() if isinstance(content, str) else content).decode()
    return tag("p", tag("a", label, download=name, href=f"data:{kind};base64,{data}"))


def link(notebook: str, label: str, dish: str = "") -> Markup:
    """A link to another notebook; the lab opens it beside this one, any other page follows it as it is."""
    path = f"{notebook}.ipynb"
    return tag(
        "a", label, href=path, data_commandlinker_command="docmanager:open", data_commandlinker_args=json.dumps({"path": path}),
        data_dish=dish,
        # Heard out of its row, a link still says which dish it is about.
        aria_label=f"{label}: {dish}" if dish else "",
    )  # fmt: skip


def heading(text: str) -> w.HTML:
    """A heading inside a form."""
    return w.HTML(tag("h3", text))
