"""Notebook 3: what changed between two versions, how did their pots differ, can anyone tell?"""

from spoonline.card import Decision, decide, file_name
from spoonline.dish import Dish
from spoonline.effects import compare_outcomes
from spoonline.figures import tree_figure
from spoonline.logbook import Logbook
from spoonline.logbook.reads import MOST_POTS
from spoonline.pots.thickness import conditions
from spoonline.recipes import three_way
from spoonline.tasters import Session, session_sentence
from spoonline.widgets.parts import batch_table, here
from spoonline.widgets.parts.fields import blank, declared, fill, fill_versions, laid_out
from spoonline.widgets.parts.markup import bullets, download, fold, frame_table, invented, notes, paragraphs, tag
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import said

POTS = ["batch", "version", "cooked_on", "dose_g_per_l", "shown", "viscosity_pa_s", "band"]


class ComparePanel(Panel):
    """Two versions: the recipe, the pots, the tasters; then the page and the sentence for the card."""

    def __init__(self, book: Logbook) -> None:
        super().__init__(book)
        self.dish: Dish | None = None
        self.decision: Decision | None = None
        self.title = here.dish_choice(book)
        chosen, how = declared(self, "two versions"), declared(self, "how they are compared")
        print_it = self.printer("Print the decision page", lambda: self.decision.html() if self.decision else "")
        self.lay(*laid_out(self, "compare"), self.bar(print_it))
        self.watch(self._show, *chosen, *how)
        self.begin(self.title, self._title_changed, self._show)

    def _title_changed(self) -> None:
        with self.filling_in():
            self.old.options = self.new.options = []
            self.parent.value = 0
        self.attempt(self._show)

    def _show(self) -> None:
        """All of it, of the versions that are chosen."""
        blank(self.answer, *self.places)
        self.dish = self.decision = None
        self.dish = dish = self.book.dish(self.title.value)
        versions = {each.number: each for each in dish.versions}
        with self.filling_in():
            fill_versions(self.old, dish.versions, self.old.value or dish.versions[-2:][0].number)
            fill_versions(self.new, dish.versions, self.new.value or dish.versions[-1].number)
            fill(self.parent, [(f"version {number}", number) for number in versions])
        old, new = versions[self.old.value], versions[self.new.value]
        repeated = [*self.book.repeated(dish.title)]  # how far pots of this kitchen differ
        sessions, two = self.book.kept(Session, dish.title), {old.number, new.number}
        tasters = [session_sentence(each) for each in sessions if two <= {sample.version for sample in each.samples}]
        self.decision = found = decide(dish, old, new, tasters=tasters, history=repeated, per=self.per.value)
        frame = self.book.batches(dish.title, pots=MOST_POTS)
        other = compare_outcomes(*(frame[frame["version"].eq(each.number)] for each in (old, new)))
        thickness = f" {found.comparison.text}" if any(found.comparison.pots) else ""
        told = "".join(f" {each}" for each in found.outcomes)
        self.answer.say(f"{found.changed.text}{thickness}{told}", markup=invented(new.recipe))
        changes = frame_table(found.changed.shown, f"Changes, {found.changed.basis}")
        self.recipe_changes.value = changes or paragraphs("No change in the dish.")
        doses = {number: each.recipe.dose_text for number, each in versions.items() if each.recipe.dose_g_per_l != 0}
        family = tree_figure(dish.versions, doses, [old.number, new.number], dish.viscosities, dish.aim)
        self.tree.value = family._repr_html_()
        celsius, rate = conditions(new.recipe.target)
        remarks = notes([*(odd.text for odd in found.odd), found.spread.text, *dish.rests_on])
        pots = batch_table.pots_html(found.pots, POTS, f"Pots that were read, at {rate:g} 1/s and {celsius:g} C")
        self.pots.value = paragraphs(found.comparison.text) + pots + remarks if thickness else ""
        rest = [each.text for each in other if each.text not in found.outcomes and each.outcome != "viscosity"]
        more = fold("What follows from their lines and masses", bullets(rest)) if rest else ""
        self.outcomes.value = paragraphs(*found.outcomes) + more
        self.tasters.value = paragraphs(*found.tasters) or notes([said("no tasting")])
        self.card.value = tag("div", found.sentence)
        name = f"{file_name(self.title.value)}-{old.number}-{new.number}.html"
        self.page.value = download(name, "text/html", found.html(), "Download the decision page")
        if self.parent.value:
            self._show_three(dish, self.parent.value, old.number, new.number)

    def _show_three(self, dish: Dish, *numbers: int) -> None:
        one, two, three = (dish.recipes[number] for number in numbers)
        found = three_way(one, two, three, self.per.value)
        names = {"only the first": f"version {numbers[1]}", "only the second": f"version {numbers[2]}"}
        heads = ["What", *(f"Version {number}" for number in numbers), "Changed by"]
        frame = found.table.replace({"verdict": names}).set_axis(heads, axis=1)
        self.three.value = frame_table(frame, f"Both versions compared with version {numbers[0]}")
