"""What every form hangs in: one root, one line that says what happened, one line that says what is wrong."""

from __future__ import annotations

import base64
import functools
import html
import json
import os
import traceback
from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

import anywidget
import ipywidgets as w
import traitlets

from spoonline.measures.errors import KitchenError
from spoonline.measures.local import localised
from spoonline.recipes import Version

LOOK = """<style>
.spoonline { max-width: 62rem; }
.spoonline .widget-label { min-width: 13rem; width: auto; white-space: normal; line-height: 1.25; }
.spoonline input, .spoonline select, .spoonline button { min-height: 2.4rem; font-size: 1rem; }
.spoonline button { width: auto; padding: 0 1rem; }
.spoonline .widget-text, .spoonline .widget-dropdown { min-height: 2.7rem; }
.spoonline :is(button, input, select, a, [role=slider]):focus-visible { outline: 3px solid #0072b2; outline-offset: 1px; }
.spoonline .sl-answer .sl-said { font-size: 1rem; }
.spoonline .sl-answer { font-size: 1.25rem; line-height: 1.4; }
.spoonline .sl-said { color: var(--jp-ui-font-color2, #5a5a5a); line-height: 1.4; }
.spoonline .sl-wrong, .spoonline [role=alert] { color: #a23b00; font-weight: 600; line-height: 1.4; }
.spoonline .sl-wrong::before { content: "! "; }
.spoonline [role=alert]:not(:empty) { border: 2px solid #a23b00; padding: .4rem .7rem; margin: .3rem 0; }
.spoonline [role=status]:not(:empty):not(.sl-said) { border-left: 4px solid #0072b2; padding: .3rem .7rem; margin: .3rem 0; }
.spoonline table { border-collapse: collapse; margin: .4rem 0; line-height: 1.35; min-width: 26rem; }
.spoonline caption { text-align: left; padding: .2rem 0; color: var(--jp-ui-font-color2, #5a5a5a); }
.spoonline th, .spoonline td { padding: .25rem .7rem .25rem 0; border-bottom: 1px solid #d0d0d0; text-align: left; vertical-align: top;
  font-weight: normal; white-space: normal; }
.spoonline thead th { color: var(--jp-ui-font-color2, #5a5a5a); }
.spoonline .num { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }
@media (max-width: 900px) {
  .spoonline :is(.widget-text, .widget-dropdown, .widget-textarea) { flex-direction: column; align-items: stretch; height: auto; width: auto; }
  .spoonline :is(.widget-text, .widget-dropdown, .widget-textarea, .widget-slider) > .widget-label { width: auto !important; min-width: 0;
    text-align: left; height: auto; }
  .spoonline :is(.widget-text, .widget-dropdown, .widget-textarea) > :is(input, select, textarea) { width: 100%; flex: none; }
  .spoonline table { min-width: 0; display: block; overflow-x: auto; }
}
@media (pointer: coarse) {
  .spoonline input, .spoonline select, .spoonline button, .spoonline a { min-height: 2.9rem; font-size: 1.1rem; }
  .spoonline .widget-label { font-size: 1.05rem; }
}
[data-jp-theme-light="false"] .spoonline .sl-wrong,
[data-jp-theme-light="false"] .spoonline [role=alert] { color: #ffb38a; border-color: #ffb38a; }
[data-jp-theme-light="false"] .spoonline a { color: #8ecbff; }
[data-jp-theme-light="false"] .spoonline th, [data-jp-theme-light="false"] .spoonline td { border-color: #5a5a5a; }
[data-jp-theme-light="false"] .spoonline :is(button, input, select, a, [role=slider]):focus-visible { outline-color: #56b4e9; }
.spoonline .sl-plot { position: relative; width: fit-content; max-width: 100%; overflow: hidden; }
.spoonline .sl-plot > * { margin: 0; }
.spoonline .sl-plot img { display: block; }
.spoonline .sl-plot > .sl-mark { position: absolute; inset: 0; width: 100%; height: 100%; pointer-events: none; }
.spoonline .sl-plot > .sl-mark > .widget-html-content { position: absolute; inset: 0; }
.spoonline h3 { margin: 1rem 0 .2rem; font-size: 1.1rem; }
</style>"""

