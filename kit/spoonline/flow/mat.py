"""A true-to-scale sheet for the ring test: circles to read the puddle by, to lie under a glass plate."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from spoonline.measures.errors import ReadingError

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PAPERS_CM = {"a4": (21.0, 29.7), "letter": (21.59, 27.94)}  # ISO 216; ANSI Y14.1
LARGEST_CM = 9.5
INK, ACCENT = "#222222", "#0072B2"
HOW = (
    "Print at 100 % (no fitting to the page) and hold a ruler to the 10 cm line. Lay the sheet under a level glass plate.\n"
    "Fill the ring level, lift it straight up in half a second, read the radius on the four arms at the set time, and note the mean.\n"
    "A kitchen thickness reading: it does not classify food for people with swallowing difficulty."
)


def draw_mat(paper: str = "a4", radius_cm: float = 3.5) -> Figure:
    """The sheet as a figure whose axes are centimetres from the lower left corner of the page.

    Parameters
    ----------
    paper : str
        "a4" or "letter".
    radius_cm : float
        Outer radius of the ring's foot [cm], above 0 and below 9.

    Returns
    -------
    Figure

    Raises
    ------
    ReadingError
        For another paper or radius.
    """
    from matplotlib.figure import Figure
    from matplotlib.patches import Circle, Rectangle

    if paper not in PAPERS_CM:
        raise ReadingError(f"Paper {paper!r} came; {' or '.join(PAPERS_CM)} is wanted.")
    if not 0 < radius_cm < 9:
        raise ReadingError(f"A ring of {radius_cm!r} cm radius came; above 0 and below 9 cm is wanted.")
    width, height = PAPERS_CM[paper]
    figure = Figure(figsize=(width / 2.54, height / 2.54))
    axes: Any = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(0, width)
    axes.set_ylim(0, height)
    axes.set_aspect("equal")
    axes.axis("off")
    x0, y0 = width / 2, height - 2.2 - LARGEST_CM
    axes.text(1.2, height - 1.3, "Ring test", size=15, color=INK, va="center")
    said = f"radius of the puddle, cm; dashed: the ring stands here ({radius_cm:g} cm)"
    axes.text(width - 1.2, height - 1.3, said, size=10, color=INK, va="center", ha="right")
    for halves in range(1, round(2 * LARGEST_CM) + 1):
        whole = halves % 2 == 0
        axes.add_patch(
            Circle((x0, y0), halves / 2, fill=False, ec=INK, lw=0.7 if whole else 0.35, ls="-", gid=f"r{halves / 2:g}")
        )  # fmt: skip
        if whole:
            for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
                axes.text(
                    x0 + dx * halves / 2, y0 + dy * halves / 2, f"{halves // 2}", size=8, color=INK, ha="center", va="center",
                    bbox={"fc": "white", "ec": "none", "pad": 0.8},
                )  # fmt: skip
    axes.plot([x0 - LARGEST_CM, x0 + LARGEST_CM], [y0, y0], color=INK, lw=0.5, zorder=1)
    axes.plot([x0, x0], [y0 - LARGEST_CM, y0 + LARGEST_CM], color=INK, lw=0.5, zorder=1)
    axes.add_patch(Circle((x0, y0), radius_cm, fill=False, ec=ACCENT, lw=1.8, ls=(0, (5, 2)), gid="foot", zorder=2))
    rule = y0 - LARGEST_CM - 1.0
    axes.plot([x0 - 5, x0 + 5], [rule, rule], color=INK, lw=1.0, gid="rule")
    for tick in range(11):
        axes.plot(
            [x0 - 5 + tick] * 2, [rule, rule + (0.35 if tick % 5 == 0 else 0.2)], color=INK, lw=0.8, gid=f"tick{tick}"
        )  # fmt: skip
    for tick in (0, 5, 10):
        axes.text(x0 - 5 + tick, rule - 0.15, f"{tick} cm", size=8, color=INK, ha="center", va="top")
    left, box, gap = 1.2, (width - 2.4 - 1.2) / 4, 0.4
    for place, label in enumerate(("date", "batch", "temperature, C", "seconds")):
        at = left + place * (box + gap)
        axes.add_patch(Rectangle((at, rule - 2.4), box, 1.2, fill=False, ec=INK, lw=0.7))
        axes.text(at + 0.15, rule - 1.3, label, size=8, color=INK, va="top")
    axes.text(left, rule - 2.75, HOW, size=7.5, color=INK, va="top", linespacing=1.45)
    return figure


def mat(path: str | Path, paper: str = "a4", radius_cm: float = 3.5) -> Path:
    """Write the sheet as PDF or SVG, true to scale.

    Parameters
    ----------
    path : str or Path
        Where to; the ending, .pdf or .svg, says which.
    paper : str
        "a4" or "letter".
    radius_cm : float
        Outer radius of the ring's foot [cm].

    Returns
    -------
    Path

    Raises
    ------
    ReadingError
        For another ending, paper or radius.
    """
    target = Path(path)
    if target.suffix.lower() not in (".pdf", ".svg"):
        raise ReadingError(f"A sheet named {target.name!r} came; a name that ends in .pdf or .svg is wanted.")
    draw_mat(paper, radius_cm).savefig(target)
    return target
