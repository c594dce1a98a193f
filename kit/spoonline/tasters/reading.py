"""What a tasting session shows: a sentence with figures and range, and what so many tasters would have missed."""

import math
from collections.abc import Mapping
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from spoonline.measures import Range, takes_quantities
from spoonline.tasters import tests as forced
from spoonline.tasters.plan import power_sentence
from spoonline.tasters.session import CHOICES, Session, said

WATCHED = 0.2  # share of tasters from which one side of just-about-right is looked at (common practice)
NOT_SAME = "That is not the same as no difference."
FOUND_WORDS = {"triangle": "picked the odd one", "duo-trio": "picked the one like the reference"}


class SessionReading(NamedTuple):
    """A session read: ``short`` is one sentence for a card, without a full stop; ``sentences`` are the answer, what it rests on, and its power.

    ``rows`` are what a figure shows, label and value in ``unit`` with its 90 % range (ranking: with half the least difference to each
    side); ``marks`` are named values on the same scale, such as guessing.
    """

    short: str
    sentences: tuple[str, ...]
    rows: tuple[tuple[str, Range], ...]
    unit: str
    marks: dict[str, float]

    @property
    def text(self) -> str:
        """All sentences."""
        return " ".join(self.sentences)


def session_sentence(session: Session) -> str:
    """One sentence that one may write on a card.

    Examples
    --------
    >>> from spoonline.tasters import Sample, plan_session
    >>> pair = [Sample(label="version 3", version=3), Sample(label="version 5", version=5)]
    >>> plan = plan_session("Soup", "pair", pair, 4, expected=True)
    >>> session_sentence(plan)
    '4 tasters are planned and have not answered yet (directional pair)'
    """
    if not session.ballots():
        return said("not answered", n=session.tasters, test=test_name(session))
    return read_session(session).short


def test_name(session: Session) -> str:
    """The test in the words of the trade."""
    directional = "directional pair, two-sided" if session.two_sided else "directional pair"
    pair = "preference pair" if session.about == "liking" else directional
    known = {"pair": pair, "ranking": f"ranking of {session.about}", "just right": "just-about-right"}
    return known.get(session.test, session.test)


@takes_quantities
def read_session(session: Session) -> SessionReading:
    r"""Read the answers of a session.

    "Not significant" is never read as "the same": that is said only where a limit for it was set beforehand and the
    similarity test holds.

    Parameters
    ----------
    session : Session
        With its ballots, see :meth:`Session.with_answers`.

    Raises
    ------
    BatchError
        If nobody has answered.

    Examples
    --------
    >>> from spoonline.tasters import Sample, plan_session
    >>> pair = [Sample(label="version 3", version=3), Sample(label="version 5", version=5)]
    >>> plan = plan_session("Soup", "pair", pair, 12, expected=True)
    >>> ballots = "\n".join(f"{taster}: {plan.right_code(taster)}" for taster in range(1, 13))
    >>> read_session(plan.with_answers(ballots)).text.split(":")[0]
    'Tasters can tell'
    """
    answers = session.ballots()
    said.refuse(not answers, "no ballot")
    if session.test in CHOICES:
        return _choice(session, _right(session), len(answers))
    # one row a taster, one column a sample; points and ranks come first, just-about-right second
    table = np.array([[marks[code] for code, *_ in session.codes] for marks in answers.values()])
    read = {"ranking": _ranking, "liking": _liking, "just right": _just_right}[session.test]
    return read(session, table)


def _right(session: Session) -> int:
    """How many ballots of a choice are right."""
    return sum(session.right_code(taster) in marks for taster, marks in session.ballots().items())


def told_band(session: Session, viscosities: Mapping[int, float]) -> Range | None:
    """The band within which these tasters could hardly tell a pot from its aim: the ratio of thickness that 75 of 100 pairs would tell.

    From two versions of known viscosity [Pa s] that were tried against each other by choice; None for any other session, or where nobody
    told them apart. 90 % range, of the share of right answers alone; steps add up in ln viscosity (judged).
    """
    pair = [viscosities.get(each.version, math.nan) for each in session.samples]
    n = len(session.ballots())
    asked = session.test in CHOICES and session.about != "liking" and n > 0
    if not asked or not 0 < pair[0] != pair[1] > 0:
        return None
    apart = abs(math.log(pair[1] / pair[0]))
    told = (forced.distance(each, session.test) for each in forced.right_answers(_right(session), n))
    steps = (each / forced.STEP_DISTANCE for each in told)
    best, widest, least = (math.exp(apart / step) if step > 0 else math.inf for step in steps)
    return Range(best, least, widest) if math.isfinite(best) else None


