"""The story of the pot on the stove: how thick it is now and what to do, what else happened, and all that was kept so far."""

from collections.abc import Sequence
from functools import partial

import ipywidgets as w

from spoonline import flow
from spoonline.dose import Remedy
from spoonline.pots import Batch, Moment
from spoonline.recipes import OwnSpoon
from spoonline.widgets.parts.fields import appear, declared, heading, laid_out, put_in
from spoonline.widgets.parts.markup import bullets, notes, tag
from spoonline.widgets.parts.moments import COLUMNS, EventFields, moment_cells, typed_story
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.rows_table import RowsTable
from spoonline.widgets.parts.tools import ReadingFields

# Beside what is done with a hot pot (common practice, no source).
DONE = ("Done", "Half done")  # all of it, or one part of two
CAUTION = "Hot thick liquid spits: stir at arm's length. Take a clean spoon for each taste, as saliva thins starch."


class PotStory(w.VBox):
    """A reading and what to do now; then what else happened, and the table that keeps it all.

    Parameters
    ----------
    panel : Panel
    tare : Text
        Where the mass of the empty pot is typed, which stands in every weighing.
    """

    def __init__(self, panel: Panel, tare: w.Text) -> None:
        self._panel, self._tare = panel, tare
        self._spoons, self._kitchen = panel.book.kept(OwnSpoon), panel.book.habits.kitchen
        # The moments of a recorded pot as they stand in the table.
        self.as_told: Sequence[Moment] = ()
        self._offered: tuple[Remedy, ...] = ()
        self.reading, self.event = ReadingFields(), EventFields()
        declared(self, "buttons of a story")
        self.many = RowsTable(label="The pot's story", columns=COLUMNS, rows=[[""] * len(COLUMNS)] * 2)
        # How it is read changes rarely: that stands below what to do now.
        first, message, _ = self.reading.children
        first.children += (self.more,)
        self.reading.children = first, message
        super().__init__(laid_out(self, "story"))

    def moments(self) -> list[Moment]:
        """The moments of the table, and what stands in the fields as the last of them."""
        found = self._read([*self.many.value, *self._happened()], self.as_told)
        return [*found, *([] if self.reading.blank else [Moment(kind="read", reading=self.reading.reading())])]

    def clear(self, rows: Sequence[list[str]] = ()) -> None:
        """Begin anew, with these rows in the table."""
        self.reading.clear()
        self.event.clear()
        self.many.value = [*rows]

    def show(self, batch: Batch | None, remedies: tuple[Remedy, ...]) -> None:
        """The story so far, the newest first; and what to do now, each with a button that says it was done."""
        told = (batch.moments or [Moment(kind="read", reading=each) for each in batch.readings]) if batch else ()
        self.told.value = bullets([_words(each) for each in reversed(told)]) if batch else ""
        if self._offered == remedies:
            return
        self._offered = remedies
        rows: list[w.Widget] = []
        for each in remedies:
            pair = [self._panel.button(words, partial(self._done, each, n)) for n, words in enumerate(DONE, 1)]
            for button in pair:
                button.tooltip = f"{button.description}: {each.do}"
                appear(each.moments, button)
            do, colon, gives = each.text.partition(": it then")
            rows.append(w.HBox([w.HTML(tag("b", do) + tag("div", colon[2:], gives, class_="sl-note")), *pair]))
        put_in(self.remedies, [heading("What to do now"), *rows, w.HTML(notes([CAUTION]))] if rows else [])

    def _happened(self) -> list[list[str]]:
        return [] if self.event.blank else [self.event.cells()]

    def _read(self, rows: Sequence[Sequence[str]], as_told: Sequence[Moment] = ()) -> list[Moment]:
        return typed_story(rows, as_told, self._spoons, self._kitchen, self._tare.value)

    def _commit(self, *after: list[str], before: Sequence[list[str]] = ()) -> None:
        """The reading in the fields goes into the table, where it can still be mended, with what came before and after it."""
        self._read([*before, *after])
        read = [] if self.reading.blank else [moment_cells(Moment(kind="read", reading=self.reading.reading()))]
        self.clear([*self.many.value, *before, *read, *after])

    def _keep(self) -> None:
        if self.reading.blank:
            self.reading.reading()  # says what is missing
        self._commit(before=self._happened())
        self._panel.say("Kept in the story; it is saved with the pot.")

    def _add(self) -> None:
        self._commit(self.event.cells())
        self._panel.say("Kept in the story; it is saved with the pot.")

    def _done(self, remedy: Remedy, parts: int) -> None:
        """A remedy was done, or half of it: it goes into the story, and the pot is to be read again."""
        done = [each.model_copy(update={"mass_g": (each.mass_g or 0) / parts}) for each in remedy.moments]
        self._commit(*map(moment_cells, done), before=self._happened())
        self._panel.say(f"Kept in the story: {'; '.join(each.text for each in done)}. Read it again.")
        self.reading.values.focus()  # the button that was pressed is gone


def _words(moment: Moment) -> str:
    reading = moment.reading
    if reading is None:
        return moment.text
    out = f"; does not count: {reading.set_apart}" if reading.set_apart else ""
    return f"read {reading.stage}: {reading.mean:.3g} {flow.unit_of(reading.tool)} ({reading.tool}) at {reading.temperature_c} C{out}"
