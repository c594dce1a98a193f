"""What an amount of an ingredient weighs, and back to spoons: ``measures`` bound to the tables."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from spoonline.facts.rows import IngredientFacts, ingredient
from spoonline.measures import Amount, AmountError, ItemError, Weight, parse_amount, takes_quantities, weigh, weighed
from spoonline.measures.printing import print_grams, round_volume
from spoonline.measures.tables import refuse

if TYPE_CHECKING:
    from pint import Quantity

# Spread within one size, judged; with no size said, the whole run from small to large is open.
_EACH_SD = 0.12
_ANY_SD = 0.25
_MADE_SD = 0.03
_MADE = ("stick", "can", "packet", "cube", "carton", "sheet")


class Household(NamedTuple):
    """A household measure, what it holds [g], and its error against what was wanted [%]."""

    text: str
    mass_g: float
    error_percent: float

    def __str__(self) -> str:
        """Write the measure alone, so that it can be read back."""
        return self.text


@takes_quantities
def grams(amount: str | Amount | Quantity[float], item: str, system: str = "us", size: str = "") -> Weight:
    """Find what an amount of an ingredient weighs.

    Parameters
    ----------
    amount : str, Amount or quantity
        Such as "1 1/2 tbsp", "30 g", "2 large"; or a pint quantity such as ``sl.units("3 tbsp_au")``.
    item : str
        The ingredient; needs to be known unless the amount is a mass.
    system : str, optional
        Whose spoons and cups, for text: "us", "label", "metric", "uk", "au".
    size : str, optional
        "small", "medium" or "large", for counts.

    Returns
    -------
    Weight
        ``mass_g`` and ``sd_g`` [g] (standard uncertainty of scale, spoon or piece), and ``basis``, its source.

    Raises
    ------
    AmountError
        If the amount cannot be read, or has no size (a pinch, a handful): weigh it.
    ItemError
        If the item is not known, or has no density or weight a piece.

    Notes
    -----
    Level measures and pieces: USDA SR28 (public domain) unless the row says otherwise; edible part. The spoon's own
    published weight is used where the table has it, else another measure of the row in proportion.

    Examples
    --------
    >>> spoon = grams("1 level tbsp", "corn starch")
    >>> round(spoon.mass_g, 2), round(spoon.sd_g, 2)
    (8.0, 0.8)
    >>> grams("1 cup", "whole milk").basis
    'USDA SR28 01077, 1.031 g/mL'
    """
    given = parse_amount(amount, system) if isinstance(amount, str) else amount
    read = given if isinstance(given, Amount) else Amount.of(given)
    kind = read.measure.kind
    if kind == "mass":
        mass, sd = weigh(read)
        return Weight(mass, sd, weighed(0).basis)
    row = ingredient(item)
    if kind in ("feel", "length"):
        weigh(read)
    if kind == "volume":
        density = row.density(read.measure.name)
        if density is None:
            raise ItemError(f"A spoon or cup of {row.name} has no weight here; weigh it, write grams.", row.name)
        mass, sd = weigh(read, g_per_ml=density, liquid=row.pours)
        state = f", {row.state}" if row.state else ""
        return Weight(mass, sd, f"{row.source}, {density:.3f} g/mL{state}")
    each, which, spread = _piece(read, row, size)
    mass, sd = weigh(read, g_each=each, each_relative_sd=spread)
    return Weight(mass, sd, f"{row.source}, {each:g} g each ({which}, edible part)")


def _piece(read: Amount, row: IngredientFacts, size: str) -> tuple[float, str, float]:
    """Weight of one piece [g], which piece that is, and its relative spread."""
    words = [size] if size else []
    if not size and read.unit == "":
        words = [w for w in ("small", "medium", "large") if w in read.text.lower().split()]
    wanted = " ".join([*words, read.unit]).strip()
    sizes = [row.pieces[s] for s in ("small", "medium", "large") if s in row.pieces]
    for key in (wanted, read.unit if read.unit else ""):
        if key and key in row.pieces:
            spread = _MADE_SD if read.unit in _MADE else _EACH_SD if words and key == wanted else _ANY_SD
            return row.pieces[key], key, spread
    if not wanted and sizes:
        which = "one" if "one" in row.pieces else "medium" if "medium" in row.pieces else "large"
        each = row.pieces.get(which, sizes[0])
        spread = max(_EACH_SD, (sizes[-1] - sizes[0]) / 12**0.5 / each)
        return each, which, spread
    if not wanted and "one" in row.pieces:
        return row.pieces["one"], "one", _ANY_SD if row.part in ("vegetable", "fruit") else _EACH_SD
    known = ", ".join(f"{key} {value:g} g" for key, value in row.pieces.items() if key != "one")
    hint = f"known are {known}; or write" if known else "weigh it and write"
    raise AmountError(f"'{read.text or read}' of {row.name} has no weight a piece here; {hint} grams.", row.name)


@takes_quantities
def household(mass_g: float, item: str, system: str = "us", *, strict: bool = True) -> Household:
    """Find the spoons, cups or pieces that come nearest to a mass, at most two steps.

    Parameters
    ----------
    mass_g : float
        Mass [g], above 0.
    item : str
        The ingredient.
    system : str, optional
        "us", "metric", "uk" or "au".
    strict : bool, optional
        Give grams for thickener and salt where the measure is more than 5 % out.

    Returns
    -------
    Household
        Its text and ``error_percent``, the error of that rounding [%]: print it above 5 % (10 % for a spice).

    Raises
    ------
    AmountError
        If the mass is not above 0, or the system is unknown.
    ItemError
        If the item is not known, or has no density or weight a piece.

    Notes
    -----
    Source: level measures as in `grams`; rounding rule of this kit. Beyond what spoons and cups hold, a liquid is given in
    ml and all else in grams.

    Examples
    --------
    >>> found = household(12.0, "corn starch")
    >>> print(found, abs(found.error_percent) < 0.1)
    1 1/2 tbsp True
    """
    row = ingredient(item)
    refuse(not mass_g > 0, "measured out", came=mass_g)
    counted = {"one", "medium"} & row.pieces.keys() and row.part not in ("liquid", "seasoning")
    if row.density("cup") is None or counted:
        return _pieces(mass_g, row)
    spooned, poured = (mass_g / (row.density(measure) or 1.0) for measure in ("tbsp", "cup"))
    volume = poured if spooned > 40 else spooned
    text = round_volume(volume, system).text
    held = grams(parse_amount(text, system), row.name).mass_g
    strictly = strict and (row.part == "thickener" or row.is_salt)
    far = abs(held / mass_g - 1) > (0.05 if strictly else 0.12)
    if row.pours and volume > 20 and (far or (system in ("metric", "uk") and volume > 60)):
        step = 5 if volume < 100 else 10 if volume < 500 else 50
        text = f"{step * max(1, int(volume / step + 0.5))} ml"
        held = grams(text, row.name).mass_g
    elif far:
        return _in_grams(mass_g, strictly)
    return Household(text, held, 100 * (held / mass_g - 1))


def _in_grams(mass_g: float, fine: bool = False) -> Household:
    text = print_grams(mass_g, fine=fine)
    held = float(text.split()[0])
    return Household(text, held, 100 * (held / mass_g - 1))


def _pieces(mass_g: float, row: IngredientFacts) -> Household:
    key = next((k for k in ("medium", "large", "one", *row.pieces) if k in row.pieces), None)
    if key is None:
        raise ItemError(f"No spoon and no piece of {row.name} has a weight here; print it in grams.", row.name)
    each = row.pieces[key]
    count = max(0.5, int(2 * mass_g / each + 0.5) / 2)
    words = (f"{int(count)}" if count >= 1 else "", "1/2" if count % 1 else "", "" if key == "one" else key)
    off = count * each / mass_g - 1
    return _in_grams(mass_g) if abs(off) > 0.12 else Household(" ".join(filter(None, words)), count * each, 100 * off)
