"""A setting of a plan, or one that an effect advises, as what to weigh."""

from collections.abc import Mapping

from spoonline.pots.table import put_in
from spoonline.recipes import Recipe, column_of

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
    from scipy.optimize import brentq

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
        found = float(brentq(over, 0.0, MOST_TIMES * float(lines[place].mass_g or 0), xtol=1e-3))
        return with_mass(float(f"{found:.3g}"))  # as it can be weighed
    except ValueError:  # no amount of this line gives it
        return None
