"""One page to decide on: what changed between two versions, what the pots did, what tasters could tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from spoonline.card.gather import TESTED_BATCHES
from spoonline.card.render import render
from spoonline.dose import Comparison, OddPot, Spread, compare_pots, odd_pots, pooled_spread
from spoonline.pots import Batch, batch_thickness, tested
from spoonline.recipes import Basis, Changes, Recipe, Version, changes


@dataclass(frozen=True)
class PotRow:
    """One pot of the page: batch, version, day, dose, viscosity with its 90 % range, and its place against the band."""

    batch: int
    version: int
    day: str
    dose: str
    viscosity: str
    place: str


@dataclass(frozen=True)
class Decision:
    """Everything the page says about two versions of a dish."""

    old: Version
    new: Version
    changed: Changes
    comparison: Comparison
    spread: Spread
    pots: tuple[PotRow, ...]
    odd: tuple[OddPot, ...]
    tasters: tuple[str, ...]
    tested: tuple[int, int]

    @property
    def sentence(self) -> str:
        """What one may write on a card about the newer version, and no more."""
        cooked, inside = self.tested
        if cooked == 0:
            said = "Not tested: no batch of this version was read."
        elif cooked >= TESTED_BATCHES and cooked == inside:
            said = f"Tested in {cooked} batches, all within the band."
        else:
            said = f"{inside} of {cooked} {'batch' if cooked == 1 else 'batches'} within the band; not tested yet."
        return " ".join([said, *self.tasters])

    @property
    def answer(self) -> str:
        """The whole page in one sentence."""
        return f"{self.changed.text} {self.comparison.text}"

    def html(self) -> str:
        """One self-contained page, made for A4 on its side; nothing is fetched."""
        return render("decision.html", d=self)

    def _repr_html_(self) -> str:
        return f"<p>{self.answer}</p>" if "<" not in self.answer else ""


def decide(
    old: Version,
    new: Version,
    batches: Sequence[Batch],
    recipes: Mapping[int, Recipe],
    *,
    tasters: Sequence[str] = (),
    history: Sequence[Sequence[float]] | None = None,
    per: Basis = "litre",
) -> Decision:
    """Lay recipe, pots and tasters of two versions side by side.

    Parameters
    ----------
    old, new : Version
    batches : sequence of Batch
        Pots of the dish; those left out do not count.
    recipes : mapping of int to Recipe
        All versions of the dish by number.
    tasters : sequence of str
        What tasting sessions between the two said, one sentence each.
    history : sequence of sequence of float, optional
        Viscosities [Pa s] of repeated pots of other dishes, a sequence a version; they sharpen what so few pots could show.
    per : {"litre", "finished", "flour"}
        Basis of the recipe's comparison.

    Returns
    -------
    Decision

    Notes
    -----
    All pots are brought to the temperature and shear rate of the newer version's target.

    Examples
    --------
    >>> from spoonline.recipes import Recipe, content_id
    >>> recipes = {n: Recipe(title="Gravy", ingredients=["1 l beef stock", f"{g} g wheat flour"]) for n, g in ((1, 60), (2, 70))}
    >>> old, new = (
    ...     Version(title="Gravy", number=n, id=content_id(each), saved_at="2026-01-08T10:00Z", recipe=each)
    ...     for n, each in recipes.items()
    ... )
    >>> decide(old, new, [], recipes).sentence
    'Not tested: no batch of this version was read.'
    """
    target = new.recipe.target
    read: dict[int, list[tuple[Batch, float]]] = {old.number: [], new.number: []}
    rows = []
    groups: dict[int, list[float]] = {}
    for batch in batches:
        thickness = None if batch.left_out else batch_thickness(batch, target)
        if thickness is None:
            continue
        groups.setdefault(batch.version, []).append(thickness.viscosity_pa_s)
        if batch.version in read:
            read[batch.version].append((batch, thickness.viscosity_pa_s))
            dose = batch.cooked(recipes[batch.version]).dose_g_per_l
            place = f"{target.place(thickness.viscosity_pa_s)} the band" if target else ""
            rows.append(
                PotRow(
                    batch.number,
                    batch.version,
                    batch.cooked_on.isoformat(),
                    f"{dose:.1f}",
                    f"{thickness.range:.2g}",
                    place,
                )
            )
    spread = pooled_spread([*groups.values(), *(history or ())])
    first, second = (read[version.number] for version in (old, new))
    comparison = compare_pots(
        [value for _, value in first], [value for _, value in second],
        days=([batch.cooked_on for batch, _ in first], [batch.cooked_on for batch, _ in second]), spread=spread,
    )  # fmt: skip
    both = [batch for batch in batches if batch.version in read and not batch.left_out]
    return Decision(
        old, new, changes(old.recipe, new.recipe, per), comparison, spread, tuple(rows),
        tuple(odd_pots(both, recipes, target, spread)), tuple(tasters), tested(batches, new.recipe, new.number),
    )  # fmt: skip
