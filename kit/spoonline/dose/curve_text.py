"""A dose curve in words: what to doubt about it, as plain text, and as a small page."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

from spoonline.dose.priors import place

if TYPE_CHECKING:
    from spoonline.dose.dose_curve import DoseCurve


def flags(curve: DoseCurve) -> tuple[str, ...]:
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
        times = f"{ratio:.2g} times thicker" if ratio > 1 else f"{1 / ratio:.2g} times thinner"
        said.append(
            f"Batch {i + 1} ({curve.doses[i]:.3g} g/L, {curve.viscosities[i]:.3g} Pa s) is {times} than the others say "
            f"({abs(z):.1f} standard deviations): check its weights and its reading."
        )
    return tuple(said)


HEADS = ("batch", "dose, g/L", "read, Pa s", "curve, Pa s (90 %)")


def _parts(curve: DoseCurve) -> tuple[str, list[tuple[str, ...]]]:
    """Slope and spread in one sentence, and one row a batch: number, dose, viscosity read, what the curve says of the average."""
    n = curve.doses.size
    shown: list[tuple[str, ...]] = []
    if n:
        for i, (dose, read, *ends) in enumerate(
            np.array([curve.doses, curve.viscosities, *curve.viscosity(curve.doses)]).T, start=1
        ):
            best, low, high = (f"{each:.2g}" for each in ends)
            shown.append((str(i), f"{dose:.3g}", f"{read:.3g}", f"{best} ({low}-{high})"))
    best, low, high = (f"{100 * (1.1**each - 1):.0f}" for each in curve.exponent)
    headline = (
        f"{n} {'batch' if n == 1 else 'batches'} of {curve.prior.thickener} at {curve.temperature_c:g} C and "
        f"{curve.shear_rate_per_s:g} 1/s: 10 % more thickener gives {best} % ({low}-{high}) more thickness (90 % range, above "
        f"the base); pots of one dose differ by about {100 * curve.spread:.0f} % (standard deviation)."
    )
    return headline, shown


def report(curve: DoseCurve) -> str:
    """The curve in plain text."""
    headline, rows = _parts(curve)
    table = [HEADS, *rows] if rows else []
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    lines = ["  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)) for row in table]
    return "\n".join([headline, *lines, *(f"- {flag}" for flag in curve.flags)])


def page(curve: DoseCurve) -> str:
    """The curve as a small table in HTML."""
    headline, rows = _parts(curve)
    style = "text-align:right;padding:.1rem .6rem"
    head = "".join(f"<th scope='col' style='{style}'>{escape(each)}</th>" for each in HEADS)
    body = "".join(
        "<tr>" + "".join(f"<td style='{style}'>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows
    )
    table = f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>" if rows else ""
    doubts = "".join(f"<li>{escape(flag)}</li>" for flag in curve.flags)
    return f"<div><p>{escape(headline)}</p>{table}{f'<ul>{doubts}</ul>' if doubts else ''}</div>"
