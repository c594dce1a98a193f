"""What to buy: several recipes added up, as prepared and as purchased, less what is there already."""

import html
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from spoonline import facts
from spoonline.measures import Range, print_grams, read_table, refuse, takes_quantities, totals
from spoonline.recipes.own import OwnTrim
from spoonline.recipes.records import Recipe

# Two published tables of trimming differ by up to 16 points; without a weighed trim a yield is good to 10 % (90 %).
TABLE_TRIM = 0.10
Store = Mapping[str, float | str]  # what is there already, by item
SHELVES = {row["part"]: row["shelf"] for row in read_table("shelves.csv", "recipes")}
OWN_TRIM = 0.04  # one weighed trim against the next (judged)


class ToBuy(NamedTuple):
    """One item of the list; masses [g]. ``bought_g`` is the whole need as purchased, ``buy_g`` what is missing of it, ``name`` what it
    was called first."""

    item: str
    name: str
    shelf: str
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
        lines = [f"- [ ] {line} (amount not known)" for line in self.unknown]
        for shelf in reversed(dict.fromkeys(SHELVES.values())):
            rows = [_line(each) for each in self.rows if each.shelf == shelf]
            lines = [f"{shelf}:", *rows, *lines] if rows else lines
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        lines = map(html.escape, self.text.splitlines())
        items = (f"<li>{each[6:]}</li>" if each[0] == "-" else f"<li><b>{each}</b></li>" for each in lines)
        return f"<ul>{''.join(items)}</ul>"


def _line(row: ToBuy) -> str:
    if row.buy_g.high <= 0:
        return f"- [x] {row.name}: {print_grams(row.in_store_g)} is there, {print_grams(row.bought_g.best)} wanted"
    said = f"- [ ] {row.name} {_rounded_up(row.buy_g.best)}" + (f" (about {row.pieces})" if row.pieces else "")
    said += f"; {print_grams(row.prepared_g)} once trimmed" if row.bought_g.high > 1.005 * row.bought_g.low else ""
    return said + (f"; {print_grams(row.in_store_g)} is there" if row.in_store_g else "")


def _rounded_up(mass_g: float) -> str:
    """A mass [g] as a shop sells it, never less than is wanted."""
    step = next(step for top, step in ((10, 1), (100, 10), (1000, 50), (5000, 100), (math.inf, 500)) if mass_g < top)
    mass_g = step * max(1, math.ceil(mass_g / step - 1e-9))
    return f"{mass_g / 1000:g} kg" if mass_g >= 1000 else f"{mass_g:g} g"


@takes_quantities
def shopping_list(
    recipes: Recipe | Sequence[Recipe], trims: Iterable[OwnTrim] = (), in_store: Store | None = None
) -> ShoppingList:
    """Add up what several recipes need, by shelf, in the order of first use; tap water is left out.

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
    Vegetables and fruit:
    - [ ] parsnips 1 kg (about 7 medium); 850 g once trimmed
    - [ ] onions 100 g (about 1 medium); 220 g once trimmed; 150 g is there
    """
    wanted = [recipes] if isinstance(recipes, Recipe) else recipes
    lines = [line for recipe in wanted for line in recipe.ingredients]
    own = {trim.item: trim for trim in trims}
    store = totals((facts.resolve(name), _in_grams(name, amount)) for name, amount in (in_store or {}).items())
    called = {line.fact_name or line.item: line.item for line in reversed(lines)}
    weighed = [(line.fact_name or line.item, float(line.mass_g)) for line in lines if line.mass_g is not None]
    needs = totals((name, mass) for name, mass in weighed if name != "water")
    rows = (_row(name, called[name], mass, own.get(name), store.get(name, 0.0)) for name, mass in needs.items())
    return ShoppingList(tuple(rows), tuple(line.line for line in lines if line.mass_g is None))


def _in_grams(name: str, amount: float | str) -> float:
    if isinstance(amount, (int, float)):
        refuse(not (math.isfinite(amount) and amount >= 0), "in store", name=name, came=amount)
        return float(amount)
    return facts.grams(amount, name).mass_g


def _row(name: str, called: str, mass: float, trim: OwnTrim | None, there: float) -> ToBuy:
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
    milky = row is not None and bool({"milk", "egg"} & {*row.contains})
    shelf = SHELVES["dairy" if milky else row.part if row else "other"]
    return ToBuy(name, called, shelf, mass, bought, there, buy, pieces, basis)
