"""What came is named in a person's words, whatever type a program gave it."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

import spoonline as sl

TYPES = ("Decimal(", "float64", "array(", "None came", "<class")


@pytest.mark.parametrize(
    "refused",
    [
        lambda: sl.Ring(np.float64(-1), 5, 10),
        lambda: sl.Fluid(np.float64(-2.0)),
        lambda: sl.Fluid(2.0).viscosity(np.float64(-3)),
        lambda: sl.Spatula(8, 10, 10).fluid(np.float64(-1)),
        lambda: sl.Target(viscosity_pa_s=Decimal("-1")),
        lambda: sl.Target(viscosity_pa_s=Decimal("NaN")),
        lambda: sl.Target(viscosity_pa_s=[1]),
        lambda: sl.Batch(title="Broth", version=1, cooked_on="2026-01-20", pot_before_g=Decimal("-142")),
        lambda: sl.DoseCurve.fit([30.0], [0.3], thickener="corn starch", relative_error=np.float64(9)),
        lambda: sl.DoseCurve.fit(["lots"], [0.3], thickener="corn starch"),
        lambda: sl.fluid_from(
            [(sl.Ring(3.5, 2, 10), 6.8), (sl.Spatula(8, 10, 10), 1.7)], reading_sds=[np.float64(0), 1]
        ),
    ],
)
def test_no_sentence_names_a_type(refused: Callable[[], Any]) -> None:
    with pytest.raises(ValueError) as said:
        refused()
    assert not [word for word in TYPES if word in str(said.value)], str(said.value)
