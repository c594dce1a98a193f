"""What keeps a card a draft, each point with a case that has it and one that has not; and what an editor would say."""

from __future__ import annotations

import pytest

import spoonline as sl
from spoonline.card import CardNote, SignOff, load_style, read_through, style_text
from spoonline.recipes import Habits, Step

GOOD = """Mushroom gravy
Serves 8
60 g butter
80 g wheat flour
400 g mushrooms, sliced
1 l water

1. Melt the butter, stir in the flour and the mushrooms and cook for 10 minutes.
2. Whisk in the water and simmer for 15 minutes."""


def keys(text: str = GOOD, **options: object) -> set[str]:
    recipe = sl.Recipe.from_text(text, target=sl.Target(viscosity_pa_s="1.6"))
    return {point.key for point in sl.RecipeCard(recipe, **options).content.points}


BASE = {"not saved", "untested"}


def test_a_whole_recipe_lacks_only_its_batches() -> None:
    assert keys() == BASE


@pytest.mark.parametrize(
    ("old", "new", "point"),
    [
        ("80 g wheat flour", "9 tbsp wheat flour", "spooned:9 tbsp wheat flour"),
        ("80 g wheat flour", "80 g (1/4 cup) wheat flour", "measures:80 g (1/4 cup) wheat flour"),
        ("Whisk in the water", "Whisk in the water and the double cream", "unlisted:2:double cream"),
        ("and the mushrooms ", "", "unused:mushrooms"),
        ("1 l water", "1 l vegetable stock", "label:vegetable stock"),
        ("1 l water", "1 l moonlight", "label:moonlight"),
        ("60 g butter", "a knob butter", "line:a knob butter"),
        ("Serves 8\n", "", "yield"),
    ],
)
def test_each_point_is_found(old: str, new: str, point: str) -> None:
    assert old in GOOD
    assert point in keys(GOOD.replace(old, new))
    assert point not in keys()


def test_a_step_that_says_lemon_uses_the_lemon_juice() -> None:
    sour = GOOD.replace("1 l water", "1 l water\n20 ml lemon juice")
    assert "unused:lemon juice" in keys(sour)
    assert "unused:lemon juice" not in keys(sour.replace("Whisk in the water", "Whisk in the water and lemon"))
    assert "unused:lemon juice" not in keys(sour.replace("Whisk in the water", "Whisk in the water and the juice"))


def test_no_cooling_advice_and_no_target() -> None:
    without = CardNote(title="Mushroom gravy", made_ahead=False)
    assert "cooling" in keys(f"{GOOD}\n3. Chill.", note=without) and "cooling" not in keys(f"{GOOD}\n3. Chill.")
    assert "cooling" not in keys(note=without), "it is not kept"
    bare = sl.RecipeCard(sl.Recipe.from_text(GOOD))
    assert {"target", "untested"} <= {point.key for point in bare.content.points}
    assert (
        "local food code" in sl.RecipeCard(sl.Recipe.from_text(GOOD), note=CardNote(title="x", made_ahead=False)).text()
    )


def test_a_point_is_signed_off_for_one_version_only(demo: sl.Logbook) -> None:
    title = "Roast parsnip and pear soup"
    version = demo.version(title)
    for point in sl.RecipeCard(version.recipe, version, demo.all_batches(title)).content.points:
        told = {"contains": "none"} if point.key.startswith("label:") else {}
        demo.keep(SignOff(title=title, version=5, point=point.key, reason="Label read, lot 12", cook="A.", **told))
    made = {
        number: sl.RecipeCard(
            demo.version(title, number).recipe, demo.version(title, number), demo.all_batches(title),
            signoffs=demo.kept(SignOff, title),
        )
        for number in (4, 5)
    }  # fmt: skip
    assert made[5].finished and not made[4].finished
    assert all(point.reason == "Label read, lot 12" for point in made[5].content.points)
    demo.take_back(demo.kept(SignOff, title)[0])
    again = sl.RecipeCard(version.recipe, version, demo.all_batches(title), signoffs=demo.kept(SignOff, title))
    assert len(again.content.open_points) == 1


def test_a_sign_off_without_a_reason_is_refused() -> None:
    with pytest.raises(sl.KitchenError, match="reason"):
        SignOff(title="Soup", version=1, point="untested", reason=" ")


