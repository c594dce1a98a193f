"""Nothing typed is lost: fields are kept while one types and offered again after a restart."""

import uuid
from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import datetime
from typing import Any
from weakref import WeakKeyDictionary

import ipywidgets as w
from traitlets import TraitError

from spoonline.measures.errors import KitchenError
from spoonline.widgets.parts.fields import Message, appear, watch
from spoonline.widgets.parts.panel import Panel

Fields = Mapping[str, Any] | Callable[[], Mapping[str, Any]]


class DraftPart(w.VBox):
    """Keeps what a form holds while a watched field differs from how it began, and offers what another session left.

    Parameters
    ----------
    panel : Panel
        The form, which says what is wrong.
    form : str
        Name of the form.
    fields : mapping, or callable that gives one
        Fields by name, in the order to put them back. Those of a mapping are all watched.
    older : callable, optional
        Turns what an earlier release kept into values by name.
    """

    def __init__(self, panel: Panel, form: str, fields: Fields, older: Callable[[Any], dict[str, Any]] = dict) -> None:
        self.book, self.form, self._older = panel.book, form, older
        self._fields: Callable[[], Mapping[str, Any]] = fields if callable(fields) else lambda: fields
        self.session = uuid.uuid4().hex  # two tabs on one logbook keep their drafts apart
        self._first: WeakKeyDictionary[w.Widget, Any] = WeakKeyDictionary()
        self.found = [draft for draft in self.book.drafts(form) if draft.fields]
        self.message = Message("status", "sl-note")
        self.take = panel.button("Go on with it", self._take)
        self.drop = panel.button("Throw it away", self._drop)
        self.choice = w.HBox([self.take, self.drop])
        super().__init__([self.message, self.choice])
        if not callable(fields):
            self.watch(*fields.values())
        self._offer()

    def typed(self) -> dict[str, Any]:
        """What stands in the fields, by name; nothing while all that are watched stand as they began."""
        held = self._fields()
        changed = any(field.value != self._first.get(field, field.value) for field in held.values())
        return {name: field.value for name, field in held.items()} if changed else {}

    def _offer(self, text: str = "") -> None:
        if self.found:
            when = datetime.fromisoformat(self.found[0].at).astimezone()
            count = len([*filter(None, self.found[0].fields.values())])
            text = f"Typed on {when:%Y-%m-%d %H:%M} and not saved. Fields filled in: {count}."
        self.message.say(text)
        appear(text, self)
        appear(self.found, self.choice)

    def watch(self, *widgets: w.Widget) -> None:
        """Keep the form whenever one of these changes from how it stands now."""
        self.begin(*widgets)
        watch(self.keep, *widgets)

    def begin(self, *widgets: w.Widget) -> None:
        """As these stand now, nothing is typed into them."""
        self._first.update({field: field.value for field in widgets})

    def start(self, field: w.Widget, value: Any) -> None:
        """Put this into a field; that is not typed."""
        self._first[field] = field.value = value

    def keep(self, _change: Any = None) -> None:
        """Keep what the form holds now, if anything was typed into it."""
        # A logbook that cannot be written says so when one saves; typing goes on.
        with suppress(KitchenError):
            self.book.draft(self.form, self.session, self.typed())

    def turn_to(self, what: str) -> dict[str, Any]:
        """Go on with what was typed of this before; what was typed so far stays with its own."""
        self.session = f"{self.session.partition(' ')[0]} {what}"
        return next((each.fields for each in self.book.drafts(self.form) if each.session == self.session), {})

    def done(self) -> None:
        """The form was saved: its draft goes."""
        self.book.draft(self.form, self.session, {})
        self._offer()  # nothing speaks of what is saved now

    def _take(self) -> None:
        if not self.found:  # pressed twice
            return
        draft = self.found.pop(0)
        put_back(self._fields, self._older(draft.fields))
        self.book.draft(self.form, draft.session, {})
        self.keep()
        self._offer("Here it is again, as you typed it. Save it when it is complete.")

    def _drop(self) -> None:
        if not self.found:
            return
        self.book.draft(self.form, self.found.pop(0).session, {})
        self._offer()


def named(owner: object, *names: str) -> dict[str, w.Widget]:
    """Fields of a form by their names in it."""
    return {name: getattr(owner, name) for name in names}


def put_back(fields: Callable[[], Mapping[str, Any]], draft: Mapping[str, Any]) -> None:
    """Put values back into the fields of their name, in the order of the form; one may bring further fields with it."""
    done: set[str] = set()
    while names := [name for name in fields() if name in draft and name not in done]:
        done.add(names[0])
        # A dish or a version that is gone since is left as it is.
        with suppress(TraitError, TypeError):
            field, value = fields()[names[0]], draft[names[0]]
            # a pair that is chosen was kept as a list
            field.value = tuple(value) if isinstance(field, w.Dropdown) and isinstance(value, list) else value
