"""A true-to-scale sheet for the ring test: circles to read the puddle by, to lie under a glass plate."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from spoonline.measures.errors import ReadingError, as_said

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PAPERS_CM = {"a4": (21.0, 29.7), "letter": (21.59, 27.94)}  # ISO 216; ANSI Y14.1
LARGEST_CM = 9.5
INK, ACCENT = "#222222", "#0072B2"
NOT_CLINICAL = (
    "This is a kitchen thickness reading. It does not classify food for people with swallowing difficulty; that needs a "
    "qualified practitioner and the full published test set at serving temperature."
)
HOW = (
    "Print at 100 % (no fitting to the page) and hold a ruler to the 10 cm line. Lay the sheet under a level glass plate.\n"
    "Fill the ring level, lift it straight up in half a second, read the radius on the four arms at the set time, and note the mean.\n"
    "A kitchen thickness reading: it does not classify food for people with swallowing difficulty."
)


def draw_mat(paper: str = "a4", radius_cm: float = 3.5) -> Figure:
    """The sheet as a figure whose axes are centimetres from the lower left corner of the page."""
    from matplotlib.figure import Figure
    from matplotlib.patches import Circle, Rectangle

    if paper not in PAPERS_CM:
        raise ReadingError(f"Paper {paper!r} came; {' or '.join(PAPERS_CM)} is wanted.")
    if not 0 < radius_cm < 9:
        raise ReadingError(f"A ring of {as_said(radius_cm)} cm radius came; above 0 and below 9 cm is wanted.")
    width, height = PAPERS_CM[paper]
    figure = Figure(figsize=(width / 2.54, height / 2.54))
    axes: Any = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set(xlim=(0, width), ylim=(0, height), aspect="equal")
    axes.axis("off")

    def write(x: float, y: float, text: str, size: float, **how: Any) -> None:
        axes.text(x, y, text, size=size, color=INK, **how)

    x0, y0 = width / 2, height - 2.2 - LARGEST_CM
    write(1.2, height - 1.3, "Ring test", 15, va="center")
    what = f"radius of the puddle, cm; dashed: the ring stands here ({radius_cm:g} cm)"
    write(width - 1.2, height - 1.3, what, 10, va="center", ha="right")
    for halves in range(1, round(2 * LARGEST_CM) + 1):
        radius, whole = halves / 2, halves % 2 == 0
        axes.add_patch(Circle((x0, y0), radius, fill=False, ec=INK, lw=0.7 if whole else 0.35, gid=f"r{radius:g}"))
        for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)) if whole else ():
            box = {"fc": "white", "ec": "none", "pad": 0.8}
            write(x0 + dx * radius, y0 + dy * radius, f"{radius:g}", 8, ha="center", va="center", bbox=box)
    axes.plot([x0 - LARGEST_CM, x0 + LARGEST_CM], [y0, y0], color=INK, lw=0.5, zorder=1)
    axes.plot([x0, x0], [y0 - LARGEST_CM, y0 + LARGEST_CM], color=INK, lw=0.5, zorder=1)
    axes.add_patch(Circle((x0, y0), radius_cm, fill=False, ec=ACCENT, lw=1.8, ls=(0, (5, 2)), gid="foot", zorder=2))
    rule = y0 - LARGEST_CM - 1.0
    axes.plot([x0 - 5, x0 + 5], [rule, rule], color=INK, lw=1.0, gid="rule")
    for tick in range(11):
        at, long = x0 - 5 + tick, tick % 5 == 0
        axes.plot([at, at], [rule, rule + (0.35 if long else 0.2)], color=INK, lw=0.8, gid=f"tick{tick}")
        if long:
            write(at, rule - 0.15, f"{tick} cm", 8, ha="center", va="top")
    left, box_width = 1.2, (width - 3.6) / 4
    for box_number, label in enumerate(("date", "batch", "temperature, C", "seconds")):
        at = left + box_number * (box_width + 0.4)
        axes.add_patch(Rectangle((at, rule - 2.4), box_width, 1.2, fill=False, ec=INK, lw=0.7))
        write(at + 0.15, rule - 1.3, label, 8, va="top")
    write(left, rule - 2.75, HOW, 7.5, va="top", linespacing=1.45)
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
        Outer radius of the ring's foot [cm], above 0 and below 9.

    Returns
    -------
    Path

    Raises
    ------
    ReadingError
        For another ending, paper or radius.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> mat(pathlib.Path(tempfile.mkdtemp()) / "mat.svg", radius_cm=3.5).name
    'mat.svg'
    """
    target = Path(path)
    if target.suffix.lower() not in (".pdf", ".svg"):
        raise ReadingError(f"A sheet named {target.name!r} came; a name that ends in .pdf or .svg is wanted.")
    draw_mat(paper, radius_cm).savefig(target)
    return target
