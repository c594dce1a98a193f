"""Mass balance of a pot: what is in its sauce at each moment, every figure with its standard uncertainty.

The pot is a vector of masses. A moment is a linear change of it, so its covariance matrix follows exactly; a weighing corrects it
(Joseph's form, which keeps the matrix a covariance whatever the correction is laid to). Nothing is created: what is in the sauce, in
pieces, taken out and gone as steam is always what went in.
"""

import itertools
import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from spoonline import facts
from spoonline.measures import DataFrame, frame_of, or_none, read_table, takes_quantities
from spoonline.pots.evaporation import LOSS_SD, forecast, held
from spoonline.pots.moments import Moment, said, story
from spoonline.pots.records import Batch
from spoonline.pots.water import DRY_SHARE
from spoonline.recipes import FATES, Fate, Ingredient, Recipe, juice_row, part_of

Vector = NDArray[np.float64]

# The table says what each is, in grams; starch in maize starch that does the same work.
NAMES = tuple(row["name"] for row in read_table("masses.csv", "pots"))
AT = {name: place for place, name in enumerate(NAMES)}
# Juice of meat holds so much that is no water: 4 % of the nutrients in a third of the mass (computed, purees_and_stews 3a).
BROTH_SHARE = 0.03
# Water of an item that the facts do not know [g/g] (judged), so that no meat counts as bone dry.
USUAL_WATER = {"liquid": 1.0, "vegetable": 0.9, "fruit": 0.86, "meat": 0.7}
# A kitchen scale under a hot pot [g]; a strained sauce (film on the pieces); a lifted piece and the sauce that clings to it (judged).
SCALE_SD_G, STRAINED_SD, CLINGS, CLINGS_SD = 3.0, 0.02, 0.05, 0.02
# What a cook says was boiled off is good to so much of it (judged).
BOILED_SD = 0.2
# Fat that pieces may have given beyond what the tables say [g/g] (judged).
FAT_ON_TOP = 0.1
SAUCE_G_PER_ML = 1.03
# No sieve holds back more of a sauce than this share (judged).
MOST_SIEVED = 0.8


@lru_cache(maxsize=256)
def along(**shares: float) -> Vector:
    """A direction in which the pot can change."""
    found = np.zeros(len(NAMES))
    for name, share in shares.items():
        found[AT[name]] = share
    found.flags.writeable = False
    return found


SAUCE = along(water=1, thickener=1, fat=1, rest=1)
ALL = SAUCE + along(solids=1)
WITH_SAUCE = SAUCE + along(starch=1, other_starch=1, no_liquid=1, dosed=1, liquid=1, boiled_off=1)
# A cooked vegetable that is blended into the sauce.
_wet = USUAL_WATER["vegetable"]
BLENDED = along(solids=-1, water_in_solids=-_wet, water=_wet, rest=1 - _wet)
WITH_SOLIDS = along(solids=1, water_in_solids=1, juice_pending=1, broth_pending=1, fat_pending=1)
_SHOWN = ("water", "starch", "other_starch", "fat", "solids", "evaporated", "put_in", "taken_out")
SHOWN = {"sauce_g": SAUCE, "sauce_l": SAUCE / SAUCE_G_PER_ML / 1000}
SHOWN |= {f"{name}_g": along(**{name: 1}) for name in _SHOWN}
WATERS = ("water", "water_in_solids")
STEAM = along(water=-1, evaporated=1, boiled_off=1, new_steam=1)
# Of the water of a sauce so much boils away at most (judged): a forecast ends there, a weighing that shows more is refused.
MOST_STEAM = 0.9
# What cannot be less than none: what a weighing puts below it, it puts there by chance or, beyond so many uncertainties, by a fault.
NO_LESS = ("water", "thickener", "fat", "solids", "other_starch")
CHANCE_SDS = 4.0
GIVES_JUICE = along(water=1 - BROTH_SHARE, rest=BROTH_SHARE, solids=-1, water_in_solids=BROTH_SHARE - 1, liquid=1)


