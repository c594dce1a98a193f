"""Make the invented demo: the winter lunch club of a village hall that does not exist.

Every pot comes from a physical model of a starch-thickened dish that shares no formula with the dose curve of this kit:
granules that swell (23 mL a gram of dry maize starch), crowd each other (Maron-Pierce) up to where they touch, and are squeezed
beyond; over a puree or stock of its own thickness; thinner when hot. In a puree the starch has only the water between the cells. The
sauce of a stew is what was poured, what the meat really gave and what boiled away, strained. What a tool would show follows from the
flow room's forward methods, with a cook's scatter. Seeded: the same files every time.

    python demo/make_demo.py
"""

from __future__ import annotations

import math
import shutil
import tempfile
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import numpy as np

import spoonline as sl
from spoonline import flow
from spoonline.effects import Factor, plan_pots
from spoonline.logbook import Logbook, open_logbook
from spoonline.pots import Batch, Moment, Outcome, Reading, Weighed, cooked_pot_of
from spoonline.pots.contents import contents
from spoonline.recipes import Aim, OwnSpoon, Pan, Recipe, Target
from spoonline.tasters import Sample, plan_session

HERE = Path(__file__).resolve().parent
OUT = HERE / "winter_lunch_club"
SEED = 20260108
TOUCH = 0.75  # share of space at which the granules touch
CROWD = 1.05  # share of space at which Maron-Pierce would jam (soft granules pack beyond 1)

# dish -> swelling of its starch [mL/g], viscosity of what it stands in at 60 C and 50 1/s [Pa s], true strength against the book,
# flow index of what it stands in
KITCHENS = {
    "Roast parsnip and pear soup": (29.0, 0.0074, 1.00, 1.0),
    "Mushroom gravy": (31.0, 0.008, 1.06, 1.0),
    "Blackcurrant sauce": (33.0, 0.012, 0.95, 1.0),
    "Celeriac and apple soup": (31.0, 0.110, 1.00, 0.45),
    "Beef and carrot stew": (31.0, 0.0075, 1.00, 1.0),
}
OPEN = 0.5  # share of a puree's water that stands between its cells, where the starch is
# What the pieces of the stew truly give [g/g], what of its sauce stays on them, and how much of it is water.
GAVE = {"stewing beef": 0.31, "onions": 0.20, "carrots": 0.04}
FILM, WATER = 0.035, 0.94


# What a night in the cold does to these dishes beside temperature: set to a gel, and back from it whisked and a little drier.
GELLED, COME_BACK = 1.9, 1.22


def true_fluid(title: str, percent: float, celsius: float, pot: float) -> sl.Fluid:
    """The fluid in the pot: its consistency and flow index at a temperature, times this pot's own luck."""
    swelling, base, strength, index = KITCHENS[title]
    space = swelling * percent * strength / 100
    crowded = (1 - min(space, TOUCH) / CROWD) ** -2
    relative = crowded * max(space / TOUCH, 1.0) ** 3.2
    at_50 = base * relative * pot * math.exp(1900 * (1 / (celsius + 273.15) - 1 / 333.15))
    index *= 1 - 0.55 * min(space, 1.1)
    return sl.Fluid(at_50 * 50 ** (1 - index), index, 1030.0)


def text_of(lines: list[str], steps: list[str], title: str, serves: int) -> str:
    """A recipe as one would paste it."""
    return "\n".join([title, f"Serves {serves}", *lines, "", *steps])


