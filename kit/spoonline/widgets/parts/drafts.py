"""Nothing typed is lost: fields are kept while one types and offered again after a restart; what was kept last can be taken back."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import TYPE_CHECKING, Any

import ipywidgets as w
from traitlets import TraitError

from spoonline.measures.errors import KitchenError
from spoonline.pots import Batch
from spoonline.recipes import Kept, Version
from spoonline.widgets.parts.panel import Line, appear, as_wide_as_its_words, button, watch

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

# One kernel is one session: two tabs on one logbook keep their drafts apart.
SESSION = uuid.uuid4().hex


class DraftPart(w.VBox):
    """Keeps what a form holds, and offers what another session left.

    Parameters
    ----------
    book : Logbook
    form : str
        Name of the form.
    fields : callable
        Gives the form's fields by name, as they stand now; nothing where nothing was typed.
    taken_up : callable
        Puts fields into the form.
    guard : callable
        Wraps what a button does, so that a fault is said in the form.
    """

    def __init__(
        self, book: Logbook, form: str, fields: Callable[[], dict[str, Any]],
        taken_up: Callable[[dict[str, Any]], Any], guard: Callable[[Callable[[], Any]], Any],
    ) -> None:  # fmt: skip
        self.book, self.form, self._fields, self._taken_up = book, form, fields, taken_up
        self.session = f"{SESSION}-{uuid.uuid4().hex[:6]}"
        self.quiet = False
        self.found = [draft for draft in book.drafts(form) if draft.fields]
        self.said = Line("status", "sl-said")
        self.take = button("Take it up again", lambda _b: guard(self._take))
        self.drop = button("Drop it", lambda _b: guard(self._drop))
        super().__init__([self.said, w.HBox([self.take, self.drop])])
        self._offer()

    @classmethod
    def plain(
        cls, book: Logbook, form: str, fields: Mapping[str, Any], guard: Callable[[Callable[[], Any]], Any]
    ) -> DraftPart:
        """For fields that need no more than their values: kept while one differs from how it stood at first, put back in order."""
        first = values_of(fields)

        def typed() -> dict[str, Any]:
            now = values_of(fields)
            return now if now != first else {}

        part = cls(book, form, typed, lambda kept: put_back(fields, kept), guard)
        part.watch(*fields.values())
        return part

    def _offer(self) -> None:
        appear(self, self.found)
        if self.found:
            first = self.found[0]
            count = sum(bool(value) for value in first.fields.values())
            self.said.say(f"Typed on {first.at[:16].replace('T', ' ')} (UTC) and not saved: {count} fields.")

    def watch(self, *widgets: w.Widget) -> None:
        """Keep the form whenever one of these changes."""
        watch(self.keep, *widgets)

    def keep(self, _change: Any = None) -> None:
        """Keep what the form holds now, if anything was typed into it."""
        if self.quiet:
            return
        try:
            self.book.draft(self.form, self.session, self._fields())
        except KitchenError:
            # A logbook that cannot be written says so when one saves; typing goes on.
            return

    def done(self) -> None:
        """The form was saved: its draft goes."""
        self.book.draft(self.form, self.session, {})

    def _take(self) -> None:
        draft = self.found.pop(0)
        self.quiet = True
        try:
            self._taken_up(draft.fields)
        finally:
            self.quiet = False
        self.book.draft(self.form, draft.session, {})
        self.keep()
        self._offer()

    def _drop(self) -> None:
        self.book.draft(self.form, self.found.pop(0).session, {})
        self._offer()


def values_of(fields: Mapping[str, Any]) -> dict[str, Any]:
    """What stands in each of these fields."""
    return {name: field.value for name, field in fields.items()}


def put_back(fields: Mapping[str, Any], kept: Mapping[str, Any]) -> None:
    """Put values back into the fields of their name, in the order they were kept."""
    for name, value in kept.items():
        # A dish or a version that is gone since is left as it is.
        with suppress(KeyError, TraitError):
            fields[name].value = value


class TakeBack(w.Button):
    """Takes back what its form saved last.

    Parameters
    ----------
    book : Logbook
    label : str
    guard : callable
        Wraps what the button does, so that a fault is said in the form.
    done : callable
        Told what was taken back, in one sentence.
    """

    def __init__(
        self, book: Logbook, label: str, guard: Callable[[Callable[[], Any]], Any], done: Callable[[str], Any]
    ) -> None:
        super().__init__(description=label, disabled=True, layout=as_wide_as_its_words())
        self._book, self._done = book, done
        self._last: tuple[Version | Batch | Kept, str] | None = None
        self.on_click(lambda _b: guard(self._back))

    def offer(self, record: Version | Batch | Kept | None, what: str = "") -> None:
        """The form has saved this, and ``what`` names it; with None there is nothing to take back."""
        self._last, self.disabled = (record, what) if record is not None else None, record is None

    def _back(self) -> None:
        if self._last is None:
            return
        record, what = self._last
        self._book.take_back(record, "taken back in the form")
        self.offer(None)
        self._done(f"{what[:1].upper()}{what[1:]} was taken back; it stays in the history of the logbook.")
