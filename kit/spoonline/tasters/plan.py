"""A tasting planned: codes, serving orders, and what so many tasters would find."""

import random
from collections.abc import Sequence
from datetime import date
from itertools import permutations

from spoonline.measures import takes_quantities
from spoonline.tasters import tests as forced
from spoonline.tasters.session import CHOICES, ROWS, Sample, Session, Test, said

# points: people spread by about 2, 1.7 to 2.3 in a published set of 150 (computed from it); differences within a taster are taken
# to spread as much, since half of the spread goes with the taster (judged)
LIKING_SD = (1.7, 2.0, 2.3)
_UPSIDE_DOWN = {1, 6, 8, 9}  # a code of these alone is another number on a cup held upside down


def taste_codes(count: int, draw: random.Random) -> list[str]:
    """Three-digit codes that suggest no rank: no 1 in front, no digit twice, no 0, no run such as 345 or 642."""
    three = [(a, b, c) for a, b, c in permutations(range(1, 10), 3) if a != 1 and b - a != c - b]
    good = ["".join(map(str, each)) for each in three if not {*each} <= _UPSIDE_DOWN]
    draw.shuffle(good)
    firsts = {code[0]: code for code in reversed(good)}
    # different first digits while they last: easier to tell apart at the table
    chosen = [code for code in good if firsts[code[0]] == code]
    return (chosen + [code for code in good if code not in chosen])[:count]


def serving_orders(test: Test, samples: int, tasters: int, draw: random.Random) -> list[tuple[int, ...]]:
    """Who gets which sample when: numbers of samples, from 0; a duo-trio order begins with its reference.

    Whole blocks are balanced: AB and BA, the six orders of a triangle, the four of a duo-trio, and for more samples
    Williams' rows, in which each sample stands equally often in each position and follows each other one equally often.

    Examples
    --------
    >>> sorted(serving_orders("pair", 2, 4, random.Random(1)))
    [(0, 1), (0, 1), (1, 0), (1, 0)]
    """
    listed = [tuple(map(int, each)) for each in ROWS.get(test, {"orders": ""})["orders"].split()]
    block = listed or _williams(samples)
    orders: list[tuple[int, ...]] = []
    while len(orders) < tasters:
        orders += draw.sample(block, len(block))
    return orders[:tasters]