def _choice(session: Session, right: int, n: int) -> SessionReading:
    two, guess, method = session.two_sided, forced.GUESS[session.test], session.test
    first, second = (each.label for each in session.samples)
    if two and 2 * right < n:
        first, second, right = second, first, n - right
    liked = session.about == "liking"
    found = f"liked {second} better than {first}" if liked else f"found {second} thicker than {first}"
    p, least = forced.exact_p(right, n, guess, two_sided=two), forced.critical_correct(n, guess, two_sided=two)
    counted, significant = f"{right} of {n} {FOUND_WORDS.get(method, found)}", p <= forced.ALPHA
    can = "A preference" if liked else "Tasters can tell"
    cannot = "No preference could be shown" if liked else "No difference could be shown"
    # a crowd on the side that was not expected is no sign that nobody tells
    against = method == "pair" and not two and 2 * right < n
    swapped = against and forced.exact_p(n - right, n, guess, two_sided=True) <= forced.ALPHA
    words, sides = f"{n} tasters, {test_name(session)}", f"{_p(p)}{', two-sided' if two else ''}"
    short = f"{can}: {counted} ({test_name(session)}, {_p(p)})" if significant else f"{cannot} ({words})"
    sentences = [f"{can}: {counted} ({sides})." if significant else f"{cannot}: {counted} ({sides}). {NOT_SAME}"]
    share = forced.right_answers(right, n)
    percent = Range(*(100 * each for each in share))
    if swapped:
        short = f"Most tasters found {first} thicker than {second}, against expectation ({words})"
        sentences = [said("swapped", short=short, against=n - right, n=n)]
    elif liked:
        sentences.append(f"Of 100 people {percent:.0f} would choose {second} (90 % range).")
    else:
        tell = Range(*(100 * forced.who_can_tell(each, guess) for each in share))
        apart = _apart(Range(*(forced.distance(each, method) for each in share)))
        sentences.append(f"Of 100 people {tell:.0f} truly tell (90 % range), d' {apart}.")
    if session.same_share is not None:
        similar, sentence = _similarity(session, max(right, n - right) if method == "pair" else right, n, guess)
        sentences.append(sentence)
        if similar and not significant:
            short = f"{sentence.partition(' (')[0].partition(': ')[2].capitalize()} ({words}, similarity test)"
    sentences.append(power_sentence(session, n))
    marks = {"guessing": 100 * guess} | ({} if least is None else {"significant from": 100 * least / n})
    name = f"chose {second}" if method == "pair" else "right"
    return SessionReading(short, tuple(sentences), ((f"{name}, {right} of {n}", percent),), "% of answers", marks)


def _similarity(session: Session, right: int, n: int, guess: float) -> tuple[bool, str]:
    limit = float(session.same_share or 0)
    at, fewer = guess + limit * (1 - guess), f"fewer than {100 * limit:.0f} of 100 people"
    p, most = forced.similar_p(right, n, at), forced.most_correct(n, at)
    # an answer below guessing is luck, no proof; the published tables leave such cells blank
    enough = most is not None and most >= n * guess
    if enough and p <= forced.ALPHA:
        return True, f"Similarity test: {fewer} truly tell ({_p(p)}, the limit set for the same)."
    needs = f"at most {most} of {n} right would" if enough else f"{n} tasters cannot"
    few = "; fewer than 30 are rarely enough" if n < 30 else ""
    return False, f"Similarity test: it is not shown that {fewer} tell ({needs}{few})."


def _ranking(session: Session, table: NDArray[np.float64]) -> SessionReading:
    ranks = table[:, :, 0]
    n, labels = len(ranks), [each.label for each in session.samples]
    found = forced.rank_friedman(ranks)
    order = np.argsort(found.sums, kind="stable")
    thick = session.about == "thickness"
    ends = "thinnest first" if thick else "best liked first"
    listed = f"{', '.join(labels[which] for which in order)} ({ends})"
    if session.expected:
        value, p = forced.rank_page(ranks)
        rests, significant = f"Page's L {value:g}, {_p(p)}", p <= forced.ALPHA
        head = "Tasters rank them as expected" if significant else "The expected order could not be shown"
        listed = f"{', '.join(labels)} ({ends})" if significant else listed
    else:
        p = found.p_value
        rests, significant = f"Friedman's statistic {found.statistic:.2f}, {_p(p)}", p <= forced.ALPHA
        differ = "Tasters tell some of them apart" if thick else "Some are liked better"
        head = differ if significant else "No order could be shown"
    who = f"{n} tasters, {test_name(session)}"
    short = f"{head}: {listed} ({who}, {_p(p)})" if significant else f"{head} ({who})"
    sentences = [f"{head}: {listed}; {rests}.", *([] if significant else [NOT_SAME])]
    sums = ", ".join(f"{labels[which]} {found.sums[which]:g}" for which in order)
    if found.p_value <= forced.ALPHA:
        far = ((a, b) for a, b in combinations(order, 2) if found.sums[b] - found.sums[a] >= found.least_difference)
        pairs = [f"{labels[a]} and {labels[b]}" for a, b in far]
        apart = f"apart by {found.least_difference:.1f} or more: {'; '.join(pairs) or 'no pair'} (one pair at a time)"
    else:
        apart = "no single pair can be named apart"
    sentences += [f"Rank sums {sums}; {apart}.", power_sentence(session, n)]
    half = found.least_difference / n / 2
    means = [(labels[which], found.sums[which] / n) for which in order]
    rows = tuple((label, Range(mean, mean - half, mean + half)) for label, mean in means)
    return SessionReading(short, tuple(sentences), rows, f"mean rank ({ends})", {})


