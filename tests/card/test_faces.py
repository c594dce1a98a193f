"""One content, five faces: all say the same numbers, on every demo card and on a recipe with headings, photo and note."""

from __future__ import annotations

import io
import json
import re
from collections import Counter
from datetime import date

import pypdf
import pytest
from PIL import Image

import spoonline as sl
from card.test_card import card_of, words
from spoonline.card import CardContent, CardNote, SignOff, booklet, export
from spoonline.measures.errors import Stopped
from spoonline.recipes import Habits
from spoonline.recipes.nutrition import summed

TITLES = ("Roast parsnip and pear soup", "Mushroom gravy", "Blackcurrant sauce")
PAPERS = ("a4", "letter", "a5", "5x8")


def steps_of(content: CardContent) -> list[str]:
    return [step.text for step in content.method]


def photo() -> tuple[bytes, str, str]:
    hold = io.BytesIO()
    Image.new("RGB", (80, 60), "#c9b27c").save(hold, "PNG")
    return hold.getvalue(), "image/png", "A bowl of soup, a spoon standing in it"


def rich() -> sl.RecipeCard:
    recipe = sl.Recipe.from_text(
        """Roast parsnip and pear soup
Serves 8
For the soup:
700 g parsnips, peeled
1.4 l vegetable stock
For the slurry:
50 g corn starch

For the soup:
1. Roast the parsnips at 200 C for 35 minutes. Add the stock and simmer for 12 minutes.
For the slurry:
2. Stir in the corn starch and boil for 2 minutes.""",
        target=sl.Target(viscosity_pa_s="1.7"),
    )
    note = CardNote(
        title=recipe.title, note="Made for 40 at the winter lunch.", prep_minutes=20, credit="The village hall"
    )
    return sl.RecipeCard(recipe, note=note, photo=photo(), printed_on=date(2026, 2, 1))


def numbers(text: str) -> Counter[str]:
    return Counter(re.findall(r"\d+(?:[.,]\d+)?", text))


def pdf_text(data: bytes, foot: bool = False) -> str:
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]
    # Without the running foot: whose leaf it is, and its number.
    return "\n".join(text if foot else re.sub(r"[^\n]*\n?\d+ / \d+\s*\Z", "", text) for text in pages)


def without_numbering(text: str, card: sl.RecipeCard) -> str:
    """Steps are numbered by the page itself in HTML; the other faces write the number."""
    for number, step in enumerate(steps_of(card.content), start=1):
        text = text.replace(f"{number}. {step}", step)
    return text


def faces(card: sl.RecipeCard) -> dict[str, str]:
    return {
        "html": words(card.html()),
        "markdown": without_numbering(card.markdown().replace("\\", ""), card),
        "text": without_numbering(card.text(), card),
        "json_ld": without_numbering(json.loads(card.json_ld())["text"], card),
    }


def cards(demo: sl.Logbook) -> list[sl.RecipeCard]:
    return [*(card_of(demo, title, printed_on=date(2026, 2, 1)) for title in TITLES), rich()]


def test_all_faces_say_the_same_numbers(demo: sl.Logbook) -> None:
    for card in cards(demo):
        said = faces(card)
        wanted = numbers(said["text"])
        assert sum(wanted.values()) > 50
        for name, text in said.items():
            assert numbers(text) == wanted, f"{card.recipe.title}: {name}"
        steps = Counter(str(number) for number in range(1, len(card.content.method) + 1))
        for paper in PAPERS:
            assert numbers(re.sub(r"(\d)\n(?=\d)", r"\1 ", pdf_text(card.face("pdf", paper)))) == wanted + steps, paper


def test_the_structured_part_says_them_too(demo: sl.Logbook) -> None:
    for card in cards(demo):
        data, content = json.loads(card.json_ld()), card.content
        for line, said in zip(content.lines, data["recipeIngredient"], strict=True):
            assert numbers(f"{line.grams} {line.household} {line.preparation}") == numbers(said)
        steps = [each for part in data["recipeInstructions"] for each in part.get("itemListElement", [part])]
        assert [each["text"] for each in steps] == steps_of(content)
        assert [each["position"] for each in steps] == list(range(1, len(steps) + 1))
        figures = {each.text for each in content.nutrition if each.whole}
        shown = {
            value.replace("calories", "kcal")
            for key, value in data["nutrition"].items()
            if key not in ("@type", "servingSize")
        }
        assert shown == figures