def test_an_editor_says_nothing_of_a_good_text() -> None:
    assert read_through(sl.Recipe.from_text(GOOD)) == ()


@pytest.mark.parametrize(
    ("old", "new", "kind", "style"),
    [
        ("60 g butter\n80 g wheat flour", "80 g wheat flour\n60 g butter", "order", Habits()),
        ("Whisk in the water", "Bake in the oven at 180, whisk in the water", "temperature", Habits()),
        ("Whisk in", "15 minutes before serving whisk in", "numeral", Habits()),
        ("1 l water", "1 l water\n2 onions", "size", Habits()),
        ("the flour", "the plain flour", "spelling", Habits(names="us")),
        ("for 15 minutes", "for 1.5 h", "decimal mark", Habits(decimal=",")),
    ],
)
def test_an_editor_finds(old: str, new: str, kind: str, style: Habits) -> None:
    assert old in GOOD
    assert kind in {each.kind for each in read_through(sl.Recipe.from_text(GOOD.replace(old, new)), style)}


def test_times_that_do_not_add_up() -> None:
    recipe = sl.Recipe(
        title="Gravy", ingredients=["1 l water"], steps=[Step(text="Boil the water for 5 minutes.", minutes=8)]
    )
    assert [each.kind for each in read_through(recipe)] == ["times"]


def test_a_house_style_is_a_file(tmp_path) -> None:
    style = Habits(kitchen="uk", names="uk", rounding="tenths", paper="5x8")
    (tmp_path / "house.json").write_text(style_text(style), encoding="utf-8")
    assert load_style(tmp_path / "house.json") == style
    for text, said in (
        ("{", "no JSON"),
        ("[1]", "holds no habits"),
        ('{"paper": "a0"}', "paper"),
        ('{"colour": 1}', "colour"),
    ):
        (tmp_path / "wrong.json").write_text(text)
        with pytest.raises(sl.KitchenError, match=said):
            load_style(tmp_path / "wrong.json")
    with pytest.raises(sl.KitchenError, match="cannot be read"):
        load_style(tmp_path / "nowhere.json")


def test_no_servings_and_nothing_to_sum_are_said() -> None:
    bare = sl.RecipeCard(sl.Recipe(title="Soup", ingredients=["1 l water"]))
    assert "Not worked out: the recipe does not say for how many it is." in bare.text()
    unknown = sl.RecipeCard(sl.Recipe(title="Soup", ingredients=["1 l moonlight"], servings=2))
    assert "Not worked out: no ingredient has both a weight and figures." in unknown.text()
    with pytest.raises(sl.KitchenError, match="a figure above 0 is wanted"):
        sl.Recipe(title="Soup", ingredients=["1 l water"], servings=0)


def test_a_method_that_names_hardly_a_line_is_one_point() -> None:
    lines = "3 l vegetable stock\n400 g red lentils\n3 carrots\n2 onions\n20 g corn starch"
    text = f"Hall soup\n\n{lines}\n\nSimmer 30 minutes, then stir in the starch."
    points = sl.RecipeCard(sl.Recipe.from_text(text)).content.points
    (unused,) = [each for each in points if each.key.startswith("unused:")]
    assert unused.key == "unused:vegetable stock, red lentils, carrots, onions"
    pod = sl.Recipe.from_text(
        "Custard\n\n1 l milk\n1 vanilla pod\n20 g corn starch\n\nHeat milk and vanilla; stir in the starch."
    )
    assert not any(each.key.startswith("unused:") for each in sl.RecipeCard(pod).content.points)


def test_one_batch_is_not_batches(demo: sl.Logbook) -> None:
    text = sl.RecipeCard.from_logbook(demo, "Mushroom gravy").text()
    one = demo.save(demo.recipe("Mushroom gravy").scaled(1.5), "larger")
    read = demo.all_batches("Mushroom gravy")[-1]
    demo.record(sl.Batch(title=one.title, version=one.number, cooked_on="2026-02-20", readings=read.readings))
    alone = sl.RecipeCard.from_logbook(demo, one.title).text()
    assert (
        "last 1 batches" not in text + alone
        and "last 1 batches" not in sl.RecipeCard.from_logbook(demo, "Beef and carrot stew").text()
    )
