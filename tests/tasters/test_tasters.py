"""Tasting sessions: codes and orders that hide and balance, answers as people type them, and a reading that never says too much."""

from __future__ import annotations

import itertools
import math
import re
from collections import Counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spoonline.measures.errors import BatchError
from spoonline.tasters import TESTS, Sample, Session, plan_session, power_sentence, read_session, session_sentence
from spoonline.tasters import tests as t
from spoonline.tasters.plan import serving_orders
from spoonline.widgets.parts.sheets import ballots_html, key_html
from tiers import drawn

NAMES = ["Cook A", "Cook B", "Cook C", "Cook D"]


def samples(count: int, **more) -> list[Sample]:
    return [Sample(label=f"version {number}", version=number, **more) for number in range(3, 3 + count)]


def planned(test: str = "pair", count: int = 2, tasters: int = 12, **more) -> Session:
    return plan_session("Roast parsnip and pear soup", test, samples(count, temperature_c=60), tasters, **more)


def choosing(session: Session, right: int) -> Session:
    """The session with so many right answers, the others wrong."""
    lines = []
    for taster, order in enumerate(session.orders, start=1):
        best = session.right_code(taster)
        lines.append(f"{taster}: {best if taster <= right else next(code for code in order if code != best)}")
    return session.with_answers("\n".join(lines))


# -- codes and orders -------------------------------------------------------------------------------------------


