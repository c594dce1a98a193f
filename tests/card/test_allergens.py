"""Allergens of a card: sixty-nine lines with names of three countries, bait that carries none, labels read, claims, and what a machine reads."""

from __future__ import annotations

import csv
import itertools
import json
from collections.abc import Iterator
from pathlib import Path

import pytest

import spoonline as sl
from spoonline.card import CardContent, CardNote, SignOff
from spoonline.facts import ingredients, known
from spoonline.facts.allergens import allergen_list, allergens, is_known
from spoonline.facts.rows import read_table
from spoonline.recipes import Habits

HERE = Path(__file__).parent
PLACES = {"EU": "england", "US": "us", "ANZ": "australia"}


@pytest.fixture
def kitchen_book(tmp_path: Path) -> Iterator[sl.Logbook]:
    """An empty logbook."""
    book = sl.open_logbook(tmp_path / "kitchen.sqlite")
    yield book
    book.close()


def rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def made(
    *lines: str, place: str = "england", title: str = "Winter dish", note: str = "", steps: tuple[str, ...] = ()
) -> sl.RecipeCard:
    """A card that is not saved, as of one place."""
    recipe = sl.Recipe(title=title, ingredients=[*lines], steps=[*steps], servings=4)
    return sl.RecipeCard(recipe, habits=Habits(jurisdiction=place), note=CardNote(title=title, note=note))


def groups(named: tuple[str, ...]) -> set[str]:
    return {each.partition(" (")[0] for each in named}


def parts(text: str) -> set[str]:
    return set(filter(None, text.split(";")))


LINES, BAIT = rows("allergen_lines.csv"), rows("allergen_bait.csv")


@pytest.mark.parametrize("by", PLACES)
def test_none_of_sixty_lines_is_missed(by: str) -> None:
    """What a line carries is said, what it may carry is asked, on each of the three lists."""
    assert len(LINES) >= 60 and {row["names"] for row in LINES} == {"uk", "us", "au"}
    on_list = set(allergen_list(PLACES[by])["groups"])
    for row in LINES:
        content = made(row["line"], place=PLACES[by]).content
        carries, _, only = row["carries"].partition("@")
        wanted = parts(carries) & on_list if by in (only or by) else set()
        assert groups(content.contains) == wanted, row["line"]
        asked = " ".join(content.check_label)
        assert all(group in asked for group in parts(row["asks"]) & on_list), (row["line"], asked)
        said = groups((*content.contains, *content.beside))
        assert parts(carries) - {"wheat", "cereals with gluten"} <= said, "what another list names is said beside it"


@pytest.mark.parametrize("by", PLACES)
def test_what_only_sounds_like_one_is_neither_said_nor_asked(by: str) -> None:
    assert len(BAIT) >= 20
    for row in BAIT:
        content = made(row["line"], place=PLACES[by]).content
        asked = (each.partition(" (")[2] for each in content.check_label)
        told = " ".join((*content.contains, *content.beside, *asked))
        assert not [group for group in parts(row["never"]) if group in told], (row["line"], told)


def test_a_plural_carries_what_its_singular_does() -> None:
    names = {name for row in read_table("allergens.csv") for name in row["names"].split(";")}
    both = [name for name in names if f"{name}s" in names and name]
    assert len(both) > 10
    for name in both:
        one, many = ({each.group for each in allergens(said) if each.lists} for said in (name, f"{name}s"))
        assert one == many, name


def test_members_are_named() -> None:
    nuts = made("60 g roasted hazelnuts", "20 g walnut oil", "50 g nuts").content.contains
    assert nuts == ("tree nuts (hazelnuts, walnuts)",)
    assert made("100 g rye bread", "50 g pearl barley").content.contains == ("cereals with gluten (rye, barley)",)
    assert made("1 kg mussels", "200 g squid").content.contains == ("molluscs (mussels, squid)",)