@pytest.mark.parametrize("paper", PAPERS)
def test_the_words_of_the_pdf_are_the_words_of_the_card(paper: str, demo: sl.Logbook) -> None:
    for card in cards(demo):
        content = card.content
        flat = re.sub(r"\s+", "", pdf_text(card.face("pdf", paper)))
        for text in (
            content.title,
            content.tested,
            *steps_of(content),
            *(each for step in content.method for each in step.care),
            *content.cautions,
            *(line.item for line in content.lines),
        ):
            assert re.sub(r"\s+", "", text) in flat, text


def test_a_photo_is_there_only_if_it_was_given(demo: sl.Logbook) -> None:
    card, bare = rich(), card_of(demo)
    assert 'alt="A bowl of soup, a spoon standing in it"' in card.html() and "<img" not in bare.html()
    image = json.loads(card.json_ld())["image"]
    assert image["contentUrl"].startswith("data:image/png;base64,") and "image" not in json.loads(bare.json_ld())
    with pytest.raises(sl.KitchenError, match="no such file"):
        sl.RecipeCard(card.recipe, photo=(b"%PDF", "image/png", "x")).html()


def test_times_are_published_only_where_they_are_known(demo: sl.Logbook) -> None:
    data = json.loads(rich().json_ld())
    assert (data["prepTime"], data["performTime"], data["totalTime"]) == ("PT20M", "PT49M", "PT1H9M")
    soup = json.loads(card_of(demo).json_ld())
    assert not {"prepTime", "totalTime", "performTime"} & set(soup), "two of its steps say no time"


def test_the_same_card_gives_the_same_bytes(demo: sl.Logbook) -> None:
    assert card_of(demo).face("pdf") == card_of(demo).face("pdf")
    assert card_of(demo).json_ld() == card_of(demo).json_ld()


def test_a_house_style_changes_every_face(demo: sl.Logbook) -> None:
    uk = card_of(
        demo, habits=Habits(kitchen="uk", names="uk", decimal=",", first_degrees="F", rounding="tenths", paper="a5")
    )
    for text in faces(uk).values():
        assert "33,3 g of cornflour per litre" in text and "400 F (200 C)" in text and "50,0 g" in text
    us = card_of(demo, habits=Habits(names="us"))
    assert "per liter" in us.text() and 'lang="en-US"' in us.html()
    assert "A5" in uk.html() and "5in 8in" in uk.html("5x8")


def test_each_kitchen_has_the_figures_of_its_labels(demo: sl.Logbook) -> None:
    us, uk = card_of(demo), card_of(demo, habits=Habits(kitchen="uk"))
    for text in faces(us).values():
        assert "220 kcal" in text and "890 mg" in text and "kJ" not in text and "sodium" in text
    for form, text in faces(uk).items():
        # 4.184 kJ a kcal; 0.89 g of sodium is 2.2 g of salt at 2.5 (Regulation 1169/2011, Annex I, memory).
        found = re.search(r"(\d+) kJ \((\d+) kcal\)", text)
        assert found and abs(float(found[1]) / 4.184 - float(found[2])) < 0.5, form
        assert "salt 2.2 g" in text, form
    assert json.loads(uk.json_ld())["nutrition"]["sodiumContent"].endswith(" mg"), (
        "machines keep the term of schema.org"
    )


def test_every_leaf_says_whose_it_is_and_that_it_is_a_draft(demo: sl.Logbook) -> None:
    for paper in PAPERS:
        leaves = pypdf.PdfReader(io.BytesIO(card_of(demo).face("pdf", paper))).pages
        for number, leaf in enumerate(leaves, start=1):
            text = leaf.extract_text()
            assert "DRAFT, not for use: Roast parsnip and pear soup, version 5" in text
            assert f"{number} / {len(leaves)}" in text
    long = sl.RecipeCard(sl.Recipe(title="x " * 150, ingredients=["1 l water"]))
    assert "\u2026" in pypdf.PdfReader(io.BytesIO(long.face("pdf"))).pages[0].extract_text()


