"""The card against published formats: schema.org through an independent RDF library and an independent extractor, PDF/UA structure
through independent PDF libraries, label rounding and allergen lists through their published tables.

Sources stand beside each check. ``schema_org_terms.csv`` lists the terms of schema.org that a card may use, with the type that owns
each and the values it takes (names and types only; schema.org vocabulary, read in typings of it, and memory for MediaObject, ListItem).
"""

from __future__ import annotations

import csv
import io
import json
import re
import warnings
from pathlib import Path

import pikepdf
import pypdf
import pytest

import spoonline as sl
from card.test_card import card_of
from card.test_faces import PAPERS, TITLES, cards, rich
from spoonline.card.nutrition import label_round
from spoonline.facts import ingredients
from spoonline.recipes import Habits

pytestmark = pytest.mark.kind("published")

HERE = Path(__file__).resolve().parent
SCHEMA = "https://schema.org/"
DURATION = re.compile(r"P(?=.)(\d+D)?(T(?=.)(\d+H)?(\d+M)?(\d+S)?)?")

with (HERE / "schema_org_terms.csv").open(encoding="utf-8") as _file:
    TERMS = {row["term"]: row for row in csv.DictReader(_file)}
# Which types inherit the properties of which (schema.org: Recipe < HowTo < CreativeWork < Thing; HowToSection and HowToStep are
# ItemList, ListItem and CreativeWork at once).
OWNERS = {
    "Recipe": {"Recipe", "HowTo", "CreativeWork", "Thing"},
    "HowToSection": {"ItemList", "ListItem", "CreativeWork", "Thing"},
    "HowToStep": {"ItemList", "ListItem", "CreativeWork", "Thing"},
    "HowToTool": {"ListItem", "Thing"},
    "ImageObject": {"ImageObject", "MediaObject", "CreativeWork", "Thing"},
    "NutritionInformation": {"NutritionInformation", "Thing"},
}


def graph(card: sl.RecipeCard):
    """The card as RDF; the context is given here, so that nothing is fetched."""
    import rdflib

    data = json.loads(card.json_ld())
    assert data["@context"] == "https://schema.org"
    data["@context"] = {"@vocab": SCHEMA}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        made = rdflib.Graph()
        made.parse(data=json.dumps(data), format="json-ld")
    return made


def test_every_term_is_one_of_schema_org_and_belongs_to_its_type(demo: sl.Logbook) -> None:
    from rdflib import RDF, BNode, Literal

    for card in cards(demo):
        made = graph(card)
        types = {node: str(kind).removeprefix(SCHEMA) for node, _, kind in made.triples((None, RDF.type, None))}
        assert list(types.values()).count("Recipe") == 1
        for node, prop, value in made:
            if prop == RDF.type:
                assert TERMS[types[node]]["kind"] == "type"
                continue
            term = TERMS[str(prop).removeprefix(SCHEMA)]
            assert term["kind"] == "property" and term["of"] in OWNERS[types[node]], f"{prop} of {types[node]}"
            wanted = set(term["values"].split(";"))
            if isinstance(value, BNode):
                assert types[value] in wanted, f"{prop}: {types[value]}"
                continue
            assert isinstance(value, Literal)
            shape = {
                "Text": r"(?s).+", "URL": r"data:image/.+", "Date": r"\d{4}-\d\d-\d\d", "Integer": r"\d+", "Duration": DURATION.pattern,
                "Mass": r"\d+(\.\d+)? (g|mg)", "Energy": r"\d+ calories",
            }  # fmt: skip
            assert any(re.fullmatch(shape[each], str(value)) for each in wanted if each in shape), f"{prop}: {value}"


