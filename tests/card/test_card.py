"""The card: both measures, the evidence, the cautions; and nothing that a title could break."""

from __future__ import annotations

import json
import re
from datetime import date
from html.parser import HTMLParser

import pytest

import spoonline as sl
from spoonline.card import CardNote, export, file_name

SOUP = "Roast parsnip and pear soup"


def card_of(book: sl.Logbook, title: str = SOUP, **options: object) -> sl.RecipeCard:
    version = book.version(title)
    return sl.RecipeCard(version.recipe, version, book.all_batches(title), **options)


class Words(HTMLParser):
    """The text of a page, and its tags."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        if self.tags and self.tags[-1] not in ("style", "script", "title"):
            self.text.append(data)


def words(html: str) -> str:
    parser = Words()
    parser.feed(html)
    return " ".join(" ".join(parser.text).split())


def test_the_card_carries_its_evidence(demo: sl.Logbook) -> None:
    card = card_of(demo, printed_on=date(2026, 2, 1))
    text = words(card.html())
    assert "Tested: 3 of the last 3 batches within the band, on 3 days; about 8 of 10 further ones should be." in text
    assert f"content {demo.version(SOUP).short_id}" in text
    assert "printed 2026-02-01" in text
    assert "50 g" in text and "33.3 g of corn starch per litre of liquid" in text
    assert "Invented data" in text
    gravy = words(card_of(demo, "Mushroom gravy").html())
    assert "Not tested yet" in gravy


def test_cautions_and_allergens_are_always_there(demo: sl.Logbook) -> None:
    for title in demo.titles():
        text = words(card_of(demo, title).html())
        assert len(re.findall(r"[Ll]ocal food code", text)) == 1 and ("swallowing difficulty" in text) == (
            title != "Oat biscuits"
        )
        kept = words(card_of(demo, title, note=CardNote(title=title, made_ahead=True)).html())
        assert "57 to 21 C" in kept and len(re.findall(r"[Ll]ocal food code", kept)) == 1
        assert "not a clearance" in text
    soup = words(card_of(demo).html())
    assert "Contains:" in soup and "milk" in soup
    assert "Check the label:" in soup and "vegetable stock" in soup
    pureed = words(card_of(demo, "Celeriac and apple soup").html())
    assert "spit" in pureed and "spit" not in soup, "a pureed soup carries the caution for hot liquids"


def test_markdown_says_the_same_figures(demo: sl.Logbook) -> None:
    card = card_of(demo)
    markdown = card.markdown().replace("\\", "")
    for line in card.content.lines:
        assert line.grams in markdown and line.item in markdown
    for check in card.content.checks:
        assert check.reading in markdown and check.good in markdown and check.how in markdown
    assert card.content.tested in markdown


def test_home_checks_come_from_the_flow_room(demo: sl.Logbook) -> None:
    checks = card_of(demo).content.checks
    assert checks, "at least one tool must be able to read the target"
    assert all(re.fullmatch(r"good from [\d.]+ to [\d.]+ \w+", check.good) for check in checks), "each with its range"


@pytest.mark.parametrize(
    ("line", "shown"),
    [
        # What was typed in pieces, spoons or pounds stays as it was typed, however little it weighs.
        ("2 bay leaves", "2"), ("4 cloves garlic", "4 cloves"), ("1 tsp salt", "1 tsp"), ("1 large onion, chopped", "1 large"),
        ("1/2 bunch parsley", "1/2 bunch"), ("a pinch of nutmeg", "a pinch"), ("2 tins tomatoes", "2 tins"), ("1 cup rice", "1 cup"),
        ("8 oz raw prawns", "8 oz"), ("2 lb boneless chicken thighs, in pieces", "2 lb"),
        ("1 x 400 g tin chopped tomatoes", "1 x 400 g tin"), ("3 large (about 450 g) onions", "3 large"),
        # USDA SR28: a teaspoon of salt 6 g, of pepper 2.3 g, a medium pear 178 g; 1 1/4 tsp of salt is 7.5 g, the grams stand beside it.
        ("8 g salt", "1 1/4 tsp"), ("6 g salt", "1 tsp"), ("3.2 g black pepper", "1/2 tbsp"), ("40 g beef dripping", "3 tbsp"),
        ("1.3 l vegetable stock", "5 1/2 cups"), ("340 g pears", "2 medium"), ("240 g raw prawns", "30 medium"),
        # No cook measures these: neither one pear nor two, cut up, butter by the cup, garlic by the spoon.
        ("250 g pears", ""), ("240 g raw prawns, chopped", ""), ("60 g butter", ""), ("20 g garlic", ""),
        # A thickener has no spoon.
        ("50 g corn starch", "weighed"), ("0.5 g corn starch", "weighed"), ("3 tbsp corn starch", "weighed"),
    ],
)  # fmt: skip
def test_a_typed_count_is_kept_and_a_measure_is_one_that_a_cook_would_use(line: str, shown: str) -> None:
    recipe = sl.Recipe(title="Gravy", ingredients=[line, "1 l water"])
    found = sl.RecipeCard(recipe).content.lines[0]
    assert found.household == shown and "%" not in found.household
    assert found.thickens == (shown == "weighed")


@pytest.mark.parametrize(
    "title",
    [
        "<script>alert(1)</script>",
        "Soup & \"broth\" 'x'",
        "[link](javascript:1)",
        "# *bold* `code` | table",
        "\u202egvary",
        "\U0001f372 soup",
        "a" * 300,
    ],
)
def test_a_title_stays_text(title: str) -> None:
    card = sl.RecipeCard(sl.Recipe(title=title, ingredients=["1 l water", {"item": "</script><b>x", "mass_g": 5}]))
    parser = Words()
    parser.feed(card.html())
    assert parser.tags.count("script") == 1, "the machine-readable card alone"
    assert "b" not in parser.tags
    data = json.loads(card.json_ld())
    title = title.replace("\u202e", "")  # nothing is printed backwards
    assert data["name"] == title and data["recipeIngredient"][1] == "5 g </script><b>x"
    assert card.text().splitlines()[0] == title
    assert card.face("pdf").startswith(b"%PDF")
    assert title in " ".join(parser.text)
    assert card.markdown().splitlines()[0].replace("\\", "") == f"# {title}"


def test_file_names_are_harmless() -> None:
    for title in ("../../etc/passwd", "con: soup?", "\U0001f372", "a" * 300, ""):
        name = file_name(title)
        assert name and "/" not in name and len(name) <= 60 and not name.startswith(".")


def test_a_folder_that_cannot_be_written(tmp_path, demo: sl.Logbook) -> None:
    with pytest.raises(sl.KitchenError, match="choose another folder"):
        card_of(demo).pdf("/proc/nowhere/card.pdf")
    blocker = tmp_path / "cards"
    blocker.write_text("a file")
    with pytest.raises(sl.KitchenError, match="choose another folder"):
        export([card_of(demo)], blocker)


def test_an_empty_recipe_still_prints() -> None:
    text = words(sl.RecipeCard(sl.Recipe(title="Nothing yet")).html())
    assert "not saved yet" in text and "No thickness target" in text


def test_what_can_hurt_stands_beside_the_method_even_where_nothing_is_made_ahead() -> None:
    sauce = sl.Recipe(
        title="Blackcurrant sauce",
        ingredients=["500 g blackcurrants", "200 g sugar", "0.5 l water", "20 g corn starch", "2 egg yolks"],
        steps=["Melt the sugar to a caramel.", "Puree the blackcurrants with the water.", "Whisk in the corn starch and the egg yolks.",
               "Chill."],
        servings=8,
    )  # fmt: skip
    for ahead in (True, False):
        card = sl.RecipeCard(sauce, note=CardNote(title=sauce.title, made_ahead=ahead))
        text = card.text()
        method = text[text.index("METHOD") : text.index("THICKNESS")]
        for said in ("Hot sugar", "lid vented", "Egg yolk: 71 C (160 F) at the least"):
            assert text.count(said) == method.count(said) == 1, said
        assert text.count("Chill within 2 hours") == (1 if ahead else 0)
        assert ("says nothing of keeping" in text) == (not ahead)