class PotState(NamedTuple):
    """What is in a pot after one moment: a vector of masses and its covariance matrix."""

    moment: Moment | None
    x: Vector
    cov: NDArray[np.float64]

    def of(self, name: str) -> float:
        """One of the :data:`NAMES` [g, mL for the liquid]."""
        return float(self.x[AT[name]])

    def sum(self, direction: Vector) -> tuple[float, float]:
        """A sum over the pot, with its standard uncertainty."""
        return float(direction @ self.x), math.sqrt(max(float(direction @ self.cov @ direction), 0.0))

    @property
    def dose_g_per_l(self) -> float:
        """All thickener put in so far over the liquid, as far as both are in the pot [g/L]; 0 without any, NaN without liquid."""
        dosed, liquid = self.of("dosed"), self.of("liquid")
        if liquid > 0:
            return 1000 * max(dosed, 0.0) / liquid
        return 0.0 if dosed == self.of("taken_out") == 0 else math.nan

    def row(self) -> dict[str, Any]:
        """The moment as a row of :func:`pot_states`."""
        at = self.moment
        found: dict[str, Any] = {"moment": at.text if at else "cooked, as forecast", "at": at.at if at else None}
        for name, direction in SHOWN.items():
            found[name], found[f"{name}_sd"] = self.sum(direction)
        dose = self.dose_g_per_l
        slope = along(dosed=1000, liquid=-dose) / self.of("liquid") if dose > 0 else along()
        return found | {"dose_g_per_l": dose, "dose_g_per_l_sd": self.sum(slope)[1]}


