"""Notebook 2: how much thickener in the next pot? Or of anything else, for anything that comes out."""

import re
from dataclasses import replace
from functools import partial

import pandas as pd
from markupsafe import Markup

from spoonline import keeping
from spoonline.dish import Dish
from spoonline.dose import DishCurve, in_ten, learned_text, reheating, through_stages
from spoonline.figures import dose_figure
from spoonline.logbook import Logbook
from spoonline.logbook.reads import MOST_POTS
from spoonline.measures import BatchError, KitchenError, or_none, print_dose
from spoonline.recipes import MOST_DOSE_G_PER_L, Recipe, Target
from spoonline.widgets.parts import beside_curve, effect_view, here
from spoonline.widgets.parts.fields import FORMS, appear, blank, declared, laid_out
from spoonline.widgets.parts.markup import columns_table, invented, notes, tag
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import figure, said, wanted


def stages_html(dish: DishCurve, dose_g_per_l: float) -> Markup:
    """How thick a dose [g/L] is hot, served, chilled and reheated, and what to stir in at the end."""
    caption = f"{dish.recipe.title} at {print_dose(dose_g_per_l)} g/L of {dish.dosed}"
    again = keeping.REHEATING in keeping.made_ahead(dish.recipe.kind)  # what is served cold is not reheated
    advice = notes([*([reheating(dish, dose_g_per_l).text, keeping.REHEATING] if again else []), keeping.LOCAL_CODE])
    return advice + columns_table(pd.DataFrame(through_stages(dish, dose_g_per_l)), caption)


STEP = 0.1
KEEP = FORMS["buttons of a dose"]["save"]["button"]