@given(test=st.sampled_from(TESTS), tasters=st.integers(2, 60), seed=st.integers(0, 10**6), count=st.integers(3, 5))
@drawn(60, 15)
def test_codes_are_unique_and_suggest_no_rank(test: str, tasters: int, seed: int, count: int) -> None:
    count = 2 if test in ("pair", "triangle", "duo-trio") else count
    session = planned(test, count, tasters, seed=seed)
    codes = [code for each in session.codes for code in each]
    assert len(set(codes)) == len(codes) == count * (2 if test == "triangle" else 1)
    for code in codes:
        assert re.fullmatch(r"[2-9][1-9][1-9]", code) and len(set(code)) == 3
        assert code not in "123456789" and code not in "987654321"
        assert not set(code) <= set("1689"), "no other number when held upside down"
    assert len({code[0] for code in codes}) == len(codes)
    assert session == planned(test, count, tasters, seed=seed), "the same draw gives the same plan"


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6])
def test_whole_blocks_are_balanced(count: int) -> None:
    """Each sample equally often in each place, and equally often right after each other one (Williams 1949, memory)."""
    import random

    block = count if count % 2 == 0 else 2 * count
    orders = serving_orders("ranking", count, 2 * block, random.Random(5))
    for place in range(count):
        assert set(Counter(order[place] for order in orders).values()) == {2 * block // count}
    after = Counter(pair for order in orders for pair in itertools.pairwise(order))
    assert len(after) == count * (count - 1) and len(set(after.values())) == 1


def test_orders_of_the_difference_tests() -> None:
    triangle = planned("triangle", tasters=12)
    shapes = Counter(tuple(triangle.sample_of(code) for code in order) for order in triangle.orders)
    assert len(shapes) == 6 and set(shapes.values()) == {2}
    assert all(len(set(order)) == 3 for order in triangle.orders), "three cups, three codes"
    duo = planned("duo-trio", tasters=8)
    both = zip(duo.references, duo.orders, strict=True)
    shapes = Counter((reference, *map(duo.sample_of, order)) for reference, order in both)
    assert len(shapes) == 4 and set(shapes.values()) == {2}
    uneven = Counter(planned("pair", tasters=9).orders)
    assert sorted(uneven.values()) == [4, 5]


# -- exactness against brute force ------------------------------------------------------------------------------


@pytest.mark.parametrize(("n", "ways"), [(4, 2), (7, 2), (6, 3)])
def test_binomial_by_enumeration(n: int, ways: int) -> None:
    """Every outcome of n guesses among so many cups, counted."""
    right = [sum(each == 0 for each in outcome) for outcome in itertools.product(range(ways), repeat=n)]
    for k in range(n + 1):
        share = sum(each >= k for each in right) / len(right)
        assert t.exact_p(k, n, 1 / ways) == pytest.approx(share, abs=1e-12)
        assert t.similar_p(k, n, 1 / ways) == pytest.approx(sum(each <= k for each in right) / len(right), abs=1e-12)


@pytest.mark.parametrize(
    "rows", [[[1, 2, 3]] * 4, [[1, 2.5, 2.5], [1, 2, 3], [2, 1, 3]], [[1, 2, 3, 4], [2, 1, 4, 3], [1, 2.5, 2.5, 4]]]
)
def test_friedman_by_enumeration(rows: list[list[float]]) -> None:
    """Every way to shuffle every row, ties and all."""
    table = np.array(rows)
    shuffles = [list(itertools.permutations(row)) for row in rows]
    sums = [np.sum(np.sum(pick, axis=0) ** 2) for pick in itertools.product(*shuffles)]
    share = np.mean(np.array(sums) >= np.sum(table.sum(axis=0) ** 2) - 1e-9)
    assert t.rank_friedman(table).p_value == pytest.approx(share, abs=1e-12)


def test_page_by_enumeration() -> None:
    orders = list(itertools.permutations((1, 2, 3)))
    values = [sum(np.dot(row, (1, 2, 3)) for row in pick) for pick in itertools.product(orders, repeat=4)]
    for table in ([[1, 2, 3]] * 4, [[1, 2, 3], [2, 1, 3], [1, 3, 2], [1, 2, 3]]):
        value, p = t.rank_page(table)
        assert p == pytest.approx(np.mean(np.array(values) >= value), abs=1e-12)


def test_the_ranking_power_is_found_again() -> None:
    """At the distance said, other invented sessions are significant in about 8 of 10."""
    d = t.ranking_distance(10, 4, ordered=True)
    rng, hits = np.random.default_rng(99), 0
    for _ in range(600):
        table = np.argsort(np.argsort(rng.normal(size=(10, 4)) + d * np.linspace(0, 1, 4), axis=1), axis=1) + 1
        hits += t.rank_page(table)[1] <= 0.05
    assert 0.74 < hits / 600 < 0.86


def test_least_found_has_the_power_said() -> None:
    for n, guess in ((6, 1 / 2), (12, 1 / 2), (12, 1 / 3), (30, 1 / 3)):
        right = t.right_found(n, guess)
        assert float(t.power(n, right, guess)) == pytest.approx(0.8, abs=1e-6)
    assert t.right_found(4, 1 / 2) is None


# -- answers ----------------------------------------------------------------------------------------------------


def test_answers_as_people_type_them() -> None:
    pair = planned(tasters=4, names=NAMES)
    first = pair.orders[2][0]
    read = pair.with_answers(f"cook c: {first}\n\n 1 {pair.orders[0][1]} \n2: -\n4:").ballots()
    assert sorted(read) == [1, 3], "a dash or nothing is no answer"
    assert read[3] == {first: (1.0,)}
    assert not any("ook" in line for line in pair.with_answers(f"Cook C: {first}").answers), "names are kept apart"
    ranking = planned("ranking", 3, 4)
    a, b, c = ranking.orders[0]
    assert ranking.with_answers(f"1: {b} < {a} = {c}").ballots()[1] == {b: (1,), a: (2.5,), c: (2.5,)}
    assert ranking.with_answers(f"1: {b}, {c} {a}").ballots()[1] == {b: (1,), c: (2,), a: (3,)}
    liking = planned("liking", 2, 4)
    a, b = liking.orders[0]
    for typed in (f"1: {b} 7, {a} 6", f"1: {b}: 7; {a}=6", "1: 6 7", "1 6, 7"):
        assert liking.with_answers(typed).ballots()[1] == {a: (6,), b: (7,)}
    just = planned("just right", 2, 4)
    a, b = just.orders[0]
    for typed in (f"1: {b} 7 too thin; {a} 6 just right", "1: 6 3, 7 2", "1: 6 right, 7 a little too thin"):
        assert just.with_answers(typed).ballots()[1] == {a: (6, 3), b: (7, 2)}


@pytest.mark.parametrize(
    ("test", "count", "typed", "said"),
    [
        ("pair", 2, "1: 999", "their ballot has the codes"),
        ("pair", 2, "1: A B", "their ballot has the codes"),
        ("pair", 2, "Mr X: 534", "begin each line with the taster's number"),
        ("pair", 2, "13: 534", "1 to 12"),
        ("pair", 2, "1: {a}\n1: {b}", "Taster 1 has two lines"),
        ("ranking", 3, "1: {a} {b}", "is wanted once"),
        ("ranking", 3, "1: {a} {a} {b}", "is wanted once"),
        ("ranking", 3, "1: {a} > {b} > {c}", "thinnest first"),
        ("liking", 2, "1: {a} 10, {b} 3", "points from 1 to 9"),
        ("liking", 2, "1: {a} 0, {b} 3", "points from 1 to 9"),
        ("liking", 2, "1: {a} 7", "is wanted once"),
        ("liking", 2, "1: 7 7 7", "points from 1 to 9"),
        ("just right", 1, "1: {a} 7 lumpy", "too thin"),
        ("just right", 1, "1: {a} 7", "too thin"),
        ("just right", 1, "1: 7 3, 7 3", "liking from 1 to 9"),
    ],
)
def test_answers_that_cannot_be_read(test: str, count: int, typed: str, said: str) -> None:
    session = planned(test, count)
    codes = dict(zip("abc", session.orders[0], strict=False))
    with pytest.raises(BatchError, match=re.escape(said)):
        session.with_answers(typed.format(**codes))


@given(text=st.text(max_size=40))
@drawn(150)
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    for test, count in (("pair", 2), ("ranking", 3), ("liking", 2), ("just right", 2)):
        try:
            planned(test, count).with_answers(text)
        except BatchError as err:
            assert str(err)


# -- records ----------------------------------------------------------------------------------------------------


def test_a_session_is_kept_and_corrected(tmp_path) -> None:
    import spoonline as sl

    book = sl.open_logbook(tmp_path / "kitchen.sqlite")
    plan = book.keep(planned(tasters=4, names=NAMES, expected=True))
    answered = book.keep(choosing(plan, 4))
    assert answered.key == plan.key and answered.id != plan.id
    assert [each.id for each in book.kept(Session, plan.title)] == [answered.id]
    assert book.kept(Session)[0].names == tuple(NAMES)
    assert len(book.kept(Session, history=True)) == 2
    book.take_back(answered)
    assert [each.id for each in book.kept(Session)] == [plan.id], "the plan stands again"
    book.close()


def test_names_stay_behind() -> None:
    session = choosing(planned(tasters=4, names=NAMES), 3)
    assert "Cook" not in ballots_html(session) and "Cook B" in key_html(session)
    assert "Cook" not in read_session(session).text


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"count": 3}, "takes 2"),
        ({"test": "ranking"}, "takes 3 to 6"),
        ({"tasters": 1}, "^Tasters: 2 or more is wanted"),
        ({"tasters": 4, "names": NAMES[:3]}, "3 names came for 4 tasters"),
        ({"test": "liking", "expected": True}, "expected order"),
        ({"about": "liking", "expected": True}, "expected order"),
        ({"test": "liking", "same_share": 0.2}, "limit for 'the same'"),
        ({"same_share": 1.5}, "^The same if fewer than this share tell: a figure below 1 is wanted"),
        ({"test": "smelling"}, "test"),
    ],
)
def test_plans_that_do_not_hold(change: dict, said: str) -> None:
    with pytest.raises(BatchError, match=said):
        planned(**change)
    with pytest.raises(BatchError, match="same name"):
        plan_session("Soup", "pair", [samples(1)[0]] * 2, 4)


