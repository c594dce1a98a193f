"""Another language is one file: with a catalogue of a made-up language, nothing of our own English is left on a card."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

import spoonline as sl
from card.test_faces import cards, faces
from spoonline import flow, keeping
from spoonline.card import words as module
from spoonline.dose import stages
from spoonline.facts import ingredients
from spoonline.facts.allergens import allergen_lists
from spoonline.facts.rows import read_table
from spoonline.recipes import Habits

# What stays as it is in any language: units and their signs.
UNITS = {
    "g",
    "ml",
    "l",
    "cm",
    "s",
    "min",
    "h",
    "c",
    "f",
    "pa",
    "kcal",
    "kj",
    "mg",
    "n",
    "usda",
    "sr",
    "sr28",
    "us",
    "eu",
}


def strange(text: str) -> str:
    """Every word of a sentence in a made-up spelling; places for figures stay."""
    return "".join(
        part if part.startswith("{") else re.sub(r"[^\W\d_]+", "\u00df\u00df", part)
        for part in re.split(r"(\{\w+\})", text)
    )


def quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


@pytest.fixture
def strange_catalogue(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A whole catalogue of a language that nobody speaks: the file that somebody who translates would write."""
    read = tomllib.loads((files("spoonline.card") / "words_en.toml").read_text(encoding="utf-8"))
    table = tomllib.loads((files("spoonline.keeping") / "cautions.toml").read_text(encoding="utf-8"))
    phrases = [
        *(each["says"] for each in allergen_lists().values()), keeping.ALLERGENS,
        keeping.NOT_CLINICAL, *(text for part in ("beside", "against") for row in table[part].values()
                                 for text in (row["text"], *row.get("instead", {}).values())),
        *(text for name, text in stages.said.table.items() if name.startswith("again ")),
        *(kind.how for kind in flow.TOOLS.values() if kind.place < 90),
    ]  # fmt: skip
    allergens = {word for row in ingredients().values() for word in (*row.contains, *row.check_label)}
    allergens |= {row["member"] for row in read_table("allergens.csv") if row["member"]}
    parts = {
        "words": {key: text if key == "lang" else strange(text) for key, text in read["words"].items()}
        | {"lang": "zz"},
        "gate": {key: strange(text) for key, text in read["gate"].items()},
        "phrases": {text: strange(text) for text in phrases},
        "names": {name: strange(name) for name in (*read["names"], *allergens)},
        "measures": {name: strange(name) for name in read["measures"]},
    }
    lines = []
    for part, entries in parts.items():
        lines += [f"[{part}]", *(f"{quoted(key)} = {quoted(text)}" for key, text in entries.items())]
    for part in ("collective", "editor"):
        lines += [
            f"[{part}]",
            *(f"{quoted(key)} = [{', '.join(map(quoted, each))}]" for key, each in read[part].items()),
        ]
    (tmp_path / "words_zz.toml").write_text("\n".join(lines), encoding="utf-8")
    monkeypatch.setattr(module, "files", lambda _package: tmp_path)
    module.words.cache_clear()
    yield "zz"
    module.words.cache_clear()


def typed(card: sl.RecipeCard) -> set[str]:
    """Words that a cook typed, and names of ingredients, which go by the tables' own language."""
    recipe = card.recipe
    texts = [
        recipe.title,
        card.note.note if card.note else "",
        card.note.credit if card.note else "",
        *(step.text + " " + step.group for step in recipe.steps),
    ]
    texts += [
        f"{line.item} {line.preparation} {line.group} {line.amount} {line.fact_name}" for line in recipe.ingredients
    ]
    texts.append(card.version.short_id if card.version else "")
    return set(re.findall(r"[^\W\d_]+", " ".join(texts).casefold()))


def test_a_card_in_another_language_has_nothing_of_ours_in_english(demo: sl.Logbook, strange_catalogue: str) -> None:
    for card in cards(demo):
        made = sl.RecipeCard(
            card.recipe,
            card.version,
            card.batches,
            Habits(language=strange_catalogue),
            card.printed_on,
            card.photo,
            card.note,
        )
        for form, text in faces(made).items():
            plain = re.sub(r"[0-9a-f]{12}", " ", text)
            left = (
                {word.casefold() for word in re.findall(r"[^\W\d_]+", plain)}
                - typed(made)
                - UNITS
                - {"\u00df\u00df", "ssss"}
            )
            left -= set(re.findall(r"[^\W\d_]+", (made.photo[2] if made.photo else "").casefold()))
            assert not left, (form, card.recipe.title, sorted(left))
        page = made.html()
        assert 'lang="zz"' in page
        # The mark of a draft does not hang on an English word.
        assert ('class="badge draft"' in page) == (not made.finished) and ("@bottom-left" in page) == (
            not made.finished
        )


def test_a_language_without_a_catalogue_is_refused_in_a_sentence() -> None:
    with pytest.raises(sl.KitchenError, match="no wording for 'xx' here"):
        sl.RecipeCard(sl.Recipe(title="Soup", ingredients=["1 l water"]), habits=Habits(language="xx")).text()
