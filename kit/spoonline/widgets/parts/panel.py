"""What every form hangs in: one root, one line that says what happened, one line that says what is wrong."""

from __future__ import annotations

import functools
import os
import traceback
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from importlib.resources import files
from typing import Any

import anywidget
import ipywidgets as w
import traitlets
from markupsafe import Markup

from spoonline.logbook import Logbook
from spoonline.measures.errors import KitchenError
from spoonline.widgets.parts.fields import button, close_with_parts
from spoonline.widgets.parts.markup import escaped, fold, tag

LOOK = f"<style>{(files('spoonline.widgets.parts') / 'look.css').read_text(encoding='utf-8')}</style>"
GUARD = (files("spoonline.widgets.parts") / "guard.js").read_text(encoding="utf-8")


class Guard(anywidget.AnyWidget):
    """Keeps single-key notebook shortcuts off the form (``x`` would cut its cell) and gives sliders their name."""

    _esm = traitlets.Unicode(GUARD).tag(sync=True)


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

    def tell(self, words: Callable[[], str]) -> None:
        """Say what comes of what was typed, or what is wrong with it."""
        try:
            self.say(words())
        except KitchenError as err:
            # beside the field it came from
            self.say("", markup=tag("span", err, class_="sl-wrong"))


MESSAGES = "messages"


class Panel(w.VBox):
    """The root of a form.

    Parameters
    ----------
    children : iterable of Widget
        The form, top to bottom; the answer first. ``MESSAGES`` in it marks where the form says what happened (else at the end).
    """

    book: Logbook
    _fills_in = _barred = False

    def __init__(self, children: Iterable[Any]) -> None:
        guard = Guard()
        guard.on_msg(lambda _guard, content, _buffers: self.went_to(str(content.get("dish", ""))))
        form = list(children)
        at = form.index(MESSAGES) if MESSAGES in form else len(form)
        said = [] if self._barred else [self.alert, self.status]
        super().__init__([w.HTML(LOOK), *form[:at], *said, *form[at + 1 :], guard])
        self.add_class("spoonline")

    def __repr__(self) -> str:
        """Say in one sentence how to start the form; a notebook that was not run shows this."""
        what, _, _ = (self.__doc__ or "").partition("\n")
        return f"This form opens by itself; where it does not: Run, Run All Cells. {what}"

    def went_to(self, dish: str) -> None:
        """A link of this dish was followed to another notebook."""

    @functools.cached_property
    def answer(self) -> Message:
        """The answer of the form, in large type."""
        return Message("status", "sl-answer")

    @functools.cached_property
    def status(self) -> Message:
        """The line that says what happened; there before the form is, for parts that speak while it is built."""
        return Message("status")

    @functools.cached_property
    def alert(self) -> Message:
        """The line that says what is wrong."""
        return Message("alert")

    def bar(self, *buttons: w.Widget) -> w.VBox:
        """What stays in view: the answer, the main button, and what the form says. Given last, it comes last to the keyboard."""
        self._barred = True
        return w.VBox([self.answer, w.HBox(buttons), self.alert, self.status]).add_class("sl-bar")

    def guarded(self, act: Callable[[], Any]) -> None:
        """Do what the form is asked; a wrong input is said in the form, and any other fault too, with its details in a fold."""
        self.alert.say("")
        try:
            act()
        except KitchenError as err:
            self.say_wrong(str(err))
        except Exception as err:
            # a fault of ours: the form stays, what was typed stays, and the details are there to send
            details = Markup(escaped("".join(traceback.format_exception(err))[-4000:]))
            sorry = "This went wrong through no fault of yours; what you typed is kept."
            self.alert.say(f"{sorry} Press again, or run the cell again.", markup=fold("Details", tag("pre", details)))
            if os.environ.get("SPOONLINE_RAISE") == "1":
                raise

    def button(self, label: str, act: Callable[[], Any], *, primary: bool = False) -> w.Button:
        """A button of this form, named by a verb of the kitchen."""
        return button(label, lambda _button: self.guarded(act), primary=primary)

    def watch(self, act: Callable[[], Any], *fields: w.Widget, trait: str = "value") -> None:
        """Do this whenever one of these fields changes, unless the form itself is filling them in."""
        for field in fields:
            field.observe(lambda _change: None if self._fills_in else self.guarded(act), trait)

    @contextmanager
    def filling_in(self) -> Iterator[None]:
        """While the form fills in its own fields, nothing that watches them is done."""
        before, self._fills_in = self._fills_in, True
        try:
            yield
        finally:
            self._fills_in = before

    def begin(self, dishes: w.Dropdown, chosen: Callable[[], Any]) -> None:
        """Show the dish that stands chosen, and each that is chosen later; where there is none, say where to begin."""
        self.watch(chosen, dishes)
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
        close_with_parts(self)