GUARD = """
function render({ model, el }) {
  el.style.display = "none";
  const focusable = "[tabindex], button, a[href], .widget-readout, input, select, textarea";
  let root = null, frame = 0;
  const mark = () => {
    frame = 0;
    if (!root) { root = el.closest(".spoonline"); if (root) observer.observe(root, { childList: true, subtree: true }); }
    if (!root) return;
    for (const node of root.querySelectorAll(focusable)) node.setAttribute("data-lm-suppress-shortcuts", "true");
    for (const slider of root.querySelectorAll(".widget-slider")) {
      const label = (slider.querySelector(".widget-label") || {}).textContent || "";
      for (const handle of slider.querySelectorAll("[role=slider]")) handle.setAttribute("aria-label", label);
      for (const text of slider.querySelectorAll(".widget-readout")) {
        text.setAttribute("role", "textbox"); text.setAttribute("aria-label", label + ", type a number");
      }
    }
  };
  const later = () => { if (!frame) frame = requestAnimationFrame(mark); };
  const observer = new MutationObserver(later);
  later();
  const timer = setTimeout(later, 300);
  // A link that belongs to a dish tells the kernel which one before the other notebook opens.
  const went = (event) => {
    const link = event.target.closest("a[data-dish]");
    if (link && root && root.contains(link)) model.send({ dish: link.dataset.dish });
  };
  document.addEventListener("click", went, true);
  return () => {
    observer.disconnect(); clearTimeout(timer); cancelAnimationFrame(frame); document.removeEventListener("click", went, true);
  };
}
export default { render };
"""


class Guard(anywidget.AnyWidget):
    """Keeps single-key notebook shortcuts off the form (``x`` would cut its cell) and gives sliders their name."""

    _esm = traitlets.Unicode(GUARD).tag(sync=True)


def escaped(text: object) -> str:
    """Text made harmless for HTML."""
    return html.escape(str(text), quote=True)


def said(text: object) -> str:
    """Text of ours made ready to show: in the kitchen's decimal mark, harmless for HTML."""
    return escaped(localised(str(text)))


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
        style={"description_width": "13rem"}, layout=w.Layout(width="min(34rem, 100%)"),
    )  # fmt: skip


def choice(label: str, options: Iterable[Any], value: Any = None) -> w.Dropdown:
    """A labelled list to choose from."""
    options = list(options)
    first = options[0] if options else None
    start = value if value is not None else (first[1] if isinstance(first, tuple) else first)
    return w.Dropdown(
        options=options, value=start, description=label,
        style={"description_width": "13rem"}, layout=w.Layout(width="min(34rem, 100%)"),
    )  # fmt: skip


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
    top = "".join(f"<th scope='col'{_num(number)}>{escaped(name)}</th>" for name, number in heads)
    body = "".join(
        "<tr>"
        + "".join(
            f"<th scope='row'>{said(cell)}</th>" if place == 0 else f"<td{_num(heads[place][1])}>{said(cell)}</td>"
            for place, cell in enumerate(row)
        )
        + "</tr>"
        for row in rows
    )
    title = f"<caption>{said(caption)}</caption>" if caption else ""
    return f"<table>{title}<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def _num(number: bool) -> str:
    return " class='num'" if number else ""


def download(name: str, kind: str, content: str | bytes, label: str) -> str:
    """A link that gives a file to the browser without any server."""
    data = base64.b64encode(content.encode() if isinstance(content, str) else content).decode()
    return f'<p><a download="{escaped(name)}" href="data:{kind};base64,{data}">{said(label)}</a></p>'


def link(notebook: str, label: str, dish: str = "") -> str:
    """A link to another notebook; the lab opens it beside this one, any other page follows it as it is."""
    path = escaped(f"{notebook}.ipynb")
    about = f' data-dish="{escaped(dish)}"' if dish else ""
    return (
        f'<a href="{path}" data-commandlinker-command="docmanager:open" '
        f'data-commandlinker-args="{escaped(json.dumps({"path": f"{notebook}.ipynb"}))}"{about}>{said(label)}</a>'
    )


def heading(text: str) -> w.HTML:
    """A heading inside a form."""
    return w.HTML(f"<h3>{escaped(text)}</h3>")