class PotBalance:
    """A pot that is being filled: each method is what one moment does to it."""

    def __init__(self) -> None:
        self.x, self.cov = np.zeros(len(NAMES)), np.zeros((len(NAMES), len(NAMES)))
        self.heated, self.tares = False, dict[str, float]()
        # The pot weighed last, and that whose tare a weighing found; a pot without a name may be any.
        self.on_scale: str = ""
        self.tared: str | None = None

    def put(self, line: Ingredient, fate: Fate) -> None:
        """A line goes in: water, fat and starch to the sauce, or as a piece whose juice comes as it cooks."""
        if line.mass_g is None:
            return
        mass, sd = float(line.mass_g), float(line.sd_g or 0)
        each, squared, unsure = _put(line, fate)
        self.x += mass * each
        self.cov += squared * sd**2 + unsure * mass**2

    def cook(self) -> None:
        """Pieces give up their juice and fat; dry goods take up liquid, as far as there is any."""
        water, juice = self.x[AT["water"]], self.x[AT["juice_pending"]]
        part = min(1.0, max(water, 0.0) / -juice) if juice < 0 else 1.0
        change = np.eye(len(NAMES))
        for pending, moves, share in (
            ("juice_pending", along(water=1, solids=-1, water_in_solids=-1), part),
            ("broth_pending", along(rest=1, solids=-1), 1.0),
            ("fat_pending", along(fat=1, no_liquid=1, solids=-1), 1.0),
        ):
            change[:, AT[pending]] += share * moves
            change[AT[pending], AT[pending]] -= share
        self._linear(change)

    def evaporate(self, mass_g: float, sd_g: float) -> None:
        """So much is forecast to go as steam [g], nine tenths of the water at most."""
        goes_g = min(mass_g, MOST_STEAM * max(self.x[AT["water"]], 0.0))
        self.x += goes_g * STEAM
        self.cov += (sd_g if goes_g == mass_g else min(sd_g, goes_g)) ** 2 * np.outer(STEAM, STEAM)
        self.heated = True

    def take(self, mass_g: float, what: str, *, all_of_it: bool = False) -> None:
        """Grams leave the pot: a ladle of everything, sauce, pieces with the sauce that clings to them, or fat."""
        solids, film = along(solids=1), along(water=-1, water_in_solids=1, solids=1)
        portion = {"sauce": SAUCE, "served": ALL, "solids": solids, "fat": along(fat=1)}[what]
        held_g, sd = self._sum(portion)
        if what == "fat":
            sd += FAT_ON_TOP / 3 * max(self.x[AT["solids"]], 0.0)
        name = "food" if what == "served" else what
        goes_g = mass_g - min(CLINGS * mass_g, max(self._sum(SAUCE)[0], 0.0)) if what == "solids" else mass_g
        said.refuse(goes_g > held_g + 3 * sd + SCALE_SD_G, "taken out", came=mass_g, name=name, held=held_g)
        if what == "fat":
            skimmed = min(mass_g, max(self.x[AT["fat"]], 0.0))
            self.x += along(fat=-skimmed, no_liquid=-skimmed, solids=skimmed - mass_g, taken_out=mass_g)
        elif what == "solids":
            all_of_it = all_of_it or goes_g > held_g
            if all_of_it:
                self._learn(solids, goes_g, CLINGS_SD * mass_g, -GIVES_JUICE)
            self._part(WITH_SOLIDS, solids, goes_g)
            self._part(WITH_SAUCE, SAUCE, mass_g - goes_g)
            if all_of_it:  # no piece is left, so what is left is sauce
                self._learn(solids, 0.0, 0.0, film)
            else:
                self.cov += (CLINGS_SD * mass_g) ** 2 * np.outer(film, film)
        else:
            goes_g = min(mass_g, max(held_g, 0.0))
            self._part(WITH_SAUCE + (WITH_SOLIDS if what == "served" else 0), portion, goes_g)

    def weigh(self, mass_g: float, tare_g: float | None, pot: str = "") -> None:
        """The pot is weighed [g], the last one if none is named. Without a tare the first weighing finds it; the next shows what has gone."""
        pot = self.on_scale = pot or self.on_scale
        if tare_g is not None:
            self.tares[pot] = tare_g
        tare_g, change = self.tares.get(pot), np.eye(len(NAMES))
        change[AT["new_steam"]] = 0.0
        if finds := tare_g is None and self.tared not in (pot, ""):
            change[AT["tare"]] = -ALL
        else:
            seen = ALL if tare_g is not None else ALL + along(tare=1)
            # What a weighing shows to have gone is steam; whence it came follows from what else is unsure with what is new of it.
            gone = -self.cov[:, AT["new_steam"]]
            gone = gone if seen @ gone > SCALE_SD_G**2 else -STEAM
            put = along(put_in=1, water_put_in=1)
            self._learn(seen, mass_g - (tare_g or 0.0), SCALE_SD_G, gone if self.heated else None, put + along(water=1))
            self._no_gain(put, 3 * self._sum(along(put_in=1))[1] + 3 * SCALE_SD_G)
        self._linear(change)
        if finds:
            self.x[AT["tare"]] += mass_g
            self.cov[AT["tare"], AT["tare"]] += SCALE_SD_G**2
        self.tared = pot if tare_g is None else self.tared

    def strain(self, mass_g: float) -> None:
        """The sauce is strained and weighed [g]: it is that, whatever was forecast, and it sets the liquid of the dose."""
        food, sd = self._sum(ALL)
        unsure_g = 3 * math.hypot(sd, STRAINED_SD * mass_g) + SCALE_SD_G
        said.refuse(mass_g > food + unsure_g, "sauce over pot", came=mass_g, food=food)
        flows = SAUCE - along(thickener=1 / DRY_SHARE, no_liquid=1) + along(boiled_off=1)
        grams, liquid = float(flows @ self.x), self.x[AT["liquid"]]
        sauce, sd = self._sum(SAUCE)
        if sauce - mass_g > 2 * sd + STRAINED_SD * sauce:
            # Pulp stays in the sieve: it went in and is a solid from now on, of what was blended as far as that goes.
            pulp, no_liquid = sauce - mass_g, self.x[AT["no_liquid"]]
            said.refuse(pulp > MOST_SIEVED * sauce, "too little sauce", came=mass_g, sauce=sauce)
            self._part(WITH_SAUCE, SAUCE, pulp)
            self.put_back(pulp)
            self.x[AT["no_liquid"]] = max(no_liquid - pulp, min(no_liquid, self.x[AT["fat"]]))
        pieces, unsure = self.x[AT["solids"]] > 0, self.cov @ SAUCE
        if mass_g < sauce:  # what went in went in: less sauce than that is left in the sieve
            for put, stays in (("put_in", "solids"), ("water_put_in", "water_in_solids")):
                unsure = unsure - unsure[AT[put]] * along(**{put: 1, stays: 1})
        laid_to = unsure if SAUCE @ unsure > 1 else GIVES_JUICE if pieces else -STEAM
        self._learn(SAUCE, mass_g, max(STRAINED_SD * mass_g, SCALE_SD_G), laid_to)
        instead = along(solids=-1, water_in_solids=-1) if pieces else along(put_in=1, water_put_in=1)
        self._no_gain(instead, math.inf if pieces else unsure_g)
        change = np.eye(len(NAMES))
        # Its grams set the mL: a litre of milk or sugared juice stays what it was where the sauce weighs what was forecast.
        change[AT["liquid"]] = flows * (liquid / grams if min(liquid, grams) > 0 else 1.0)
        self._linear(change)

    def put_back(self, mass_g: float) -> None:
        """Pieces that were lifted out come back as they were [g]: cooked, with no more juice to give."""
        out, water = self.x[AT["taken_out"]], self.x[AT["water_taken_out"]]
        said.refuse(mass_g > out + SCALE_SD_G, "put back", came=mass_g, out=out)
        wet = mass_g * water / out if out > 0 else 0.0
        self.x += along(solids=mass_g, taken_out=-mass_g, water_in_solids=wet, water_taken_out=-wet)

    def happens(self, moment: Moment, cooked: Recipe) -> None:
        """What a moment does, but for putting in."""
        mass, celsius = float(moment.mass_g or 0), moment.temperature_c
        if moment.kind == "taken out":
            self.take(mass, moment.what, all_of_it=moment.all_of_it)
        elif moment.kind == "put back":
            self.put_back(mass)
        elif moment.kind == "weighed":
            self.weigh(mass, None if moment.tare_g is None else float(moment.tare_g), moment.pot)
        elif moment.kind == "strained":
            self.strain(mass or SAUCE_G_PER_ML * float(moment.volume_ml or 0))
        elif moment.kind in ("held", "reheated") and moment.minutes is not None:
            self.evaporate(*held(float(moment.minutes), None if celsius is None else float(celsius), cooked))
        elif moment.kind == "boiled off":
            water = max(self.x[AT["water"]], 0.0)
            said.refuse(mass > water, "boiled off", came=mass, water=water)
            self.evaporate(mass, BOILED_SD * mass)
        elif moment.kind == "blended":
            held_g, sd = self._sum(along(solids=1))
            said.refuse(mass > held_g + 3 * sd + SCALE_SD_G, "blended", came=mass, held=held_g)
            self.x += min(mass, max(held_g, 0.0)) * BLENDED  # pieces become part of the sauce

    def state(self, moment: Moment | None = None) -> PotState:
        """What is in the pot now; a BatchError where that is no water."""
        said.refuse(self.x[AT["water"]] < -SCALE_SD_G, "no water")
        return PotState(moment, self.x.copy(), self.cov.copy())

    def _sum(self, direction: Vector) -> tuple[float, float]:
        return PotState(None, self.x, self.cov).sum(direction)

    def _linear(self, change: NDArray[np.float64]) -> None:
        self.x = change @ self.x
        self.cov = change @ self.cov @ change.T

    def _learn(self, seen: Vector, value: float, sd: float, laid_to: Vector | None, otherwise: Vector = STEAM) -> None:
        """A weighing sets a sum; the difference is laid to a direction, or to what was uncertain in it."""
        if laid_to is None:
            unsure = self.cov @ seen
            laid_to = unsure if seen @ unsure > 1 else otherwise
        gain = laid_to / (seen @ laid_to)
        self.x = self.x + gain * (value - seen @ self.x)
        keeps = np.eye(len(NAMES)) - np.outer(gain, seen)
        self.cov = keeps @ self.cov @ keeps.T + sd**2 * np.outer(gain, gain)
        self._none_less()

    def _none_less(self) -> None:
        """What a weighing has put below none is none, and what was unsure with it follows."""
        for name in NO_LESS:
            one = along(**{name: 1})
            value, sd = self._sum(one)
            less = value < -max(CHANCE_SDS * sd, SCALE_SD_G)
            said.refuse(less, "less than none", less=-value, what=name.replace("_", " "))
            if -CHANCE_SDS * sd <= value < -1e-9:
                self._learn(one, 0.0, 0.0, self.cov @ one)
                self.x[AT[name]] = 0.0

    def _no_gain(self, instead: Vector, most_g: float) -> None:
        """Steam never comes back: what a weighing seems to have gained is laid to something else, as far as that may be.

        Nor can there be more of it than there was water, in the sauce or in what was taken out.
        """
        gained, water = -self.x[AT["evaporated"]], along(water=1, water_taken_out=1, evaporated=1) @ self.x
        said.refuse(gained < 0 and -gained >= MOST_STEAM * water, "evaporated", came=-gained, water=water)
        said.refuse(gained > most_g, "gained", came=gained)
        if gained > 0:
            self.x = self.x + gained * (along(evaporated=1, boiled_off=1) + instead)

    def _part(self, goes: Vector, portion: Vector, mass_g: float) -> None:
        """So much of a portion goes [g], and with it the same share of everything that is in it."""
        held_g = float(portion @ self.x)
        if held_g <= 0:
            return
        share, goes = mass_g / held_g, (goes != 0).astype(float)
        change = np.eye(len(NAMES)) - share * np.diag(goes) + np.outer(goes * self.x * share / held_g, portion)
        change[AT["water_taken_out"]] -= sum(change[AT[each]] - along(**{each: 1}) for each in WATERS)
        gone = goes * share * self.x
        self.x = self.x - gone + along(taken_out=mass_g, water_taken_out=sum(gone[AT[each]] for each in WATERS))
        self.cov = change @ self.cov @ change.T


