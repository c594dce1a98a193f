"""The contour figure: lines where the surface has them, the pots, the aim and the next pot, and words for all of it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from spoonline.effects import Factor, PlanReading, plan_pots, read_plan
from spoonline.figures import surface_figure
from spoonline.recipes import Aim

DOSE, TIME = Factor(name="corn starch", unit="g/L", low=25, high=36), Factor(name="simmer", unit="min", low=2, high=8)
AIM = Aim(outcome="viscosity", unit="Pa s", low="0.3", high="0.42")


def reading(law, stars: bool = True) -> PlanReading:
    plan = plan_pots("Gravy", [DOSE, TIME], "viscosity", "Pa s", stars=stars)
    rows = []
    for pot in plan.pots:
        coded = [float(each.coded(float(at))) for each, at in zip(plan.factors, pot.settings, strict=True)]
        rows.append((plan.name, pot.number, "", pot.day, float(np.exp(law(*coded)))))
    found = read_plan(plan, pd.DataFrame(rows, columns=["plan", "plan_pot", "left_out", "cooked_on", "viscosity_pa_s"]))
    assert isinstance(found, PlanReading)
    return found


@pytest.mark.parametrize("stars", [False, True])
def test_lines_lie_where_the_law_has_their_viscosity(stars: bool) -> None:
    def law(u, v):
        return np.log(0.35) + 0.5 * u - 0.2 * v + 0.1 * u * v

    picture = surface_figure(reading(law, stars), AIM, "Invented data.")
    axes = picture.figure.axes[0]
    (lines,) = [each for each in axes.collections if getattr(each, "labelTexts", None)]
    assert len(lines.levels) >= 4
    for level, parts in zip(lines.levels, lines.allsegs, strict=True):
        for u, v in np.concatenate(parts):
            assert law(u, v) == pytest.approx(np.log(level), abs=3e-3)
    picture.png()
    words = [text.get_text() for text in axes.texts]
    assert {f"{level:.3g}" for level in lines.levels} <= set(words), "each line says its viscosity"
    lists = [word.replace("\n", " ") for word in words]
    numbers = {int(part) for word in lists if word.replace(", ", "").isdigit() for part in word.split(", ")}
    assert numbers == set(range(1, 15 if stars else 8)), "each pot has its number"
    assert axes.get_xlabel() == "corn starch, g/L" and axes.get_title(loc="left") == "simmer, min"
    assert [label.get_text() for label in axes.get_xticklabels()] == ["25", "30", "36"]
    assert picture.text.startswith("Invented data. Viscosity over corn starch (across) and simmer (up), from")
    assert "such pots should meet viscosity 0.3 to 0.42 Pa s" in picture.text


@pytest.mark.parametrize("law", [lambda u, v: -1.0 + 0 * u, lambda u, v: -5.0 + 0.3 * u, lambda u, v: 3.0 + 0.3 * u])
def test_a_flat_surface_and_one_far_from_the_aim_are_drawn_too(law) -> None:
    picture = surface_figure(reading(law), AIM)
    assert picture.png()[:4] == b"\x89PNG" and "Cook " in picture.text


def test_equal_figures_are_equal_files() -> None:
    def law(u, v):
        return -1 + 0.5 * u

    assert surface_figure(reading(law), AIM).svg() == surface_figure(reading(law), AIM).svg()
