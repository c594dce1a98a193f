"""Simulated pots that came out too thin or too thick: what one remedy does, and a second after reading again.

    python tests/experiments/mend_pots.py [pots] [seed] [rules] [steep]

The pots follow no law that the curve assumes: starch packs closely (Maron and Pierce) and is a bed of granules above, and between the cells of
a puree it has less water to itself. Beside `sl.mend` stand the rule of the earlier card and a rough reference: points that were drawn
from the very spreads the pots come from, weighed by all readings, with the amount that most of them say lands inside.

``rules`` is 1 for `sl.mend` alone. ``steep`` is 1 for starch that packs more closely: just below the
crossing its slope is 6 and more, twice that of the measured pastes (2.75-3.15) which the curve's prior was made of.
"""

from __future__ import annotations

import math
import sys
import time
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

import spoonline as sl
from spoonline import facts, flow
from spoonline.pots.contents import pot_of
from spoonline.pots.evaporation import usual_loss
from spoonline.recipes import Recipe

READING, POT_SD, BAND, INSIDE, TARE_G = 0.10, 0.15, 1.2, 1.25, 1400.0
POINTS = 20000
PACKING, STEEP = ((0.45, 0.65), (0.65, 0.85)), int(sys.argv[4]) if len(sys.argv) > 4 else 0
FLESH_STARCH = 0.0143  # of carrots [g/g]
KINDS = ("clear", "stew", "thick")
SIZE = flow.usual_settings("spatula")


def invent(rng: np.random.Generator, kind: str, n: int) -> dict[str, Any]:
    """Draw n kitchens' starch and liquid: the spreads that pots and reference share."""
    base = (0.03, 0.20) if kind == "thick" else (0.001, 0.02)
    return {
        "level": 0.20 * np.exp(0.30 * rng.normal(size=n)), "strength": np.exp(0.25 * rng.normal(size=n)),
        "crossing": rng.uniform(1.9, 3.0, n), "packing": rng.uniform(*PACKING[STEEP], n), "exponent": rng.uniform(2.2, 4.0, n),
        "base": np.exp(rng.uniform(*np.log(base), n)), "solids_power": rng.normal(3.0, 0.5, n), "crowds": rng.uniform(0.0, (0.6, 0.8)[STEEP], n),
        "juice_z": rng.normal(size=(2, n)), "freed": rng.uniform(0.3, 0.6, n) if kind == "thick" else np.zeros(n),
    }  # fmt: skip


def shape(theta: dict[str, Any], percent: Any) -> Any:
    """Close packing, then rigid granules; slopes of 2 to 4, as measured pastes have (0.9-6.2 %: 2.75-3.15)."""
    ratio = percent / theta["crossing"]
    return ((1 - theta["packing"] * np.minimum(ratio, 1.0)) ** -2 - 1) * np.maximum(ratio, 1.0) ** theta["exponent"]


@dataclass
class Masses:
    """What is in a sauce [g]: water, dry starch as maize starch, flesh that was blended; figures or arrays."""

    water: Any
    starch: Any
    flesh: float = 0.0
    usual_flesh: float = 0.0
    pours: float = 0.99

    def eta(self, theta: dict[str, Any]) -> Any:
        """Thickness of the average pot."""
        share = self.flesh / (self.water + self.starch + 0.1 * self.flesh)
        base = theta["base"] * ((share / self.usual_flesh) ** theta["solids_power"] if self.flesh else 1.0)
        dry = self.starch + theta["freed"] * FLESH_STARCH * self.flesh
        percent = 100 * dry / (dry + self.water) * theta["strength"] / (1 - theta["crowds"] * share)
        return base + theta["level"] * shape(theta, percent) / shape(theta, 4.0)

    def plus(self, way: str, grams: Any, strength: float) -> Masses:
        """After a remedy; slaked starch brings its water and twice its weight."""
        water, starch = {
            "slaked starch": (2.11, 0.89 * strength),
            "stir in liquid": (self.pours, 0.0),
            "boil down": (-1.0, 0.0),
        }[way]
        return Masses(self.water + water * grams, self.starch + starch * grams, self.flesh, self.usual_flesh)