@lru_cache(maxsize=1024)  # a line that nobody weighed otherwise is that of its version in every pot
def _put(line: Ingredient, fate: Fate) -> tuple[Vector, Any, Any]:
    each, unsure = per_gram(line, fate)
    return each, np.outer(each, each), sum(np.outer(one, one) for one in unsure)


def per_gram(line: Ingredient, fate: Fate) -> tuple[Vector, Sequence[Vector]]:
    """What a gram of a line brings by what becomes of it, and the directions in which that is uncertain."""
    row = facts.ingredient(line.fact_name) if line.fact_name else None
    put, becomes = along(put_in=1), FATES[fate.fate]
    if fate.fate == "thickens":
        strength = DRY_SHARE * strength_of(line.fact_name or line.item)
        wet = 1 - DRY_SHARE
        return put + along(water=wet, water_put_in=wet, thickener=DRY_SHARE, starch=strength, dosed=1), ()
    water = USUAL_WATER.get(part_of(line), 0.0) if row is None or row.water_g is None else row.water_g / 100
    fat = min((row.fat_g or 0.0) / 100 if row else float(line.part == "fat"), 1 - water)
    starch = (row.starch_g or 0.0) / 100 if row and line.part in ("vegetable", "fruit", "other") else 0.0
    share = fate.fate_share if becomes.in_sauce else 0.0
    freed = fate.fate_share * becomes.starch_freed + (1 - fate.fate_share) * FATES["whole"].starch_freed
    found = put + along(water_put_in=water, other_starch=freed * starch)
    found += share * along(water=water, fat=fat, rest=1 - water - fat)
    found += (1 - share) * along(solids=1, water_in_solids=water)
    if becomes.counts_as_liquid and line.mass_g:
        found += along(liquid=float(line.volume_ml or line.mass_g) / float(line.mass_g))
    elif fate.fate == "blended" or line.part == "fat":
        found += along(no_liquid=share)
    juice, sd = fate.gives
    broth = BROTH_SHARE if juice > 0 else 0.0
    gives = along(liquid=1)
    if share < 1:  # else dry goods swell within the sauce
        gives = gives + along(juice_pending=1 - broth, broth_pending=broth)
    found += juice * gives
    unsure = [sd * gives] if sd else []
    table = juice_row(line, "stewed") if share < 1 and fate.fate != "dough" else None
    if table is not None and table.fat_g_per_g:
        melting = (1 - share) * along(fat_pending=table.fat_g_per_g)
        found, unsure = found + melting, [*unsure, 0.5 * melting]
    return found, unsure


