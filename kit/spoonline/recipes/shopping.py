"""What to buy: several recipes added up, as prepared and as purchased, less what is there already."""

import html
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from spoonline import facts
from spoonline.measures import AmountError, Range, print_grams
from spoonline.recipes.own import OwnTrim
from spoonline.recipes.records import Recipe

# Two published tables of trimming differ by up to 16 points; without a weighed trim a yield is good to 10 % (90 %).
TABLE_TRIM = 0.10
Store = Mapping[str, float | str]  # what is there already, by item
OWN_TRIM = 0.04  # one weighed trim against the next (judged)


class ToBuy(NamedTuple):
    """One item of the list; masses [g]. ``bought_g`` is the whole need as purchased, ``buy_g`` what is missing of it."""

    item: str
    prepared_g: float
    bought_g: Range
    in_store_g: float
    buy_g: Range
    pieces: str
    basis: str


class ShoppingList(NamedTuple):
    """The list, and the lines that nobody can add up."""

    rows: tuple[ToBuy, ...]
    unknown: tuple[str, ...]

    @property
    def text(self) -> str:
        """The list as one prints it."""
        lines = [line for each in self.rows if (line := _line(each))]
        return "\n".join([*lines, *(f"- [ ] {line} (amount not known)" for line in self.unknown)])

    def _repr_html_(self) -> str:
        items = "".join(f"<li>{html.escape(line.removeprefix('- [ ] '))}</li>" for line in self.text.splitlines())
        return f"<ul>{items}</ul>"


def _line(row: ToBuy) -> str:
    if row.buy_g.high <= 0:
        return f"- [x] {row.item}: {print_grams(row.in_store_g)} is there, {print_grams(row.bought_g.best)} wanted"
    amount = print_grams(max(row.buy_g.best, 1.0))
    said = f"- [ ] {row.item}: {amount}" + (f" (about {row.pieces})" if row.pieces else "")
    if row.bought_g.high > 1.005 * row.bought_g.low:
        said += f", {print_grams(max(row.buy_g.low, 1.0))} to {print_grams(row.buy_g.high)}; {print_grams(row.prepared_g)} once trimmed"
    return said + (f"; {print_grams(row.in_store_g)} is there" if row.in_store_g else "")


def shopping_list(
    recipes: Recipe | Sequence[Recipe], trims: Iterable[OwnTrim] = (), in_store: Store | None = None
) -> ShoppingList:
    """Add up what several recipes need, in the order of first use; tap water is left out.

    Parameters
    ----------
    recipes : Recipe or sequence of Recipe
        The weights of a recipe are of what goes into the pot.
    trims : iterable of OwnTrim
        The cook's own weighed trimmings; they rule over the table.
    in_store : mapping of str to float, str or quantity, optional
        What is there already, as purchased: grams, or an amount such as "2 large" or ``sl.units("2 lb")``.

    Raises
    ------
    ItemError
        If something in store is an item that nobody knows.
    AmountError
        If an amount in store cannot be weighed.

    Notes
    -----
    As purchased = as prepared / yield. Yields: the cook's own weighed trim (range 4 %, judged), else USDA SR28 refuse (public
    domain), good to 10 % at best since published tables differ.

    Examples
    --------
    >>> soup = Recipe(title="Soup", ingredients=["850 g parsnips", "1 l water", "2 onions"])
    >>> print(shopping_list(soup, in_store={"onions": "1 large"}).text)
    - [ ] parsnip: 1000 g (about 7 medium), 910 g to 1100 g; 850 g once trimmed
    - [ ] onion: 94 g (about 1 medium), 72 g to 120 g; 220 g once trimmed; 150 g is there
    """
    wanted = [recipes] if isinstance(recipes, Recipe) else recipes
    lines = [line for recipe in wanted for line in recipe.ingredients]
    own = {trim.item: trim for trim in trims}
    store = {facts.resolve(name): _in_grams(name, amount) for name, amount in (in_store or {}).items()}
    needs: dict[str, float] = {}
    for line in lines:
        name = line.fact_name or line.item
        if line.mass_g is not None and name != "water":
            needs[name] = needs.get(name, 0.0) + float(line.mass_g)
    rows = (_row(name, mass, own.get(name), store.get(name, 0.0)) for name, mass in needs.items())
    return ShoppingList(tuple(rows), tuple(line.line for line in lines if line.mass_g is None))


def _in_grams(name: str, amount: float | str) -> float:
    if isinstance(amount, (int, float)):
        if not (math.isfinite(amount) and amount >= 0):
            raise AmountError(f"{name}: {amount} g came; what is in store is 0 g or more.")
        return float(amount)
    return facts.grams(amount, name).mass_g


def _row(name: str, mass: float, trim: OwnTrim | None, there: float) -> ToBuy:
    row = facts.known(name)
    left, spread, basis = 1.0, 0.0, "" if row else "no figures here"
    if trim is not None:
        left, spread, basis = trim.left, OWN_TRIM, f"your own trim, {100 * trim.left:.0f} % left"
    elif row and row.edible_percent is not None and row.edible_percent < 100:
        left, spread, basis = row.edible_percent / 100, TABLE_TRIM, f"{row.source}, {row.edible_percent:.0f} % left"
    best = mass / left
    bought = Range(best, best / (1 + spread), best * (1 + spread))
    buy = Range(*(max(each - there, 0.0) for each in bought))
    pieces = ""
    size = next((each for each in ("medium", "large", "one") if row and each in row.pieces), None)
    if row and size and row.part in ("vegetable", "fruit") and buy.best > 0:
        # A piece of the table is weighed without its trim; a tenth of one is not worth another.
        count = max(1, math.ceil(buy.best * left / row.pieces[size] - 0.1))
        pieces = f"{count}" if size == "one" else f"{count} {size}"
    return ToBuy(name, mass, bought, there, buy, pieces, basis)