def test_the_list_follows_the_kitchen_and_is_named() -> None:
    lines = ("200 g celery", "30 g pine nuts", "80 g breadcrumbs", "500 g mussels")
    us, england, australia = (made(*lines, place=place) for place in ("us", "england", "australia"))
    assert us.content.contains == ("tree nuts (pine nuts)", "wheat") and groups(us.content.beside) == {
        "celery",
        "molluscs",
    }
    assert groups(england.content.contains) == {"celery", "cereals with gluten", "molluscs"}
    assert england.content.beside == ("tree nuts (pine nuts)",)
    assert groups(australia.content.contains) == {"tree nuts", "wheat", "cereals with gluten", "molluscs"}
    for card, said in (
        (us, "the nine of the United States"),
        (england, "the fourteen of the EU"),
        (australia, "Australia and New Zealand"),
    ):
        assert said in card.text() and "Also in it, not on that list: " in card.text()
    with pytest.raises(sl.KitchenError, match="write one of eu, england"):
        allergen_list("atlantis")


NONE = "No allergen of the list is known"
SOUP = ("1 l water", "300 g carrots")
BOIL = "Boil the carrots in the water."


def all_signed(
    book: sl.Logbook, *lines: str, title: str = "Soup", steps: tuple[str, ...] = (BOIL,), but: str = ""
) -> sl.RecipeCard:
    """A saved card on which every point that takes a reason has one, but for those whose keys begin so."""
    version = book.save(sl.Recipe(title=title, ingredients=[*lines], steps=[*steps], servings=4))
    card = sl.RecipeCard(version.recipe, version, habits=Habits(jurisdiction="england"))
    keys = [each.key for each in card.content.points if not (but and each.key.startswith(but))]
    signs = [
        SignOff(
            title=title,
            version=version.number,
            point=key,
            reason="Read, lot 12",
            contains="none" if "label:" in key else "",
        )
        for key in keys
    ]
    return sl.RecipeCard(version.recipe, version, habits=card.habits, signoffs=signs)


@pytest.mark.parametrize(
    ("line", "title", "step", "key"),
    [
        ("1 l vegetable stock", "Soup", "", "label:vegetable stock"),
        ("100 g moonlight", "Soup", "", "label:moonlight"),
        ("100 g carrots", "Peanut soup", "", "named:peanut"),
        ("100 g carrots", "Soup", "Stir in the geoduck.", "named:geoduck"),
        ("100 g carrots", "Soup", "Good for vegans.", "claim:vegans"),
        ("1 chicken breast in breadcrumbs", "Soup", "", "label:chicken breast"),
    ],
)
def test_none_known_is_not_printed_while_something_is_open(
    line: str, title: str, step: str, key: str, kitchen_book: sl.Logbook
) -> None:
    plain = all_signed(kitchen_book, *SOUP, title="Plain")
    assert plain.finished and NONE in plain.text()
    lines, steps = (*SOUP, line), (BOIL, *filter(None, (step,)))
    left = all_signed(kitchen_book, *lines, title=title, steps=steps, but=key)
    assert [each.key for each in left.content.open_points] == [key]
    assert NONE not in left.text() and "Nothing is named so far" in left.text()
    assert NONE in all_signed(kitchen_book, *lines, title=title, steps=steps).text()


def answer(item: str, version: int = 1, **told: str) -> SignOff:
    return SignOff(
        title="Pottage", version=version, point=f"label:{item}", reason="Label read, lot 12", cook="A.", **told
    )


def signed(book: sl.Logbook, *signs: SignOff, place: str = "england") -> CardContent:
    recipe = sl.Recipe(title="Pottage", ingredients=["1 l vegetable stock", "100 g bread", "300 g carrots"], servings=4)
    version = book.version("Pottage") if "Pottage" in book.titles() else book.save(recipe)
    return sl.RecipeCard(version.recipe, version, habits=Habits(jurisdiction=place), signoffs=signs).content