def strength_of(thickener: str) -> float:
    """Maize starch (g, as it is) that does the work of 1 g of this thickener; 1 where the facts do not know it."""
    row = or_none(facts.thickener, thickener)
    return 1.0 if row is None else row.strength


def states(batch: Batch, recipe: Recipe, usual: float | None = None) -> list[PotState]:
    """What is in a pot after each of its moments; ``usual`` is the share of what goes in that this dish is known to lose."""
    cooked, told = story(batch, recipe)
    fates = {id(line): fate for line, fate in zip(cooked.ingredients, cooked.fates, strict=True)}
    dough = cooked.kind == "dough"
    pot, found, minutes = PotBalance(), list[PotState](), None if batch.minutes is None else float(batch.minutes)
    # The whole cooking is forecast once, unless the story tells its heat itself before anything is strained, read or chilled; the first
    # of two weighings comes before it.
    cooking = itertools.takewhile(lambda each: each[0].kind not in ("strained", "read", "chilled"), told)
    waits = not any(at.kind == "held" and (at.temperature_c is None or at.temperature_c >= 90) for at, _ in cooking)
    first_of_two = sum(moment.kind == "weighed" for moment, _ in told) >= 2
    for moment, line in [*told, (None, None)]:
        if line is not None:
            pot.put(line, fates[id(line)])
            if dough:
                at = AT["dosed"]  # nothing of it is dosed, whatever juice its filling gives
                pot.x[at] = pot.cov[at] = pot.cov[:, at] = 0.0
        elif moment is not None and moment.kind == "weighed" and first_of_two:
            first_of_two = False
            pot.happens(moment, cooked)
        elif moment is not None or (waits and not pot.heated):
            pot.cook()  # and a story that ends before it is cooked is cooked as forecast
            if waits and not first_of_two:
                waits = False
                known = None if usual is None else (usual * cooked.mass_g, LOSS_SD * cooked.mass_g)
                pot.evaporate(*known or forecast(cooked, minutes))
            if moment is not None:
                pot.happens(moment, cooked)
        else:
            break
        found.append(pot.state(moment))
    return found