@dataclass
class Case:
    """One pot, all that is true of it, and what its cook knows."""

    kind: str
    recipe: Recipe
    theta: dict[str, Any]
    pot_part: float
    masses: Masses
    target: float
    curve: sl.DoseCurve
    history: list[list[tuple[float, float]]]
    usual: Any
    strength: float
    name: str
    liquid: str
    dose: float
    total_g: float
    dose_sd: float
    own: tuple[float, float, float]
    moments: list[dict[str, Any]] = field(default_factory=list)
    reads: list[tuple[Any, float]] = field(default_factory=list)

    def true(self) -> float:
        return float(self.masses.eta(self.theta)[0]) * self.pot_part


LINES = {
    "clear": ["1.5 kg vegetable stock"],
    "stew": ["1.2 kg beef chuck", "300 g carrots [whole]", "500 g beef stock"],
    "thick": ["700 g carrots [blended]", "900 g vegetable stock"],
}
STEPS = {"clear": ["Simmer 20 min."], "stew": ["Cover and simmer for 2 h."], "thick": ["Simmer 20 min, blend."]}


def recipe_for(kind: str, dose: float) -> tuple[Recipe, str, str]:
    """A recipe with this dose of its thickener [g/L of liquid]; the thickener and the liquid by name."""
    name = "wheat flour" if kind == "stew" else "corn starch"
    bare = Recipe(title=f"A {kind} dish", ingredients=LINES[kind], steps=STEPS[kind])
    line = Recipe(title="x", ingredients=[f"{dose * bare.liquid_l:.2f} g {name}"]).ingredients
    return bare.model_copy(update={"ingredients": bare.ingredients + line}), name, bare.main_liquid or "water"


def true_masses(
    kind: str, recipe: Recipe, starch_g: float, extra_g: float, lost_g: float, z: Any, strength: float
) -> Masses:
    """The sauce of a pot by its own arithmetic; ``z`` are the juices in spreads of the table."""
    liquid = next(line for line in recipe.ingredients if line.part == "liquid")
    wet = (facts.ingredient(liquid.fact_name).water_g or 100.0) / 100
    water = float(liquid.mass_g) * wet + extra_g * wet - lost_g + 0.11 * starch_g
    if kind == "stew":
        for number, line in enumerate(recipe.ingredients[:2]):
            water = water + 0.97 * float(line.mass_g) * (
                float(line.juice_g_per_g) + float(line.juice_sd_g_per_g) * z[number]
            )
    flesh = 0.0
    if kind == "thick":
        flesh = float(recipe.ingredients[0].mass_g)
        water = water + 0.883 * flesh
    return Masses(water, 0.89 * strength * starch_g, flesh, 1.0)


def read(case: Case, rng: np.random.Generator, masses: Masses | None = None, stage: str = "hot") -> None:
    """Read the pot with the spatula, 10 % off, and keep what was read with the masses at that time."""
    there = case.masses if masses is None else masses
    seen = float(there.eta(case.theta)[0]) * case.pot_part * math.exp(READING * rng.normal())
    shown = float(flow.usual("spatula").reading(flow.Fluid(seen * 50**0.5, 0.5, 1030.0)))
    told = {"tool": "spatula", "settings": SIZE, "values": [round(shown, 3)], "temperature_c": 60, "stage": stage}
    case.moments.append({"kind": "read", "reading": told})
    case.reads.append((there, seen))


def invent_case(rng: np.random.Generator, kind: str, before: int) -> Case:
    """A pot whose average would lie at 0.3 to 3 times its aim, by its dose or by its water; drawn anew until that can be."""
    while (found := try_case(rng, kind, before)) is None:
        pass
    return found


