"""The card as one leaf on the wall: what stands where, on every paper, in black and white, and where a word or a photo is awkward."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pypdf
import pytest
from PIL import Image

import spoonline as sl
from card.test_card import card_of
from spoonline.card import CardNote, SignOff, booklet

PAPERS = ("a4", "letter", "a5")
FOODS = [
    "carrots", "onions", "leeks", "celery", "potatoes", "swede", "parsnips", "turnips", "tomatoes", "mushrooms", "butter", "salt", "garlic",
    "parsley", "thyme", "lentils", "rice",
]  # fmt: skip
LONG = "Kartoffel" * 7


def sides(card: sl.RecipeCard, paper: str) -> list[str]:
    """The text of each side of a card's leaves."""
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(card.face("pdf", paper))).pages]


def flat(text: str) -> str:
    return re.sub(r"[\s\u200b]+", "", text)


def done(card: sl.RecipeCard) -> sl.RecipeCard:
    """The same card with all its points signed off."""
    number = card.version.number if card.version else 1
    signs = [
        SignOff(title=card.recipe.title, version=number, point=each.key, reason="Seen by the hall", cook="A.", contains="celery, wheat")
        for each in card.content.points
    ]  # fmt: skip
    return replace(card, signoffs=signs)


def photo(wide: int, high: int) -> tuple[bytes, str, str]:
    hold = io.BytesIO()
    Image.new("RGB", (wide, high), "#c9b27c").save(hold, "PNG")
    return hold.getvalue(), "image/png", "A bowl"


@pytest.mark.parametrize("paper", PAPERS)
def test_each_card_of_the_demo_is_one_leaf(paper: str, demo: sl.Logbook) -> None:
    for title in demo.titles():
        draft = sl.RecipeCard.from_logbook(demo, title)
        cooking = []
        for card in (draft, done(draft)):
            first, *others = sides(card, paper)
            assert len(others) <= 1 + (not card.finished), "front and back; a draft has its proof leaf beside it"
            content, front = card.content, flat(first)
            cooked = [*(line.grams + line.item for line in content.lines), *(step.text for step in content.method)]
            care = [each for step in content.method for each in step.care]
            thick = [
                *(each for check in content.checks[:1] for each in (check.reading, check.good)),
                *(each for aim in content.aims for each in (aim.reading, aim.how, aim.good)),
                *(mend.amount for mend in content.mends),
                *content.mend_how,
            ]
            for text in (
                content.title,
                *cooked,
                *care,
                *thick,
                content.tested,
                *["does not classify food"] * bool(content.checks),
                content.allergen_note,
            ):
                assert flat(text) in front, text
            if not card.finished:
                assert (
                    flat(content.open_points[0].text) in flat(others[-1])
                    and flat(content.open_points[0].text) not in front
                )
                assert "Proof leaf" in others[-1]
            cooking.append(front.partition("Ingredients")[2].partition("Allergens")[0])
            everything = flat(first + "".join(others))
            for text in content.cautions:
                assert flat(text) in everything, "no caution is dropped"
        assert len({*cooking}) == 1, "a draft's leaf is the leaf"


def test_times_and_temperatures_are_bold_and_the_box_is_framed(demo: sl.Logbook) -> None:
    page = card_of(demo).html()
    assert "at <b>200 C (400 F)</b> for <b>35 minutes</b>." in page and "simmer for <b>12 minutes</b>" in page
    assert page.count('class="thickness box"') == 1 and "<b>3.8 g</b> on each side of the spatula" in page
    assert page.count('<tr class="marked">') == 1 and re.search(
        r'marked"><td class="num">50 g</td><th scope="row">corn starch', page
    )
    stew = card_of(demo, "Beef and carrot stew")
    (care,) = (each for step in stew.content.method for each in step.care)
    assert re.search(r"<li>Strain off[^\n]*?<span class=\"beside\">Take care", stew.html()) and care
    assert "For each litre without its pieces (about 1.2 L here)" in stew.text()  # which the card says makes 3 L


