"""What a recipe holds: energy, nutrients and salt, summed from its weighed lines."""

from spoonline.facts.rows import IngredientFacts
from spoonline.recipes.records import Recipe

# Nutrients by the key of the catalogue; each is a column of the ingredient table, such as energy_kcal.
UNITS = {"energy": "kcal", "fat": "g", "carbohydrate": "g", "sugars": "g", "fibre": "g", "protein": "g", "sodium": "mg"}


def summed(recipe: Recipe) -> dict[str, tuple[float, tuple[str, ...]]]:
    """Sum the nutrients of all weighed lines.

    Parameters
    ----------
    recipe : Recipe

    Returns
    -------
    dict
        Of the whole dish: energy [kcal], fat, carbohydrate, sugars, fibre, protein [g], sodium [mg]; each its sum, and the
        ingredients that have no figure for it.

    Notes
    -----
    EuroFIR recipe method: edible grams of each ingredient times its composition; the weight yield changes grams a serving, not
    the sum. Energy that a row lacks follows from its protein, carbohydrate and fat. Retention factors are taken as 1: none of these
    nutrients evaporates, and a soup keeps what leaches out.

    Examples
    --------
    >>> salted = Recipe(title="Brine", ingredients=["1 l water", "6 g salt"])
    >>> round(summed(salted)["sodium"][0])
    2366
    """
    rows, found = [(line, line.row) for line in recipe.ingredients], {}
    for key, unit in UNITS.items():
        value, missing = 0.0, dict[str, None]()
        for line, row in rows:
            per_100: float | None = getattr(row, f"{key}_{unit}", None)
            if key == "energy" and per_100 is None and row is not None:
                per_100 = _energy_kcal(row)
            if per_100 is not None and line.mass_g is not None:
                value += float(line.mass_g) * per_100 / 100
            elif line.mass_g != 0:
                missing[line.item] = None
        found[key] = (value, tuple(missing))
    return found


def _energy_kcal(row: IngredientFacts) -> float | None:
    """Energy of 100 g by the general factors of labels: protein and carbohydrate 4, fat 9 kcal/g."""
    if row.protein_g is None or row.carbohydrate_g is None or row.fat_g is None:
        return None
    return 4 * (row.protein_g + row.carbohydrate_g) + 9 * row.fat_g