def try_case(rng: np.random.Generator, kind: str, before: int) -> Case | None:
    """One draw; None where the pot cannot be as far off as was drawn, or no spatula reads it."""
    theta, strength = invent(rng, kind, 1), facts.thickener("wheat flour" if kind == "stew" else "corn starch").strength
    ends = (40.0, 80.0) if kind == "thick" else (25.0, 55.0)
    dose = float(np.exp(rng.uniform(*np.log(ends)))) / strength
    recipe, name, liquid = recipe_for(kind, dose)
    loss, liquid_l, mass, z = usual_loss(recipe, None)[0], recipe.liquid_l, recipe.mass_g, theta["juice_z"]
    usual = true_masses(kind, recipe, dose * liquid_l, 0.0, loss * mass, np.zeros((2, 1)), strength)
    if kind == "thick":
        usual.usual_flesh = usual.flesh / float(usual.water + usual.starch + 0.1 * usual.flesh)
    target = float(usual.eta(theta)[0])
    off, by_dose = math.exp(rng.uniform(math.log(0.3), math.log(3.0))), rng.random() < 0.5
    usually_lost = float(loss * mass * rng.uniform(0.6, 1.4))

    def made(log: float) -> tuple[Masses, float, float, float]:
        starch, extra, lost = dose * liquid_l, 0.0, usually_lost
        if by_dose:
            starch *= math.exp(log)
        elif log > 0:
            lost += (1 - math.exp(-log)) * 0.8 * liquid_l * 1000
        else:
            extra = (math.exp(-log) - 1) * liquid_l * 1000
        found = true_masses(kind, recipe, starch, extra, lost, z, strength)
        found.usual_flesh = usual.usual_flesh
        return found, starch, extra, lost

    def away(log: float) -> float:
        return math.log(float(made(log)[0].eta(theta)[0]) / target / off)

    if not (away(-1.2) < 0 < away(0.7)):
        return None
    masses, starch, extra, lost = made(brentq(away, -1.2, 0.7))
    if not (0.02 < target * off < 6 and float(np.mean(masses.water)) > 150):
        return None
    dose_sd, history = 0.08 if kind == "stew" else 0.01, []
    for _ in range(before):
        one = dose * math.exp(0.2 * rng.normal())
        times, part = one / dose * math.exp(dose_sd * rng.normal()), math.exp(POT_SD * rng.normal())
        pairs = [
            (each, history_eta(usual, true, theta, dose * liquid_l) * part * math.exp(READING * rng.normal()))
            for each, true in [(one, times), (0.0, 0.0)][: 1 + (kind == "thick")]
        ]
        history.append(pairs[::-1])
    base = sl.Range(0.03, 0.03 / 16, 0.03 * 16) if kind == "thick" and not before else None
    water = pot_of(recipe, loss, name)
    try:
        curve = sl.DoseCurve.fit_pots(history, name, READING, base_pa_s=base, dose_rel_sd=dose_sd, pot=water)
    except ValueError:  # two readings of a pot that contradict one another would be taken again
        return None
    part, total = math.exp(POT_SD * rng.normal()), mass - dose * liquid_l + starch + extra - lost
    case = Case(
        kind, recipe, theta, part, masses, target, curve, history, usual, strength, name, liquid, dose, total, dose_sd,
        (extra, starch, lost),
    )  # fmt: skip
    lines = len(recipe.ingredients)
    case.moments += [{"kind": "put in", "line": number} for number in range(1, lines)]
    if extra:
        case.moments.append({"kind": "put in", "item": liquid, "mass_g": round(extra, 1)})
    if kind == "thick":
        case.moments.append({"kind": "weighed", "mass_g": round(TARE_G + total - starch, 1), "tare_g": TARE_G})
        read(case, rng, Masses(masses.water - 0.11 * starch, 0.0, masses.flesh, masses.usual_flesh), "before")
    case.moments.append({"kind": "put in", "line": lines, "mass_g": round(starch, 2)})
    case.moments.append({"kind": "weighed", "mass_g": round(TARE_G + total, 1), "tare_g": TARE_G})
    read(case, rng)
    return case


