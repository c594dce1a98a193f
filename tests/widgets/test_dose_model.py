"""Random stories through the form of notebook 2: an aim and a dose are saved as they stand, or not at all."""

from __future__ import annotations

import random
import re
import shutil
from pathlib import Path

import pytest

import spoonline as sl
import tiers
from spoonline.logbook import make_demo
from spoonline.widgets import DosePanel

BAD = ("-3", "abc", "1e400", "<b>")


@pytest.fixture
def first(tmp_path: Path) -> Path:
    make_demo(path := tmp_path / "demo.sqlite").close()
    return path


@tiers.again_in_long
def test_stories_of_how_thick(first: Path, tmp_path: Path) -> None:
    for seed in range(tiers.examples(tiers.sequences(6), 3)):
        book, lot, did = (
            sl.open_logbook(shutil.copy(first, tmp_path / f"{seed}.sqlite")),
            random.Random(seed),
            [f"seed {seed}"],
        )
        form = DosePanel(book)
        for _ in range(12):
            if (
                name := lot.choice(["title", "like", "other", "viscosity", "band", "dose", "save", "back", "gone"])
            ) in ("save", "back"):
                before, button = book.version(form.title.value).number, getattr(form, name)
                if name == "save" and not button.disabled:
                    aim, dose = form.how.viscosity.value, form.dose.value
                    button.click()
                    saved = book.version(form.title.value)
                    if saved.number != before:
                        assert (
                            f"{float(saved.recipe.target.viscosity_pa_s):g}" == f"{float(aim):g}"
                            and saved.name in form.status.value
                        ), did
                        # no dose on the screen: an aim alone is saved, and the lines stay as written
                        wanted = dose.replace(",", ".") or book.recipe(form.title.value, before).dose_g_per_l
                        assert float(saved.recipe.dose_g_per_l) == pytest.approx(float(wanted), rel=0.02), did
                    else:
                        assert re.search(">[^<]+", form.alert.value + form.status.value), did
                elif name == "back" and not button.disabled:
                    button.click()
            elif name == "gone" and (found := book.all_batches(form.title.value)):
                book.take_back(lot.choice(found), "elsewhere")
            elif name != "gone":
                field = getattr(form if name in ("title", "dose") else form.how, name)
                typed = {
                    "viscosity": ("0.9", "2", *BAD),
                    "band": ("1.3", "", "0.5", *BAD),
                    "dose": ("30", "41,5", "0", "5000", *BAD),
                }
                field.value = lot.choice(
                    typed.get(name) or [each[1] if isinstance(each, tuple) else each for each in field.options]
                )
                did.append(f"{name}={field.value!r}")
            assert "Traceback" not in form.alert.value and form.dish.title == form.title.value, did
        book.close()
