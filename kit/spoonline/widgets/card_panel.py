"""Notebook 4: is it ready to hand over?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as w

from spoonline.card import RecipeCard, file_name
from spoonline.widgets.here import SYSTEMS, habits_of
from spoonline.widgets.panel import (
    Line,
    Panel,
    button,
    choice,
    download,
    escaped,
    fill_versions,
    heading,
    shown,
    text_field,
)

if TYPE_CHECKING:
    from spoonline.logbook import Logbook


class CardPanel(Panel):
    """What is missing first, then the card as it will print, then the files."""

    purpose = "the panel that finishes the recipe card"

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.card: RecipeCard | None = None
        titles = book.titles()
        self.answer = Line("status", "sl-answer")
        self.title = choice("Recipe", titles)
        self.number = choice("Version", [])
        self.habits = habits_of(book)
        self.system = choice("Household measures", SYSTEMS, self.habits.kitchen)
        self.preview = w.HTML()
        self.folder = text_field("Folder for the files", "cards")
        self.hand_over = button("Hand over the card", self._hand_over, primary=True)
        self.links = w.HTML()
        super().__init__(
            [self.answer, self.title, self.number, self.system, heading("As it will print"), self.preview,
             heading("The files"), self.folder, self.hand_over, self.links]
        )  # fmt: skip
        self._busy = False
        self.title.observe(self._title_changed, "value")
        self.number.observe(self._show, "value")
        self.system.observe(self._show, "value")
        if titles:
            self._title_changed()
        else:
            self.say_wrong("This logbook holds no recipe yet; save one in notebook 0 first.")

    @shown
    def _title_changed(self, _change: Any = None) -> None:
        versions = self.book.all_versions(self.title.value)
        self._busy = True
        fill_versions(self.number, versions, versions[-1].number)
        self._busy = False
        self._show()

    @shown
    def _show(self, _change: Any = None) -> None:
        if self._busy or self.number.value is None:
            return
        version = self.book.version(self.title.value, self.number.value)
        self.card = RecipeCard(
            version.recipe,
            version,
            self.book.all_batches(self.title.value),
            habits=self.habits.model_copy(update={"kitchen": self.system.value}),
        )
        content = self.card.content
        missing = missing_points(self.card)
        text = (
            "Ready to hand over."
            if not missing
            else f"Not finished: {len(missing)} {'point is' if len(missing) == 1 else 'points are'} open."
        )
        self.answer.say(
            text,
            markup="<ul class='sl-said'>"
            + "".join(f"<li>{escaped(point)}</li>" for point in missing)
            + "</ul>",
        )
        page = escaped(self.card.html())
        self.preview.value = (
            f'<iframe title="Preview of the card of {escaped(content.title)}" sandbox srcdoc="{page}" '
            'style="width:100%;height:34rem;border:1px solid #bdbdbd;background:#fff"></iframe>'
        )
        self.links.value = ""
        self.say("")

    @shown
    def _hand_over(self, _button: Any = None) -> None:
        if self.card is None:
            return
        files = self.card.write(self.folder.value.strip() or "cards")
        name = file_name(self.card.recipe.title)
        self.links.value = "".join(
            download(f"{name}.{ending}", kind, text, label)
            for ending, kind, label, text in (
                ("html", "text/html", "Download the card as a page (HTML)", self.card.html()),
                ("md", "text/markdown", "Download the card as Markdown", self.card.markdown()),
            )
        )
        self.say(f"Written to the folder {files[0].parent.name}: {', '.join(path.name for path in files)}.")


def missing_points(card: RecipeCard) -> list[str]:
    """What keeps a card from being finished, each with where to mend it."""
    content = card.content
    points = []
    if card.recipe.target is None:
        points.append("No thickness target is set: set it in notebook 2.")
    if not content.is_tested:
        points.append(f"{content.tested} Record batches in notebook 1.")
    points += [f"{question} Mend the line in notebook 0." for question in content.notes]
    if not card.recipe.steps:
        points.append("There is no method: add the steps in notebook 0.")
    if content.check_label:
        points.append(f"Labels to check: {'; '.join(content.check_label)}.")
    return points