def biscuits(
    *aims: sl.Aim, steps: tuple[str, ...] = ("Mix it all and bake at 170 C for 14 minutes.",)
) -> sl.RecipeCard:
    lines = ["200 g plain flour", "100 g butter", "50 g cornflour", "80 g sugar", "1 large egg yolk"]
    return sl.RecipeCard(sl.Recipe(title="Hall shortbread", servings=12, ingredients=lines, steps=steps, aims=aims))


@pytest.mark.parametrize(
    ("unit", "steps", "how"),
    [
        ("cm", ("Bake it.", "Measure 50 ml of nothing. Then measure four across when cold; eat them."),
         "Measure four across when cold (step 2)."),
        ("cm", ("Bake it.",), "Measure several with a ruler, as they are served; the mean counts."),
        ("g", ("Weigh out the flour, then bake, and weigh ten when cold.",), "Weigh ten when cold (step 1)."),
        ("score", ("Bake it.",), "Let several people score it, each alone, as it is served; the mean counts."),
        ("%", ("Bake it.",), "Take it at the same moment and in the same way each time."),
    ],
)  # fmt: skip
def test_the_aim_of_what_is_baked_is_large_in_the_one_frame(unit: str, steps: tuple[str, ...], how: str) -> None:
    card = biscuits(sl.Aim(outcome="spread", unit=unit, low=7, high=7.8), steps=steps)
    (aim,), page = card.content.aims, card.html()
    assert aim.how == how and page.count('class="thickness box"') == 1
    assert f"<b>Spread 7 to 7.8 {unit}</b></p><p>{how}</p>" in page and "Not tested for spread 7 to 7.8" in page
    sizes: dict[float, str] = {}

    def seen(text: str, cm: list[float], tm: list[float], _font: object, size: float) -> None:
        place = round(abs(cm[0] * tm[0]) * size, 1)
        sizes[place] = sizes.get(place, "") + text

    pypdf.PdfReader(io.BytesIO(card.face("pdf", "a4"))).pages[0].extract_text(visitor_text=seen)
    assert flat(f"Spread 7 to 7.8 {unit}") in flat(sizes[max(sizes)]), "larger than the title"


def test_an_aim_beside_a_thickness_shares_its_frame_and_nothing_to_aim_at_has_none() -> None:
    lines, steps = ["1 l vegetable stock", "30 g corn starch"], ["Boil for 2 minutes."]
    soup = sl.Recipe(title="Soup", ingredients=lines, steps=steps, target=sl.Target(viscosity_pa_s="1"),
                     aims=[sl.Aim(outcome="sweetness", unit="score", low=5, high=6)])  # fmt: skip
    both = sl.RecipeCard(soup).html()
    assert (
        both.count(' box"') == 1 and "<b>Sweetness 5 to 6 score</b>" in both and "on each side of the spatula" in both
    )
    for bare in (biscuits(), sl.RecipeCard(soup.model_copy(update={"target": None, "aims": ()}))):
        assert ' box"' not in bare.html()
        assert ("30.0 g of corn starch per litre" in bare.text()) == (bare.recipe.title == "Soup")
    thin = sl.RecipeCard(soup.model_copy(update={"target": sl.Target(viscosity_pa_s="0.002"), "aims": ()}))
    assert not thin.content.checks and "<b>0.002 Pa s</b> at 60 C" in thin.html(), "no tool reads it there"


def test_what_is_baked_is_told_nothing_of_starch_that_boils_and_nothing_is_weighed_as_a_thickener() -> None:
    card = biscuits()
    text = card.text()
    assert (
        "Egg yolk: 71 C" in text
        and "starch dish" not in text
        and "boils 2 minutes" not in text
        and "boils away" not in text
    )
    assert "serve it at once" not in text and "says nothing of keeping" in text
    assert not any(line.thickens or line.household == "weighed" for line in card.content.lines)


@pytest.mark.parametrize(
    ("step", "unused"),
    [
        ("Mix the flour with the rest.", False),
        ("Mix the flour and stir in everything else.", False),
        ("Mix the flour with the remaining ingredients.", False),
        ("Mix the flour and keep the rest warm.", True),
        ("Mix in half the flour, then the rest of the flour.", True),
    ],
)
def test_a_step_that_puts_in_the_rest_uses_every_line(step: str, unused: bool) -> None:
    points = biscuits(steps=(step, "Bake at 170 C for 14 minutes.")).content.points
    assert any(each.key.startswith("unused:") and "sugar" in each.key for each in points) == unused


