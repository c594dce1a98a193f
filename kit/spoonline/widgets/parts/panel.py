"""What every form hangs in: one root, one line that says what happened, one line that says what is wrong."""

import functools
import os
import threading
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from importlib.resources import files
from typing import Any, TypeVar

import anywidget
import ipywidgets as w
import traitlets
from markupsafe import Markup

from spoonline.logbook import Logbook
from spoonline.measures.errors import KitchenError
from spoonline.pots import Batch
from spoonline.recipes import Kept, Version
from spoonline.widgets.parts.fields import Message, button, close_with_parts, fill, marked
from spoonline.widgets.parts.here import remember
from spoonline.widgets.parts.markup import escaped, fold, tag
from spoonline.widgets.parts.typed import said

LOOK = f"<style>{(files('spoonline.widgets.parts') / 'look.css').read_text(encoding='utf-8')}</style>"
GUARD = (files("spoonline.widgets.parts") / "guard.js").read_text(encoding="utf-8")


class Guard(anywidget.AnyWidget):
    """Keeps single-key notebook shortcuts off the form (``x`` would cut its cell), gives sliders their name, asks every few seconds
    whether anything was saved, and shows that the form is at work."""

    _esm = traitlets.Unicode(GUARD).tag(sync=True)
    busy = traitlets.Bool(False).tag(sync=True)


# What takes longer than this is seen to be at work.
SIGN_SECONDS = 0.3
Act = Callable[[], Any]
AnyKept = TypeVar("AnyKept", bound=Kept)
# What is being done now; long work beside the form belongs to the press that began it.
_ACTING: ContextVar[Act | None] = ContextVar("acting", default=None)


def _fault(of: Act) -> str:
    """What is wrong with what this makes; blank where it can be made."""
    try:
        of()
    except KitchenError as err:
        return str(err)
    return ""