@takes_quantities
def pot_states(batch: Batch, recipe: Recipe, usual: float | None = None) -> DataFrame:
    """What was in a pot after each of its moments: sauce, water, starch, fat, pieces and steam, with standard uncertainties.

    Parameters
    ----------
    batch : Batch
        With its moments; one that was recorded without is read as everything put in, weighed, cooked, weighed again and read.
    recipe : Recipe
        The version that was cooked.
    usual : float, optional
        Share of what goes in that this dish loses, for a pot that was not weighed; as forecast unless said.

    Returns
    -------
    pandas.DataFrame
        One row a moment; ``*_g`` in g, ``sauce_l`` in L, each with ``*_sd``; ``starch_g`` and ``other_starch_g`` in maize starch,
        dry, that does the same work; ``dose_g_per_l`` is all thickener put in so far over the liquid so far, nothing boiled off.

    Raises
    ------
    BatchError
        If ``usual`` is no share, or the story cannot be: more taken out than there was, a sauce heavier than its pot, moments out of order.

    Notes
    -----
    Juice, its spread and melted fat come from ``facts/juices.csv``, evaporation from ``pots/evaporation.py``; both are forecasts that a
    weighing of the pot, or of the strained sauce, takes the place of.

    Examples
    --------
    >>> from spoonline.pots import Batch
    >>> gravy = Recipe(title="Gravy", ingredients=["1 l beef stock", "60 g wheat flour"])
    >>> batch = Batch(title="Gravy", version=1, cooked_on="2026-01-08", moments=[dict(kind="strained", mass_g=960)])
    >>> pot_states(batch, gravy)[["moment", "sauce_g"]].round().values.tolist()[-1]
    ['strained: 960 g of sauce', 960.0]
    """
    said.refuse(usual is not None and not 0 <= usual < 1, "no share", came=usual)
    return frame_of(state.row() for state in states(batch, recipe, usual))
