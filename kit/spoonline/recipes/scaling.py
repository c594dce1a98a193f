"""Scaling a recipe by one factor: masses exactly, written amounts as a cook would write them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from spoonline.measures import parse_amount
from spoonline.measures.errors import AmountError, RecipeError

if TYPE_CHECKING:
    from spoonline.recipes.records import Ingredient, Recipe


def scaled(
    recipe: Recipe, factor: float | None, *, servings: float | None = None, liquid_l: float | None = None
) -> Recipe:
    """Scale a recipe; see :meth:`Recipe.scaled`.

    Returns
    -------
    Recipe
        Masses, volumes, yields and servings times the factor; the written amounts follow.

    Raises
    ------
    RecipeError
        If not exactly one of factor, servings and liquid is given, or it cannot be used here.
    """
    given = [
        name
        for name, value in (("factor", factor), ("servings", servings), ("liquid_l", liquid_l))
        if value is not None
    ]
    if len(given) != 1:
        raise RecipeError(f"Scaling takes one of factor, servings or liquid_l; {', '.join(given) or 'none'} came.")
    if servings is not None:
        if recipe.servings is None:
            raise RecipeError(
                f"{recipe.title!r} does not say how many it serves; scale by factor or by litres of liquid."
            )
        factor = servings / float(recipe.servings)
    elif liquid_l is not None:
        if recipe.liquid_l == 0:
            raise RecipeError(f"{recipe.title!r} has no liquid; scale by factor or by servings.")
        factor = liquid_l / recipe.liquid_l
    assert factor is not None
    if not (math.isfinite(factor) and 0 < factor <= 10000):
        raise RecipeError(f"A scale of {factor:g} came; a number above 0 (up to 10 000) is wanted.")

    def times(value: object) -> float | None:
        return None if value is None else float(value) * factor  # type: ignore[arg-type]

    return recipe.model_copy(
        update={
            "ingredients": tuple(_line(line, factor) for line in recipe.ingredients),
            **{name: _kept(times(getattr(recipe, name))) for name in ("servings", "yield_g", "yield_l")},
        }
    )


def _kept(value: float | None) -> object:
    from spoonline.recipes.base import as_decimal

    return as_decimal(value)


def _line(line: Ingredient, factor: float) -> Ingredient:
    update: dict[str, object] = {
        name: _kept(None if value is None else float(value) * factor)
        for name, value in (("mass_g", line.mass_g), ("sd_g", line.sd_g), ("volume_ml", line.volume_ml))
    }
    if line.amount:
        try:
            update["amount"] = str(parse_amount(line.amount).scaled(factor))
        except AmountError:
            # An amount nobody could read stays as written, with the factor beside it, so that nothing is lost.
            update["amount"] = f"{line.amount} x {factor:.3g}"
    return line.model_copy(update=update)
