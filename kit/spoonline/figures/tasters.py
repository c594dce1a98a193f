"""What tasters answered as a figure: a dot and its range for each sample, and where guessing lies."""

from __future__ import annotations

from spoonline.figures.drawn import BLUE, INK, ORANGE, SHAPES, SOFT, UPRIGHT, VERMILION, Drawn, label, new_figure
from spoonline.tasters import Session, SessionReading, read_session

SIDES = {"too thin": (ORANGE, "v"), "just right": (BLUE, "o"), "too thick": (VERMILION, "^")}
SCALES = {"points of 9": (1.0, 9.0)}


def session_figure(session: Session, reading: SessionReading | None = None) -> Drawn:
    """Draw the answers of a session: one row a sample (or a sample and side), a dot with its range.

    Parameters
    ----------
    session : Session
        Answered.
    reading : SessionReading, optional
        Its reading, if it is there already.

    Returns
    -------
    Drawn

    Raises
    ------
    BatchError
        If nobody has answered.
    """
    found = reading or read_session(session)
    rows = list(found.rows)[::-1]
    ranked = found.unit.startswith("mean rank")
    ranges = "bars that do not overlap differ, one pair at a time" if ranked else "bars: 90 % range"
    with new_figure(8.0, 1.5 + 0.42 * len(rows)) as figure:
        axes = figure.add_subplot()
        for row, (name, each) in enumerate(rows):
            plain = (BLUE, SHAPES[(len(rows) - 1 - row) % len(SHAPES)])
            colour, shape = SIDES.get(name.rpartition(": ")[2], plain)
            axes.plot([each.low, each.high], [row, row], color=colour, lw=2.5, solid_capstyle="butt")
            axes.plot(each.best, row, shape, ms=10, color=colour, mec="white")
        # two marks can lie close together, so one is named above the frame and one higher still
        for height, (name, at) in enumerate(found.marks.items()):
            axes.axvline(at, color=SOFT, lw=1.2, ls=(0, (4, 3)) if height else "-")
            label(axes, name, (at, 1), (0, 3 + 13 * height), xycoords=UPRIGHT, ha="center", fontsize=10, color=SOFT)
        axes.set_yticks(range(len(rows)), [name for name, _ in rows], color=INK)
        axes.set_ylim(-0.6, len(rows) - 0.4)
        low, high = SCALES.get(found.unit, (0.0, 100.0))
        if ranked:
            low, high = 0.5, len(rows) + 0.5
            axes.set_xticks(range(1, len(rows) + 1))
        axes.set_xlim(low - 0.02 * (high - low), high + 0.02 * (high - low))
        axes.set_xlabel(f"{found.unit}; {ranges}")
        axes.tick_params(axis="y", length=0)
    listed = "; ".join(f"{name} {each:.3g}" for name, each in found.rows)
    marked = "".join(f" {name.capitalize()}: {at:.0f} %." for name, at in found.marks.items())
    invented = "Invented data. " if session.invented else ""
    return Drawn(figure, f"{invented}{found.short}. In {found.unit} ({ranges}): {listed}.{marked}")