# -- the reading ------------------------------------------------------------------------------------------------


def test_a_difference_is_said_with_range_and_power() -> None:
    found = read_session(choosing(planned(expected=True), 11))
    assert found.short == (
        "Tasters can tell: 11 of 12 found version 4 thicker than version 3 (directional pair, p 0.0032)"
    )
    assert "Of 100 people 83 (32-99) truly tell (90 % range), d' 2.0" in found.text
    assert "10 of 12 must be right; 8 of 10 sessions of 12 tasters find" in found.text
    assert "20" not in session_sentence(planned()) and "not answered yet" in session_sentence(planned())


@pytest.mark.parametrize("test", ["pair", "triangle", "duo-trio"])
@pytest.mark.parametrize("right", [4, 5, 6, 7])
def test_not_significant_is_never_the_same(test: str, right: int) -> None:
    for more in ({}, {"same_share": 0.3}) if test != "pair" else ({"expected": True}, {}, {"same_share": 0.3}):
        found = read_session(choosing(planned(test, **more), right))
        assert found.short.startswith("No difference could be shown (12 tasters, ")
        assert "That is not the same as no difference." in found.text and "people truly tell" in found.text
        assert not re.search(r"(?<!not )the same(?! as no)", found.short)


def test_sameness_needs_its_own_limit_and_enough_tasters() -> None:
    """60 tasters in a triangle, limit 30 %: at most 25 right (computed table of similarity)."""
    for right, shown in ((25, True), (26, False)):
        found = read_session(choosing(planned("triangle", tasters=60, same_share=0.3), right))
        assert ("fewer than 30 of 100 people truly tell" in found.text) is shown
        assert found.short.startswith(
            "Fewer than 30 of 100 people truly tell" if shown else "No difference could be shown"
        )
    assert "Similarity" not in read_session(choosing(planned("triangle", tasters=60), 20)).text


