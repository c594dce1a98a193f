"""A dose curve in words: what to doubt about it, as plain text, and as a small page."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

from spoonline.trials.priors import place

if TYPE_CHECKING:
    from spoonline.trials.dose_curve import DoseCurve


def flags(curve: DoseCurve) -> list[str]:
    """Collect the doubts about a curve."""
    prior, mixture, n = curve.prior, curve.mixture, curve.doses.size
    said = []
    if n == 0:
        said.append(f"No batch yet: this is what the trade expects of {prior.thickener}, not this kitchen.")
    _, covariance = mixture.summary()
    x = float(np.mean(place(curve.doses, prior, curve.pot))) if n else 0.0
    left = np.sqrt(covariance[0, 0] + 2 * x * covariance[0, 1] + x * x * covariance[1, 1])
    first = np.hypot(prior.level(curve.temperature_c, curve.shear_rate_per_s)[1], x * prior.exponent_sd)
    if left > 0.5 * first:
        said.append(
            f"The strength of this {prior.thickener} is uncertain (a factor {np.exp(1.645 * left):.2g} "
            "either way): what is printed about thickeners still rules; each batch narrows it."
        )
    share = float(mixture.weight @ ndtr((0.2 - mixture.mean[:, 1]) / np.sqrt(mixture.covariance[:, 1, 1])))
    if share > 0.01:
        said.append(
            f"Slope not established: with {100 * share:.0f} % probability more {prior.thickener} hardly "
            "thickens this dish; cook two doses at least 1.5 times apart."
        )
    elif n >= 2 and curve.doses.max() / curve.doses.min() < 1.5:
        said.append(
            f"The doses lie within a factor {curve.doses.max() / curve.doses.min():.2g}: how steeply "
            f"thickness rises with dose still rests on what is printed about {prior.thickener}."
        )
    if n and curve.base_pa_s is None:
        order = np.argsort(mixture.base)
        most = float(np.interp(0.95, np.cumsum(mixture.weight[order]), mixture.base[order]))
        if most > 0.25 * curve.viscosities.min():
            said.append(f"The liquid without thickener was not read; it may have up to {most:.2g} Pa s: read it once.")
    for i, (z, ratio) in curve.odd.items():
        times, word = (ratio, "thicker") if ratio > 1 else (1 / ratio, "thinner")
        said.append(
            f"Batch {i + 1} ({curve.doses[i]:.3g} g/L, {curve.viscosities[i]:.3g} Pa s) is {times:.2g} "
            f"times {word} than the others say ({abs(z):.1f} standard deviations): check its weights "
            "and its reading."
        )
    return said


def rows(curve: DoseCurve) -> list[tuple[str, str, str, str]]:
    """One row a batch: number, dose [g/L], viscosity read [Pa s], what the curve says of the average pot."""
    if curve.doses.size == 0:
        return []
    says = curve.viscosity(curve.doses)
    ends = np.array(says).T
    return [
        (str(i + 1), f"{dose:.3g}", f"{read:.3g}", f"{best:.2g} ({low:.2g}-{high:.2g})")
        for i, (dose, read, (best, low, high)) in enumerate(zip(curve.doses, curve.viscosities, ends, strict=True))
    ]


def headline(curve: DoseCurve) -> str:
    """Slope and spread in one sentence."""
    n = curve.doses.size
    return (
        f"{n} {'batch' if n == 1 else 'batches'} of {curve.prior.thickener} at {curve.temperature_c:g} C and "
        f"{curve.shear_rate_per_s:g} 1/s: 10 % more thickener gives {_percent(curve.exponent)} more "
        f"thickness (90 % range, above the base); pots of one dose differ by about {100 * curve.spread:.0f} "
        "% (standard deviation)."
    )


def _percent(exponent: tuple[float, float, float]) -> str:
    best, low, high = (100 * (1.1**each - 1) for each in exponent)
    return f"{best:.0f} % ({low:.0f}-{high:.0f})"


HEADS = ("batch", "dose, g/L", "read, Pa s", "curve, Pa s (90 %)")


def report(curve: DoseCurve) -> str:
    """The curve in plain text."""
    table = [HEADS, *rows(curve)]
    widths = [max(len(row[i]) for row in table) for i in range(4)]
    lines = [headline(curve)]
    if len(table) > 1:
        lines += ["  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)) for row in table]
    return "\n".join([*lines, *(f"- {flag}" for flag in curve.flags)])


def page(curve: DoseCurve) -> str:
    """The curve as a small table in HTML."""
    style = "text-align:right;padding:.1rem .6rem"
    head = "".join(f"<th scope='col' style='{style}'>{escape(each)}</th>" for each in HEADS)
    body = "".join(
        "<tr>" + "".join(f"<td style='{style}'>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows(curve)
    )
    table = f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>" if body else ""
    doubts = "".join(f"<li>{escape(flag)}</li>" for flag in curve.flags)
    return f"<div><p>{escape(headline(curve))}</p>{table}{f'<ul>{doubts}</ul>' if doubts else ''}</div>"
