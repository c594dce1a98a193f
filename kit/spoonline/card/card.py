"""The finished recipe card."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from pathlib import Path

from spoonline.card.content import CardContent, gather
from spoonline.card.render import to_html, to_markdown
from spoonline.measures.errors import RecipeError
from spoonline.recipes import Habits, Recipe, Version
from spoonline.trials import Batch


@dataclass(frozen=True)
class RecipeCard:
    """A recipe with its evidence, ready to print.

    Parameters
    ----------
    recipe : Recipe
    version : Version, optional
        The saved version; without one the card says "not saved yet".
    batches : sequence of Batch
        The dish's batches; those of this version are the card's evidence.
    habits : Habits, optional
        How the kitchen writes: household measures beside the grams, names of ingredients, decimal mark.
    printed_on : date, optional
        Date to print on the card.

    Examples
    --------
    >>> card = RecipeCard(Recipe(title="Mushroom gravy", ingredients=["1 l beef stock", "60 g wheat flour"]))
    >>> "60.0 g of wheat flour per litre of liquid" in card.markdown().replace("\\\\", "")
    True
    """

    recipe: Recipe
    version: Version | None = None
    batches: Sequence[Batch] = ()
    habits: Habits = field(default_factory=Habits)
    printed_on: date | None = None

    @cached_property
    def content(self) -> CardContent:
        """What the card says, as data."""
        return gather(self.recipe, self.version, self.batches, habits=self.habits, printed_on=self.printed_on)

    def html(self) -> str:
        """One self-contained page with print style sheet."""
        return to_html(self.content)

    def markdown(self) -> str:
        """The same card as Markdown."""
        return to_markdown(self.content)

    def write(self, folder: str | Path) -> list[Path]:
        """Write the card's files into a folder.

        Returns
        -------
        list of Path
            The HTML and the Markdown file, named after the title.

        Raises
        ------
        RecipeError
            If the folder cannot be written.
        """
        target = Path(folder)
        name = file_name(self.recipe.title)
        try:
            target.mkdir(parents=True, exist_ok=True)
            files = [target / f"{name}.html", target / f"{name}.md"]
            for path, text in zip(files, (self.html(), self.markdown()), strict=True):
                path.write_text(text, encoding="utf-8")
        except OSError as err:
            raise RecipeError(
                f"The card could not be written to {target.name!r} ({err.strerror}); choose another folder."
            ) from err
        return files


def file_name(title: str) -> str:
    """A harmless file name from a title: letters, digits and dashes, at most 60.

    Examples
    --------
    >>> file_name("Roast parsnip & pear soup"), file_name("../..")
    ('roast-parsnip-pear-soup', 'recipe')
    """
    return re.sub(r"[\W_]+", "-", title.casefold()).strip("-")[:60].strip("-") or "recipe"