def test_one_dose_of_one_thing(demo: sl.Logbook) -> None:
    """Sauces that were strained and weighed correct the forecast of a stew's liquid: card, suggestion and dish say that one dose."""
    stew = card_of(demo, "Beef and carrot stew")
    lines = [f"76.9 g {each.item}" if each.item == "corn starch" else each for each in stew.recipe.ingredients]
    card = replace(stew, recipe=stew.recipe.changed(ingredients=lines))
    forecast, dose = card.recipe.dose_g_per_l, card.dish.curve.dose_g_per_l
    assert (f"{forecast:.1f}", f"{dose:.1f}") == ("54.2", "54.4"), "the demo's strained pots differ from the forecast"
    assert "54.4 g of corn starch per litre" in card.text() and "54.2" not in card.text()
    assert "54.4 g/L" in card.dish.text and "54.2 g/L" not in card.dish.text + card.dish.next_text


def test_the_pdf_sets_grams_times_and_the_reading_in_bold(demo: sl.Logbook) -> None:
    bold: list[str] = []

    def seen(text: str, _cm: object, _tm: object, font: dict | None, _size: float) -> None:
        if font and "Bold" in str(font["/BaseFont"]):
            bold.append(text)

    card = card_of(demo)
    pypdf.PdfReader(io.BytesIO(card.face("pdf", "a5"))).pages[0].extract_text(visitor_text=seen)
    said = flat("".join(bold))
    for text in (
        "500 g",
        "1320 g",
        "200 C (400 F)",
        "35 minutes",
        "3.8 g",
        "corn starch",
        *(mend.amount for mend in card.content.mends if mend.what),
    ):
        assert flat(text) in said, text
    assert "onions" not in said and "onthescale" not in said


@pytest.mark.parametrize("paper", PAPERS)
def test_it_is_legible_in_black_and_white(paper: str, demo: sl.Logbook) -> None:
    leaf = Image.open(io.BytesIO(card_of(demo).leaves(paper)[0])).convert("RGB")
    grey = {colour: count for count, colour in leaf.getcolors(1 << 24) or []}

    def luminance(colour: tuple[int, ...]) -> float:
        parts = [
            each / 12.92 if each <= 0.03928 else ((each + 0.055) / 1.055) ** 2.4
            for each in (one / 255 for one in colour)
        ]
        return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]

    # The inks (large counts, no edge of a letter): ink, grey, accent on white, and on the tint of the thickener's row.
    tint = next(colour for colour in sorted(grey, key=lambda each: -grey[each]) if 200 < colour[0] < 250)
    assert luminance(tint) < 0.87, "the tint is seen in grey"
    for ink in ((0x1B, 0x1B, 0x1B), (0x56, 0x56, 0x56), (0x0B, 0x5C, 0x8A)):
        assert grey[ink] > 20
        for ground in ((255, 255, 255), tint):
            assert (luminance(ground) + 0.05) / (luminance(ink) + 0.05) > 4.5, (ink, ground)


AWKWARD = {
    "long word": sl.Recipe(title=f"Soup of {LONG}", ingredients=[f"500 g {LONG}", "1 l water"], steps=[f"Boil the {LONG} in the water."]),
    "right to left": sl.Recipe(title="\u05de\u05e8\u05e7 \u05e4\u05d8\u05e8\u05d9\u05d5\u05ea", ingredients=["1 l water"], steps=["Boil."]),
    "25 lines and 14 steps": sl.Recipe(
        title="All there was",
        ingredients=[*(f"{100 + n} g {food}" for n, food in enumerate(FOODS)), *(f"{n} ml water" for n in range(7)), "60 g corn starch"],
        steps=[f"Cook the {food} at 180 C for {n + 5} minutes, stirring now and then." for n, food in enumerate(FOODS[:14])],
    ),
    "no steps": sl.Recipe(title="No steps", ingredients=["1 l beef stock", "60 g wheat flour"], target=sl.Target(viscosity_pa_s="1.6")),
}  # fmt: skip


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("awkward", AWKWARD.values(), ids=AWKWARD)
def test_awkward_cards_stay_on_the_paper(paper: str, awkward: sl.Recipe) -> None:
    card = sl.RecipeCard(awkward)
    reader = pypdf.PdfReader(io.BytesIO(card.face("pdf", paper)))
    assert len(reader.pages) <= 4 and card.html()
    for each in card.leaves(paper):
        leaf = Image.open(io.BytesIO(each)).convert("L")
        assert leaf.crop((leaf.width - 20, 0, leaf.width, leaf.height)).getextrema()[0] == 255, (
            "nothing runs over the edge"
        )