class DosePanel(Panel):
    """Set the thickness: the answer on top, the curve below it, the pots below that, the next step last."""

    def __init__(self, book: Logbook) -> None:
        super().__init__(book)
        self.dish: Dish | None = None
        self.began: int | None = None
        self._offered = ""  # the dose that the form itself put into the field
        self.title = here.dish_choice(book)
        self.how = effect_view.HowThick(book)
        self.view = effect_view.EffectView()
        self._framed: tuple[object, ...] = ()  # of which dish and state of the logbook its choices are
        declared(self, "a dose", "buttons of a dose")
        self.rests_on = beside_curve.RestsOn(self, self._fit)
        self.swap = beside_curve.OtherStarch(self, partial(self._keep, swapped=True))
        appear(False, self.aim_only)
        self.lay(*laid_out(self, "dose"), self.bar(self.save, self.back, self.aim_only))
        self.watch(self._slider_moved, self.slider)
        self.watch(self._dose_typed, self.dose)
        self.watch(self._fit, *self.how.fields.values(), self.kitchen)
        self.watch(self._aim_like, self.how.like, self.how.other)
        self.watch(self._pair_chosen, self.view.out)
        self.watch(self._fit, self.view.varies, self.view.low, self.view.high)
        self.begin(self.title, self._title_changed, self._fit)

    def _title_changed(self) -> None:
        self.dish = None
        self.answer.say("")
        self.figure.show(None)  # nothing of the dish before stands where this one is gone
        self.view.clear()
        dish = self.book.dish(self.title.value)
        self.began = dish.number
        with self.filling_in():
            self.how.begin(dish)
            self.dose.value = ""
            self.view.varies.options = self.view.out.options = self._framed = ()
            self._offer(dish)
        self._fit()

    def _offer(self, dish: Dish) -> None:
        """What can be chosen of the dish, as its pots are now."""
        if self._framed != (now := (dish.title, self.book.last)):
            self.view.offer(dish, self.book.batches(dish.title, pots=MOST_POTS))
            self._framed = now

    def _pair_chosen(self) -> None:
        """Another outcome: its aim as it is kept, and nothing of the one before."""
        with self.filling_in():
            self.view.begin(self.book.dish(self.title.value).recipe)
        self._fit()

    def _aim_like(self) -> None:
        """The aim that was chosen in a cook's words stands in the fields."""
        if self.dish is None:
            return
        with self.filling_in():
            said = self.how.choose(self.dish)
        self._fit()
        if said:
            self.how.message.say(said)

    def _fit(self) -> None:
        """Show the dish with the aim as typed; the slider begins at the dose to cook next."""
        dish = self.book.dish(self.title.value)
        dish = dish.aiming(self.how.aim(dish.aim))
        learned = learned_text(dish.learned, dish.learned.thickener) if dish.learned else ""
        appear(learned, self.kitchen)
        self.dish = dish = dish if self.kitchen.value else replace(dish, kitchen=None)
        with self.filling_in():
            self._offer(dish)
        appear(self.view.of_thickness, self.how.like, self.how)
        appear(self.view.out.value and not self.view.of_thickness, self.view.aims)
        appear(self.view.of_curve, self.of_starch, self.drawn)
        if dish.curve is None or not self.view.of_curve:
            self._show_effect(dish)
            return
        self.view.clear()
        curve = dish.curve
        self.rests_on.show(dish)
        first = self._first()
        # in one message: a page that hears of the end alone moves the slider, and says so of the dose before
        with self.filling_in(), self.slider.hold_sync():
            low, high = (round(end / STEP) * STEP for end in (curve.doses()[0], curve.doses()[-1]))
            begin = self.dose.value in ("", self._offered)
            self._slide_to(first if begin else self.slider.value, low, high)
            if begin:
                self.dose.value = self._offered = print_dose(first) if first else ""  # none is no dose of nought
        self._show_answer(dish, curve)
        shows = f"It should show {dish.wanted}; " if dish.wanted else ""
        self.how.message.say(f"{shows}{_aim_words(dish.aim)}." if dish.aim else effect_view.ASKS)
        self._show_doubts(dish, curve, learned)
        self._show_dose()
        self.say("")
        # Drawn once a fit, and last, as it takes longest; a move of the slider only moves the mark over it.
        self.figure.show(dose_figure(curve, None, dish.next and replace(dish.next, dose_g_per_l=first)))
        self._mark()

    def _show_effect(self, dish: Dish) -> None:
        """What varies against what comes out; nothing of the dose curve stays beside it."""
        self.figure.show(None)
        blank(self.dose_message, self.doubts, self.stages)
        self.rests_on.show(None)
        self.swap.show(None, 0)
        with self.filling_in():
            self.dose.value, self.slider.value = "", 0
        self.how.message.say(_aim_words(dish.aim) if dish.aim else "")
        self._offered = ""
        self.answer.say("")
        self.save.disabled = True
        answer, small = self.view.show(dish)
        self.answer.say(answer, markup=tag("div", small, invented(dish.recipe), class_="sl-note"))
        self._name_save()
        self.say("")

    def _first(self) -> float:
        """The dose to begin with [g/L]: that to cook next, or the recipe's own where it is to be kept or no other is advised."""
        own, found = self._curve().dose_g_per_l, self.dish and self.dish.next
        if not found or found.dose_g_per_l in (own, MOST_DOSE_G_PER_L):  # no starch gets there: nothing is advised
            return own
        # as it can be weighed, so that every figure on the screen is that of the grams
        return _grams(self._curve(), found.dose_g_per_l) / self._curve().liquid_l

    def _show_answer(self, dish: Dish, curve: DishCurve) -> None:
        text, reason = "No aim is set, so no dose is suggested: type below how thick it should be.", ""
        if dish.next is not None:
            dose = self._first()
            reason = dish.next.reason.replace(f"{print_dose(dish.next.dose_g_per_l)} g/L", f"{print_dose(dose)} g/L")
            do = "Keep" if dish.next.tested else "Cook the next pot at"
            text = f"{do} {print_dose(dose)} g/L: {_grams(curve, dose):g} g {curve.dosed} in {curve.liquid_l:.3g} L of liquid."
            text += f" {in_ten(dish.next.chance).capitalize()} such pots land in the band if they are weighed."
            if dish.next.dose_g_per_l >= MOST_DOSE_G_PER_L:
                text = f"No dose of {curve.dosed} makes it so thick: aim lower, or take another thickener."
            text = text if dose > 0 else "No thickener so far: the liquid may be thick enough as it is."
        anew = notes([dish.worked_out_anew] if dish.worked_out_anew else [])
        self.answer.say(text, markup=tag("div", reason, invented(dish.recipe), class_="sl-note") + anew)

    def _slider_moved(self) -> None:
        with self.filling_in():
            self.dose.value = f"{round(self.slider.value / STEP) * STEP:g}"
        self._show_dose()

    def _dose_typed(self) -> None:
        value = or_none(lambda: self.chosen)
        if value is not None:
            with self.filling_in(), self.slider.hold_sync():
                self._slide_to(value, self.slider.min, self.slider.max)
        self._show_dose()

    def _slide_to(self, dose: float, low: float, high: float) -> None:
        """Set the slider to a dose, its ends those of the curve's axis unless the dose lies outside."""
        self.slider.min, self.slider.max = 0, max(high, dose)
        self.slider.value = round(dose / STEP) * STEP
        self.slider.min = min(low, self.slider.value)

    @property
    def chosen(self) -> float:
        """The dose that is chosen now [g/L]."""
        typed = re.sub(r"(?i)(?<=\d)\s*g ?/ ?l$", "", self.dose.value.strip())
        # "50 g" is what goes in, and "4 g/100 ml" another share: neither is taken for g/L
        value = figure(typed, "Dose", "g" if re.fullmatch(r"[\d.,\s]*", typed) else "g/L")
        if self.dose.value in ("", self._offered):
            return value or self.slider.value
        fits = value is not None and 0 < value <= MOST_DOSE_G_PER_L and _grams(self._curve(), value)
        return wanted(value if fits else None, "no dose", came=self.dose.value, most=MOST_DOSE_G_PER_L)

    def _show_dose(self) -> None:
        """What the chosen dose would come to; one that cannot be shown is not saved under another's name, nor does what was said of
        another stay beside it."""
        try:
            self._tell_dose(self._curve(), self.chosen)
        except KitchenError:
            self.save.description, self.save.disabled = KEEP, True
            blank(self.dose_message, self.stages)
            raise

    def _tell_dose(self, curve: DishCurve, dose: float) -> None:
        self._mark()
        blank(self.dose_message, self.stages)
        if dose > 0:
            (spoons, spoon_chance), chance = curve.spoons(dose, self.book.habits.kitchen), curve.chance(dose)
            known = {"grams": _grams(curve, dose), "litres": curve.liquid_l, "spoons": spoons, "dose": print_dose(dose)}
            text = said("a dose", **known, average=curve.curve.viscosity(dose), single=curve.curve.batch(dose))
            if chance is not None and spoon_chance is not None:
                text += f"; {in_ten(chance)} pots land in the band, {in_ten(spoon_chance)} with level spoons"
            changed = _grams(curve, dose) != _grams(curve, curve.dose_g_per_l) and "flour" in curve.dosed
            fats = [each for each in curve.recipe.ingredients if changed and each.part == "fat" and each.mass_g]
            beside = [f" {said('fat beside', fat=each.item, grams=each.mass_g)}" for each in fats[:1]]
            self.dose_message.say(f"{text}.{''.join(beside)}")
            self.stages.value = stages_html(curve, dose)
        self.swap.show(curve if dose > 0 else None, dose)
        self._name_save()

    def _mark(self) -> None:
        self.figure.mark(self.chosen, f"dose {print_dose(self.chosen)} g/L")

    def _name_save(self) -> None:
        """The button says what it does, and rests where nothing would change."""
        dish = self.dish
        if dish is None:
            return
        if not self.view.of_curve:
            change = self.view.change(dish)
            self.save.description, self.save.disabled = change.words if change else KEEP, change is None
            appear(False, self.aim_only)
            return
        kept = dish.version.recipe.target if dish.version else None
        aims = dish.aim != kept and (dish.curve is not None or dish.recipe.kind != "dough")
        curve, dose = dish.curve, self.chosen
        doses = curve is not None and dose > 0 and _grams(curve, dose) != _grams(curve, curve.dose_g_per_l)
        amount = f"Change it to {_grams(curve, dose):g} g {curve.dosed}" if curve is not None and doses else ""
        self.save.description = amount or (effect_view.SAVE_AIM if aims else KEEP)
        self.save.disabled = not (doses or aims)
        appear(doses and aims, self.aim_only)

    def _to_suggestion(self) -> None:
        dish = self.dish
        if dish is None or dish.next is None:
            raise BatchError(f"No dose is suggested yet: {dish.next_text if dish else 'choose a recipe.'}")
        first = self._first()
        with self.filling_in(), self.slider.hold_sync():
            self._slide_to(first, self.slider.min, self.slider.max)
            self.dose.value = self._offered = print_dose(first) if first else ""
        self._show_dose()
        self.say(dish.next_text)

    def _show_doubts(self, dish: Dish, curve: DishCurve, learned: str) -> None:
        sentences = [*curve.curve.flags, *dish.rests_on]
        if dish.aim is not None:
            needed = curve.curve.dose_for(float(dish.aim.viscosity_pa_s))
            if needed.high < MOST_DOSE_G_PER_L:
                sentences.insert(0, f"The average pot meets the target at {needed:.1f} g/L (90 % range).")
        if learned:
            sentences.insert(0, learned if self.kitchen.value else f"{learned} That is not used now.")
        self.doubts.value = notes(sentences)

    def _save(self) -> None:
        if self.dish is not None and not self.view.of_curve:
            if (change := self.view.change(self.dish)) is not None:
                self._keep(change.recipe, change.note)
            return
        if self.dish is not None and self.dish.curve is not None:
            self._show_dose()  # a press may come before the button rests
        dish, dose = self.dish, self.chosen
        curve = self._curve() if dish is None or dish.aim is None else dish.curve
        if curve is not None and dose > 0 and _grams(curve, dose) != _grams(curve, curve.dose_g_per_l):
            self._keep(curve.with_dose(dose), f"{curve.dosed} set to {print_dose(dose)} g/L")
        else:  # its own dose, or none: its lines stay as written
            self._save_aim()

    def _save_aim(self) -> None:
        if self.dish is not None:
            self._keep(self.dish.recipe, f"aim {self.how.viscosity.value} Pa s")

    def _keep(self, recipe: Recipe, note: str, *, swapped: bool = False) -> None:
        """Save the next version, made from the one this form began with."""
        self.how.aim(recipe.target)  # an aim that cannot be read is said, and nothing is saved beside it
        before = self.book.version(self.title.value).number
        version = self.book.save(recipe, self.note.value.strip() or note, parent=self.began)
        if version.number == before:
            self.say(f"{version.name} has this dose and this target already; nothing was added.")
            return
        method = ""
        if swapped:
            method = " Its method still reads as before: change its wording in notebook 0."
            with self.filling_in():
                self.swap.name.value = self.dose.value = ""
        self.began = version.number
        with self.filling_in():
            self.view.begin(version.recipe)
        self.back.offer(version, version.name)
        self._fit()
        curve = self.dish.curve if self.dish else None
        amounts = version.recipe.dose_text if version.recipe.thickener_g else "no thickener"
        if not self.view.of_curve:
            amounts = note
        elif curve:
            amounts = f"{_grams(curve, curve.dose_g_per_l):g} g {curve.dosed}, {print_dose(curve.dose_g_per_l)} g/L"
        saved = f"Saved {version.name}: {amounts}.{method}"
        self.say(f"{saved} Next: cook it and record the batch in notebook 1.{here.also_saved(self.book, version)}")

    def _curve(self) -> DishCurve:
        if self.dish is None or self.dish.curve is None:
            raise BatchError(self.dish.no_curve if self.dish else "No recipe is chosen; choose one above.")
        return self.dish.curve


def _aim_words(aim: Target) -> str:
    ends = f"({aim.low_pa_s:.2g}-{aim.high_pa_s:.2g})"
    return f"{float(aim.viscosity_pa_s):.3g} {ends} Pa s at {float(aim.shear_rate_per_s):g} 1/s and {float(aim.temperature_c):g} C"


def _grams(curve: DishCurve, dose_g_per_l: float) -> float:
    """The grams that a version with this dose is saved with: as they can be weighed."""
    masses = curve.with_dose(dose_g_per_l).thickeners_g
    return sum(masses[name] for name in curve.shares)
