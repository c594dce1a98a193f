"""One more instrument, thickener, gum, stage or face is one class, one table or one row: each is added here, and used all the way."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

import numpy as np
import pytest

import spoonline as sl
from earlier.reading import later_release
from spoonline import cli, facts
from spoonline.card.render import FACES, Face
from spoonline.dose import swap, through_stages
from spoonline.facts.rows import read_table
from spoonline.flow import TOOLS, Fluid, Instrument, usual_settings
from spoonline.flow.instrument import size
from spoonline.pots.records import STAGES, Stage
from spoonline.pots.thickness import thickness_at
from spoonline.widgets import CardPanel, DosePanel, FlowPanel, StovePanel

SOUP = "Roast parsnip and pear soup"
LIGHTER, HEAVIER = 1030.0, 1200.0


@pytest.fixture
def pea() -> Iterator[type[Instrument]]:
    """A dried pea that sinks in a glass: all that one more instrument is, a class."""

    @dataclass(frozen=True)
    class Pea(Instrument):
        """A dried pea that sinks.

        Steps
        -----
        Let a dried pea go at the top of a glass, and time it to the line 10 cm below.
        Draw a line 10 cm below the rim of a straight glass.
        Fill the glass to the rim.
        Wet a dried pea of 8 mm with the food.
        Let it go, and start the clock.
        Stop as it passes the line; type the seconds.
        """

        across_mm: float = size(8.0, "Pea, across", "mm")
        depth_cm: float = size(10.0, "Pea, sinks by", "cm")

        name: ClassVar[str] = "pea"
        unit: ClassVar[str] = "s to sink"
        resolution: ClassVar[float] = 0.3
        asks: ClassVar[tuple[str, str]] = ("Time to the line", "s, such as 32")

        def _pull(self, n: Any, rho: Any) -> Any:  # Stokes 1851, with the viscosity at a rate of speed over radius
            return 2 / 9 * (HEAVIER - rho) * 9.80665 * (self.across_mm / 2000) ** (1 + n)

        def _reading(self, k: Any, n: Any, rho: Any) -> Any:
            return self.depth_cm / 100 * (k / self._pull(n, rho)) ** (1 / n)

        def _consistency(self, read: Any, n: Any, rho: Any) -> Any:
            return np.asarray(self._pull(n, rho) * (100 * read / self.depth_cm) ** n)

        def _refusals(self, read: Any, n: Any, rho: Any) -> Any:
            return {"The pea floats in it: use the ring.": np.any(rho >= HEAVIER)}

        def _doubts(self, reading: float) -> Any:
            return {"It sank within 2 s: too quick for a clock by hand.": reading < 2}

        def shear_rate(self, fluid: Fluid) -> Any:
            return self.depth_cm / 100 / self.reading(fluid) / (self.across_mm / 2000)

    yield Pea
    del TOOLS["pea"]


def test_an_instrument_is_one_class(pea: type[Instrument], demo: sl.Logbook) -> None:
    aim = demo.recipe(SOUP).target
    assert aim is not None
    rate, best = float(aim.shear_rate_per_s), float(aim.viscosity_pa_s)
    k = best * rate**0.5  # of a fluid of flow index 0.5
    seconds = 0.1 * (k / (2 / 9 * (HEAVIER - LIGHTER) * 9.80665 * 0.004**1.5)) ** 2
    assert seconds == pytest.approx(float(pea().reading(Fluid(k, 0.5, LIGHTER))))
    form = StovePanel(demo)
    form.title.value = SOUP
    assert "pea" in form.reading.tool.options
    form.reading.tool.value = "pea"
    assert [each.description for each in form.reading.settings.children] == ["Pea, across, mm", "Pea, sinks by, cm"]
    form.reading.temperature.value, form.reading.values.value = f"{aim.temperature_c}", f"{seconds:.4g}"
    said = form.reading.message.value
    assert f"; {best:.2g} (" in said and f"at {rate:g} 1/s and {aim.temperature_c:g} C, inside the band" in said
    form.save.click()
    form.close_all()
    read = demo.readings(SOUP).iloc[-1]
    assert (read.tool, read.unit, read.settings) == ("pea", "s to sink", "across_mm=8; depth_cm=10")
    own = 0.1 / seconds / 0.004
    assert read.shear_rate_per_s == pytest.approx(own, rel=1e-3)
    assert read.viscosity_pa_s == pytest.approx(k * own**-0.5, rel=1e-3)
    dish = demo.dish(SOUP)
    assert dish.table.tools.iloc[-1] == "pea" and dish.table.band.iloc[-1] == "inside the band"
    assert dish.counted[-1].viscosity_pa_s == pytest.approx(best, rel=1e-3)
    text = sl.RecipeCard.from_logbook(demo, SOUP).text()
    assert f"{seconds:.1f} s to sink by the pea" in text and "Let a dried pea go at the top of a glass" in text
    panel = FlowPanel()
    panel.reading.tool.value = "pea"
    assert "Draw a line 10 cm below the rim" in panel.how.value and "svg" not in panel.how.value
    panel.reading.values.value = "1,5"
    assert "too quick for a clock" in panel.others.value
    panel.close_all()
    assert any(each.tool.name == "pea" for each in sl.which_test("cream soup"))


# The table of one more thickener: that of one we know, with a name and figures of its own.
CANNA = {
    "name": "canna starch", "aliases": "edible canna starch", "assumed": "", "tbsp_g": 8.0, "cup_g": "", "way": "late",
    "strength": [0.8, 0.3, "test", "memory"],
}  # fmt: skip
FENUGREEK = {
    "name": "fenugreek gum", "aliases": "", "tsp_g": 3.0, "check_label": "sesame", "law": [6.0, 0.1, 0.5, 15.0, 6.0, 0.4, "test", "memory"],
    "way": "sprinkle",
}  # fmt: skip


@pytest.mark.parametrize(
    ("like", "table", "written", "grams", "spoon", "added"),
    [
        ("tapioca starch", CANNA, "4 tbsp edible canna starch", 32, "3 tbsp", "take it off as it clears"),
        ("guar gum", FENUGREEK, "2 tsp fenugreek gum", 6, "2 tbsp and 2 tsp", "Sprinkle it in while a blender runs"),
    ],
)
def test_a_thickener_or_gum_is_one_table(
    like: str, table: dict[str, Any], written: str, grams: float, spoon: str, added: str, demo: sl.Logbook
) -> None:
    row = next(each for each in read_table("thickeners.toml") if each["name"] == like) | table
    name = row["name"]
    soup = demo.dish(SOUP).curve
    assert soup is not None and soup.thickener == "corn starch"
    with later_release(rows=(("thickeners.toml", row),)):
        recipe = sl.Recipe.from_text(f"Beet gravy\nServes 4\n1 l beef stock\n{written}\n\n1. Whisk it in.")
        assert recipe.dose_g_per_l == pytest.approx(grams) and list(recipe.doses_g_per_l) == [name]
        assert str(sl.household(24.0, name)) == spoon
        curve = sl.DoseCurve.fit([grams, 1.4 * grams], [0.8, 2.0], thickener=name, shear_rate_per_s=1)
        dose = curve.dose_for(1.26)
        assert grams < dose.best < 1.4 * grams and dose.low < dose.best < dose.high
        for_corn, back = swap(soup, name, 33.0), facts.thickener(name)
        assert for_corn.new == name and for_corn.dose.low < for_corn.dose.best < for_corn.dose.high
        if back.law is None:  # 1/0.8 of the dose, a little more for the water it brings
            assert for_corn.dose.best == pytest.approx(33.0 / 0.8, rel=0.03)
        else:
            assert for_corn.dose.best < 33.0 / 2
            assert any("Gums thicken at once" in note for note in for_corn.notes)
        panel = DosePanel(demo)
        panel.title.value = SOUP
        assert name in dict(panel.swap.name.options)
        panel.close_all()
        version = demo.save(recipe.model_copy(update={"target": sl.Target(viscosity_pa_s="1.5")}))
        text = sl.RecipeCard.from_logbook(demo, version.title).text()
        assert f"{grams:.1f} g of {name} per litre of liquid" in text and added in text
        assert ("sesame" in text) == (name == "fenugreek gum")
    with pytest.raises(ValueError, match="no figures for"):
        sl.household(24.0, name)


def test_a_stage_is_one_row(demo: sl.Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(STAGES, "held", Stage(ln_mean=math.log(0.8), ln_sd=0.2))
    before, card = demo.dish(SOUP), sl.RecipeCard.from_logbook(demo, SOUP).text()
    form = StovePanel(demo)
    form.title.value = SOUP
    assert "held" in form.reading.stage.options
    form.many.rows = [["hot", "spatula", "60", "4,1"], ["held", "spatula", "60", "3,6"]]
    form.save.click()
    form.close_all()
    dish = demo.dish(SOUP)
    assert dish.table.stages.iloc[-1] == "hot, held" and demo.readings(SOUP).stage.tolist()[-2:] == ["hot", "held"]
    hot_alone = thickness_at(dish.batches[-1].readings[0], dish.aim)
    assert dish.counted[-1].viscosity_pa_s == pytest.approx(hot_alone.viscosity_pa_s), "a held pot is not a fresh one"
    assert (
        "Read hot, chilled, reheated." in card
        and "Read hot, chilled, reheated, held." in sl.RecipeCard.from_logbook(demo, SOUP).text()
    )
    assert before.curve is not None and dish.curve is not None
    _, served, *_, expected = through_stages(before.curve, 33.0)
    assert expected.stage == "held" and expected.viscosity.best == pytest.approx(0.8 * served.viscosity.best)
    assert through_stages(dish.curve, 33.0)[-1].basis.startswith("1 pot of this dish read fresh and again")
    with pytest.raises(ValueError, match="write before, hot, served, chilled, reheated, held"):
        sl.Reading(tool="spatula", settings=usual_settings("spatula"), values=[4], temperature_c=60, stage="warm")


def test_a_face_of_the_card_is_one_row(
    demo: sl.Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def weights(content: Any, paper: str) -> str:
        return "\n".join(f"{line.grams};{line.item};{paper}" for line in content.lines)

    monkeypatch.setitem(FACES, "weights", Face("csv", "text/csv", "as a list of weights", weights))
    where = ["--out", str(tmp_path / "cards"), "--logbook", str(tmp_path / "demo.sqlite")]
    assert cli.main(["card", SOUP, "--format", "weights", "--paper", "a5", *where]) == 0
    written = (tmp_path / "cards" / "roast-parsnip-and-pear-soup.csv").read_text(encoding="utf-8")
    assert "50 g;corn starch;a5" in written.splitlines()
    assert cli.main(["card", SOUP, "--format", "all", *where]) == 0 and len(list((tmp_path / "cards").iterdir())) == 6
    assert cli.main(["card", SOUP, "--format", "scroll", *where]) == 1
    assert "choose of html, pdf, markdown, json_ld, text, weights" in capsys.readouterr().err
    monkeypatch.chdir(tmp_path)
    panel = CardPanel(demo)
    panel.title.value = SOUP
    panel.hand_over.click()
    assert (
        "Download the card as a list of weights" in panel.links.value and "data:text/csv;base64," in panel.links.value
    )
    panel.close_all()