SOUP = [
    "500 g parsnips, peeled and diced",
    "300 g pears, peeled and diced",
    "200 g onions, chopped",
    "60 g butter",
    "1.3 l vegetable stock",
    "{starch}",
    "100 ml double cream",
    "8 g salt",
]
SOUP_STEPS = [
    "Roast the parsnips, pears and onions in the butter at 200 C for 35 minutes.",
    "Add the stock, bring to the boil and simmer for 12 minutes.",
    "Check that the parsnips are tender, and leave them and the pears in pieces.",
    "Stir the corn starch into a little cold stock, whisk it in, and boil for 2 minutes.",
    "Stir in the cream, season with the salt, and weigh the pot.",
]
GRAVY = ["60 g butter", "{starch}", "400 g mushrooms, sliced", "1 l vegetable stock", "20 g soy sauce"]
GRAVY_STEPS = [
    "Brown the mushrooms in the butter for 10 minutes.",
    "Stir in the wheat flour and cook for 3 minutes.",
    "Whisk in the stock and the soy sauce and simmer for 15 minutes.",
]
SAUCE = ["400 g blackcurrants", "600 ml water", "150 g sugar", "{starch}"]
SAUCE_STEPS = [
    "Simmer the blackcurrants in the water with the sugar for 10 minutes and sieve.",
    "Stir the arrowroot into a little cold water, whisk it in, and bring just to the boil.",
    "Cool to 20 C, stirring now and then.",
]
CELERIAC = [
    "40 g butter",
    "150 g onions, chopped",
    "900 g celeriac, peeled and diced",
    "250 g apples, peeled and diced",
    "1.2 l vegetable stock",
    "100 ml whole milk",
    "{starch}",
    "8 g salt",
]
CELERIAC_STEPS = [
    "Sweat the onions in the butter for 8 minutes.",
    "Add the celeriac, apples and stock, bring to the boil and simmer for 25 minutes.",
    "Puree in small batches with the lid vented for 3 minutes, and read it: it is thick by itself.",
    "Slake the corn starch in the cold milk, whisk it in, boil for 2 minutes, season with the salt and weigh the pot.",
]
STEW = [
    "40 g beef dripping",
    "1.5 kg stewing beef, in 3 cm pieces",
    "300 g onions, sliced",
    "500 g carrots, in thick slices",
    "30 g tomato paste",
    "800 ml beef stock",
    "80 ml cold water",
    "{starch}",
    "10 g salt",
]
STEW_STEPS = [
    "Brown the stewing beef in the dripping, in batches, for 15 minutes.",
    "Soften the onions for 5 minutes. Add the carrots, tomato paste and stock, cover and simmer for 2 h 15 min.",
    "Strain off the sauce and weigh it; keep the stewing beef and the carrots warm.",
    "Slake the corn starch in the cold water, whisk it into the sauce, boil for 2 minutes, season with the salt and put everything back.",
]
BISCUITS = [
    "150 g wheat flour",
    "150 g rolled oats",
    "{starch}",
    "110 g brown sugar",
    "40 g golden syrup",
    "4 g baking soda",
    "2 g salt",
]
BISCUIT_STEPS = [
    "Melt the butter with the brown sugar, salt and golden syrup.",
    "Stir in the wheat flour, rolled oats and baking soda, and roll into 24 balls.",
    "Bake at 170 C for 14 minutes, and measure four of them across when cold.",
]


def true_spread(flour: float, oats: float, butter: float, sugar: float) -> float:
    """How wide a biscuit of 22 g runs [cm]: a disc that sinks until its own weight no longer moves it.

    What must be moved grows tenfold for each 8 % more of it that does not melt, from 50 Pa at 55 %; its crust is 2.5 mm thick.
    """
    solids = (flour + oats) / (flour + oats + butter + sugar)
    height = 0.0025 + 50 * 10 ** ((solids - 0.55) / 0.08) / (1200 * 9.81)
    return 100 * 2 * math.sqrt(0.022 / 1200 / (math.pi * height))


def recipe(
    title: str, starch: str, target: Target | None, *, late_cream: bool = False, aims: tuple[Aim, ...] = ()
) -> Recipe:
    """One version of one dish."""
    lines, steps, serves = {
        "Roast parsnip and pear soup": (SOUP, SOUP_STEPS, 8),
        "Mushroom gravy": (GRAVY, GRAVY_STEPS, 12),
        "Blackcurrant sauce": (SAUCE, SAUCE_STEPS, 12),
        "Celeriac and apple soup": (CELERIAC, CELERIAC_STEPS, 8),
        "Beef and carrot stew": (STEW, STEW_STEPS, 8),
        "Oat biscuits": (BISCUITS, BISCUIT_STEPS, 24),
    }[title]
    if title.startswith("Roast") and not late_cream:
        steps = [
            steps[0],
            steps[1] + " Stir in the cream.",
            steps[2],
            steps[3],
            "Season with the salt, and weigh the pot.",
        ]
    return Recipe.from_text(
        text_of([line.format(starch=starch) for line in lines], steps, title, serves),
        target=target,
        aims=aims,
        invented=True,
    )


