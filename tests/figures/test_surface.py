"""The contour figure: lines where the surface has them, the level place named as it is, and words for all of it."""

from __future__ import annotations

import numpy as np
import pytest

from spoonline.effects.plan_reading import PlanReading, read_plan
from spoonline.effects.two_factor_plan import Factor, plan_pots
from spoonline.figures import stationary_words, surface_figure
from spoonline.recipes import Target

DOSE, TIME = Factor("corn starch", "g/L", 25, 36), Factor("simmering", "min", 2, 8)
TARGET = Target(viscosity_pa_s="0.35")


def reading(law, stars: bool = True) -> PlanReading:
    pots = plan_pots(DOSE, TIME, stars=stars)
    return read_plan(DOSE, TIME, pots, [float(np.exp(law(*pot.coded))) for pot in pots])


def drawn(found: PlanReading):
    return surface_figure(found, TARGET, "Invented data.")


def lines_of(figure) -> dict[str, np.ndarray]:
    """The contour lines by viscosity: what is drawn, in coded places."""
    axes = figure.axes[0]
    sets = [each for each in axes.collections if getattr(each, "labelTexts", None)]
    assert len(sets) == 1
    return dict(zip(sets[0].levels, sets[0].allsegs, strict=True))


@pytest.mark.parametrize("stars", [False, True])
def test_lines_lie_where_the_law_has_their_viscosity(stars: bool) -> None:
    def law(u, v):
        return np.log(0.35) + 0.5 * u - 0.2 * v + 0.1 * u * v

    picture = drawn(reading(law, stars))
    lines = lines_of(picture.figure)
    assert len(lines) >= 4
    for level, parts in lines.items():
        for u, v in np.concatenate(parts):
            assert law(u, v) == pytest.approx(np.log(level), abs=2e-3)
    picture.png()
    axes = picture.figure.axes[0]
    words = [text.get_text() for text in axes.texts]
    assert {f"{level:.3g}" for level in lines} <= set(words), "each line says its viscosity"
    lists = [word.replace("\n", " ") for word in words]
    numbers = {int(part) for word in lists if word.replace(", ", "").isdigit() for part in word.split(", ")}
    assert numbers == set(range(1, 15 if stars else 8)), "each pot has its number"
    assert axes.get_xlabel() == "corn starch, g/L" and axes.get_title(loc="left") == "simmering, min"
    ticks = [label.get_text() for label in axes.get_xticklabels()]
    assert ticks == (["23.2", "25", "30", "36", "38.8"] if stars else ["25", "30", "36"])
    assert picture.text.startswith("Invented data. Viscosity over corn starch")
    assert "The shaded band is 0.29 to 0.42 Pa s." in picture.text


@pytest.mark.parametrize(
    ("law", "words"),
    [
        (
            lambda u, v: -1 - 0.8 * (u - 0.3) ** 2 - 0.9 * (v + 0.2) ** 2,
            "a top (maximum) at 31.7 g/L and 3.5 min, inside",
        ),
        (lambda u, v: -1 + 0.8 * u**2 + 0.9 * v**2, "a hollow (minimum) at 30 g/L and 4 min, inside the plan."),
        (lambda u, v: -1 + 0.8 * u**2 - 0.9 * v**2, "a saddle at 30 g/L and 4 min, inside the plan."),
        (lambda u, v: -1 - 0.8 * (u - 1.6) ** 2 - 0.9 * v**2, "outside the plan, so it is an extrapolation"),
        (lambda u, v: -1 - 0.02 * u**2 - 0.03 * v**2, "these pots do not establish which it is"),
        (lambda u, v: -1 + 0.5 * u + 0.1 * v + 0.01 * u * v, "no top, hollow or saddle near this plan"),
    ],
)
def test_the_stationary_point_is_named(law, words: str) -> None:
    found = reading(law)
    assert words in stationary_words(found)
    picture = drawn(found)
    assert words in picture.text
    assert all(text.get_visible() for text in picture.figure.axes[0].texts), "each label has found its place"


def test_a_plane_without_any_twist_is_drawn_too() -> None:
    found = reading(lambda u, v: 0.5 * u, stars=False)
    assert "no top, hollow or saddle near this plan" in drawn(found).text


def test_a_flat_surface_and_one_far_from_the_band_are_drawn_too() -> None:
    flat = drawn(reading(lambda u, v: -1.0 + 0 * u, stars=False))
    assert flat.png()[:4] == b"\x89PNG" and "no top, hollow or saddle near this plan" in flat.text
    thin = reading(lambda u, v: -5.0 + 0.3 * u)
    assert drawn(thin).png()[:4] == b"\x89PNG"
    assert "come out thicker" in thin.next_steps(TARGET)[0]
    assert thin.answer(TARGET).startswith("No settings of this plan")


def test_equal_figures_are_equal_files() -> None:
    def law(u, v):
        return -1 + 0.5 * u

    assert drawn(reading(law)).svg() == drawn(reading(law)).svg()
