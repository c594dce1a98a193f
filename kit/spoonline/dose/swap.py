"""Another thickener for the same thickness: how much, how sure, and what else changes."""

import math
from dataclasses import dataclass

from spoonline import facts
from spoonline.dose.dish_curve import DishCurve
from spoonline.dose.dose_curve import DoseCurve
from spoonline.dose.priors import said
from spoonline.facts.equivalences import FLOUR, Equivalence, trade_ratios
from spoonline.facts.rows import ThickenerFacts
from spoonline.measures import Range, read_table
from spoonline.pots.thickness import T90
from spoonline.recipes import Recipe

# What a cook notices beside the thickness, in the words of the thickener table.
TRAITS = {row["trait"]: row["label"] for row in read_table("traits.csv", "dose")}


@dataclass(frozen=True)
class Swap:
    """What one thickener in place of another would mean.

    Attributes
    ----------
    old, new, old_dose_g_per_l : str, str, float
        Their names, and the dose that is replaced [g/L].
    dose, held_dose : Range, float or None
        Dose of the new one for the same thickness [g/L], 90 % range; the dose where it is boiled, held or reheated for 10 min or
        more and loses strength by that [g/L].
    traits : tuple of (str, str, str)
        What is spoken of, the old one, the new one; only where they differ.
    trade, notes : tuple of Equivalence, tuple of str
        Grams of the new for 1 g of the old by source, as they disagree; what else changes.
    """

    old: str
    new: str
    old_dose_g_per_l: float
    dose: Range
    held_dose: float | None
    traits: tuple[tuple[str, str, str], ...]
    trade: tuple[Equivalence, ...]
    notes: tuple[str, ...]

    @property
    def text(self) -> str:
        """The answer in one or two sentences."""
        text = f"{self.dose:.2g} g/L of {self.new} (90 % range) would be as thick as {self.old_dose_g_per_l:.1f} g/L of {self.old}."
        if self.held_dose is not None:
            text += f" Boiled, held or reheated for 10 minutes or more it loses strength: about {self.held_dose:.2g} g/L then."
        return text

    def trade_text(self) -> tuple[str, ...]:
        """What kitchens and handbooks give as equal, as doses, one sentence each."""
        found = []
        for each in self.trade if self.old_dose_g_per_l > 0 else ():
            low, high = (self.old_dose_g_per_l * share for share in (each.low_g, each.high_g))
            dose = f"{low:.0f} g/L" if high / low < 1.01 else f"{low:.0f} to {high:.0f} g/L"
            found.append(f"{dose} ({each.source}; {each.kind})")
        return tuple(found)


def swap(dish: DishCurve, new: str, dose_g_per_l: float | None = None) -> Swap:
    """Find the dose of another thickener that gives the same thickness.

    Parameters
    ----------
    dish : DishCurve
        The dish as it is.
    new : str
        Name of the other thickener.
    dose_g_per_l : float, optional
        Dose of the dish's own thickener that is replaced [g/L]; the suggested one unless given.

    Raises
    ------
    ItemError
        If the new one is no thickener of this kit.
    BatchError
        If it is the thickener that the dish has already.

    Notes
    -----
    Starches replace one another by strength, in the water that the pot holds; the range joins the two strengths' own
    uncertainty. A gum follows a law of its own, so its dose comes from its own curve at the viscosity of the old dose.
    Trade equivalences stand beside the answer and are no part of it.
    """
    row, own = facts.thickener(new), facts.thickener(dish.thickener)
    said.refuse(row.name == own.name, "has it already", title=dish.recipe.title, name=own.name)
    dose = dish.next_batch().dose_g_per_l if dose_g_per_l is None else float(dose_g_per_l)
    curve, pot, held = dish.curve, dish.curve.pot, None
    if row.law or own.law:
        celsius, rate = curve.temperature_c, curve.shear_rate_per_s
        own_law = DoseCurve.fit([], [], row.name, pot=pot, temperature_c=celsius, shear_rate_per_s=rate)
        found = own_law.dose_for(float(curve.viscosity(dose).best))
    else:
        percent, spread = float(pot.percent(dose, own.strength)), T90 * _strength_ln_sd(own, row)
        found = Range(*(float(pot.dose(percent, row.strength * math.exp(k * spread))) for k in (0, 1, -1)))
        held = None if row.strength_held is None else float(pot.dose(percent, row.strength_held))
    pairs = ((label, getattr(own, trait), getattr(row, trait)) for trait, label in TRAITS.items())
    traits, trade = tuple(each for each in pairs if each[1] != each[2]), trade_ratios(own.name, row.name)
    return Swap(own.name, row.name, dose, found, held, traits, trade, _notes(dish.recipe, own, row))


def _strength_ln_sd(own: ThickenerFacts, row: ThickenerFacts) -> float:
    """Spread of ln(strength over strength): two products of one flour share what is unsure of the flour."""
    if all(each.name == FLOUR or each.flour_share < 1 for each in (own, row)):
        # At least 5 %: how much of a roux is flour is weighed by the cook (judged).
        return math.sqrt(max(abs(own.strength_ln_sd**2 - row.strength_ln_sd**2), 0.05**2))
    return math.hypot(own.strength_ln_sd, row.strength_ln_sd)


def _notes(recipe: Recipe, own: ThickenerFacts, row: ThickenerFacts) -> tuple[str, ...]:
    fat, gluten = 100 * (1 - row.flour_share), "cereals with gluten"
    wheat = [gluten in facts.ingredient(each.name).contains for each in (own, row)] == [False, True]
    yolk = any((line.fact_name or line.item) == "egg yolk" for line in recipe.ingredients)
    roux, was_roux = row.flour_share < 1, own.flour_share < 1
    notes = {"new": True, "gum": row.law, "fat": roux, "fat goes": was_roux, "wheat": wheat, "yolk": yolk}
    known = {"name": row.name.capitalize(), "fat": fat, "own": own.name}
    return tuple(said(f"swap: {note}", **known) for note, holds in notes.items() if holds)
