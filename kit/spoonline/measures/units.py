"""Units of the kitchen: each with its own exact size, because a cup means nothing without its system."""

from __future__ import annotations

from typing import NamedTuple

from spoonline.measures.errors import AmountError

SYSTEMS = {
    "us": "US customary",
    "label": "US food label",
    "metric": "metric",
    "uk": "UK (metric spoons, imperial cup, pint and fluid ounce)",
    "au": "Australian",
}

_GALLON_US_ML = 3785.411784  # 231 cubic inches
_FLOZ_UK_ML = 4546.09 / 160
_US = {"tsp": 768, "dsp": 384, "tbsp": 256, "fl oz": 128, "gill": 32, "cup": 16, "pint": 8, "quart": 4, "gallon": 1}
_UK = {"fl oz": 1, "gill": 5, "cup": 10, "pint": 20, "quart": 40, "gallon": 160}

# Volume of one unit [mL] by system. Units that are the same everywhere stand under "all".
_VOLUME_ML: dict[str, dict[str, float]] = {
    "all": {"ml": 1.0, "cl": 10.0, "dl": 100.0, "l": 1000.0},
    "us": {name: _GALLON_US_ML / parts for name, parts in _US.items()},
    "label": {"tsp": 5.0, "tbsp": 15.0, "fl oz": 30.0, "cup": 240.0},
    "metric": {"tsp": 5.0, "dsp": 10.0, "tbsp": 15.0, "cup": 250.0},
    "uk": {"tsp": 5.0, "dsp": 10.0, "tbsp": 15.0} | {name: times * _FLOZ_UK_ML for name, times in _UK.items()},
    "au": {"tsp": 5.0, "dsp": 10.0, "tbsp": 20.0, "cup": 250.0},
}
_FEEL = "splash glug knob handful drizzle sprinkling dollop squeeze grind shake spoonful ladle glass mug teacup few"
_PIECES = (
    "piece clove stalk sprig bunch head bulb leaf slice rasher fillet can jar packet bottle carton"
    " tub block cube ear strip sheet loaf bag box stick breast thigh wedge root pod link floret spear knuckle"
)
# By-feel words. A figure [mL] is a convention in print, not a size; None has not even that.
FEEL_ML: dict[str, float | None] = {
    "dash": _GALLON_US_ML / 768 / 8,
    "pinch": _GALLON_US_ML / 768 / 16,
    "smidgen": _GALLON_US_ML / 768 / 32,
    "drop": 0.05,
    **dict.fromkeys(_FEEL.split()),
}
PIECES = tuple(_PIECES.split())
_KINDS: dict[str, dict[str, float | None]] = {
    "mass": {"mg": 0.001, "g": 1.0, "kg": 1000.0, "oz": 28.349523125, "lb": 453.59237},
    "length": {"cm": 1.0, "inch": 2.54},
    "feel": dict.fromkeys(FEEL_ML),
    "piece": dict.fromkeys(PIECES),
}

# Every spelling, lower case, without a final full stop; a plural in -s is read by the grammar.
_SPELLINGS = """
mg: mg, milligram, milligramme
g: g, gm, gram, gramme
kg: kg, kilo, kilogram, kilogramme
oz: oz, ounce
lb: lb, pound
ml: ml, millilitre, milliliter, cc
cl: cl, centilitre, centiliter
dl: dl, decilitre, deciliter
l: l, litre, liter, ltr
tsp: tsp, teaspoon, teaspoonful, teaspoonsful, tea spoon
dsp: dsp, dessertspoon, dessertspoonful, dstspn
tbsp: tbsp, tbs, tblsp, tb, tablespoon, tablespoonful, tablespoonsful
fl oz: fl oz, fl. oz, floz, fluid ounce, fluid oz, fl ounce
cup: cup, cupful, cupsful
pint: pint, pt
quart: quart, qt
gallon: gallon, gal
gill: gill
cm: cm, centimetre, centimeter
inch: inch, inche, in
dash: dashe
pinch: pinche
splash: splashe
handful: handsful
sprinkling: sprinkle
grind: grinding, turn
glass: glasse
few: several, some, couple, little
stalk: rib, stem
bunch: bunche
leaf: leave
can: tin
packet: package, pack, pkg, sachet, envelope, pouch
loaf: loave
box: boxe
"""
SPELLINGS: dict[str, str] = {name: name for name in (*FEEL_ML, *PIECES)}
for _line in _SPELLINGS.strip().splitlines():
    _name, _, _words = _line.partition(": ")
    SPELLINGS |= dict.fromkeys(_words.split(", "), _name)


class Unit(NamedTuple):
    """A unit and what it measures.

    ``kind`` is mass, volume, length, piece (counted) or feel (no known size); ``size`` is in g, mL or cm for the first
    three, None for the others.
    """

    name: str
    kind: str
    size: float | None
    system: str


def unit(name: str, system: str = "us") -> Unit:
    """Look up a unit by its name or any spelling of it ("tablespoons") in a system of measures ("us", "label", "metric", "uk", "au").

    Raises `AmountError` if the unit or the system is not known, or the system has no such unit.

    US customary from the gallon of 231 cubic inches (exact); imperial from the gallon of 4.54609 L (exact);
    food label values 21 CFR 101.9(b)(5)(viii); metric and Australian spoons common practice.

    >>> unit("cup", "us").size, unit("cup", "metric").size, unit("tablespoons", "au").size
    (236.5882365, 250.0, 20.0)
    """
    if system not in SYSTEMS:
        raise AmountError(f"{system!r} is no system of measures here; write one of {', '.join(SYSTEMS)}.", system)
    plain = name.strip().lower().rstrip(".")
    key = SPELLINGS.get(plain) or SPELLINGS.get(plain.removesuffix("s"))
    if key is None:
        raise AmountError(f"{name!r} is no unit here; write for example g, ml, tsp, tbsp or cup.", name)
    for kind, sizes in _KINDS.items():
        if key in sizes:
            return Unit(key, kind, sizes[key], system)
    size = _VOLUME_ML["all"].get(key, _VOLUME_ML[system].get(key))
    if size is None:
        raise AmountError(
            f"{SYSTEMS[system]} measures have no {key}; write it in ml, or name another system.", (key, system)
        )
    return Unit(key, "volume", size, system)