def test_what_consumers_require_is_there(demo: sl.Logbook) -> None:
    """name and recipeIngredient are required by one large consumer, text by each step of another (their pages, read)."""
    for card in cards(demo):
        data = json.loads(card.json_ld())
        assert data["name"] and data["recipeIngredient"] and data["recipeInstructions"] and data["recipeYield"]
        steps = [each for part in data["recipeInstructions"] for each in part.get("itemListElement", [part])]
        assert all(each["text"] for each in steps)
        assert data["nutrition"]["calories"]
        assert not {"suitableForDiet", "aggregateRating", "ingredients", "steps"} & set(data), (
            "nothing claimed, nothing deprecated"
        )


@pytest.mark.kind("computed")
def test_an_independent_extractor_finds_it_in_the_page(demo: sl.Logbook) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import extruct

        hostile = sl.RecipeCard(
            sl.Recipe(
                title="</script><script>alert(1)</script>&lt; <!--",
                ingredients=["1 l water", {"item": "</SCRIPT >", "mass_g": 5}],
            )
        )
        for card in (*cards(demo), hostile):
            found = extruct.extract(card.html(), syntaxes=["json-ld"])["json-ld"]
            assert found == [json.loads(card.json_ld())]


def structure(data: bytes) -> list[str]:
    """The tags of a PDF in reading order."""
    tags: list[str] = []

    def walk(node: pikepdf.Object) -> None:
        if isinstance(node, pikepdf.Array):
            for each in node:
                walk(each)
        elif isinstance(node, pikepdf.Dictionary):
            if "/S" in node:
                tags.append(str(node["/S"]))
            if "/K" in node:
                walk(node["/K"])

    with pikepdf.open(io.BytesIO(data)) as pdf:
        walk(pdf.Root.StructTreeRoot["/K"])
    return tags


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.kind("memory")
def test_the_pdf_is_tagged_as_pdf_ua_1_asks(paper: str, demo: sl.Logbook) -> None:
    """ISO 14289-1: marked, a language, a title that is displayed, a UA mark, alternate text for figures, fonts embedded (memory)."""
    sizes = {
        "a4": (595.28, 841.89),
        "letter": (612, 792),
        "a5": (419.53, 595.28),
        "5x8": (360, 576),
    }  # ISO 216 and inches, in points
    for card in (card_of(demo), rich()):
        data = card.face("pdf", paper)
        with pikepdf.open(io.BytesIO(data)) as pdf:
            root = pdf.Root
            assert bool(root.MarkInfo.Marked) and str(root.Lang).startswith("en")
            assert bool(root.ViewerPreferences.DisplayDocTitle)
            with pdf.open_metadata() as meta:
                assert meta["dc:title"] == card.recipe.title and meta["pdfuaid:part"] == "1"
            for page in pdf.pages:
                assert [float(each) for each in page.mediabox][2:] == pytest.approx(sizes[paper], abs=0.1)
                for font in page.resources.Font.values():
                    inner = font.DescendantFonts[0] if "/DescendantFonts" in font else font
                    assert any(key in inner.FontDescriptor for key in ("/FontFile", "/FontFile2", "/FontFile3")), (
                        "font embedded"
                    )
        tags = structure(data)
        assert tags.count("/H1") == 1 and {"/H2", "/Table", "/TH", "/TD", "/L", "/LI"} <= set(tags)
        assert ("/Figure" in tags) == (card.photo is not None)
        assert tags.index("/H1") < tags.index("/Table") < tags.index("/L"), (
            "title, ingredients, method: the reading order"
        )


@pytest.mark.kind("own")
def test_a_photo_has_its_words_in_the_pdf() -> None:
    assert rich().photo is not None
    with pikepdf.open(io.BytesIO(rich().face("pdf"))) as pdf:
        alts = [str(each.Alt) for each in pdf.objects if isinstance(each, pikepdf.Dictionary) and "/Alt" in each]
    assert alts == [rich().photo[2]]


@pytest.mark.kind("own")
def test_the_pdf_can_be_searched(demo: sl.Logbook) -> None:
    for title in TITLES:
        reader = pypdf.PdfReader(io.BytesIO(card_of(demo, title).face("pdf")))
        assert reader.metadata is not None and reader.metadata.title == title
        assert title in reader.pages[0].extract_text()


