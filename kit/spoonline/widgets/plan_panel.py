"""Notebook 9: which pots should I cook, and how many?"""

from typing import Any

import ipywidgets as w

from spoonline.dish import Dish
from spoonline.dose.next_batch import pots_needed
from spoonline.effects import EffectReading, Factor, PotPlan, name_of, plan_pots, read_plan, weigh
from spoonline.figures import Effect, surface_figure
from spoonline.logbook import Logbook
from spoonline.logbook.reads import MOST_POTS
from spoonline.measures.errors import KitchenError
from spoonline.pots import STAGES, put_in
from spoonline.widgets.parts import drafts, effect_view, here
from spoonline.widgets.parts.fields import appear, blank, declared, fill, laid_out
from spoonline.widgets.parts.markup import bullets, frame_table, invented, notes, tag
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import figure, said


class PlanPanel(Panel):
    """Which pots to cook on which day for one quantity or two, and what those that were cooked say."""

    def __init__(self, book: Logbook) -> None:
        super().__init__(book)
        self.dish: Dish | None = None
        self.plan: PotPlan | None = None
        self._columns: dict[tuple[str, ...], str] = {}
        self.title, (self.which,) = here.dish_choice(book), declared(self, "a dish's plans")
        asks = {"description": "What comes out, and its unit", "placeholder": "such as spread, cm"}
        self.out = w.Combobox(**asks, continuous_update=False)
        declared(self, "what to change", "a plan's shape", stage=STAGES)
        self.usual = w.HTML(notes([pots_needed()]))
        shape = drafts.named(self, "out", "stage", "days", "centres", "stars", "name")
        self.draft = drafts.DraftPart(self, "pot plan", lambda: drafts.named(self, "title", "change") | shape)
        self.lay(*laid_out(self, "plan"), self.bar(self.save, self.back))
        self.watch(self._typed_anew, *shape.values())
        self.watch(self._typed_anew, self.change, trait="rows")
        self.watch(self._show, self.which)
        self.begin(self.title, self._title_changed)

    def _title_changed(self) -> None:
        """Nothing of the dish before stays: what its lines hold is offered, and its last plan shown."""
        with self.filling_in():
            self.change.value, self.which.options, self.out.value, self.name.value = [], (), "", ""
            self._offer()
            kept = [value for _, value in self.which.options]
            self.which.value, self.out.value = kept[-1], next(iter(self.out.options), "")
        self.draft.begin(self.change, self.out)
        self._show()

    def changed(self) -> None:
        """Plans, pots and versions that were saved since; what is chosen and typed stays."""
        super().changed()
        with self.filling_in():
            self._offer()
        self.attempt(self._show)

    def _offer(self) -> None:
        """Each quantity as the dish holds it now, with the settings typed so far; what its pots came to; its plans."""
        self.dish = dish = self.book.dish(self.title.value)
        self.frame = self.book.batches(dish.title, pots=MOST_POTS)
        now = {(name_of(column, unit), unit): f"{value:.3g}" for (column, unit), value in put_in(dish.recipe).items()}
        self._columns = {(name_of(column, unit), unit): column for column, unit in put_in(dish.recipe)}
        typed = {tuple(cells[:2]): cells[3:] for cells in self.change.value}
        others = [[*key, "", *ends] for key, ends in typed.items() if key not in now and any(ends)]
        self.change.value = [*([*key, value, *typed.get(key, ["", ""])] for key, value in now.items()), *others]
        measured = {each.column for batch in dish.batches for each in batch.outcomes}
        outcomes = self.frame.attrs["outcomes"] | ({} if dish.recipe.kind == "dough" else {"viscosity_pa_s": "Pa s"})
        first = sorted(outcomes, key=lambda each: (each not in measured, each != "viscosity_pa_s"))
        self.out.options = [f"{name_of(each, outcomes[each])}, {outcomes[each]}" for each in first]
        fill(self.which, [each.name for each in self.book.kept(PotPlan, dish.title)])

    def _typed_anew(self) -> None:
        """What is typed, or gone on with from a draft, is of a new plan, whichever was chosen."""
        self.draft.keep()
        with self.filling_in():
            self.which.index = 0 if self.which.options else None
        self._show()

    def _made(self) -> PotPlan:
        """The plan as it is typed."""
        factors = []
        for name, unit, _, low, high in self.change.value:
            if low or high:
                ends = (figure(low, f"{name}, low", unit), figure(high, f"{name}, high", unit))
                said.refuse(None in ends, "both settings", name=name, unit=unit)
                known = {"column": self._columns[name, unit]} if (name, unit) in self._columns else {}
                factors.append(Factor(name=name, unit=unit, low=ends[0], high=ends[1], **known))
        outcome, _, unit = (part.strip() for part in self.out.value.rpartition(","))
        said.refuse(not (factors and outcome), "which pots")
        return plan_pots(
            self.title.value, factors, outcome, unit, name=self.name.value.strip(), stage=self.stage.value, centres=self.centres.value,
            days=self.days.value, stars=len(factors) == 2 and self.stars.value,
        )  # fmt: skip

    def _show(self) -> None:
        """The plan that is chosen with what its pots say, or that which is typed."""
        blank(self.answer, *self.places)
        self.figure.show(None)
        kept = {each.name: each for each in self.book.kept(PotPlan, self.title.value)}
        self.plan = kept.get(self.which.value)
        both = sum(any(cells[3:]) for cells in self.change.value) > 1
        appear(not self.plan, self.asked)
        appear(not both, self.days)
        appear(both, self.centres, self.stars)
        self.save.disabled = True
        appear(self.dish and self.dish.curve, self.usual)
        if self.dish is None:
            return
        try:
            plan = self.plan or self._made()
        except KitchenError as err:
            self.answer.say(str(err))
            return
        if self.plan is None:
            self.save.disabled = self._taken(plan)
            taken = said("name taken", name=plan.name) if self._taken(plan) else ""
            self.answer.say(f"{_asks(plan)}{taken}", markup=invented(self.dish.recipe))
        else:
            self._read(plan, self.dish)
        self._table(plan, self.dish)

    def _table(self, plan: PotPlan, dish: Dish) -> None:
        """The pots in the order to cook them, what to weigh, and what came of those that were cooked."""
        cooked = {pot["plan_pot"]: pot for pot in self.frame[self.frame["plan"].eq(plan.name)].to_dict("records")}
        heads, out = [f"{each.name}, {each.unit}" for each in plan.factors], f"{plan.outcome}, {plan.unit}"
        rows = []
        for pot in plan.pots:
            settings, found = [float(each) for each in pot.settings], cooked.get(pot.number)
            cells: dict[str, Any] = {"Pot": pot.number, "Day": pot.day} | dict(zip(heads, settings, strict=True))
            weighed = dict(zip((each.column for each in plan.factors), settings, strict=True))
            cells |= {"To weigh": weigh(dish.recipe, weighed), "Cooked as": f"batch {found['batch']}" if found else ""}
            rows.append(cells | {out: (found or {}).get(plan.column)})
        self.pots.value = frame_table(rows, said("the order of pots"), dict.fromkeys([*heads, out], ".3g"))

    def _read(self, plan: PotPlan, dish: Dish) -> None:
        """What the pots of a kept plan say, and the next one where an aim is set."""
        aim = effect_view.kept_aim(dish.recipe, plan.column)
        try:
            found = read_plan(plan, self.frame)
            following = found.next_setting(aim) if aim else None
            if isinstance(found, EffectReading):
                self.figure.show(Effect(**(vars(found) | {"aim": aim})).figure() if len(found.points) else None)
            else:
                self.figure.show(surface_figure(found, aim) if aim else None)
                self.found.value = bullets(found.sentences, "What each change did")
        except KitchenError as err:
            self.answer.say(str(err))
            return
        none = said("a plan alone" if aim else "a plan without an aim", outcome=plan.outcome)
        markup = tag("div", none, invented(dish.recipe), class_="sl-note")
        self.answer.say(following.text if following else found.text, markup=markup)

    def _taken(self, plan: PotPlan) -> bool:
        """Whether another plan has the name: one that is kept, or one taken back of which pots were cooked, which this would claim."""
        kept = self.book.kept(PotPlan, self.title.value)
        old = [each for each in self.book.kept(PotPlan, self.title.value, history=True) if each.name == plan.name]
        other = bool(old) and old[-1].pots != plan.pots and self.frame["plan"].eq(plan.name).any()
        return plan.name in {each.name for each in kept} or bool(other)

    def _save(self) -> None:
        made = self._made()
        # a press may come before the button rests
        said.refuse(self._taken(made) or self.plan, "name taken", name=(self.plan or made).name)
        kept = self.back.keep(made, f"the plan '{made.name}'")
        self.draft.done()
        with self.filling_in():
            self._offer()
            self.which.value = kept.name
        self._show()
        self.say(said("plan saved", name=kept.name, pots=len(kept.pots)))


def _asks(plan: PotPlan) -> str:
    days, count = max(pot.day for pot in plan.pots), len(plan.pots)
    ends = ((each, float(each.low), float(each.high)) for each in plan.factors)
    ranges = " and ".join(f"{each.name} {low:g} to {high:g} {each.unit}" for each, low, high in ends)
    return f"Cook {count} pots on {days} day{'s' * (days > 1)}: {ranges}; note {plan.outcome} in {plan.unit} of each."
