"""What tasters answered as a figure: a bar or a dot with its range for each sample, and where guessing lies."""

from spoonline.figures.drawn import BLUE, ORANGE, SOFT, VERMILION, Axes, Drawn, Figure, Rows, fitted, head
from spoonline.tasters import Session, SessionReading, read_session

SIDES = {"too thin": ORANGE, "just right": BLUE, "too thick": VERMILION}
SCALES = {"points of 9": (1.0, 9.0)}
RIGHT = ": just right"
LANE = 0.3  # inch: a mark below its name


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
    ranked = found.unit.startswith("mean rank")
    ranges = "bars that do not overlap differ, one pair at a time" if ranked else "bars: 90 % range"

    def draw(figure: Figure) -> None:
        axes, rows = figure.add_subplot(), Rows()
        width, answer = figure.get_figwidth() - 0.4, found.short.partition(" (")[0]
        if session.test == "just right":
            _diverging(axes, rows, found, width)
            axes.set_xlabel(found.unit)
            share, best = max((each.best, name) for name, each in found.rows if name.endswith(RIGHT))
            answer = f"{best.removesuffix(RIGHT)}: just right for {share:.0f} % of {len(session.ballots())} tasters"
        else:
            _dots(axes, rows, found, width)
            low, high = SCALES.get(found.unit, (0.0, 100.0))
            if ranked:
                low, high = 0.5, len(found.rows) + 0.5
                axes.set_xticks(range(1, len(found.rows) + 1))
            axes.set_xlim(low - 0.02 * (high - low), high + 0.02 * (high - low))
            axes.set_xlabel(fitted(f"{found.unit}; {ranges}", width))
        head(figure, answer)
        rows.name(axes)

    listed = "; ".join(f"{name} {each:.3g}" for name, each in found.rows)
    marked = "".join(f" {name.capitalize()}: {at:.0f} %." for name, at in found.marks.items())
    invented = "Invented data. " if session.invented else ""
    return Drawn(draw, f"{invented}{found.short}. In {found.unit} ({ranges}): {listed}.{marked}")


def _dots(axes: Axes, rows: Rows, found: SessionReading, width: float) -> None:
    """A dot with its range a row; guessing and the like are strokes through its lane."""
    for name, each in found.rows:
        at = rows.add(fitted(name, width), LANE) + LANE / 2
        for mark, (words, place) in zip(("-", "--"), found.marks.items(), strict=False):
            ends = [at - LANE / 3, at + LANE / 2]
            axes.plot([place, place], ends, color=SOFT, lw=1.5, ls=mark, label=f"{words}, {place:.0f} %")
        axes.plot([each.low, each.high], [at, at], color=BLUE, lw=2.5, solid_capstyle="butt")
        axes.plot(each.best, at, "o", ms=10, color=BLUE, mec="white")


def _diverging(axes: Axes, rows: Rows, found: SessionReading, width: float) -> None:
    """One bar a sample: just right in the middle, what is too thin to its left and what is too thick to its right."""
    shares: dict[str, dict[str, float]] = {}
    for name, each in found.rows:
        sample, _, side = name.rpartition(": ")
        shares.setdefault(sample, {})[side] = each.best
    for sample, sides in shares.items():
        named = f"{sample}: {', '.join(f'{share:.0f} % {side}' for side, share in sides.items())}"
        at = rows.add(fitted(named, width), LANE) + LANE / 2
        left = -sides["too thin"] - sides["just right"] / 2
        for (side, share), hatch in zip(sides.items(), ("//", "", "\\\\"), strict=True):
            axes.barh(at, share, 0.6 * LANE, left, color=SIDES[side], hatch=hatch, ec="white", lw=0.5, label=side)
            left += share
    axes.set_xlim(-105, 105)
    axes.set_xticks(range(-100, 101, 50), [f"{abs(each)}" for each in range(-100, 101, 50)])