@pytest.mark.parametrize("size", [(200, 1000), (1000, 200), (800, 600)])
def test_a_photo_stands_beside_the_title_and_takes_no_leaf(size: tuple[int, int], demo: sl.Logbook) -> None:
    bare = sl.RecipeCard.from_logbook(demo, "Mushroom gravy")
    card = replace(bare, photo=photo(*size))
    for paper in ("a4", "a5"):
        assert len(card.leaves(paper)) <= 3
        leaf = Image.open(io.BytesIO(card.leaves(paper)[0])).convert("RGB")
        own = [
            (n % leaf.width, n // leaf.width)
            for n, colour in enumerate(leaf.get_flattened_data())
            if colour == (0xC9, 0xB2, 0x7C)
        ]
        across, down = (max(each) - min(each) for each in zip(*own, strict=True))
        assert across / down == pytest.approx(size[0] / size[1], rel=0.1), "not squeezed"
        assert (
            min(x for x, _ in own) > leaf.width / 2
            and max(y for _, y in own) < leaf.height / 4
            and across < leaf.width / 2
        )


def test_what_is_signed_off_reads_as_a_fact(demo: sl.Logbook) -> None:
    text = done(card_of(demo)).text()
    assert "vegetable stock: Seen by the hall; it names celery, wheat (A.)" in text and "is unchecked" not in text
    assert "DRAFT" not in text and "Proof leaf" not in text.replace("PROOF", "Proof")


def test_a_total_time_only_where_every_step_says_one(demo: sl.Logbook) -> None:
    assert "in all 38 min" in card_of(demo, "Celeriac and apple soup").text()
    assert "in all" not in card_of(demo).text().replace("6 hours in all", "")


def test_flour_of_the_dumplings_is_neither_tinted_nor_weighed_for_the_stew() -> None:
    stew = sl.Recipe.from_text(
        "Stew\n1 kg stewing beef\n1 l beef stock\n25 g corn starch\n\nFor the dumplings:\n150 g plain flour\n75 g suet\n90 ml water\n"
        "\n1. Simmer the beef in the stock for 2 h.\n2. Whisk in the corn starch.\n3. Drop in the dumplings."
    )
    lines = {line.item: line for line in sl.RecipeCard(stew).content.lines}
    assert (
        lines["corn starch"].thickens
        and not lines["plain flour"].thickens
        and lines["plain flour"].household != "weighed"
    )


def test_the_index_of_a_booklet_has_singular_and_plural_together() -> None:
    cards = [
        sl.RecipeCard(
            sl.Recipe(title=title, ingredients=[line, "1 l water"], steps=["Boil."]), note=CardNote(title=title)
        )
        for title, line in (("First", "1 onion"), ("Second", "3 onions"))
    ]
    page = pypdf.PdfReader(io.BytesIO(booklet(cards, paper="a5"))).pages[-1]
    at: dict[str, float] = {}
    page.extract_text(visitor_text=lambda text, cm, tm, *_: at.setdefault(text.strip(), cm[0] * tm[4] + cm[4]))
    starts = {name: next(x for text, x in at.items() if text.startswith(name)) for name in ("onions", "water")}
    assert starts["water"] > float(page.mediabox.width) / 3 > starts["onions"], "two columns"
    last = page.extract_text()
    assert re.search(r"onions \d+, \d+", " ".join(last.split())) and not re.search(r"onion \d", last)