def test_all_on_the_unexpected_side_is_not_read_as_nobody_tells() -> None:
    found = read_session(choosing(planned(expected=True, same_share=0.3), 0))
    assert found.short == (
        "Most tasters found version 3 thicker than version 4, against expectation (12 tasters, directional pair)"
    )
    assert "swapped" in found.text and "it is not shown that fewer" in found.text and "0 (0-0)" not in found.text


def test_either_side_of_a_two_sided_pair() -> None:
    low, high = (read_session(choosing(planned(), right)) for right in (1, 11))
    assert "11 of 12 found version 3 thicker than version 4" in low.text
    assert "11 of 12 found version 4 thicker than version 3" in high.text
    assert low.rows[0][1] == high.rows[0][1]
    liked = read_session(choosing(planned(about="liking"), 11))
    assert "A preference: 11 of 12 liked version 4 better" in liked.short and "Pa s" not in liked.text


def test_rankings_are_read() -> None:
    clear = planned("ranking", 3, 8, expected=True)
    codes = [each[0] for each in clear.codes]
    found = read_session(clear.with_answers("\n".join(f"{taster}: {' '.join(codes)}" for taster in range(1, 9))))
    assert found.short.startswith("Tasters rank them as expected: version 3, version 4, version 5 (thinnest first)")
    assert "Page's L 112" in found.text and "version 3 and version 5" in found.text
    level = read_session(clear.with_answers("\n".join(f"{taster}: {'='.join(codes)}" for taster in range(1, 9))))
    assert "could not be shown" in level.short and "not the same" in level.text


