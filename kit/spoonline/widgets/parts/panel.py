"""What every form hangs in: one root, one line that says what happened, one line that says what is wrong."""

from __future__ import annotations

import base64
import functools
import html
import json
import os
import traceback
from collections.abc import Callable, Iterable, Sequence
from importlib.resources import files
from typing import Any, TypeVar

import anywidget
import ipywidgets as w
import traitlets
from markupsafe import Markup

from spoonline.measures.errors import KitchenError
from spoonline.measures.local import localised
from spoonline.recipes import Version

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


class Line(w.HTML):
    """A line of text that a screen reader is told about when it changes."""

    def __init__(self, role: str = "", css: str = "") -> None:
        super().__init__("")
        self._role, self._css = role, css

    def say(self, text: str, *, markup: str = "") -> None:
        """Show escaped text, and optionally trusted markup after it."""
        role = f' role="{self._role}"' if self._role else ""
        css = f' class="{self._css}"' if self._css else ""
        self.value = f"<div{role}{css}>{said(text)}{markup}</div>" if text or markup or self._role else ""

    def wrong(self, text: str) -> None:
        """Say beside a field what is wrong with it."""
        self.say("", markup=f"<span class='sl-wrong'>{said(text)}</span>")


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
            details = escaped("".join(traceback.format_exception(err))[-4000:])
            fold = f"<details><summary>Details</summary><pre>{details}</pre></details>"
            self.alert.say(
                "This went wrong through no fault of yours; what you typed is kept. Press again, or run the cell again.",
                markup=fold,
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
        place = form.index(SAID) if SAID in form else len(form)
        super().__init__([w.HTML(LOOK), *form[:place], self.alert, self.status, *form[place + 1 :], guard])
        self.add_class("spoonline")

    def __repr__(self) -> str:
        """Say in one sentence how to start the form; a notebook that was not run shows this."""
        return f"spoonline: {self.purpose}. Choose Run, then Run All Cells, to use it."

    def went_to(self, dish: str) -> None:
        """A link of this dish was followed to another notebook."""

    def begin(self, dishes: w.Dropdown, chosen: Callable[[], Any]) -> None:
        """Show the dish that stands chosen; where there is none, say where to begin."""
        if dishes.options:
            chosen()
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


def text_field(label: str, value: str = "", hint: str = "", *, live: bool = False) -> w.Text:
    """A labelled text field; it speaks on Enter and on leaving, or with ``live`` while one types."""
    return w.Text(
        value=value, description=label, placeholder=hint, continuous_update=live,
        style={"description_width": "13rem"}, layout=w.Layout(width="min(34rem, calc(100% - 6px))"),
    )  # fmt: skip


def choice(label: str, options: Iterable[Any], value: Any = None) -> w.Dropdown:
    """A labelled list to choose from."""
    options = list(options)
    first = options[0] if options else None
    start = value if value is not None else (first[1] if isinstance(first, tuple) else first)
    return w.Dropdown(
        options=options, value=start, description=label,
        style={"description_width": "13rem"}, layout=w.Layout(width="min(34rem, calc(100% - 6px))"),
    )  # fmt: skip


def tick(label: str, value: bool = False) -> w.Checkbox:
    """A labelled box to tick."""
    return w.Checkbox(value=value, description=label, indent=False, layout=w.Layout(width="auto"))


def fill_versions(field: w.Dropdown, versions: Sequence[Version], chosen: int) -> None:
    """Offer the versions of a recipe, each with its note, and choose one."""
    field.options = [(f"{each.number}: {each.note or 'no note'}"[:60], each.number) for each in versions]
    field.value = chosen


def button(label: str, on_press: Callable[[Any], Any], *, primary: bool = False) -> w.Button:
    """A button named by a verb of the kitchen."""
    made = w.Button(
        description=label,
        button_style="primary" if primary else "",
        layout=w.Layout(width="auto", align_self="flex-start"),
    )
    made.on_click(on_press)
    return made


def table(headers: Iterable[tuple[str, bool]], rows: Iterable[Iterable[object]], caption: str = "") -> str:
    """An HTML table, every cell escaped; the flag beside a header says whether its column holds numbers."""
    heads = list(headers)
    # On a narrow page a table of many columns is read row by row, so each cell carries its heading.
    many = len(heads) > 5
    top = "".join(f"<th scope='col'{_num(number)}>{escaped(name)}</th>" for name, number in heads)

    def cell(place: int, what: object) -> str:
        label = f" data-label='{escaped(heads[place][0])}'" if many else ""
        tag, css = ("th", " scope='row'") if place == 0 else ("td", _css(heads[place][1], what))
        return f"<{tag}{css}{label}>{said(what)}</{tag}>"

    body = "".join("<tr>" + "".join(cell(place, what) for place, what in enumerate(row)) + "</tr>" for row in rows)
    title = f"<caption>{said(caption)}</caption>" if caption else ""
    kind = " class='sl-many'" if many else ""
    return f"<table{kind}>{title}<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def _num(number: bool) -> str:
    return " class='num'" if number else ""


def _css(number: bool, cell: object) -> str:
    """A day or a short word never breaks over two lines."""
    return _num(number) or (" class='tight'" if 0 < len(str(cell)) <= 10 else "")


def download(name: str, kind: str, content: str | bytes, label: str) -> str:
    """A link that gives a file to the browser without any server."""
    data = base64.b64encode(content.encode() if isinstance(content, str) else content).decode()
    return f'<p><a download="{escaped(name)}" href="data:{kind};base64,{data}">{said(label)}</a></p>'


def link(notebook: str, label: str, dish: str = "") -> Markup:
    """A link to another notebook; the lab opens it beside this one, any other page follows it as it is."""
    path = escaped(f"{notebook}.ipynb")
    # Heard out of its row, a link still says which dish it is about.
    about = f' data-dish="{escaped(dish)}" aria-label="{said(label)}: {escaped(dish)}"' if dish else ""
    return Markup(
        f'<a href="{path}" data-commandlinker-command="docmanager:open" '
        f'data-commandlinker-args="{escaped(json.dumps({"path": f"{notebook}.ipynb"}))}"{about}>{said(label)}</a>'
    )


def heading(text: str) -> w.HTML:
    """A heading inside a form."""
    return w.HTML(f"<h3>{escaped(text)}</h3>")