def test_the_house_style_chooses_the_paper(demo: sl.Logbook, tmp_path) -> None:
    card = card_of(demo, habits=Habits(paper="a5"))
    (file,) = export([card], tmp_path, formats=["pdf"])
    for data in (file.read_bytes(), booklet([card])):
        assert float(pypdf.PdfReader(io.BytesIO(data)).pages[0].mediabox.width) == pytest.approx(419.53, abs=0.1)


def test_work_on_many_cards_tells_how_far_it_is_and_can_be_stopped(demo: sl.Logbook, tmp_path) -> None:
    def stop(done: int, _of: int, _title: str) -> None:
        if done == 2:
            raise Stopped("Stopped.")

    with pytest.raises(Stopped):
        export(cards(demo), tmp_path / "cards", formats=["text"], progress=stop)
    assert len(list((tmp_path / "cards").iterdir())) == 2, "what was written stays, whole"
    with pytest.raises(Stopped):
        booklet(cards(demo), progress=stop)


def test_a_booklet_has_contents_and_an_index(demo: sl.Logbook) -> None:
    several = cards(demo)
    data = booklet(several, paper="a5", title="Winter lunch club")
    reader = pypdf.PdfReader(io.BytesIO(data))
    first, last = reader.pages[0].extract_text(), reader.pages[-1].extract_text()
    assert "Winter lunch club" in first and all(title in first for title in TITLES)
    assert "Index of ingredients" in last and "corn starch" in last
    starts = [number for number, page in enumerate(reader.pages, start=1) if TITLES[1] in page.extract_text()[:40]]
    listed = re.search(r"soy sauce\s+(\d+)", last)
    assert listed and int(listed[1]) == starts[0], "the index names the page on which the card begins"
    assert "DRAFT" not in last and "Winter lunch club" in last, "the foot of the index is the booklet's own"


def test_batch_export_tells_how_far_it_is(demo: sl.Logbook, tmp_path) -> None:
    told: list[tuple[int, int, str]] = []
    twice = [card_of(demo), card_of(demo)]
    files = export(twice, tmp_path, progress=lambda *each: told.append(each))
    assert [each[:2] for each in told] == [(1, 2), (2, 2)]
    assert len(files) == len(set(files)) == 10 and all(path.stat().st_size for path in files)
    with pytest.raises(sl.KitchenError, match="choose of html"):
        export(twice, tmp_path, formats=["docx"])


def test_draft_and_finished_are_told_apart_in_every_face(demo: sl.Logbook) -> None:
    draft = card_of(demo)
    signs = [
        SignOff(
            title=draft.recipe.title,
            version=5,
            point=each.key,
            reason="Label read on 3 Feb",
            cook="A.",
            contains="celery",
        )
        for each in draft.content.points
    ]
    done = card_of(demo, signoffs=signs)
    for text in (*faces(draft).values(), pdf_text(draft.face("pdf"))):
        assert "DRAFT" in text and "vegetable stock is unchecked" in re.sub(r"\s+", " ", text)
    for text in (*faces(done).values(), pdf_text(done.face("pdf"))):
        assert "DRAFT" not in text and "Label read on 3 Feb" in re.sub(r"\s+", " ", text)
    assert json.loads(draft.json_ld())["creativeWorkStatus"] == "Draft"
    assert json.loads(done.json_ld())["creativeWorkStatus"] == "Published"


def test_energy_that_a_table_lacks_follows_from_what_gives_it() -> None:
    """Chuck: 217.5 g of protein and 46 g of fat a kilogram at 4 and 9 kcal/g."""
    assert summed(sl.Recipe(title="Beef", ingredients=["1 kg stewing beef"]))["energy"] == (
        pytest.approx(1284, abs=1),
        (),
    )
    assert summed(sl.Recipe(title="Herb", ingredients=["1 kg moonlight"]))["energy"] == (0, ("moonlight",))