def test_a_label_is_signed_off_with_what_it_names(kitchen_book: sl.Logbook) -> None:
    book = kitchen_book
    before = signed(book)
    assert "label:vegetable stock" in {point.key for point in before.open_points}
    assert any("vegetable stock (" in each for each in before.check_label) and before.may_contain == ()
    after = signed(book, answer("vegetable stock", contains="Celery, barley", may_contain="mustard; hazelnuts"))
    assert groups(after.contains) == groups(before.contains) | {"celery"}
    assert "cereals with gluten (wheat, barley)" in after.contains
    assert after.may_contain == ("mustard", "tree nuts (hazelnuts)")
    assert [each for each in after.check_label if "stock" in each] == []
    assert [each for each in after.check_label if "bread" in each], "each label is a question of its own"
    assert signed(book, answer("vegetable stock", 2, contains="celery")).contains == before.contains, (
        "of another version"
    )
    both = signed(book, answer("vegetable stock", contains="none"), answer("bread", contains="wheat"))
    assert both.check_label == () and both.contains == before.contains
    text = sl.RecipeCard(
        book.version("Pottage").recipe, book.version("Pottage"), habits=Habits(jurisdiction="england"),
        signoffs=[answer("vegetable stock", contains="celery", may_contain="mustard")],
    ).text()  # fmt: skip
    assert "celery." in text and "May contain, as labels say: mustard." in text


@pytest.mark.parametrize(
    ("item", "told", "said"),
    [
        ("celery salt", {"contains": "none"}, "celery salt carries celery, so 'none' cannot stand"),
        ("Worcestershire sauce", {"contains": "None."}, "carries anchovies, so 'none' cannot stand"),
        ("bread", {"contains": "none"}, "bread carries wheat, so 'none' cannot stand"),
        ("vegetable stock", {}, "'' came of the label of vegetable stock; write which allergens it names"),
        (
            "vegetable stock",
            {"contains": " "},
            "'' came of the label of vegetable stock; write which allergens it names",
        ),
        ("vegetable stock", {"contains": "celery, moonlight"}, "'moonlight' came of the label of vegetable stock"),
        ("vegetable stock", {"contains": "celery and mustrd"}, "'mustrd' came of the label of vegetable stock"),
        ("vegetable stock", {"contains": "milk/mustrd"}, "'mustrd' came of the label of vegetable stock"),
        ("vegetable stock", {"contains": "coconut"}, "'coconut' came of the label of vegetable stock"),
        ("vegetable stock", {"contains": "none", "may_contain": "dust"}, "'dust' came of the label of vegetable stock"),
    ],
)
def test_a_wrong_answer_is_refused_in_one_sentence(item: str, told: dict, said: str) -> None:
    with pytest.raises(sl.KitchenError, match=said) as refused:
        answer(item, **told)
    assert "\n" not in str(refused.value) and str(refused.value).endswith((".", "?"))


def test_an_older_signature_that_names_nothing_is_asked_again(kitchen_book: sl.Logbook) -> None:
    stored = answer("vegetable stock", contains="none").model_dump(mode="json")
    older = SignOff.read({name: value for name, value in stored.items() if name not in ("contains", "may_contain")})
    assert older.contains == "" and older.reason == "Label read, lot 12"
    assert "label:vegetable stock" in {point.key for point in signed(kitchen_book, older).open_points}


