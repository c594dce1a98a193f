"""One dish as every screen, card and command sees it: its versions, its pots, its curve, its aim, tested or not, what is next."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import islice
from statistics import median

from spoonline.dose import DishCurve, NextBatch, PotNow, pot_now
from spoonline.dose.dish_curve import liquid_shown
from spoonline.dose.next_batch import SAME_DOSE, in_ten, keep_text, odd_text
from spoonline.dose.priors import Prior
from spoonline.effects import EffectReading, NextSetting, read_effect
from spoonline.measures import DataFrame, KitchenError, Range, frame_html, or_none, print_dose
from spoonline.pots import LAST_POTS, TESTED_DAYS, TESTED_POTS, BandCount, Batch, CookedPot, cooked_pot, usual_loss
from spoonline.pots.counted import SAME_QUANTITY, cooked_pots, same_quantities, weighed_loss
from spoonline.pots.table import BATCHES, came_to, framed, outcome_table, pot_row, put_in, varied
from spoonline.pots.thickness import own_tool, shown_text
from spoonline.recipes import Aim, Recipe, Target, Version, column_of

# An aim beside thickness: what to cook next may lie so far outside what was tried (share of that), and a recipe stays as it is
# where its chance is so near the best (judged).
BEYOND, AS_GOOD = 0.5, 0.1
WANTED = f"{TESTED_POTS} of the last {LAST_POTS}, on {TESTED_DAYS} days or more, are wanted"

# Columns of the table of pots that a notebook does not show at once.
HIDDEN = ["title", "cook", "evaporated_g", "stages", "tools", "shown", "temperature_c", "shear_rate_per_s", "note"]


@dataclass(frozen=True)
class AimCount:
    """A further aim of a dish, and how many of its last pots met it."""

    aim: Aim
    count: BandCount

    @property
    def text(self) -> str:
        """Whether it is tested, in one sentence."""
        return _counted(self.count, f" for {self.aim.text}", "meet it")


@dataclass(frozen=True)
class Dish:
    """A dish at one of its versions; made by ``book.dish(title)``, worked out where it is asked for.

    Parameters
    ----------
    recipe : Recipe
        The recipe looked at; its target is the aim.
    version : Version, optional
        The version it was saved as.
    versions, batches : tuple
        All versions of the dish that stand, and its pots, or the last of them.
    kitchen : callable, optional
        What the kitchen's other dishes have taught of a thickener, by its name; the tables alone without it.
    of : int
        How many pots stand, where these are the last of them.

    Examples
    --------
    >>> dish = Dish(Recipe(title="Gravy", ingredients=["1 l beef stock", "60 g wheat flour"]))
    >>> dish.text
    'Gravy, not saved yet: 60.0 g/L. No aim is set, so no pot can be held against it. Next: say how thick it should be.'
    """

    recipe: Recipe
    version: Version | None = None
    versions: tuple[Version, ...] = ()
    batches: tuple[Batch, ...] = ()
    kitchen: Callable[[str], Prior] | None = field(default=None, compare=False, repr=False)
    of: int = 0

    def at(self, version: Version) -> Dish:
        """The same dish at another of its versions."""
        same = version is self.version and version.recipe is self.recipe
        return self if same else replace(self, recipe=version.recipe, version=version)

    def aiming(self, aim: Target | None) -> Dish:
        """The same dish with another aim, or with none."""
        return self if aim == self.aim else replace(self, recipe=self.recipe.model_copy(update={"target": aim}))

    @property
    def title(self) -> str:
        """Its name."""
        return self.recipe.title

    @property
    def rests_on(self) -> tuple[str, ...]:
        """From which of its pots all this is worked out, and what of them is set apart, a sentence each; none where from all."""
        last = len(self.batches)
        some = f"Worked out from the last {last:,} of {self.of:,} pots; the logbook keeps all."
        read = ((pot.batch.number, each) for pot in self.pots for each in pot.batch.readings if not each.left_out)
        apart = (f"A reading of batch {at} is set apart: {each.set_apart}" for at, each in read if each.set_apart)
        return (*([some] if self.of > last else []), *apart)

    @property
    def number(self) -> int | None:
        """Number of the version looked at; None where it is not saved."""
        return self.version.number if self.version else None

    @property
    def worked_out_anew(self) -> str:
        """What release 0.1.0 said of the dose of a version that it saved, where juice changed it; blank for every later version."""
        recipe = self.version.recipe if self.version else None
        if recipe is None or all("fate" in line.model_fields_set for line in recipe.ingredients):
            return ""
        poured_l = sum(float(line.volume_ml or 0) for line in recipe.of_part("liquid")) / 1000
        grams = sum(float(line.mass_g or 0) for line in recipe.of_part("thickener"))
        was = f"{grams / poured_l:.1f} g/L" if poured_l else ""
        if not was or recipe.kind == "dough" or was == recipe.dose_text:
            return ""
        return f"This version was saved before juice was counted: its dose is worked out anew, {recipe.dose_text} where it said {was}."

    @property
    def aim(self) -> Target | None:
        """How thick it should be; None where nobody has said."""
        return self.recipe.target

    @cached_property
    def recipes(self) -> dict[int, Recipe]:
        """The versions that stand, and the one looked at, by number."""
        return {each.number: each.recipe for each in (*self.versions, *([self.version] if self.version else []))}

    @cached_property
    def pots(self) -> tuple[CookedPot, ...]:
        """Every pot, whether it counts or not; see :func:`spoonline.pots.cooked_pot`."""
        return cooked_pots(self.batches, self.recipes, self.aim)

    @property
    def loss(self) -> tuple[float, float]:
        """Share of what goes in that evaporates, and its standard uncertainty: as its own pots were weighed, else as forecast."""
        return usual_loss(self.recipe, weighed_loss(self.pots))

    @property
    def counted(self) -> tuple[CookedPot, ...]:
        """The pots that count, of any version."""
        return tuple(pot for pot in self.pots if pot.counts)

    @property
    def left_out(self) -> dict[int, str]:
        """Why each other pot does not count, by its number."""
        only = bool(self.recipe.aims) and self.aim is None  # thickness is nothing that anybody asks of it
        reasons = {pot.batch.number: pot.fault if only else pot.left_out for pot in self.pots}
        return {number: reason for number, reason in reasons.items() if reason}

    @cached_property
    def last(self) -> CookedPot | None:
        """The last recorded pot of those that count, found without working out the others."""
        pots = (cooked_pot(batch, self.recipes, self.aim) for batch in reversed(self.batches))
        return next((pot for pot in pots if pot.counts), None)

    @property
    def viscosities(self) -> dict[int, list[float]]:
        """Viscosities of the pots that count [Pa s], by version."""
        read = [(pot.batch.version, pot.viscosity_pa_s) for pot in self.counted]
        return {version: [each for of, each in read if of == version] for version, _ in read}

    @cached_property
    def learned(self) -> Prior | None:
        """What the kitchen's other dishes have taught of this dish's thickener; None where nobody asks or it has several."""
        names = list(self.recipe.thickeners_g)
        return self.kitchen(names[0]) if self.kitchen is not None and len(names) == 1 else None

    @cached_property
    def _fitted(self) -> DishCurve | str:
        try:
            return DishCurve.fit(self.recipe, self.pots, self.learned)
        except KitchenError as err:
            return str(err)

    @property
    def curve(self) -> DishCurve | None:
        """The dose curve from all pots that count; None where there can be none, which :attr:`no_curve` explains."""
        return None if isinstance(self._fitted, str) else self._fitted

    @property
    def doses_g_per_l(self) -> dict[str, float]:
        """Thickener per litre of liquid [g/L], each by name; the liquid is the forecast, or what strained sauces have shown it to be."""
        shown = liquid_shown(self.pots)
        return {name: dose / shown for name, dose in self.recipe.doses_g_per_l.items()}

    @property
    def dose_text(self) -> str:
        """The dose of all thickeners in words."""
        dose = sum(self.doses_g_per_l.values())
        return f"{print_dose(dose)} g/L" if dose > 0 else self.recipe.dose_text

    @property
    def no_curve(self) -> str:
        """Why there is no curve; blank where there is one."""
        return self._fitted if isinstance(self._fitted, str) else ""

    @cached_property
    def alike(self) -> tuple[CookedPot, ...]:
        """The pots that count and hold the quantities of the version looked at, of any version, in the order cooked."""
        return tuple(self._alike(self.counted))[::-1]

    def _alike(self, pots: Iterable[CookedPot], *, seasonings: bool = False) -> Iterator[CookedPot]:
        """Of some pots those that hold the quantities of the version looked at, the last cooked first."""
        for pot in sorted(pots, key=lambda pot: (pot.batch.cooked_on, pot.batch.number), reverse=True):
            if pot.recipe and same_quantities(pot.recipe, self.recipe, seasonings=seasonings):
                yield pot

    @cached_property
    def frame(self) -> DataFrame:
        """One row a pot, with every quantity and every outcome: see :func:`spoonline.pots.table.outcome_table`."""
        return outcome_table(self.pots, lambda _: self.aim)

    @cached_property
    def aims(self) -> tuple[AimCount, ...]:
        """The further aims of the recipe, each with how many of the last four pots of these quantities met it.

        Seasonings count here, and so does what was typed as varied where the recipe's steps say otherwise.
        """
        if not self.recipe.aims:
            return ()
        own, alike = put_in(self.recipe), []
        for pot in reversed([*self._alike((pot for pot in self.pots if not pot.fault), seasonings=True)]):
            typed = ((value, own.get(key)) for key, value in varied(pot.batch, own).items())
            if all(said is None or abs(value - said) <= SAME_QUANTITY * abs(said) for value, said in typed):
                alike.append((came_to(pot), pot.batch.cooked_on))

        def held(aim: Aim, row: dict[tuple[str, str], float]) -> list[bool]:
            """Whether it meets the aim, in whatever unit it was recorded; nothing where it was not."""
            there = ((unit, value) for (column, unit), value in row.items() if column == column_of(aim.outcome, unit))
            asked = ((or_none(aim.in_unit, unit), value) for unit, value in there)
            return [each.against(value) == "inside" for each, value in asked if each is not None][:1]

        met = ((aim, [(each, day) for row, day in alike for each in held(aim, row)]) for aim in self.recipe.aims)
        return tuple(AimCount(aim, BandCount.of(pots)) for aim, pots in met)

    @property
    def tested(self) -> BandCount:
        """Of the last four pots how many met the aim that fewest met, and whether that is enough for each; none without an aim."""
        counts = [*([self.in_band] if self.aim is not None else []), *(each.count for each in self.aims)]
        return min(counts, key=lambda each: (each.enough, each.inside, each.days), default=BandCount())

    def next_setting(self, quantity: str = "", outcome: str = "") -> tuple[EffectReading, NextSetting | None] | None:
        """What a quantity does to a further aim, and the setting to cook next (None where that cannot be told yet); None where no pots differ.

        The aim that fewest pots met and the quantity that was varied most, unless given.
        """
        wanted = [each for each in self.aims if outcome in ("", each.aim.outcome, each.aim.column)]
        if not wanted:
            return None
        aim = min(wanted, key=lambda each: (each.count.enough, each.count.inside)).aim
        quantities = self.frame.attrs["quantities"]
        if aim.column not in self.frame or not quantities:
            return None
        read = self.frame[self.frame[aim.column].notna()][list(quantities)]
        spread = ((read.max() - read.min()) / read.abs().mean()).fillna(0.0)
        if not quantity and spread.max() < SAME_QUANTITY:
            return None
        found = read_effect(self.frame, quantity or str(spread.idxmax()), aim.column, aim=aim)
        return found, found.next_setting(beyond=BEYOND)

    @cached_property
    def in_band(self) -> BandCount:
        """Of the last four pots of these quantities how many lie inside the band of thickness; none without a target."""
        aim = self.aim
        if aim is None:
            return BandCount()
        last = [*islice(self._alike(self.counted), LAST_POTS)][::-1]
        held = ((aim.against_band(pot.viscosity_pa_s), pot.batch.cooked_on) for pot in last)
        return BandCount.of((against == "inside", day) for against, day in held)

    @cached_property
    def next(self) -> NextBatch | None:
        """The dose to cook next, with its reason; None without an aim or a curve, which :attr:`next_text` explains.

        A dose that is tested stays as it is, whatever the curve has learned since.
        """
        if self.curve is None or self.aim is None:
            return None
        found, own = self.curve.next_batch(), self.curve.dose_g_per_l
        if not self.in_band.enough:  # pots near one dose are not yet pots of one recipe
            if min(own, found.dose_g_per_l) > 0 and abs(math.log(found.dose_g_per_l / own)) < SAME_DOSE / 2:
                # no cook can tell so little: the recipe stays as it is
                told = found.reason.replace(f"{print_dose(found.dose_g_per_l)} g/L", f"{print_dose(own)} g/L")
                found = replace(found, dose_g_per_l=own, chance=self.curve.chance(own) or 0.0, reason=told)
            if not found.tested:
                return found
            again = f"Cook {print_dose(found.dose_g_per_l)} g/L again: {in_ten(found.chance)} pots should land in the band; {WANTED}."
            return replace(found, count=self.in_band, reason=again)
        dose = self.curve.dose_g_per_l
        chance = self.curve.chance(dose) or 0.0
        reason = keep_text(dose, chance, self.in_band) + odd_text(self.curve.curve)
        return NextBatch(dose, chance, reason, count=self.in_band)

    @property
    def next_text(self) -> str:
        """What to cook next and why, or what is wanted before that can be said."""
        if self.next is not None and not (self.in_band.enough and self.aims):
            return self.next.reason
        if not self.aims:
            return self.no_curve or "say how thick it should be."
        if self.tested.enough:
            return "Keep it as it is: every aim is met."
        found = self.next_setting()
        if found is None:
            missed = any(each.count.inside < each.count.read for each in self.aims)
            do = "Cook it with more or less of one thing" if missed else "Cook it"
            return f"{do} and record {', '.join(each.aim.outcome for each in self.aims if not each.count.enough)}."
        effect, setting = found
        if setting is None:
            return effect.text
        name, unit = effect.quantity
        here = put_in(self.recipe).get((column_of(name, unit), unit))
        chance = 0.0 if here is None else float(effect.chance(here))
        if here is None or chance < setting.chance - AS_GOOD:
            return setting.text
        return f"Cook it again as it is, {here:.3g} {unit} of {name}: {in_ten(chance)} such pots should meet the aim; {WANTED}."

    @cached_property
    def table(self) -> DataFrame:
        """One row a pot, at the conditions of the aim; ``left_out`` says why a pot does not count."""
        on_curve = {point.batch.number: point.dose_g_per_l for point in self.curve.pots} if self.curve else {}
        rows = [pot_row(pot, self.aim) | {"curve_dose_g_per_l": on_curve.get(pot.batch.number)} for pot in self.pots]
        return framed(rows, [*BATCHES, "curve_dose_g_per_l"])

    def boil_g_per_min(self, pan: str = "") -> float | None:
        """What boils off a minute [g/min]: as pots of this dish were weighed, in this pan where it is named; None where none was."""
        weighed = [pot for pot in self.pots if pot.inside and pot.inside.weighed and pot.batch.minutes]
        same = [pot for pot in weighed if pan and pot.batch.pan.casefold() == pan.casefold()]
        rates = [pot.inside.evaporated_g / float(pot.batch.minutes or 1) for pot in same or weighed if pot.inside]
        rates = [each for each in rates if each > 0]
        return median(rates) if rates else None

    def now(self, batch: Batch) -> PotNow:
        """Say how a pot on the stove stands, and what to do with it now; see :func:`spoonline.dose.pot_now`."""
        return pot_now(batch, self.recipe, self.curve, self.boil_g_per_min(batch.pan))

    @property
    def wanted(self) -> str:
        """What the tool that its pots were read with last should show; blank without an aim, or where that tool cannot read it."""
        aim = self.aim
        if aim is None:
            return ""
        reading = own_tool(self.batches, aim)
        shown = shown_text(reading, Range(float(aim.viscosity_pa_s), aim.low_pa_s, aim.high_pa_s), aim)
        return f"{shown} ({reading.tool}, {float(aim.temperature_c):g} C)" if shown else ""

    @property
    def tested_text(self) -> str:
        """Whether it is tested, in one sentence."""
        if self.aim is None and not self.aims:
            return "No aim is set, so no pot can be held against it."
        more = f"; {in_ten(self.next.chance)} more should" if self.next is not None else ""
        thick = [_counted(self.in_band, "", "lie inside the band", more)] if self.aim is not None else []
        return " ".join([*thick, *(each.text for each in self.aims)])

    @property
    def text(self) -> str:
        """The dish in a few sentences."""
        name = self.version.name if self.version else f"{self.title}, not saved yet"
        parts = [name if self.recipe.aims and not self.recipe.thickener_g else f"{name}: {self.dose_text}"]
        if self.aim is not None:
            parts[0] += f", aim {self.aim.viscosity_pa_s} Pa s ({self.aim.low_pa_s:.2g} to {self.aim.high_pa_s:.2g})"
        parts[0] += "".join(f", aim {each.text}" for each in self.recipe.aims)
        parts += [each.rstrip(".") for each in self.rests_on]
        if self.pots:
            reasons = "; ".join(f"batch {number}: {reason}" for number, reason in self.left_out.items())
            all_pots = "1 pot counts" if len(self.pots) == 1 else f"{len(self.pots)} pots count"
            count = f"{len(self.pots) - len(self.left_out)} of {all_pots}"
            parts.append(f"{count} ({reasons})" if reasons else count)
        return f"{'. '.join(parts)}. {self.tested_text} Next: {self.next_text}"

    def _repr_html_(self) -> str:
        return frame_html(self.table.drop(columns=HIDDEN), self.text)


def _counted(count: BandCount, what: str, met: str, more: str = "") -> str:
    """Whether an aim is tested, in one sentence."""
    if not count.read:
        return f"Not tested{what}: no pot of these quantities counts; {WANTED}."
    pots = "pot" if count.read == 1 else "pots"
    last = f"{count.inside} of the last {count.read} {pots} of these quantities {met}"
    if count.enough:
        return f"Tested{what}: {last}, on {count.days} days{more}."
    one_day = count.inside >= TESTED_POTS
    return f"Not tested{what}: {last}{', all on one day' if one_day else ''}; {WANTED}."
