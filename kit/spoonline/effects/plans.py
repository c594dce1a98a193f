"""Plans of pots: one quantity or two changed on purpose, in the order to cook them, each cooking day a block.

Two quantities: corners and centre pots on one day, star points on the next, after Box and Wilson 1951 (memory). One: low, middle
and high on each day. Days differ more than most changes do.
"""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np
import scipy
from numpy.typing import ArrayLike, NDArray
from pydantic import Field, ValidationInfo, model_validator

from spoonline.measures import BatchError, KitchenError, Sayings
from spoonline.pots import STAGES, known_stage, put_in
from spoonline.recipes import Kept, Number, Recipe, Record, by_ratio, column_of, dimension_of

FloatArray = NDArray[np.float64]
said = Sayings("said.csv", "effects", BatchError)
CORNERS = [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)]
STAR = 1.414  # rotatable for two factors, as printed in the handbooks
STARS = [(STAR, 0.0), (-STAR, 0.0), (0.0, STAR), (0.0, -STAR)]


class Factor(Record):
    """Something that is changed on purpose between a low and a high setting, in its ``unit``.

    ``by_ratio`` takes steps of equal ratio (doses, times) instead of equal difference (temperatures), as the unit suggests unless said;
    ``column`` is the one of ``book.batches(title)`` that holds what really went in.

    Examples
    --------
    >>> dose = Factor(name="corn starch", unit="g/L", low=25, high=36)
    >>> round(float(dose.setting(0.0)), 6), round(float(dose.coded(36.0)), 6), dose.column
    (30.0, 1.0, 'corn_starch_g_per_l')
    """

    wrong: ClassVar[type[KitchenError]] = BatchError

    name: str = Field(min_length=1, max_length=60, description="what is changed")
    unit: str = Field(description="its unit")
    low: Number = Field(description="the low setting")
    high: Number = Field(description="the high setting")
    by_ratio: bool = Field(True, description="whether steps are of equal ratio")
    column: str = Field("", description="the column of the pots' table that holds it")

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, data: Any, info: ValidationInfo) -> Any:
        if info.context or not isinstance(data, dict) or not {"name", "unit", "low"} <= data.keys():
            return data
        name, unit = str(data["name"]), str(data["unit"])
        return {"by_ratio": str(data["low"]) != "0" and by_ratio(unit), "column": column_of(name, unit)} | data

    def hold(self) -> None:
        """A low setting below the high one, above 0 where steps are ratios."""
        spans = self.low < self.high and (self.low > 0 or not self.by_ratio)
        said.refuse(not spans, "settings", of=self, above=" above 0" if self.by_ratio else "")

    def setting(self, coded: ArrayLike) -> FloatArray:
        """Map -1 (low) ... 1 (high) to settings."""
        low, high, share = float(self.low), float(self.high), (np.asarray(coded, dtype=float) + 1) / 2
        return np.asarray(low * (high / low) ** share if self.by_ratio else low + (high - low) * share)

    def coded(self, setting: ArrayLike) -> FloatArray:
        """Map settings to -1 (low) ... 1 (high)."""
        at, low, high = np.asarray(setting, dtype=float), float(self.low), float(self.high)
        share = np.log(at / low) / np.log(high / low) if self.by_ratio else (at - low) / (high - low)
        return np.asarray(2 * share - 1)


class PlannedPot(Record):
    """One pot of a plan: its number in the order to cook, its cooking day (from 1), and a setting of each factor."""

    number: int = Field(ge=1)
    day: int = Field(ge=1)
    settings: tuple[Number, ...]


class PotPlan(Kept):
    """Which pots to cook on which day, and what is looked at in each; made by :func:`plan_pots`."""

    wrong: ClassVar[type[KitchenError]] = BatchError
    kind: ClassVar[str] = "pot plan"
    key_fields: ClassVar[tuple[str, ...]] = ("title", "name")

    title: str = Field(description="title of the dish")
    name: str = Field(min_length=1, max_length=200, description="what the plan is called; a pot names it")
    factors: tuple[Factor, ...] = Field(min_length=1, max_length=2, description="what is changed")
    outcome: str = Field(min_length=1, max_length=60, description="what is looked at, such as spread")
    unit: str = Field(description="its unit, or score")
    stage: str = Field("served", description="when that is looked at")
    pots: tuple[PlannedPot, ...] = Field(description="in the order to cook them")

    @property
    def column(self) -> str:
        """The column of ``book.batches(title)`` that holds the outcome."""
        return column_of(self.outcome if STAGES[self.stage].fresh else f"{self.outcome} {self.stage}", self.unit)

    def words(self, settings: Sequence[float | Number]) -> str:
        """Settings of a pot, in words."""
        pairs = zip(settings, self.factors, strict=True)
        return " and ".join(f"{float(value):.3g} {each.unit} of {each.name}" for value, each in pairs)