def _williams(samples: int) -> list[tuple[int, ...]]:
    first = [0, *((step + 1) // 2 if step % 2 else samples - step // 2 for step in range(1, samples))]
    rows = [tuple((each + turn) % samples for each in first) for turn in range(samples)]
    return rows if samples % 2 == 0 or samples == 1 else rows + [row[::-1] for row in rows]


@takes_quantities
def plan_session(
    title: str, test: Test, samples: Sequence[Sample], tasters: int, *, number: int = 1, about: str = "thickness",
    expected: bool = False, same_share: float | None = None, names: Sequence[str] = (), seed: int = 1,
    day: date | None = None, invented: bool = False,
) -> Session:  # fmt: skip
    """Plan a tasting session: draw codes and balanced serving orders.

    Parameters
    ----------
    title, test : str
        The dish; pair (recommended for thickness), triangle, duo-trio, ranking, liking or just right.
    samples : sequence of Sample
        What is tasted; from thinnest to thickest if ``expected``.
    tasters, number : int
        How many are asked, and the number of the session of this dish.
    about : str, optional
        thickness or liking: what a pair or a ranking asks for.
    expected : bool, optional
        Whether the order of the samples is expected; a pair is then one-sided, a ranking read with Page's test.
    same_share : float, optional
        Share of people who may truly tell and still count as the same, for a similarity test.
    names : sequence of str, optional
        Who they are; never exported unless asked for.
    seed : int, optional
        The same number draws the same codes and orders.
    day : date, optional
        When it is held.
    invented : bool, optional
        Whether it is made-up data.

    Raises
    ------
    BatchError
        If samples, tasters or names do not fit the test.

    Examples
    --------
    >>> pair = [Sample(label="version 3", version=3), Sample(label="version 5", version=5)]
    >>> plan = plan_session("Soup", "pair", pair, 4, expected=True)
    >>> len(plan.orders), plan.two_sided
    (4, False)
    """
    # the dish goes in too, so that two dishes of one evening do not share their codes
    draw = random.Random(f"{title}\n{test}\n{seed}")
    each = 2 if test == "triangle" else 1
    drawn = taste_codes(each * len(samples), draw)
    codes = [tuple(drawn[each * sample : each * sample + each]) for sample in range(len(samples))]
    fits = len(samples) == 2 or test not in CHOICES
    served = serving_orders(test, len(samples), min(max(tasters, 0), 99), draw) if samples and fits else []
    skip = 1 if test == "duo-trio" else 0
    orders = []
    for row in served:
        left = [list(draw.sample(own, each)) for own in codes]
        orders.append(tuple(left[sample].pop() for sample in row[skip:]))
    return Session(
        title=title, number=number, test=test, about=about, samples=tuple(samples), expected=expected, same_share=same_share,
        tasters=tasters, names=tuple(names), seed=seed, day=day, codes=tuple(codes), orders=tuple(orders),
        references=tuple(row[0] + 1 for row in served) if skip else (), invented=invented,
    )  # fmt: skip


def power_sentence(session: Session, tasters: int | None = None) -> str:
    """What a session of so many tasters finds in 8 of 10 cases, and how many a small difference takes."""
    n = session.tasters if tasters is None else tasters
    if session.test in CHOICES:
        return _power_of_choice(session, n)
    if session.test == "ranking":
        apart = forced.ranking_distance(n, len(session.samples), ordered=session.expected)
        if apart is None:
            return said("few ranks", n=n)
        ratio = f" ({_in_pa_s(apart)})" if session.about == "thickness" else ""
        return said("ranks found", n=n, apart=apart, ratio=ratio)
    if session.test == "liking" and len(session.samples) == 1:
        return said("one liked", n=n)
    both = session.test == "just right"
    pairs = 1 if both else len(session.samples) * (len(session.samples) - 1) // 2
    each, alpha = n / 2 if both else n, forced.ALPHA / pairs
    found = [forced.points_found(each, sd, two_groups=both, alpha=alpha) for sd in LIKING_SD]
    if None in found:
        return said("few points", n=n)
    what = "a drop in liking (where half of them find it off on one side)" if both else "a difference in liking"
    known = dict(zip(("low", "middle", "high", "least", "usual", "most"), (*found, *LIKING_SD), strict=True))
    return said("points found", n=n, what=what, **known)


def _power_of_choice(session: Session, n: int) -> str:
    test, guess, two = session.test, forced.GUESS[session.test], session.two_sided
    least, right = forced.critical_correct(n, guess, two_sided=two), forced.right_found(n, guess, two_sided=two)
    if least is None or right is None:
        fewest = next(many for many in range(2, 99) if forced.critical_correct(many, guess, two_sided=two) is not None)
        return said("few choices", n=n, fewest=fewest)
    must = f"{least} of {n} must {'choose the same' if two else 'be right'}"
    if session.about == "liking":
        return said("preference found", must=must, right=100 * right)
    step, (low, high), apart = forced.STEP_DISTANCE, forced.STEP_RATIOS, forced.distance(right, test)
    needed = forced.tasters_needed(forced.chance_correct(step, test), guess, two_sided=two)
    paired = forced.tasters_needed(forced.chance_correct(step, "pair"), forced.GUESS["pair"])
    known = {"least": low, "most": high, "needed": needed, "tell": 10 * forced.who_can_tell(right, guess)}
    found = said("choice found", must=must, n=n, apart=apart, ratio=_in_pa_s(apart), **known)
    return found + (f", and {paired} with a directional pair." if test != "pair" else ".")


def _in_pa_s(apart: float) -> str:
    low, high = forced.thicker_by(apart)
    felt_low, felt_high = forced.felt_as(low, high)
    return said("in Pa s", low=low, high=high, felt_low=felt_low, felt_high=felt_high)
