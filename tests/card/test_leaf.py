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
                *content.aims,
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
    assert "For each litre of soup or sauce" in stew.text()


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


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(
    "awkward",
    [
        sl.Recipe(title=f"Soup of {LONG}", ingredients=[f"500 g {LONG}", "1 l water"], steps=[f"Boil the {LONG} in the water."]),
        sl.Recipe(title="\u05de\u05e8\u05e7 \u05e4\u05d8\u05e8\u05d9\u05d5\u05ea", ingredients=["1 l water"], steps=["Boil."]),
        sl.Recipe(
            title="All there was",
            ingredients=[*(f"{100 + n} g {food}" for n, food in enumerate(FOODS)), *(f"{n} ml water" for n in range(7)), "60 g corn starch"],
            steps=[f"Cook the {food} at 180 C for {n + 5} minutes, stirring now and then." for n, food in enumerate(FOODS[:14])],
        ),
        sl.Recipe(title="No steps", ingredients=["1 l beef stock", "60 g wheat flour"], target=sl.Target(viscosity_pa_s="1.6")),
    ],
    ids=["long word", "right to left", "25 lines and 14 steps", "no steps"],
)  # fmt: skip
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
