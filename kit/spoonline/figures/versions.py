"""The family tree of a dish's versions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from spoonline.figures.drawn import INK, SHAPES, SOFT, VERMILION, Drawn, label, new_figure
from spoonline.recipes import Version


def tree_figure(versions: Sequence[Version], words: Mapping[int, str], marked: Sequence[int] = ()) -> Drawn:
    """Draw which version was made from which.

    Parameters
    ----------
    versions : sequence of Version
        All versions of one dish.
    words : mapping of int to str
        A few words for each version, such as its dose and its thickness.
    marked : sequence of int, optional
        Versions to mark, such as the two that are compared.

    Returns
    -------
    Drawn
        Time goes down, branches go to the right.
    """
    lanes = _lanes(versions)
    with new_figure(8.0, 0.9 + 0.62 * len(versions)) as figure:
        axes = figure.add_subplot()
        points = {version.number: (lanes[version.number], -row) for row, version in enumerate(versions)}
        for version in versions:
            x, y = points[version.number]
            if version.parent in points:
                px, py = points[version.parent]
                axes.plot([px, x, x], [py, py if px == x else y + 0.5, y], color=SOFT, lw=1.5, zorder=1)
            chosen = version.number in marked
            shape = SHAPES[list(marked).index(version.number) + 1] if chosen else SHAPES[0]
            axes.plot(x, y, shape, ms=11 if chosen else 8, color=VERMILION if chosen else INK, zorder=3)
            named = f"{version.number}: {words.get(version.number, '')}".rstrip(": ")
            note = version.note if len(version.note) < 60 else version.note[:57] + "..."
            label(axes, named, (x, y), (12, 3), va="bottom", color=INK)
            label(axes, note, (x, y), (12, -1), va="top", fontsize=9, color=SOFT)
        axes.set_xlim(-0.2, max(lanes.values(), default=0) + 2.6)
        axes.set_ylim(-len(versions) + 0.4, 0.7)
        axes.set_axis_off()
    lines = []
    for each in versions:
        parent = f" from {each.parent}" if each.parent is not None else ""
        lines.append(f"Version {each.number}{parent}" + (f": {words[each.number]}" if each.number in words else ""))
    return Drawn(figure, "Family tree of the versions. " + ". ".join(lines) + ".")


def _lanes(versions: Sequence[Version]) -> dict[int, int]:
    """A child goes on in its parent's lane unless another child has it; then it opens a lane of its own."""
    lanes: dict[int, int] = {}
    last_in: dict[int, int] = {}
    for version in versions:
        lane = lanes.get(version.parent) if version.parent is not None else None
        if lane is None or last_in.get(lane) != version.parent:
            lane = max(lanes.values(), default=-1) + 1
        lanes[version.number] = lane
        last_in[lane] = version.number
    return lanes