class Kitchen:
    """Cooks pots of the model and reads them as a cook would."""

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.rng = np.random.default_rng(SEED)
        self.later = np.random.default_rng(SEED + 1)
        self.stories = np.random.default_rng(SEED + 2)
        self.baking = np.random.default_rng(SEED + 3)

    @staticmethod
    def read(tool: str, stage: str, celsius: float, fluid: sl.Fluid, rng: np.random.Generator) -> Reading:
        """A reading of this fluid, as a cook takes it."""
        shown = float(flow.usual(tool).reading(fluid))
        count, scatter, places = (4, 0.012, 1) if tool == "ring" else (2, 0.02, 2)
        values = [round(shown * math.exp(rng.normal(0, scatter)), places) for _ in range(count)]
        return Reading(
            tool=tool, settings={k: Decimal(str(v)) for k, v in flow.usual_settings(tool).items()},
            values=[Decimal(str(v)) for v in values], temperature_c=celsius, stage=stage,
        )  # fmt: skip

    def cook(
        self, title: str, version: int, day: date, *, cook: str, tools: list[tuple[str, str, float]], put_in: float | None = None,
        loss: float | None = None, note: str = "", left_out: str = "",
    ) -> Batch:  # fmt: skip
        """One pot: evaporation, luck, readings; recorded in the logbook."""
        as_written = self.book.recipe(title, version)
        place, line = next((n, each) for n, each in enumerate(as_written.ingredients, 1) if each.part == "thickener")
        weighed = () if put_in is None else (
            Weighed(line=place, item=line.item, typed=f"{put_in:g} g", mass_g=put_in, sd_g=0.289),
        )  # fmt: skip
        draft = Batch(title=title, version=version, cooked_on=day, weighed=weighed)
        cooked = draft.cooked(as_written)
        spooned = line.basis != "weighed" and put_in is None and float(line.sd_g or 0) > 1
        if spooned:
            # By feel: what really went in differs from what the book says of a spoon.
            truly = float(line.mass_g or 0) * 1.13
            cooked = cooked.model_copy(
                update={
                    "ingredients": tuple(
                        each.reweighed("", truly, 0) if each is line else each for each in cooked.ingredients
                    )
                }
            )
        share = loss if loss is not None else float(self.rng.uniform(0.05, 0.08))
        before = round(2150 + cooked.mass_g)
        after = round(before - share * cooked.mass_g)
        percent = contents(cooked_pot_of(cooked, before - after)).percent
        luck = math.exp(self.rng.normal(0, 0.08))
        readings = []
        for tool, stage, celsius in tools:
            kept = {"chilled": GELLED, "reheated": COME_BACK}.get(stage, 1.0)
            fluid = true_fluid(title, percent, celsius, luck * kept)
            readings.append(self.read(tool, stage, celsius, fluid, self.rng if kept == 1.0 else self.later))
        batch = draft.model_copy(
            update={
                "cook": cook, "pan": "28 cm pot, no lid", "pot_before_g": Decimal(before), "pot_after_g": Decimal(after),
                "minutes": Decimal(int(self.rng.integers(28, 40))), "readings": tuple(readings), "note": note, "left_out": left_out,
            }
        )  # fmt: skip
        return self.book.record(Batch(**batch.model_dump()))

    def blend(self, title: str, version: int, day: date, *, cook: str, celsius: float, note: str = "") -> Batch:
        """A blended pot whose puree is read before the starch goes in."""
        written, rng = self.book.recipe(title, version), self.stories
        place, line = next((n, each) for n, each in enumerate(written.ingredients, 1) if each.part == "thickener")
        lost = float(rng.uniform(0.04, 0.07)) * written.mass_g
        dry, water = 0.89 * float(line.mass_g or 0), OPEN * contents(cooked_pot_of(written, lost)).water_g
        puree, pot = math.exp(rng.normal(0, 0.12)), math.exp(rng.normal(0, 0.05))
        fluids = [true_fluid(title, 100 * each / (each + water), celsius, puree * pot) for each in (0.0, dry)]
        moments = [
            Moment(kind="read", reading=self.read("spatula", "before", celsius, fluids[0], rng)),
            Moment(kind="put in", line=place, mass_g=line.mass_g),
            Moment(kind="weighed", pot="28 cm pot", tare_g=2150, mass_g=round(2150 + written.mass_g - lost)),
            Moment(kind="read", reading=self.read("spatula", "hot", celsius, fluids[1], rng)),
        ]
        return self.record(title, version, day, cook, moments, note)

    def strain(self, title: str, version: int, day: date, *, cook: str, celsius: float, note: str = "") -> Batch:
        """A stew whose sauce is strained and weighed, and then thickened with slaked starch."""
        written, rng = self.book.recipe(title, version), self.stories
        grams = {line.item: float(line.mass_g or 0) for line in written.ingredients}
        place = {line.item: n for n, line in enumerate(written.ingredients, 1)}
        gave = sum(share * grams[item] for item, share in GAVE.items()) * math.exp(rng.normal(0, 0.08))
        sauce = (grams["beef stock"] + grams["tomato paste"] + gave - float(rng.uniform(170, 290))) * (1 - FILM)
        dry, water = 0.89 * grams["corn starch"], WATER * sauce + grams["water"]
        fluid = true_fluid(title, 100 * dry / (dry + water), celsius, math.exp(rng.normal(0, 0.08)))
        moments = [
            Moment(kind="strained", mass_g=5 * round(sauce / 5)),
            Moment(kind="put in", line=place["water"]),
            Moment(kind="put in", line=place["corn starch"], mass_g=round(grams["corn starch"])),
            Moment(kind="read", reading=self.read("spatula", "hot", celsius, fluid, rng)),
        ]
        return self.record(title, version, day, cook, moments, note)

    def bake(
        self,
        title: str,
        version: int,
        day: date,
        butter_g: float,
        oven: float,
        *,
        cook: str,
        plan: str = "",
        number: int = 0,
    ) -> Batch:
        """A tray of biscuits with so much butter, on a day when the oven was so much (ln) hotter: four of them measured."""
        written, rng = self.book.recipe(title, version), self.baking
        grams = [float(line.mass_g or 0) for line in written.ingredients]
        spread = true_spread(grams[0], grams[1], butter_g, grams[3] + grams[4]) * math.exp(oven + rng.normal(0, 0.015))
        across = [Decimal(str(round(spread * math.exp(rng.normal(0, 0.02)), 1))) for _ in range(4)]
        line = written.ingredients[2]
        weighed = Weighed(line=3, item=line.item, typed=f"{butter_g:g} g", mass_g=butter_g, sd_g=0.289)
        differs = butter_g != float(line.mass_g or 0)
        return self.book.record(
            Batch(title=title, version=version, cooked_on=day, cook=cook, pan="two trays", weighed=(weighed,) if differs else (),
                  outcomes=(Outcome(name="spread", unit="cm", values=across),), plan=plan, plan_pot=number)
        )  # fmt: skip

    def record(self, title: str, version: int, day: date, cook: str, moments: list[Moment], note: str) -> Batch:
        """Keep a pot that is told as a story."""
        pot = "32 cm pot, lid on" if "stew" in title else "28 cm pot, no lid"
        return self.book.record(
            Batch(title=title, version=version, cooked_on=day, cook=cook, pan=pot, moments=tuple(moments), note=note)
        )


