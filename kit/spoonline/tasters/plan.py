"""A tasting planned: codes, serving orders, the power said before, and the sheets to print."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import date
from html import escape
from itertools import permutations

from spoonline.measures.local import localised
from spoonline.tasters import tests as forced
from spoonline.tasters.scales import points_found, ranking_distance
from spoonline.tasters.session import CHOICES, JUST, LIKING, Sample, Session, Test

# points: people spread by about 2, 1.7 to 2.3 in a published set of 150 (computed from it); differences within a taster are taken
# to spread as much, since half of the spread goes with the taster (judged)
LIKING_SD = (1.7, 2.0, 2.3)
_UPSIDE_DOWN = {1, 6, 8, 9}  # a code of these alone is another number on a cup held upside down


_BLOCKS: dict[str, list[tuple[int, ...]]] = {
    "triangle": [(0, 0, 1), (0, 1, 0), (1, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 0)],
    "duo-trio": [(0, 0, 1), (0, 1, 0), (1, 0, 1), (1, 1, 0)],
}


def taste_codes(count: int, draw: random.Random) -> list[str]:
    """Three-digit codes that suggest no rank: no 1 in front, no digit twice, no 0, no run such as 345 or 642."""
    good = [
        f"{a}{b}{c}" for a, b, c in permutations(range(1, 10), 3) if a != 1 and b - a != c - b and not {a, b, c} <= _UPSIDE_DOWN
    ]  # fmt: skip
    draw.shuffle(good)
    firsts = {code[0]: code for code in reversed(good)}
    # different first digits while they last: easier to tell apart at the table
    chosen = [code for code in good if firsts[code[0]] == code]
    return (chosen + [code for code in good if code not in chosen])[:count]


def serving_orders(test: Test, samples: int, tasters: int, draw: random.Random) -> list[tuple[int, ...]]:
    """Who gets which sample when: places of samples, from 0; a duo-trio order begins with its reference.

    Whole blocks are balanced: AB and BA, the six orders of a triangle, the four of a duo-trio, and for more samples
    Williams' rows, in which each sample stands equally often in each place and follows each other one equally often.

    Examples
    --------
    >>> sorted(serving_orders("pair", 2, 4, random.Random(1)))
    [(0, 1), (0, 1), (1, 0), (1, 0)]
    """
    block = _BLOCKS.get(test) or _williams(samples)
    orders: list[tuple[int, ...]] = []
    while len(orders) < tasters:
        orders += draw.sample(block, len(block))
    return orders[:tasters]


def _williams(samples: int) -> list[tuple[int, ...]]:
    first = [0, *((step + 1) // 2 if step % 2 else samples - step // 2 for step in range(1, samples))]
    rows = [tuple((each + turn) % samples for each in first) for turn in range(samples)]
    return rows if samples % 2 == 0 or samples == 1 else rows + [row[::-1] for row in rows]


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
    codes = [tuple(drawn[each * place : each * place + each]) for place in range(len(samples))]
    fits = len(samples) == 2 or test not in CHOICES
    placed = serving_orders(test, len(samples), min(max(tasters, 0), 99), draw) if samples and fits else []
    skip = 1 if test == "duo-trio" else 0
    orders = []
    for row in placed:
        left = [list(draw.sample(codes[place], each)) for place in range(len(samples))]
        orders.append(tuple(left[place].pop() for place in row[skip:]))
    return Session(
        title=title, number=number, test=test, about=about, samples=tuple(samples), expected=expected, same_share=same_share,
        tasters=tasters, names=tuple(names), seed=seed, day=day, codes=tuple(codes), orders=tuple(orders),
        references=tuple(row[0] + 1 for row in placed) if skip else (), invented=invented,
    )  # fmt: skip


def power_said(session: Session, tasters: int | None = None) -> str:
    """What a session of so many tasters finds in 8 of 10 cases, and how many a small difference takes."""
    n = session.tasters if tasters is None else tasters
    if session.test in CHOICES:
        return _power_of_choice(session, n)
    if session.test == "ranking":
        apart = ranking_distance(n, len(session.samples), ordered=session.expected)
        if apart is None:
            return f"No ranking by {n} tasters could be significant; ask more."
        ends = f"d' {apart:.1f} apart{f' ({_in_pa_s(apart)})' if session.about == 'thickness' else ''}"
        series = f"8 of 10 rankings by {n} tasters find an even series whose two ends lie {ends}"
        return f"{series}; smaller differences are mostly missed."
    if session.test == "liking" and len(session.samples) == 1:
        return f"One sample liked by {n} tasters: its mean comes with its range; there is nothing to compare it with."
    both = session.test == "just right"
    pairs = 1 if both else len(session.samples) * (len(session.samples) - 1) // 2
    found = [points_found(n / 2 if both else n, sd, two_groups=both, alpha=forced.ALPHA / pairs) for sd in LIKING_SD]
    if None in found:
        return f"{n} tasters are too few for points; ask more."
    low, middle, high = (float(each or 0) for each in found)
    what = "a drop in liking (where half of them find it off on one side)" if both else "a difference in liking"
    return (
        f"8 of 10 sessions of {n} tasters find {what} of {middle:.1f} points ({low:.1f}-{high:.1f}, as people's points spread by "
        f"{LIKING_SD[0]} to {LIKING_SD[2]}); smaller ones are mostly missed. With fewer than 30, a ranking or a pair tells more."
    )


def _power_of_choice(session: Session, n: int) -> str:
    test, guess, two = session.test, forced.GUESS[session.test], session.two_sided
    least, right = forced.critical_correct(n, guess, two_sided=two), forced.right_found(n, guess, two_sided=two)
    if least is None or right is None:
        fewest = next(many for many in range(2, 99) if forced.critical_correct(many, guess, two_sided=two) is not None)
        return f"No result of {n} tasters could be significant; at least {fewest} are needed."
    must = f"{least} of {n} must {'choose the same' if two else 'be right'}"
    if session.about == "liking":
        return f"{must}; 8 of 10 sessions find a preference that {100 * right:.0f} of 100 people share, and mostly miss a weaker one."
    said = (
        f"{must}; 8 of 10 sessions of {n} tasters find a difference that {10 * forced.who_can_tell(right, guess):.0f} of 10 people truly tell "
        f"(d' {forced.distance(right, test):.1f}; {_in_pa_s(forced.distance(right, test))}), and mostly miss a smaller one."
    )
    step, (low, high) = forced.STEP_DISTANCE, forced.STEP_RATIOS
    needed = forced.tasters_needed(forced.chance_correct(step, test), guess, two_sided=two)
    paired = forced.tasters_needed(forced.chance_correct(step, "pair"), forced.GUESS["pair"])
    said += f" One just noticeable step ({low:.2f} to {high:.2f} times in Pa s, by two studies) takes {needed} tasters"
    return said + (f", and {paired} with a directional pair." if test != "pair" else ".")


def _in_pa_s(apart: float) -> str:
    low, high = forced.thicker_by(apart)
    felt = [forced.felt_as(each) for each in (low, high)]
    return f"{low:.2f} to {high:.2f} times in Pa s, felt as {felt[0]:.2f} to {felt[1]:.2f} times as thick"


_LOOK = """@page { size: A4; margin: 12mm } * { box-sizing: border-box }
body { font: 11pt/1.35 sans-serif; color: #1b1b1b; max-width: 186mm; margin: 0 auto }
h1 { font-size: 15pt; margin: 0 0 2mm } h2 { font-size: 12pt; margin: 5mm 0 1mm }
.ballot { break-inside: avoid; border: 1px dashed #777; padding: 5mm 6mm; margin: 0 0 5mm; min-height: 82mm }
.ballot.tall { min-height: 131mm } .top { display: flex; justify-content: space-between; font-weight: bold }
table { border-collapse: collapse; margin: 3mm 0 } th, td { border: 1px solid #999; padding: 1.2mm 3mm; text-align: left; font-weight: normal }
thead { display: table-header-group } tr { break-inside: avoid } td.box { min-width: 17mm; text-align: center }
.scale td { padding: .7mm 1mm } .scale .box { min-width: 0 } .word { width: 16.5mm; font-size: 8pt; text-align: center; line-height: 1.15 }
.code { font-size: 15pt; letter-spacing: .12em; font-weight: bold } .soft { color: #555; font-size: 10pt }
ol, ul { margin: 1mm 0; padding-left: 6mm }"""
_ASKS = {
    "pair": "Which of the two is {more}? Tick one, even if you have to guess.",
    "triangle": "Two of the three are alike. Which one is different? Tick one, even if you have to guess.",
    "duo-trio": "First taste the cup marked R. Which of the other two is like R? Tick one, even if you have to guess.",
    "ranking": "Put them in order, {first} first: write the codes. If two are level, write = between them.",
    "liking": "How much do you like each one? Tick one box for each cup.",
    "just right": "How much do you like each one, and how is its thickness? Tick one box in each line of both tables.",
}


def _page(title: str, body: str) -> str:
    return (
        f"<!doctype html><html lang='en'><head><meta charset='utf-8'><title>{escape(title)}</title><style>{_LOOK}</style></head>"
        f"<body>{body}</body></html>"
    )


def ballots_html(session: Session) -> str:
    """Ballots to print on A4 and cut apart: one self-contained page, two or more a sheet; no name of a sample stands on them."""
    thick = session.about == "thickness"
    more, first = ("thicker", "thinnest") if thick else ("the one you like better", "best liked")
    ask = _ASKS[session.test].format(more=more, first=first)
    tall = " tall" if session.test in ("liking", "just right") else ""
    parts = [
        f"<section class='ballot{tall}'><div class='top'><span>{escape(session.title)}, session {session.number}</span>"
        f"<span>Taster {taster}</span></div><p>Taste from left to right, one spoonful of each; water in between. Taste apart and do "
        f"not talk about it yet.</p><p><b>{escape(ask)}</b></p>{_to_fill(session, order)}<p class='soft'>Remarks:</p></section>"
        for taster, order in enumerate(session.orders, start=1)
    ]
    return _page(f"Ballots, {session.title}", "".join(parts))


def _to_fill(session: Session, order: Sequence[str]) -> str:
    marked = "".join(f"<td class='box code'>{code}</td>" for code in order)
    empty = "<td class='box'>&#9744;</td>" * len(order)
    if session.test in CHOICES:
        if session.test == "duo-trio":
            marked, empty = f"<td class='box code'>R</td>{marked}", f"<td class='box'></td>{empty}"
        return f"<table><tr>{marked}</tr><tr>{empty}</tr></table>"
    if session.test == "ranking":
        ends = ("thinnest", "thickest") if session.about == "thickness" else ("best liked", "least liked")
        blank = "<td class='box'>&nbsp;</td>" * len(order)
        return f"<table><tr><td>Cups</td>{marked}<td></td></tr><tr><td>{ends[0]}</td>{blank}<td>{ends[1]}</td></tr></table>"
    scale = _scale(order, list(zip(range(9, 0, -1), LIKING, strict=True)))
    return scale + (_scale(order, list(enumerate(JUST, start=1))) if session.test == "just right" else "")


def _scale(order: Sequence[str], points: Sequence[tuple[int, str]]) -> str:
    """One line a cup, one box a point; the words stand above, so that two ballots fit on a sheet."""
    heads = "".join(f"<td class='word'>{point}<br>{words}</td>" for point, words in points)
    boxes = "<td class='box'>&#9744;</td>" * len(points)
    rows = "".join(f"<tr><td class='code'>{code}</td>{boxes}</tr>" for code in order)
    return f"<table class='scale'><tr><td></td>{heads}</tr>{rows}</table>"


def key_html(session: Session) -> str:
    """The key sheet, for whoever serves and not for tasters: what each code is, who gets what when, how to type the answers."""
    rows = []
    for each, codes in zip(session.samples, session.codes, strict=True):
        warm = "" if each.temperature_c is None else f"{each.temperature_c:f}"
        cells = (each.label, str(each.version), str(each.batch or ""), warm, ", ".join(codes))
        rows.append("<tr>" + "".join(f"<td>{escape(localised(cell))}</td>" for cell in cells) + "</tr>")
    warm_c = [float(each.temperature_c) for each in session.samples if each.temperature_c is not None]
    one = "Serve all at one temperature, within 2 C, and note it: warmth alone makes a difference that people tell."
    level = len(warm_c) == len(session.samples) and max(warm_c) - min(warm_c) <= 2
    same = "" if level else f"<li><b>{one}</b></li>"
    served = []
    for taster, order in enumerate(session.orders, start=1):
        named = f" ({escape(session.names[taster - 1])})" if session.names else ""
        reference = f"R = {session.samples[session.references[taster - 1] - 1].label}; " if session.references else ""
        cups = ", ".join(f"{code} ({session.samples[session.sample_of(code)].label})" for code in order)
        served.append(f"<tr><td>{taster}{named}</td><td>{escape(reference + cups)}</td></tr>")
    first = session.orders[0]
    points, both = (", ".join(f"{code} {each}" for code in first) for each in ("7", "7 too thin"))
    typed = {"ranking": " ".join(first), "liking": points, "just right": both}.get(session.test, first[0])
    asked = f"{session.test} test" + (f" of {session.about}" if session.test in ("pair", "ranking") else "")
    invented = "<p><b>Invented data, for demonstration.</b></p>" if session.invented else ""
    return _page(
        f"Key, {session.title}",
        f"<h1>Key sheet: keep away from the tasters</h1>{invented}<p>{escape(session.title)}, session {session.number}, "
        f"{session.day or 'day not set'}: {asked}, {session.tasters} tasters, draw number {session.seed}.</p>"
        "<table><thead><tr><th>Sample</th><th>Version</th><th>Batch</th><th>Served at, C</th><th>Codes</th></tr></thead>"
        f"{''.join(rows)}</table><h2>Before</h2><p>{escape(localised(power_said(session)))}</p><ul>{same}"
        "<li>Same cups, same fill, codes on the cups; no sample is named aloud.</li>"
        "<li>Tell every taster which allergens the dish contains before they taste. Holding, serving and allergen rules: your local code. "
        "Not for people with swallowing difficulty.</li></ul>"
        "<h2>Who gets what, left to right</h2><table><thead><tr><th>Taster</th><th>Cups</th></tr></thead>"
        f"{''.join(served)}</table><h2>After</h2><p>Type one line a ballot, such as <b>1: {typed}</b>; a dash for no answer.</p>",
    )
