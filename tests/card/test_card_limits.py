"""Figures of the card at their limits, and words that stand or do not stand."""

from __future__ import annotations

import io
import json
import re
from datetime import date

import pypdf
import pytest

import spoonline as sl
from spoonline.card import CardNote, export
from spoonline.card.method import both_degrees, times, times_text
from spoonline.card.nutrition import label_round
from spoonline.card.thickness import checks, mends, tool_reading
from spoonline.card.words import words


@pytest.mark.parametrize(
    ("rule", "key", "pairs"),
    [
        # FDA, Food Labeling Guide (2009), appendix H
        ("us", "energy", [(4.9, 0), (5, 5), (47.4, 45), (47.5, 50), (50, 50), (54, 50), (55, 60), (127, 130)]),
        ("us", "fat", [(0.49, 0), (0.5, 0.5), (0.7, 0.5), (0.75, 1), (4.8, 5), (5.4, 5), (5.5, 6)]),
        ("us", "sodium", [(4.9, 0), (5, 5), (137, 135), (138, 140), (140, 140), (144, 140), (145, 150)]),
        ("us", "protein", [(0.49, 0), (0.5, 1), (1.4, 1), (1.5, 2)]),
        # European Commission, guidance on tolerances, December 2012, table 4 (memory)
        ("eu", "energy", [(127.4, 127), (127.5, 128)]),
        ("eu", "sugars", [(0.49, 0), (0.54, 0.5), (9.94, 9.9), (10.4, 10), (10.5, 11)]),
        ("eu", "salt", [(0.0124, 0), (0.0125, 0.01), (0.994, 0.99), (1.04, 1.0), (1.06, 1.1)]),
    ],
)
def test_labels_round_at_their_limits(rule: str, key: str, pairs: list[tuple[float, float]]) -> None:
    assert [(value, label_round(key, value, rule)) for value, _ in pairs] == [
        (value, float(said)) for value, said in pairs
    ]  # type: ignore[arg-type]  # pytest hands the rule over as plain text


@pytest.mark.parametrize(
    ("text", "first", "said"),
    [
        ("119 C", "C", "119 C (246 F)"),
        ("120 C", "C", "120 C (250 F)"),
        ("190 C", "C", "190 C (375 F)"),
        ("245 F", "F", "245 F (118 C)"),
        ("250 F", "C", "120 C (250 F)"),
        ("350 F", "C", "175 C (350 F)"),
        ("freeze at -18 C", "C", "freeze at -18 C (0 F)"),
        ("60,5 C", "C", "60,5 C (141 F)"),
        ("60-65\u00b0C", "F", "140 - 149 F (60-65\u00b0C)"),
        ("74 C / 165 F", "C", "74 C (165 F)"),
        ("6 cloves, 3/4 C", "C", "6 cloves, 3/4 C"),
    ],
)
def test_temperatures_in_both_units(text: str, first: str, said: str) -> None:
    assert both_degrees(text, first) == said


def steps(*texts: str) -> sl.Recipe:
    return sl.Recipe(title="Soup", ingredients=["1 l water"], steps=list(texts))


def test_times_are_active_waiting_and_cooking() -> None:
    recipe = steps("Chop for 10 minutes.", "Simmer for 45 minutes.", "Chill for 2 hours.", "Serve.")
    found = times(recipe, words(), prep_minutes=5)
    assert (found.active, found.waiting, found.cooking) == (10, 165, 55) and (found.timed, found.steps) == (3, 4)
    assert list(times_text(found, words())) == ["getting ready 5 min"], "no total where a step says no time"
    whole = times(steps("Chop for 10 minutes.", "Simmer for 45 minutes.", "Chill for 2 hours."), words(), 5)
    assert list(times_text(whole, words())) == ["getting ready 5 min", "waiting 2 h 45 min", "in all 3 h"]
    assert times_text(times(steps("Serve."), words()), words()) == times_text(times(steps(), words()), words()) == []
    assert times_text(times(steps("Serve."), words(), 5), words())[0] == "getting ready 5 min"


def test_machines_are_told_only_whole_times() -> None:
    def told(recipe: sl.Recipe, prep: int | None = None) -> dict[str, str]:
        note = CardNote(title=recipe.title, prep_minutes=prep)
        read = json.loads(sl.RecipeCard(recipe, note=note).json_ld())
        return {key: each for key, each in read.items() if key.endswith("Time")}

    whole = steps("Chop for 10 minutes.", "Simmer for 45 minutes.", "Chill for 2 hours.")
    assert told(whole, 5) == {"prepTime": "PT5M", "cookTime": "PT55M", "performTime": "PT2H55M", "totalTime": "PT3H"}
    assert told(whole) == {"cookTime": "PT55M", "performTime": "PT2H55M"}
    assert told(steps("Chop for 10 minutes.", "Serve."), 5) == {"prepTime": "PT5M"}


def test_the_page_to_decide_on_biscuits_speaks_of_what_was_measured(demo: sl.Logbook) -> None:
    dish = demo.dish("Oat biscuits")
    made = sl.decide(dish, *dish.versions[-2:])
    page = made.html()
    assert "Spread 6.81 to 6.93 cm" in page and "Spread 6.81 to 6.93 cm" in made.answer
    assert made.sentence == "Tested for spread 6.8 to 7.4 cm: 3 of the last 4 batches, on 2 days."
    assert "thickness" not in page and "Too few pots" not in page and "?." not in page