def plan_pots(
    title: str, factors: Sequence[Factor], outcome: str, unit: str, *, name: str = "", stage: str = "served", centres: int = 3,
    days: int = 2, stars: bool = False, seed: int = 5,
) -> PotPlan:  # fmt: skip
    """Plan pots for one quantity or two.

    Parameters
    ----------
    title : str
        The dish.
    factors : sequence of Factor
        One: its low, middle and high setting on each of the ``days``. Two: the corners and some ``centres``.
    outcome, unit : str
        What is looked at, and its unit.
    name : str, optional
        What the plan is called; its factors and outcome unless given.
    stage : str, optional
        When the outcome is looked at.
    centres : int, optional
        Of two factors: pots in the middle on each day; they show how far pots of one recipe differ.
    days : int, optional
        Of one factor: on how many days it is cooked.
    stars : bool, optional
        Of two factors: a second day of star points, at 1.414 steps from the middle, which show a bend.
    seed : int, optional
        Fixes the random order within each day.

    Raises
    ------
    BatchError
        If there are more than two factors, too few pots, or a star point would lie below 0.

    Examples
    --------
    >>> butter = Factor(name="butter", unit="g/100g flour", low=40, high=62.5)
    >>> plan = plan_pots("Oat biscuits", [butter], "spread", "cm")
    >>> plan.name, [(pot.day, float(pot.settings[0])) for pot in plan.pots][:3]
    ('butter on spread', [(1, 50.0), (1, 62.5), (1, 40.0)])
    """
    known_stage(stage)
    dimension_of(unit)
    different = len(factors) in (1, 2) and len({each.column for each in factors}) == len(factors)
    said.refuse(not different, "factors", came=len(factors))
    few = (centres if len(factors) == 2 else days - 1) < 0 or (stars and not centres)
    said.refuse(few, "too few", centres=centres, days=days)
    blocks: list[list[tuple[float, ...]]] = [[(-1.0,), (0.0,), (1.0,)]] * days
    if len(factors) == 2:
        blocks = [[*each, *[(0.0, 0.0)] * centres] for each in ([CORNERS, STARS] if stars else [CORNERS])]
    rng, pots = np.random.default_rng(seed), list[PlannedPot]()
    for day, points in enumerate(blocks, start=1):
        for place in rng.permutation(len(points)):
            settings = [float(each.setting(at)) for each, at in zip(factors, points[place], strict=True)]
            pots.append(PlannedPot(number=len(pots) + 1, day=day, settings=settings))
    for place, each in enumerate(factors):
        least = min(pot.settings[place] for pot in pots)
        said.refuse(least < 0 <= each.low, "star", of=each, came=float(least))
    called = name or f"{' and '.join(each.name for each in factors)} on {outcome}"
    return PotPlan(title=title, name=called, factors=factors, outcome=outcome, unit=unit, stage=stage, pots=pots)


PER = ("g/L", "g/kg", "g/100g flour")
ROUNDS = 12  # two liquids, each counted in the other, have settled by then
MOST_TIMES = 50.0  # of what a line holds now


def weighed_out(recipe: Recipe, settings: Mapping[str, float]) -> tuple[Recipe, dict[str, float]]:
    """Return the recipe whose lines hold these settings, and the settings that no line holds: times, temperatures, what is typed.

    A line that no setting is about stays the same object.

    Parameters
    ----------
    recipe : Recipe
        As it is to be cooked, in its size.
    settings : mapping of str to float
        Columns of ``book.batches(title)``, each with its figure there.

    Examples
    --------
    >>> biscuit = Recipe(title="Biscuits", ingredients=["200 g plain flour", "90 g butter"], steps=["Bake 12 minutes."])
    >>> made, rest = weighed_out(biscuit, {"butter_g_per_100g_flour": 55.0, "oven_c": 170.0})
    >>> [float(line.mass_g) for line in made.ingredients], rest
    ([200.0, 110.0], {'oven_c': 170.0})
    """
    held = dict[str, float]()
    for _ in range(ROUNDS):  # what one line holds may be what the other is counted by
        for column, wanted in settings.items():
            if (made := _holding(recipe, column, wanted)) is not None:
                recipe, held[column] = made, wanted
    return recipe, {column: wanted for column, wanted in settings.items() if column not in held}


def weigh(recipe: Recipe, settings: Mapping[str, float]) -> str:
    """The lines that hold these settings, in words; blank where none does."""
    made, _ = weighed_out(recipe, settings)
    pairs = zip(recipe.ingredients, made.ingredients, strict=True)
    return " and ".join(f"{new.amount} {new.item}" for old, new in pairs if new is not old)


def _holding(recipe: Recipe, column: str, wanted: float) -> Recipe | None:
    lines = recipe.ingredients
    names = (column_of(line.fact_name or line.item, unit) if line.mass_g else "" for line in lines for unit in PER)
    place = next((n // len(PER) for n, name in enumerate(names) if name == column), None)
    if place is None:
        return None

    def with_mass(mass_g: float) -> Recipe:
        line = lines[place].reweighed(f"{float(f'{mass_g:.3g}'):g} g", mass_g, 0.0)  # 1020 g, not 1.02e+03
        return recipe.model_copy(update={"ingredients": (*lines[:place], line, *lines[place + 1 :])})

    def over(mass_g: float) -> float:
        found = {name: value for (name, _), value in put_in(with_mass(mass_g)).items()}
        return found.get(column, 0.0) - wanted

    try:
        found = float(scipy.optimize.brentq(over, 0.0, MOST_TIMES * float(lines[place].mass_g or 0), xtol=1e-3))
        return with_mass(float(f"{found:.3g}"))  # as it can be weighed
    except ValueError:  # no amount of this line gives it
        return None
