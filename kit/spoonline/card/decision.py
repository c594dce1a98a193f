"""One page to decide on: what changed between two versions, what the pots did, what tasters could tell."""

from collections.abc import Sequence
from html import escape
from typing import NamedTuple

from spoonline.card.gather import aimed, evidence_text
from spoonline.card.render import render
from spoonline.card.words import words
from spoonline.dish import Dish
from spoonline.dose import Comparison, OddPot, Spread, compare_pots, odd_pots, pooled_spread
from spoonline.effects import compare_outcomes
from spoonline.measures import DataFrame, Range, print_dose, takes_quantities
from spoonline.pots.table import BATCHES, framed, pot_row
from spoonline.recipes import Basis, Changes, Version, changes


class Decision(NamedTuple):
    """Everything the page says about two versions of a dish; ``pots`` has one row a pot, as ``dish.table`` has; ``outcomes`` say what
    else was measured of both."""

    old: Version
    new: Version
    dish: Dish
    changed: Changes
    comparison: Comparison
    spread: Spread
    pots: DataFrame
    odd: tuple[OddPot, ...]
    tasters: tuple[str, ...]
    outcomes: tuple[str, ...] = ()

    @property
    def sentence(self) -> str:
        """What one may write on a card about the newer version, and no more."""
        aims = (aimed(each, self.dish.recipe, words()).good for each in self.dish.aims)
        return " ".join(filter(None, (evidence_text(self.dish, words()), *aims, *self.tasters)))

    @property
    def answer(self) -> str:
        """The whole page in one sentence."""
        thickness = [self.comparison.text] if self.rows or not self.outcomes else []
        return " ".join((self.changed.text, *thickness, *self.outcomes))

    @property
    def rows(self) -> list[tuple[object, ...]]:
        """The pots as the page prints them: batch, version, dose, viscosity with its 90 % range, against the band."""
        ends = self.pots[["viscosity_pa_s", "viscosity_low_pa_s", "viscosity_high_pa_s"]].itertuples(index=False)
        viscosities = [f"{Range(*each):.2g}" for each in ends]
        doses = [print_dose(dose) for dose in self.pots["dose_g_per_l"]]
        return list(zip(self.pots["batch"], self.pots["version"], doses, viscosities, self.pots["band"], strict=True))

    def html(self) -> str:
        """One self-contained page, made for A4 on its side; nothing is fetched."""
        return render("decision.html", d=self)

    def _repr_html_(self) -> str:
        return f"<p>{escape(self.answer)}</p>"


@takes_quantities
def decide(
    dish: Dish, old: Version, new: Version, *, tasters: Sequence[str] = (), history: Sequence[Sequence[float]] = (),
    per: Basis = "",
) -> Decision:  # fmt: skip
    """Lay recipe, pots and tasters of two versions side by side.

    Parameters
    ----------
    dish : Dish
        Its pots that count are compared.
    old, new : Version
    tasters : sequence of str
        What tasting sessions between the two said, one sentence each.
    history : sequence of sequence of float, optional
        Viscosities [Pa s] of repeated pots of other dishes, a sequence a version; they sharpen what so few pots could show.
    per : {"litre", "finished", "flour", "all"}, optional
        Basis of the recipe's comparison; by the kind of dish unless given.

    Returns
    -------
    Decision

    Notes
    -----
    All pots are brought to the temperature and shear rate of the newer version's target.

    Examples
    --------
    >>> from spoonline.dish import Dish
    >>> from spoonline.recipes import Recipe, content_id
    >>> recipes = {n: Recipe(title="Gravy", ingredients=["1 l beef stock", f"{g} g wheat flour"]) for n, g in ((1, 60), (2, 70))}
    >>> old, new = (
    ...     Version(title="Gravy", number=n, id=content_id(each), saved_at="2026-01-08T10:00Z", recipe=each)
    ...     for n, each in recipes.items()
    ... )
    >>> decide(Dish(recipes[2]), old, new).sentence
    'No thickness target is set, so no batch could be held against it.'
    """
    dish = dish.at(new)
    spread = pooled_spread([*dish.viscosities.values(), *history])
    first, second = ([pot for pot in dish.counted if pot.batch.version == each.number] for each in (old, new))
    comparison = compare_pots(
        [pot.viscosity_pa_s for pot in first], [pot.viscosity_pa_s for pot in second],
        days=([pot.batch.cooked_on for pot in first], [pot.batch.cooked_on for pot in second]), spread=spread,
    )  # fmt: skip
    # by themselves: the table of the dish would want its curve, and that what the kitchen's other dishes taught
    both = (pot for pot in dish.counted if pot.batch.version in (old.number, new.number))
    pots = framed((pot_row(pot, dish.aim) for pot in both), BATCHES)
    changed, odd = changes(old.recipe, new.recipe, per), odd_pots([*first, *second], spread)
    typed = {each.name.casefold() for batch in dish.batches for each in batch.outcomes}
    two = (dish.frame[dish.frame["version"].eq(each.number)] for each in (old, new))
    outcomes = tuple(each.text for each in compare_outcomes(*two) if each.outcome in typed)
    return Decision(old, new, dish, changed, comparison, spread, pots, tuple(odd), tuple(tasters), outcomes)