def test_the_page_to_decide_on_names_each_pot(demo: sl.Logbook) -> None:
    title = "Roast parsnip and pear soup"
    dish = demo.dish(title)
    old, new = dish.versions[-2:]
    made = sl.decide(dish, old, new, tasters=["3 of 10 tasters told them apart."])
    pots = [pot for pot in dish.counted if pot.batch.version in (old.number, new.number)]
    assert [row[:2] for row in made.rows] == [(pot.batch.number, pot.batch.version) for pot in pots]
    for row, pot in zip(made.rows, pots, strict=True):
        assert row[2] == f"{pot.dose_g_per_l:.1f}" and float(str(row[3]).split(" (")[0]) == float(
            f"{pot.viscosity_pa_s:.2g}"
        )
        assert dish.aim is not None and row[4] == f"{dish.aim.against_band(pot.viscosity_pa_s)} the band"
        assert f"<td>{row[3]}</td>" in made.html() or str(row[3]) in made.html()
    assert (
        len(made.rows) > 2
        and made.sentence
        == f"{sl.RecipeCard.from_logbook(demo, title).content.tested} 3 of 10 tasters told them apart."
    )
    page = made.html()
    assert page.count("<circle") == len(pots) and page.count('fill="#fff" stroke') == sum(
        pot.batch.version == old.number for pot in pots
    ), "a mark a pot over the band, hollow for the older version"
    assert re.search(r'aria-label="The pots of both versions over the band 1\.4 to 2\.1 Pa s"', page)
    print_rules = page[page.index("@media print") : page.index("</style>")]
    assert min(float(size) for size in re.findall(r"font-size: ([\d.]+)pt", print_rules)) >= 10
    assert made.answer in made._repr_html_().replace("&#x27;", "'") and "<table" in made.html()


def test_cards_are_written_into_a_new_folder_and_over_older_ones(tmp_path) -> None:
    card = sl.RecipeCard(sl.Recipe(title="Broth", ingredients=["1 l water"], steps=["Boil."]))
    for _ in range(2):
        (path,) = export([card, card], tmp_path / "a" / "b", formats=["text"])[:1]
    assert path.parent == tmp_path / "a" / "b"
    assert sorted(each.name for each in path.parent.iterdir()) == ["broth-2.txt", "broth.txt"]


def test_what_mends_a_pot_lands_by_the_curve_and_for_each_litre_of_sauce(demo: sl.Logbook) -> None:
    dish = demo.dish("Mushroom gravy")
    assert dish.curve is not None and dish.aim is not None
    curve, aim = dish.curve.curve, float(dish.aim.viscosity_pa_s)
    rows = mends(dish.curve, dish.aim, "spatula", words(), thickener="flour", liquid="stock")
    assert [row.times for row in rows] == [f"{x} times as thick" for x in ("0.5", "0.5", "0.7", "0.7", "1.4", "2")]
    for row, off in zip(rows, (0.5, 0.5, 0.7, 0.7, 1.4, 2.0), strict=True):
        found = re.search(r"([\d.]+) \(([\d.]+) to ([\d.]+)\)", row.do)
        assert found is not None
        amount, low, high = (float(each) for each in found.groups())
        assert low < amount < high
        # a pot of the curve: by hand for the litre of sauce that its water and flour make
        dose = curve.dose_for(aim * off).best
        percent = float(curve.pot.percent(dose, 0.58)) / 100
        water = curve.pot.water_g_per_l + 0.11 * dose
        per_sauce = amount * (dish.curve.with_dose(dose).mass_g * (1 - dish.curve.loss) / 1030 / dish.recipe.liquid_l)
        starch = percent / (1 - percent) * water
        if row.do.startswith("or boil off"):
            water -= per_sauce
        elif row.do.endswith("flour"):
            starch, water = starch + 0.89 * 0.58 * per_sauce, water + (0.11 + 0.16) * per_sauce
        else:
            water += 0.98 * per_sauce
        then = curve.viscosity(float(curve.pot.dose(100 * starch / (starch + water), 0.58))).best
        assert then == pytest.approx(aim, rel=0.12), row


def test_a_tool_shows_the_aim_between_the_ends_of_the_band(demo: sl.Logbook) -> None:
    aim = demo.recipe("Roast parsnip and pear soup").target
    assert aim is not None
    for found in checks(aim, words()):
        low, best, high = (
            tool_reading(found.tool, each, aim) for each in (aim.low_pa_s, float(aim.viscosity_pa_s), aim.high_pa_s)
        )
        assert found.reading.startswith(f"{best:.1f} ") and found.good.startswith(f"good from {low:.1f} to {high:.1f} ")
        assert low is not None and best is not None and high is not None and low < best < high


def test_the_leaves_are_those_of_the_pdf(demo: sl.Logbook) -> None:
    card = sl.RecipeCard.from_logbook(demo, "Roast parsnip and pear soup")
    for paper in ("a4", "5x8"):
        leaves = card.leaves(paper)
        assert len(leaves) == len(pypdf.PdfReader(io.BytesIO(card.face("pdf", paper))).pages)
        assert all(leaf.startswith(b"\x89PNG") for leaf in leaves)


def test_machines_read_letters_as_they_are_and_a_draft_is_not_published() -> None:
    card = sl.RecipeCard(
        sl.Recipe(title="Purée", ingredients=["1 l water"], steps=["Boil."]), printed_on=date(2026, 1, 8)
    )
    assert '"name": "Purée"' in card.json_ld() and "datePublished" not in card.json_ld() and not card.finished