def test_points_are_read() -> None:
    liking = planned("liking", 2, 8)
    lines = [
        f"{taster}: {liking.codes[0][0]} {4 + taster % 2}, {liking.codes[1][0]} {7 + taster % 3 % 2}"
        for taster in range(1, 9)
    ]
    found = read_session(liking.with_answers("\n".join(lines)))
    assert "points above version 3" in found.short and found.rows[1][1].low > found.rows[0][1].high
    flat = read_session(liking.with_answers("\n".join(f"{taster}: 6 6" for taster in range(1, 9))))
    assert (
        flat.short.startswith("No difference in liking could be shown")
        and flat.rows[0][1].low < 6 < flat.rows[0][1].high
    )
    just = planned("just right", 1, 12)
    lines = [f"{taster}: {8 if taster > 6 else 5 + taster % 2} {3 if taster > 6 else 2}" for taster in range(1, 13)]
    found = read_session(just.with_answers("\n".join(lines)))
    assert "6 of 12 tasters found the thickness of version 3 just right" in found.short
    assert "too thin rather than the other (p 0.031)" in found.text and "they like it 2.5 points less" in found.text
    few = read_session(just.with_answers("1: 8 3\n2: 4 2\n3: 4 2"))
    assert "too few to say" in few.text
    assert "cannot be taken" in read_session(just.with_answers("1: 8 2\n2: 4 2")).text


@given(test=st.sampled_from(TESTS), seed=st.integers(0, 10**6), tasters=st.integers(2, 14))
@drawn(60, 15)
def test_every_session_can_be_read(test: str, seed: int, tasters: int) -> None:
    import random

    draw = random.Random(seed)
    session = planned(test, 2 if test in ("pair", "triangle", "duo-trio") else 3, tasters, seed=seed)
    lines = []
    for taster, order in enumerate(session.orders, start=1):
        mixed = draw.sample(order, len(order))
        said = {"ranking": " ".join(mixed), "liking": ", ".join(f"{code} {draw.randint(1, 9)}" for code in mixed),
                "just right": ", ".join(f"{code} {draw.randint(1, 9)} {draw.randint(1, 5)}" for code in mixed)}  # fmt: skip
        lines.append(f"{taster}: {said.get(test, mixed[0])}")
    found = read_session(session.with_answers("\n".join(lines)))
    assert found.short and "nan" not in found.text and "inf" not in found.text
    for _, each in found.rows:
        assert each.low <= each.best <= each.high and math.isfinite(each.high)


def test_power_is_said_before() -> None:
    assert power_sentence(planned(expected=True)).startswith(
        "10 of 12 must be right; 8 of 10 sessions of 12 tasters find"
    )
    assert "at least 5 are needed" in power_sentence(planned(expected=True, tasters=4))
    assert "at least 6 are needed" in power_sentence(planned(tasters=4))
    assert "with a directional pair" in power_sentence(planned("triangle"))
    for test in ("ranking", "liking", "just right"):
        assert "mostly missed" in power_sentence(planned(test, 3))


def test_sheets_stand_alone_and_hide_what_they_must() -> None:
    for test in TESTS:
        session = planned(test, 2 if test in ("pair", "triangle", "duo-trio") else 3, 6)
        ballots, key = ballots_html(session), key_html(session)
        assert ballots.count('<section class="ballot') == 6 and "version" not in ballots
        for sheet in (ballots, key):
            assert not re.search(r"https?:|<script|<link|src=", sheet) and "size: A4" in sheet
        for order in session.orders:
            assert all(code in ballots and code in key for code in order)
        scaled = session.test in ("liking", "just right")
        assert ballots.count('<div class="leaf">') == math.ceil(6 / (2 if scaled else 4)), "two or four to a leaf"
        assert ".tick { display: inline-block; width: 6mm; height: 6mm" in ballots
        numbers = [re.findall(r"<b>(\d)</b>", row) for row in re.findall(r"<table><tr><th></th>.*?</tr>", ballots)]
        assert all(row == sorted(row) for row in numbers) and bool(numbers) == scaled, "scales run one way"
        assert "For the server only" in key and "For the server only" not in ballots
        assert "local code" in key and "allergens" in key and "swallowing" in key
    cold = plan_session("Soup <b>", "pair", [samples(1)[0], Sample(label="<i>", version=9, temperature_c=20)], 4)
    assert "one temperature" in key_html(cold) and "<i>" not in key_html(cold) and "Soup <b>" not in ballots_html(cold)