class Panel(w.VBox):
    """The root of a form.

    What is wrong belongs to what was done, and stands until that is cured: until its fields hold something else, or what a button is
    pressed for can be made. What happened stands until something else is done. What others save is heard of (:meth:`changed`).

    Parameters
    ----------
    book : Logbook, optional
    """

    book: Logbook
    _answers_as = "status"  # the role of the answer: a status is announced
    _fills_in = False
    _typed: tuple[w.Widget, ...] = ()  # every field that was there when the form was made
    _dishes: w.Dropdown | None = None
    _chosen: Act
    _refreshed: tuple[Act, ...] = ()
    _seen: tuple[int, ...] = ()

    def __init__(self, book: Logbook | None = None) -> None:
        super().__init__()
        self.add_class("spoonline")
        if book is not None:
            self.book = book
        # the part that lives in the page
        self.guard = Guard()
        self.guard.on_msg(self._heard)
        # the answer in large type, what happened, and what is wrong
        self.answer = Message(self._answers_as, "sl-answer")
        self.status, self.alert = Message("status"), Message("alert")
        # what a fault of something comes of: it is cured when that has changed; a fault of anything else by whatever is done next
        self._states: dict[Any, Act] = {}
        # what is wrong: by what was done, with the state that it came of, and how to ask for that state
        self._wrong: dict[Any, tuple[str, Any, Act | None]] = {}

    def lay(self, *parts: w.Widget) -> None:
        """Fill the form, top to bottom; its :meth:`bar` last."""
        self.children = [w.HTML(LOOK), *parts, self.guard]
        self._hear_from(self)
        self._seen = self._last()

    def _hear_from(self, part: w.Widget) -> None:
        for each in getattr(part, "children", ()):
            self._hear_from(each)
            if each.has_trait("value") and not isinstance(each, w.HTML):
                each.observe(self._mended, "value")
                self._typed += (each,)

    def __repr__(self) -> str:
        """Say in one sentence how to start the form; a notebook that was not run shows this."""
        what, _, _ = (self.__doc__ or "").partition("\n")
        return f"This form opens by itself; where it does not: Run, Run All Cells. {what}"

    def went_to(self, dish: str) -> None:
        """A link of this dish was followed to another notebook."""

    def _heard(self, guard: Guard, content: dict[str, Any], _buffers: Any) -> None:
        if "dish" in content:
            self.went_to(str(content["dish"]))
        else:
            self.look()
            guard.send({"looked": True})

    def _last(self) -> tuple[int, ...]:
        return self.book.last if hasattr(self, "book") else ()

    def look(self) -> None:
        """See what anybody saved since the form was shown; what is typed and what it says stay."""
        said = self.status.value
        self.attempt(self._see)
        self.status.value = said

    def _see(self) -> None:
        if (last := self._last()) != self._seen:
            self.changed()
            self._seen = last

    def changed(self) -> None:
        """The logbook holds something new: its dishes are offered; what a form began with is shown anew, and what is typed stays."""
        if self._dishes is not None:
            before = self._dishes.value
            with self.filling_in():
                fill(self._dishes, [(title, title) for title in self.book.titles()])
            if self._dishes.value != before:
                self.attempt(self._begin)
        for each in self._refreshed:
            self.attempt(each)

    def bar(self, *buttons: w.Widget) -> w.VBox:
        """What stays in view: the answer, the main button, and what the form says. Given last, it comes last to the keyboard."""
        return w.VBox([self.answer, w.HBox(buttons), self.alert, self.status]).add_class("sl-bar")

    def guarded(self, act: Act) -> None:
        """Do what the form is asked; a wrong input is said in the form, and any other fault too, with its details in a fold."""
        self.status.say("")
        for each in [each for each, (_, _, cure) in self._wrong.items() if cure is None]:
            del self._wrong[each]
        self.attempt(act)

    def attempt(self, act: Act) -> None:
        """Do something by itself: as :meth:`guarded`, and what is said of other things stays."""
        first = _ACTING.get() is None
        acting, sign = _ACTING.set(act), threading.Timer(SIGN_SECONDS, self.guard.set_trait, ("busy", True))
        if first:
            sign.start()
        self._wrong.pop(act, None)
        try:
            act()
        except KitchenError as err:
            state = self._states.get(act)
            came_of = state and state()
            self._wrong[act] = str(err), came_of, state if came_of else None
        except Exception as err:
            # a fault of ours: the form stays, what was typed stays, and the details are there to send
            details = Markup(escaped("".join(traceback.format_exception(err))[-4000:]))
            sorry = "This went wrong through no fault of yours; what you typed is kept."
            self.alert.say(f"{sorry} Press again, or run the cell again.", markup=fold("Details", tag("pre", details)))
            if os.environ.get("SPOONLINE_RAISE") == "1":
                raise
            return
        finally:
            _ACTING.reset(acting)
            if first:
                sign.cancel()
                sign.join()
                self.guard.busy = False
        self._mended()

    def _mended(self, _change: Any = None) -> None:
        """Something may have been mended: what still is wrong is said."""
        for act, (_, then, state) in [*self._wrong.items()]:
            now = state() if state else then
            if now != then:
                del self._wrong[act]
                if isinstance(now, str) and now:
                    self._wrong[act] = now, now, state
        said = " ".join(dict.fromkeys(text for text, *_ in self._wrong.values()))
        self.alert.say(said)
        for field in self._typed:
            typed = field.value if isinstance(field.value, str) else ""
            marked(field, "sl-refused", typed and repr(typed) in said)

    def button(self, label: str, act: Act, of: Act | None = None, *, primary: bool = False) -> w.Button:
        """A button of this form, named by a verb of the kitchen; ``of`` makes what ``act`` is about, by which a fault is seen to be cured."""
        if of is not None:
            self._states[act] = functools.partial(_fault, of)
        return button(label, lambda _button: self.guarded(act), primary=primary)

    def take_back(self, label: str, show: Act | None = None) -> "TakeBack":
        """A button that takes back what this form saved last."""
        return TakeBack(self, label, show)

    def watch(self, act: Act, *fields: w.Widget, trait: str = "value") -> None:
        """Do this whenever one of these fields changes, unless the form itself is filling them in."""
        self._states[act] = lambda: [getattr(field, trait) for field in fields]
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

    def begin(self, dishes: w.Dropdown, chosen: Act, *again: Act) -> None:
        """Show the dish that stands chosen, and each that is chosen later; where there is none, say where to begin.

        What others save is shown by what is done ``again``.
        """
        self._dishes, self._chosen, self._refreshed = dishes, chosen, again
        self.watch(self._begin_another, dishes)
        self._states[self._begin] = lambda: (dishes.value, dishes.options)
        self.guarded(self._begin)

    def _begin(self) -> None:
        said.refuse(self._dishes is None or not self._dishes.options, "no dish")
        self._chosen()

    def _begin_another(self) -> None:
        self.begin_anew()
        if self._dishes is not None:
            remember(self.book, self._dishes.value)
        self.attempt(self._begin)

    def begin_anew(self) -> None:
        """Something else is chosen: what was wrong with the former is of no more use."""
        self._wrong.clear()

    def say(self, text: str) -> None:
        """Say what happened."""
        self.status.say(text)

    def printer(self, label: str, made: Callable[[], str]) -> w.Button:
        """A button that lets the browser print a page."""

        def out() -> None:
            self.guard.send({"print": True}, [made().encode()])
            self.say("Choose the printer in the browser's own window.")

        return self.button(label, out, made)

    def say_wrong(self, text: str) -> None:
        """Say what is wrong and what to do; what was typed stays."""
        self._wrong[_ACTING.get()] = text, None, None
        self.alert.say(text)

    def close_all(self) -> None:
        """Close the form with everything in it."""
        close_with_parts(self)


class TakeBack(w.Button):
    """Takes back what its form saved last.

    Parameters
    ----------
    panel : Panel
        The form, which says what is wrong.
    label : str
    show : callable, optional
        Shows the form anew; else the panel sees for itself what changed.
    """

    def __init__(self, panel: Panel, label: str, show: Act | None = None) -> None:
        super().__init__(description=label, disabled=True)
        self._panel, self._show = panel, show or panel.look
        self._last: tuple[Version | Batch | Kept, str] | None = None
        self.on_click(lambda _button: panel.guarded(self._back))

    def offer(self, record: Version | Batch | Kept | None, what: str = "") -> None:
        """The form has saved this, and ``what`` names it; with None there is nothing to take back."""
        self._last, self.disabled = (record, what) if record is not None else None, record is None

    def keep(self, record: AnyKept, what: str) -> AnyKept:
        """Save this for the form, and offer to take it back; what stands there already to the letter is not saved again."""
        book = self._panel.book
        before, kept = book.last, book.keep(record)
        if book.last != before:
            self.offer(kept, what)
        return kept

    def _back(self) -> None:
        if self._last is None:
            return
        record, what = self._last
        self._panel.book.take_back(record, "taken back in the form")
        self.offer(None)
        self._show()
        self._panel.say(f"{what[:1].upper()}{what[1:]} was taken back; it stays in the history of the logbook.")