CLAIMS = [
    ("title", "Gluten-free barley soup", "gluten-free", "50 g pearl barley", "cereals with gluten"),
    ("title", "Nut free peanut soup", "nut free", "50 g peanuts", "peanut"),
    ("note", "Dairy-free, for the whole hall.", "dairy-free", "50 ml cream", "milk"),
    ("note", "A vegan bowl.", "vegan", "100 g chicken breast", "meat"),
    ("step", "Serve: suitable for coeliacs.", "suitable for coeliacs", "50 g plain flour", "wheat"),
    ("step", "This is safe for toddlers", "safe for toddlers", "", ""),
    ("step", "Blend until smooth, for dysphagia.", "for dysphagia", "", ""),
    ("note", "IDDSI level 4 as served.", "iddsi level 4", "", ""),
    ("title", "Low salt soup", "low salt", "", ""),
    ("note", "It contains no egg.", "contains no egg", "2 eggs", "egg"),
    ("step", "Free from nuts and suitable for diabetics.", "free from nuts", "20 g flaked almonds", "tree nuts"),
    ("note", "Vegetarian", "vegetarian", "1 tbsp fish sauce", "fish"),
    ("title", "Soup w/o nuts", "w/o nuts", "20 g walnuts", "tree nuts"),
    ("title", "Winter soup (vg)", "vg", "200 g gammon", "meat"),
    ("note", "GF, as we cook it.", "gf", "50 g plain flour", "wheat"),
    ("note", "It does not contain dairy.", "not contain dairy", "50 ml cream", "milk"),
    ("step", "Free of milk, egg and soya.", "free of milk, egg and soya", "2 eggs", "egg"),
    ("note", "Gluten-, dairy- and nut-free.", "gluten-, dairy- and nut-free", "50 ml cream", "milk"),
    ("note", "Free of gluten/dairy/nuts.", "free of gluten/dairy/nuts", "50 g walnuts", "tree nuts"),
    ("step", "It contains neither nuts nor milk.", "neither nuts nor milk", "50 ml cream", "milk"),
    ("note", "No milk, no nuts.", "no milk, no nuts", "20 g walnuts", "tree nuts"),
    ("note", "Without any traces of mustard", "without any traces of mustard", "1 tsp mustard powder", "mustard"),
    ("title", "Crustacean_free chowder", "crustacean_free", "100 g prawns", "crustaceans"),
    ("note", "Can be eaten by those with a nut allergy.", "eaten by those with a nut allergy", "", ""),
    ("step", "Smooth, for those who cannot swallow well.", "cannot swallow", "", ""),
    ("note", "A safe bowl for the hall.", "safe", "", ""),
    ("step", "It is safe at room temperature for a day.", "safe at room temperature for a day", "", ""),
    ("step", "Smooth, and safe for dysphagia.", "safe for dysphagia", "", ""),
    ("note", "Allergy-aware.", "allergy-aware", "", ""),
    ("note", "Zero gluten", "zero gluten", "50 g couscous", "wheat"),
]


def claiming(place: str, words: str, *more: str) -> sl.RecipeCard:
    title, note, step = (words if place == each else "" for each in ("title", "note", "step"))
    steps = ("Boil the carrots in the water.", *filter(None, (step,)))
    return made(*SOUP, *filter(None, more), title=title or "Soup", note=note, steps=steps)


@pytest.mark.parametrize(("place", "words", "claim", "line", "against"), CLAIMS)
def test_a_claim_is_a_point_and_no_machine_reads_it(
    place: str, words: str, claim: str, line: str, against: str
) -> None:
    card = claiming(place, words)
    point = next(each for each in card.content.open_points if each.key == f"claim:{claim}")
    assert place in point.text.casefold() and claim in point.text.casefold()
    read = card.json_ld()
    assert claim not in read.casefold() and "suitableForDiet" not in read and json.loads(read)["name"]
    assert claim not in card.html().casefold().partition("ld+json")[2].partition("</script>")[0]
    assert claim in card.text().casefold(), "on paper the cook's own words stand, with the point beside them"
    if line:
        blocked = claiming(place, words, line)
        left = next(each for each in blocked.content.open_points if each.key == f"claim:{claim}")
        assert left.refuses and against in left.text and "No reason can stand for it" in left.text
        assert claim not in blocked.json_ld().casefold()


@pytest.mark.parametrize(
    "words",
    [
        "Suitable for freezing.", "Use free-range eggs.", "Beat the eggs free range.",
        "Stir until free of lumps.", "Boil until the bones are free.",
        "Serve the vegetables at once.", "Use an ovenproof dish.", "Season with salt to taste.", "Level the top.",
        "Not suitable for vegans.", "This is not gluten-free.", "Never safe for people with allergies.", "Use an oven-safe dish.",
    ],
)  # fmt: skip
def test_words_that_claim_nothing(words: str) -> None:
    keys = [point.key for point in claiming("step", words).content.points]
    assert not [key for key in keys if key.startswith("claim:")]


def test_the_name_of_an_ingredient_is_no_claim_of_the_dish() -> None:
    card = made(
        "1 l water", "100 g low-fat yogurt", steps=("Boil the water, take it off and stir in the low-fat yogurt.",)
    )
    assert not [point.key for point in card.content.points if point.key.startswith("claim:")]
    assert "low-fat yogurt" in card.json_ld()