def history_eta(usual: Masses, times: float, theta: dict[str, Any], starch_g: float) -> float:
    """Thickness of the usual pot with so many times its starch."""
    extra = starch_g * (times - 1)
    return float(Masses(usual.water + 0.11 * extra, usual.starch * times, usual.flesh, usual.usual_flesh).eta(theta)[0])


def mended(case: Case) -> tuple[str, float]:
    """What the library says to do first; nothing where it offers none."""
    batch = sl.Batch(title=case.recipe.title, version=1, cooked_on="2026-01-08", moments=case.moments)
    found = sl.mend(batch, case.recipe, case.curve, case.target)
    return (found[0].do, found[0].amount) if found and found[0].amount else ("", 0.0)


def by_card(case: Case) -> tuple[str, float]:
    """The earlier card's rule, at the reading's own ratio: dose (target / reading)^(1/slope) on the recipe's dose."""
    times = case.reads[-1][1] / case.target
    if 1 / 1.2 <= times <= 1.2:
        return "", 0.0
    mass = case.recipe.mass_g * (1 - usual_loss(case.recipe, None)[0])
    near = np.asarray(case.curve.viscosity(case.dose * np.array([1 / 1.1, 1.1])).best)
    slope = float(np.log(near[1] / near[0]) / np.log(1.21))
    now = case.total_g - (1200 * 0.66 + 300 * 0.94 if case.kind == "stew" else 0.0)
    per = now / (mass - (1200 * 0.66 + 300 * 0.94 if case.kind == "stew" else 0.0)) * case.recipe.liquid_l
    if times > 1:
        water = case.curve.pot.water_g_per_l + 0.11 * case.dose
        return "stir in liquid", per * water * (times ** (1 / max(case.curve.exponent.best, 0.5)) - 1)
    return ("slaked starch", per * case.dose * (times ** (-1 / slope) - 1)) if slope >= 1 else ("", 0.0)


def by_reference(case: Case, rng: np.random.Generator) -> tuple[str, float]:
    """Points that know the spreads, weighed by all readings; the amount that lands inside for most of their weight."""
    if abs(math.log(case.reads[-1][1] / case.target)) <= math.log(BAND):
        return "", 0.0
    theta = invent(rng, case.kind, POINTS)
    log, u, shift = np.zeros(POINTS), case.usual, np.zeros(POINTS)
    starch_g = case.dose * case.recipe.liquid_l
    for pairs in case.history:
        times = [
            each / case.dose * np.exp(case.dose_sd * rng.normal(size=POINTS)) if each else 0.0 for each, _ in pairs
        ]
        made = [Masses(u.water + 0.11 * starch_g * (t - 1), u.starch * t, u.flesh, u.usual_flesh) for t in times]
        log += normal(np.array([np.log(eta / each.eta(theta)) for each, (_, eta) in zip(made, pairs, strict=True)]))
    if case.kind == "stew":  # nobody knows the juice of this pot
        extra, starch, lost = case.own
        drawn, true = (
            true_masses(case.kind, case.recipe, starch, extra, lost, z, case.strength).water
            for z in (theta["juice_z"], case.theta["juice_z"])
        )
        shift = drawn - true
    left = np.array(
        [np.log(seen / Masses(m.water + shift, m.starch, m.flesh, m.usual_flesh).eta(theta)) for m, seen in case.reads]
    )
    log += normal(left)
    weight = np.exp(log - log.max())
    keep = np.argsort(weight)[-2000:]
    weight = weight[keep] / weight[keep].sum()
    theta = {name: value[..., keep] for name, value in theta.items()}
    gain = POT_SD**2 / (len(case.reads) * POT_SD**2 + READING**2)
    part, sd = gain * left[:, keep].sum(axis=0), math.sqrt(POT_SD**2 * (1 - len(case.reads) * gain))
    m = case.masses
    now = Masses(m.water + shift[keep], m.starch, m.flesh, m.usual_flesh)

    def inside(way: str, grams: float) -> float:
        value = np.log((now.plus(way, grams, case.strength) if way else now).eta(theta) / case.target) + part
        edge = math.log(INSIDE)
        return float((ndtr((edge - value) / sd) - ndtr((-edge - value) / sd)) @ weight)

    tried = [("", 0.0)]
    sauce = float(np.mean(m.water + m.starch))
    tried += [("slaked starch", case.dose * case.recipe.liquid_l * each) for each in np.geomspace(0.01, 2.0, 40)]
    tried += [("stir in liquid", sauce * each) for each in np.geomspace(0.01, 1.5, 40)]
    return max(tried, key=lambda each: inside(*each))