@pytest.mark.parametrize(
    ("key", "value", "printed"),
    [
        # FDA Food Labeling Guide, Appendix H (2009), read: calories < 5 -> 0, to 50 by 5, above by 10.
        ("energy", 4, 0), ("energy", 47, 45), ("energy", 48, 50), ("energy", 127, 130),
        # Sodium: < 5 -> 0, 5 to 140 by 5, above by 10.
        ("sodium", 4, 0), ("sodium", 66, 65), ("sodium", 154, 150), ("sodium", 140, 140),
    ],
)  # fmt: skip
def test_us_label_rounding(key: str, value: float, printed: float) -> None:
    assert label_round(key, value, "us") == printed


@pytest.mark.kind("memory")
@pytest.mark.parametrize(
    ("key", "value", "printed"),
    [
        # Fat: < 0.5 -> 0, below 5 by 0.5, above by 1 (the same appendix, memory).
        ("fat", 0.4, 0), ("fat", 0.6, 0.5), ("fat", 4.7, 4.5), ("fat", 5.6, 6),
        # Carbohydrate, fibre, sugars, protein: < 0.5 -> 0, below 1 "about 1", above by 1 (the same appendix, memory).
        ("carbohydrate", 0.4, 0), ("protein", 0.7, 1), ("sugars", 1.4, 1), ("fibre", 12.5, 13),
    ],
)  # fmt: skip
def test_us_label_rounding_of_the_rest(key: str, value: float, printed: float) -> None:
    assert label_round(key, value, "us") == printed


@pytest.mark.kind("memory")
@pytest.mark.parametrize(
    ("key", "value", "printed"),
    # EU guidance on rounding, December 2012 (memory): energy by 1; >= 10 g by 1, 0.5 to 10 g by 0.1, <= 0.5 g "0";
    # salt >= 1 g by 0.1, below by 0.01, <= 0.0125 g "0".
    [
        ("energy", 127.4, 127),
        ("fat", 12.4, 12),
        ("fat", 3.34, 3.3),
        ("protein", 0.4, 0),
        ("sugars", 9.96, 10),
        ("salt", 0.012, 0),
        ("salt", 0.234, 0.23),
        ("salt", 2.325, 2.3),
    ],
)
def test_eu_label_rounding(key: str, value: float, printed: float) -> None:
    assert label_round(key, value, "eu") == pytest.approx(printed)


# US nine: FDA, FASTER Act of 2021 (read). EU fourteen: Regulation 1169/2011, Annex II (read in a public copy).
US_NINE = {"milk", "egg", "fish", "crustaceans", "tree nuts", "peanut", "wheat", "soy", "sesame"}
EU_FOURTEEN = (US_NINE - {"wheat"}) | {"cereals with gluten", "celery", "mustard", "sulphites", "lupin", "molluscs"}


@pytest.mark.kind("own")
def test_allergen_words_are_those_of_the_two_lists() -> None:
    assert len(US_NINE) == 9 and len(EU_FOURTEEN) == 14
    said = {word for row in ingredients().values() for word in (*row.contains, *row.check_label)}
    assert said <= US_NINE | EU_FOURTEEN
    for item in ("butter", "wheat flour", "soy sauce", "eggs", "salmon", "celery", "almonds"):
        for place, listed in (("us", US_NINE), ("england", EU_FOURTEEN)):
            card = sl.RecipeCard(sl.Recipe(title="x", ingredients=[f"10 g {item}"]), habits=Habits(jurisdiction=place))
            contains = {each.partition(" (")[0] for each in card.content.contains}
            assert contains <= listed and bool(contains) == ((item, place) != ("celery", "us")), item


@pytest.mark.kind("own")
def test_words_that_no_card_may_print(demo: sl.Logbook) -> None:
    for card in cards(demo):
        text = card.text().casefold()
        assert "free from" not in text and not re.search(r"\bsafe\b", text)