def test_a_reason_stands_for_a_claim_but_not_against_what_is_in_it(kitchen_book: sl.Logbook) -> None:
    proved = all_signed(kitchen_book, *SOUP, title="Dairy-free soup")
    assert proved.finished and json.loads(proved.json_ld())["name"] == "Dairy-free soup"
    for line in ("50 ml cream", "20 g butter"):
        blocked = all_signed(kitchen_book, *SOUP, line, title="Dairy-free soup")
        assert [each.key for each in blocked.content.open_points] == ["claim:dairy-free"]
        assert (
            "dairy-free" not in blocked.json_ld().casefold() and json.loads(blocked.json_ld())["name"] == "[...] soup"
        )


def test_what_a_label_names_contradicts_a_claim_too(kitchen_book: sl.Logbook) -> None:
    recipe = sl.Recipe(
        title="Pottage", ingredients=["1 l vegetable stock"], servings=4, steps=["Boil the stock. It is gluten-free."]
    )
    version = kitchen_book.save(recipe)
    for told, refused in (("wheat", True), ("none", True), ("milk", False)):
        sign = answer("vegetable stock", contains=told, may_contain="wheat" if told == "none" else "")
        content = sl.RecipeCard(recipe, version, signoffs=[sign]).content
        assert next(each for each in content.points if each.key == "claim:gluten-free").refuses == refused


@pytest.mark.parametrize(
    "words", ["IDDSI level 4.", "For dysphagia.", "Safe for everyone.", "It can safely be kept.", "Safe to eat cold."]
)
def test_no_reason_stands_for_what_nothing_here_can_prove(words: str, kitchen_book: sl.Logbook) -> None:
    card = all_signed(kitchen_book, *SOUP, steps=(BOIL, words))
    (left,) = card.content.open_points
    assert left.refuses and "nothing here can prove it" in left.text and left.claim in words
    assert left.claim.casefold() not in card.json_ld().casefold()


@pytest.mark.parametrize(
    "words", ["gluten free", "Gluten\u2011free", "glutenfree", "GLUTEN\u2010FREE", "gluten-free", "free from gluten"]
)
def test_a_claim_is_found_in_any_spelling(words: str) -> None:
    card = made(*SOUP, title=f"{words} soup", steps=(BOIL,))
    (point,) = (each for each in card.content.points if each.claim)
    assert point.claim == words and json.loads(card.json_ld())["name"] == "[...] soup"


def test_peanut_soup() -> None:
    """Peanut butter has figures, so nothing of it is unknown; the card says peanut all the same, in every place."""
    lines = ("200 g peanut butter", "1 l water", "2 onions")
    steps = ("Simmer the onions in the water for 20 minutes.", "Whisk in the peanut butter.")
    for place in PLACES.values():
        card = made(*lines, title="Peanut soup", steps=steps, place=place)
        assert "peanut" in card.content.contains and NONE not in card.text() and "Contains: peanut" in card.text()
        assert not [point for point in card.content.points if point.key.startswith("named:")]
    without = made(*lines[1:], title="Peanut soup", steps=steps[:1])
    assert "named:peanut" in {point.key for point in without.content.open_points} and NONE not in without.text()


def test_every_part_of_the_table_is_told_apart() -> None:
    """Of one name and group the table says one thing on one list, and each name is found as it stands there."""
    table = read_table("allergens.csv")
    seen: dict[tuple[str, str, str], str] = {}
    for row in table:
        assert (
            row["source"] and row["kind"] in ("published", "common practice") and row["says"] in ("is", "ask", "none")
        )
        for name, by in itertools.product(row["names"].split(";"), row["lists"].split(";")):
            key = (name, row["group"], by)
            assert seen.setdefault(key, row["says"]) == row["says"], key
            found = allergens(name) if row["group"] else ()
            assert not row["group"] or row["group"] in {each.group for each in found}, key
    assert len({name for name, _, _ in seen}) > 1500


def test_nothing_that_the_table_of_ingredients_says_is_lost() -> None:
    """By its name, its aliases and its loose names: what is so by nature stays sure, what is asked is asked or sure."""
    checked = 0
    for row in ingredients().values():
        for name in (row.name, *row.aliases, *row.assumed):
            if known(name) is row:
                found = allergens(name)
                assert set(row.contains) <= {each.group for each in found if each.sure}, name
                assert set(row.check_label) <= {each.group for each in found}, name
                assert is_known(name), name
                checked += 1
    assert checked > 1500