def normal(left: Any) -> Any:
    """Log density of a pot's residuals (r, n), which share the pot's part."""
    count = len(left)
    pulled = POT_SD**2 / (count * POT_SD**2 + READING**2)
    return -((left**2).sum(axis=0) - pulled * left.sum(axis=0) ** 2) / (2 * READING**2)


def apply(case: Case, do: str, grams: float, rng: np.random.Generator) -> None:
    """Do it, note it in the pot's story, and read again."""
    if do:
        case.masses = case.masses.plus(do, grams, case.strength)
        if do == "slaked starch":
            for item, mass in ((case.name, grams), ("water", 2 * grams)):
                case.moments.append({"kind": "put in", "item": item, "mass_g": round(mass, 3)})
            case.total_g += 3 * grams
        else:
            case.moments.append({"kind": "put in", "item": case.liquid, "mass_g": round(grams, 3)})
            case.total_g += grams
    read(case, rng)


def main(pots: int, seed: int, of_all: int = 3) -> None:
    rules = dict([("mend", mended), ("card", by_card), ("reference", None)][:of_all])
    tally: dict[tuple[str, str, str], list[tuple[float, float, float]]] = defaultdict(list)
    spent, did = Counter(), Counter()
    for number in range(pots):
        kind, before = KINDS[number % 3], 5 if number % 2 else 0
        for rule, decide in rules.items():
            rng = np.random.default_rng([seed, number])
            case = invent_case(rng, kind, before)
            off = [abs(math.log(case.true() / case.target))]
            for turn in range(2):
                began = time.perf_counter()
                try:
                    do, grams = (
                        decide(case) if decide else by_reference(case, np.random.default_rng([seed, number, turn]))
                    )
                except ValueError as err:
                    do, grams = "", 0.0
                    did[rule, str(err)[:60]] += 1
                spent[rule] += time.perf_counter() - began
                did[rule, do] += 1
                apply(case, do, grams, rng)
                off.append(abs(math.log(case.true() / case.target)))
            tally[rule, kind, "before" if before else "new"].append(tuple(off))
    edge = math.log(INSIDE)
    print(
        f"{pots} pots; inside x/{INSIDE} as it was, after one remedy, after a second; made worse by the first, by 10 % or more; pots"
    )
    for kind in KINDS:
        for known in ("new", "before"):
            for rule in rules:
                found = np.array(tally[rule, kind, known])
                if found.size:
                    share = 100 * (found <= edge).mean(axis=0)
                    worse = (
                        100 * (found[:, 1] > found[:, 0] + 1e-9).mean(),
                        100 * (found[:, 1] > found[:, 0] + 0.1).mean(),
                    )
                    figures = " ".join(f"{each:5.1f}" for each in (*share, *worse))
                    print(f"{kind:6} {known:7} {rule:10} {figures}  {len(found)}")
    print({rule: f"{1000 * each / pots / 2:.0f} ms" for rule, each in spent.items()})
    print(dict(did))


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:]]
    main(*[*given, *(400, 20260109, 3)[len(given) :]][:3])