def make(where: Path) -> Logbook:
    """Fill a new logbook with the demo."""
    clock = iter(datetime(2026, 1, 8, 9, 0, tzinfo=UTC) + timedelta(hours=7 * n) for n in range(500))
    book = open_logbook(where, clock=lambda: next(clock))
    kitchen = Kitchen(book)
    soup, aim = (
        "Roast parsnip and pear soup",
        Target(viscosity_pa_s="1.7", band="1.25", temperature_c="60", shear_rate_per_s="1"),
    )
    spatula, ring = [("spatula", "hot", 62.0)], [("ring", "served", 21.0)]

    def soup_day(number: int) -> date:
        return date(2026, 1, 8) + timedelta(days=number)

    book.save(recipe(soup, "4 heaped tbsp corn starch", aim), "As it was always made, by feel", cook="M.")
    kitchen.cook(soup, 1, soup_day(0), cook="M.", tools=spatula, note="Stands like porridge; the club left half of it")
    book.save(recipe(soup, "42 g corn starch", aim), "Weighed, and a good deal less", cook="M.")
    kitchen.cook(soup, 2, soup_day(2), cook="M.", tools=spatula, note="Too thin, runs off the spoon")
    book.save(recipe(soup, "57 g corn starch", aim), "Half-way between", cook="M.")
    kitchen.cook(soup, 3, soup_day(6), cook="M.", tools=spatula)
    kitchen.cook(
        soup,
        3,
        soup_day(7),
        cook="A.",
        tools=[("spatula", "hot", 64.0)],
        note="A second pair of hands, the same weights",
    )
    book.save(
        recipe(soup, "54 g corn starch", aim, late_cream=True), "A little less starch; cream after the puree", cook="M."
    )
    kitchen.cook(
        soup, 4, soup_day(13), cook="A.", tools=[("spatula", "hot", 60.0)], loss=0.21,
        note="The pot was forgotten on the flame", left_out="boiled away a fifth",
    )  # fmt: skip
    kitchen.cook(soup, 4, soup_day(14), cook="A.", tools=[("spatula", "hot", 61.0)], note="The same again, watched")
    book.save(recipe(soup, "50 g corn starch", aim, late_cream=True), "Set from the curve", cook="M.")
    for number, cook in ((20, "M."), (21, "A."), (23, "M.")):
        next_day = [("ring", "chilled", 5.0), ("spatula", "reheated", 61.0 + number % 2)] if number < 23 else []
        kitchen.cook(soup, 5, soup_day(number), cook=cook, tools=[("spatula", "hot", 60.0 + number % 3), *next_day])

    # Twelve of the club, blind, versions 5 and 3: two in three truly tell, and the rest guess.
    pair = [
        Sample(label="version 5", version=5, temperature_c=60),
        Sample(label="version 3", version=3, temperature_c=60),
    ]
    session = plan_session(soup, "pair", pair, 12, expected=True, day=soup_day(24), seed=24, invented=True)
    tells = kitchen.later.random((12, 2))
    said = [
        session.right_code(n + 1)
        if tell < 2 / 3 or guess < 0.5
        else next(code for code in session.orders[n] if code != session.right_code(n + 1))
        for n, (tell, guess) in enumerate(tells)
    ]
    book.keep(session.with_answers("\n".join(f"{n}: {code}" for n, code in enumerate(said, start=1))))
    book.keep(OwnSpoon(item="corn starch", measure="1 heaped tbsp", masses_g=[17.5, 19, 16, 21, 18], cook="M."))
    book.keep(Pan(name="28 cm pot", tare_g=2150, diameter_cm=28, depth_cm=18))

    gravy, gravy_aim = (
        "Mushroom gravy",
        Target(viscosity_pa_s="1.6", band="1.25", temperature_c="65", shear_rate_per_s="1"),
    )
    book.save(recipe(gravy, "7 tbsp wheat flour", gravy_aim), "From the old card of the hall", cook="A.")
    kitchen.cook(gravy, 1, date(2026, 1, 15), cook="A.", tools=[("spatula", "hot", 66.0)])
    kitchen.cook(gravy, 1, date(2026, 1, 22), cook="M.", tools=[("spatula", "hot", 70.0)])
    book.save(recipe(gravy, "64 g wheat flour", gravy_aim), "Weighed", cook="A.")
    kitchen.cook(gravy, 2, date(2026, 1, 29), cook="A.", tools=[("spatula", "hot", 65.0)])
    kitchen.cook(
        gravy, 2, date(2026, 2, 5), cook="M.", tools=[("spatula", "hot", 67.0)], put_in=65, note="The scale said 65"
    )

    sauce, sauce_aim = (
        "Blackcurrant sauce",
        Target(viscosity_pa_s="12", band="1.3", temperature_c="20", shear_rate_per_s="1"),
    )
    book.save(recipe(sauce, "30 g arrowroot", sauce_aim), "First try", cook="M.")
    kitchen.cook(sauce, 1, date(2026, 1, 17), cook="M.", tools=ring)
    book.save(recipe(sauce, "33 g arrowroot", sauce_aim), "A little more", cook="M.")
    kitchen.cook(sauce, 2, date(2026, 1, 24), cook="M.", tools=ring)
    kitchen.cook(sauce, 2, date(2026, 1, 31), cook="A.", tools=[("ring", "served", 20.0)])

    puree, puree_aim = (
        "Celeriac and apple soup",
        Target(viscosity_pa_s="1.4", band="1.25", temperature_c="60", shear_rate_per_s="1"),
    )
    book.save(recipe(puree, "18 g corn starch", puree_aim), "As much as in the hall's clear soups", cook="A.")
    kitchen.blend(
        puree, 1, date(2026, 2, 7), cook="A.", celsius=61, note="Far too thick; the celeriac had done it already"
    )
    book.save(recipe(puree, "4 g corn starch", puree_aim), "The puree was read first: hardly any", cook="A.")
    kitchen.blend(puree, 2, date(2026, 2, 12), cook="A.", celsius=62)
    book.save(recipe(puree, "8 g corn starch", puree_aim), "A little more, so that it does not part", cook="M.")
    kitchen.blend(puree, 3, date(2026, 2, 14), cook="M.", celsius=60)
    kitchen.blend(puree, 3, date(2026, 2, 21), cook="A.", celsius=61)

    stew, stew_aim = (
        "Beef and carrot stew",
        Target(viscosity_pa_s="1.2", band="1.3", temperature_c="65", shear_rate_per_s="1"),
    )
    book.save(recipe(stew, "34 g corn starch", stew_aim), "The sauce is strained and weighed first", cook="M.")
    kitchen.strain(stew, 1, date(2026, 2, 19), cook="M.", celsius=66, note="A thin sauce that ran under the meat")
    book.save(recipe(stew, "40 g corn starch", stew_aim), "More, for so much sauce", cook="M.")
    kitchen.strain(stew, 2, date(2026, 2, 26), cook="M.", celsius=65)
    kitchen.strain(stew, 2, date(2026, 2, 28), cook="A.", celsius=67)

    biscuits, spread_aim = "Oat biscuits", (Aim(outcome="spread", unit="cm", low="6.8", high="7.4"),)
    book.save(
        recipe(biscuits, "100 g butter", None, aims=spread_aim),
        "Small and tall; how much butter makes them wider?",
        cook="A.",
    )
    butter = Factor(name="butter", unit="g/100g flour", low=60, high=96)
    plan = book.keep(plan_pots(biscuits, [butter], "spread", "cm"))
    ovens = kitchen.baking.normal(0, 0.01, 3)
    first = date(2026, 2, 24)
    for pot in plan.pots:
        day, grams = first + timedelta(days=2 * pot.day), round(1.5 * float(pot.settings[0]))
        kitchen.bake(
            biscuits,
            1,
            day,
            grams,
            float(ovens[pot.day - 1]),
            cook="AM"[pot.day - 1] + ".",
            plan=plan.name,
            number=pot.number,
        )
    book.save(recipe(biscuits, "118 g butter", None, aims=spread_aim), "Set from the line", cook="A.")
    kitchen.bake(biscuits, 2, first + timedelta(days=4), 118, float(ovens[1]), cook="M.")
    for _ in range(2):
        kitchen.bake(biscuits, 2, first + timedelta(days=6), 118, float(ovens[2]), cook="A.")
    return book


def main() -> None:
    """Write the demo beside this script."""
    if OUT.exists():
        shutil.rmtree(OUT)
    with tempfile.TemporaryDirectory() as folder:
        book = make(Path(folder) / "demo.sqlite")
        book.export(OUT)
        for title in book.titles():
            print(
                book.batches(title)[
                    ["batch", "version", "dose_g_per_l", "evaporated_percent", "viscosity_pa_s", "band"]
                ]
                .round(3)
                .to_string()
            )
        book.close()


if __name__ == "__main__":
    main()