def _liking(session: Session, table: NDArray[np.float64]) -> SessionReading:
    points = table[:, :, 0]
    n, labels = len(points), [each.label for each in session.samples]
    liked = [forced.mean_points(column) or Range(float(column.mean()), 1.0, 9.0) for column in points.T]
    rows = tuple(zip(labels, liked, strict=True))
    means = ", ".join(f"{label} {mean:.1f}" for label, mean in rows)
    listed = f"liking of 9 points: {means} (90 % range, {n} tasters)".capitalize()
    if len(labels) == 1:
        return SessionReading(listed, (f"{listed}.", power_sentence(session, n)), rows, "points of 9", {})
    pairs = list(combinations(range(len(labels)), 2))
    apart, clear = [], []
    for a, b in pairs:
        low, high = (a, b) if points[:, b].mean() >= points[:, a].mean() else (b, a)
        gap = points[:, high] - points[:, low]
        p, mean = min(1.0, len(pairs) * forced.paired_p(gap)), forced.mean_points(gap)
        words = f"{labels[high]} {'' if mean is None else f'{mean:.1f} '}points above {labels[low]}"
        apart.append(f"{words} ({_p(p)})")
        clear += [f"{words} ({n} tasters, {_p(p)})"] if p <= forced.ALPHA else []
    head = f"Liked better: {'; '.join(clear)}" if clear else f"No difference in liking could be shown ({n} tasters)"
    more = f", each p times {len(pairs)} for as many pairs" if len(pairs) > 1 else ""
    answer, within = f"{head}." + ("" if clear else f" {NOT_SAME}"), f"Within tasters: {'; '.join(apart)}{more}."
    sentences = (answer, f"{listed}.", within, power_sentence(session, n))
    return SessionReading(head, sentences, rows, "points of 9", {})


def _just_right(session: Session, table: NDArray[np.float64]) -> SessionReading:
    n, rows, sentences, shorts = len(table), [], [], []
    for column, sample in enumerate(session.samples):
        liking, just = table[:, column, 0], table[:, column, 1]
        counts = [int(np.sum(each)) for each in (just < 3, just == 3, just > 3)]
        shares = [Range(*(100 * end for end in forced.right_answers(count, n))) for count in counts]
        sides = zip(("too thin", "just right", "too thick"), shares, strict=True)
        rows += [(f"{sample.label}: {name}", share) for name, share in sides]
        found = f"{counts[1]} of {n} tasters found the thickness of {sample.label} just right"
        shorts.append(f"{found} ({shares[1]:.0f} of 100, 90 % range)")
        off = counts[0] + counts[2]
        p = forced.exact_p(max(counts[0], counts[2]), off, 1 / 2, two_sided=True) if off else 1.0
        side = "too thin" if counts[0] > counts[2] else "too thick"
        lean = f": {side} rather than the other ({_p(p)})" if p <= forced.ALPHA else ": neither side could be shown"
        lean = lean if off else ""
        sentences.append(f"{shorts[-1]}; {counts[0]} too thin, {counts[2]} too thick{lean}.")
        sentences += _drops(sample.label, liking, just)
    sentences.append(power_sentence(session, n))
    return SessionReading("; ".join(shorts), tuple(sentences), tuple(rows), "% of tasters", {})


def _drops(label: str, liking: NDArray[np.float64], just: NDArray[np.float64]) -> list[str]:
    if 3.0 not in just:
        return [f"Nobody found {label} just right, so its drop in liking cannot be taken."]
    sentences = []
    for name, each in zip(("too thin", "too thick"), forced.mean_drops(liking, just), strict=True):
        drop = "too few to say how much less they like it"
        if each.within is not None:
            ends = f"({each.within.low:.1f} to {each.within.high:.1f}, 90 % range)"
            drop = f"they like it {each.drop:.1f} points less {ends}, {each.weighted:.1f} over all tasters"
        sentences += [f"{label}, {name} for {each.n}: {drop}."] if each.share >= WATCHED else []
    return sentences


def _p(p: float) -> str:
    return "p below 0.001" if p < 0.001 else f"p {p:.2g}"


def _apart(apart: Range) -> str:
    if math.isinf(apart.best):
        return f"above {apart.low:.1f}"
    return f"{apart.best:.1f} ({apart.low:.1f} or more)" if math.isinf(apart.high) else f"{apart:.1f}"
