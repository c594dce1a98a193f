"""The family of a dish's versions: a row each, with its dose, how its pots lie over the band, and its note."""

from collections.abc import Mapping, Sequence
from textwrap import shorten

from spoonline.figures import drawn
from spoonline.figures.drawn import GREEN, INK, LINE, SOFT, VERMILION, Drawn, Figure, Rows, fitted
from spoonline.recipes import Target, Version

PITCH = 0.24  # inch from branch to branch
STRIP = 0.3  # share of the width for the thickness of the pots
NOTE = 22.0  # letters of a note shown for each inch of its room: two lines


def tree_figure(
    versions: Sequence[Version], words: Mapping[int, str], marked: Sequence[int] = (),
    viscosities: Mapping[int, Sequence[float]] | None = None, target: Target | None = None,
) -> Drawn:  # fmt: skip
    """Draw which version was made from which, and how thick its pots were.

    Parameters
    ----------
    versions : sequence of Version
        All versions of one dish.
    words : mapping of int to str
        A few words for each version, such as its dose.
    marked : sequence of int, optional
        Versions to mark, such as the two that are compared.
    viscosities : mapping of int to sequence of float, optional
        How thick the pots of each version were [Pa s].
    target : Target, optional
        Its band is shaded.

    Returns
    -------
    Drawn
        Time goes down, branches go to the right.
    """
    lanes, pots = _lanes(versions), viscosities or {}
    seen = [each for read in pots.values() for each in read]
    low, high = (target.low_pa_s, target.high_pa_s) if target else (min(seen, default=1.0), max(seen, default=1.0))
    ends, looks = drawn.reach((low, high), seen), dict(zip(marked, "s^D", strict=False))
    last = max((number for number in marked or lanes if pots.get(number)), default=None)
    answer = f"{len(versions) or 'No'} {'version' if len(versions) == 1 else 'versions'} so far"
    if target and last is not None:
        inside = sum(target.low_pa_s <= each <= target.high_pa_s for each in pots[last])
        answer = f"Version {last}: {inside} of {len(pots[last])} pots lie in the band"

    def draw(figure: Figure) -> None:
        width, most, rows = figure.get_figwidth(), max(lanes.values(), default=0) + 1, Rows()
        tree, strip = figure.subplots(1, 2, width_ratios=[1 - STRIP, STRIP])
        pitch = min(PITCH, width / 5 / most)
        room = width * (1 - STRIP) - pitch * most - 0.4
        drawn.plain_log(strip.xaxis, *ends, 4)
        if target:
            strip.axvspan(low, high, color=GREEN, alpha=0.2, lw=0, label="target band")
        places = {each.number: pitch * (lanes[each.number] + 0.5) for each in versions}
        rungs: dict[int, float] = {}
        for version in versions:
            number, x = version.number, places[version.number]
            shape, colour = looks.get(number, "o"), VERMILION if number in looks else INK
            named = fitted(f"{number}: {words.get(number, '')}".rstrip(": "), room)
            note = fitted(shorten(version.note, int(NOTE * room), placeholder=" ..."), room)
            told = f"{named}\n{note}".strip()
            rungs[number] = y = rows.down + LINE / 2
            tree.text(pitch * most + 0.1, rows.add(told, 0.16), told, va="bottom")
            if (up := version.parent) in rungs:
                tree.plot([places[up], x, x], [rungs[up]] * 2 + [y], color=SOFT, lw=1.5, zorder=1)
            tree.plot(x, y, shape, color=colour, zorder=3)
            strip.set_ylim(rows.down, 0)
            for each in pots.get(number, ()):
                drawn.mark(strip, [(each, y)], shape, "a pot", color=colour, ms=7, alpha=0.8)
        tree.set(xlim=(0, width * (1 - STRIP) - 0.2))
        tree.set_axis_off()
        strip.set(yticks=[], xlabel="Pa s")
        strip.spines.left.set_visible(False)
        if not seen:
            strip.remove()
        drawn.head(figure, answer)
        rows.add("", 0.0)
        rows.fit(tree)
        strip.set_ylim(rows.down, 0)

    lines = [answer]
    for each in versions:
        parent = f" from {each.parent}" if each.parent is not None else ""
        lines.append(f"Version {each.number}{parent}" + (f": {words[each.number]}" if each.number in words else ""))
    far = [(each, number) for number, read in pots.items() for each in read if not ends[0] <= each <= ends[1]]
    lines += [f"A pot of version {number} lies far off, at {each:.2g} Pa s" for each, number in far]
    return Drawn(draw, f"Family tree of the versions. {'. '.join(lines)}.")


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
