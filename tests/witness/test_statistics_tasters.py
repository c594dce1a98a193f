"""Tasters: forced choices, distances, rankings and just-about-right against printed tables and reference libraries.

"Published" is read in the source named; "library" stands in the tests or manual of a public package; "computed" was worked
out with scipy 1.17 or by brute force, independently of spoonline.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2, page_trend_test, rankdata, ttest_ind

from spoonline.tasters import tests as t

pytestmark = pytest.mark.kind("published")

ALPHAS = (0.20, 0.10, 0.05, 0.01, 0.001)
# Triangle at .10, .05, .01, .001: FAO document V7180E (published). Duo-trio, equal to a one-sided pair: GOST ISO 10399-2015, table A.1,
# and GOST R 53161-2008 = ISO 5495 (published) from n = 6. Two-sided pairs, n < 6, and the triangle at .20: computed.
MINIMUM = """
5 | 4 4 4 5 - | 4 5 5 - - | 5 5 - - -
6 | 4 5 5 6 - | 5 6 6 - - | 6 6 6 - -
8 | 5 5 6 7 8 | 6 7 7 8 - | 7 7 8 8 -
10 | 6 6 7 8 9 | 7 8 9 10 10 | 8 9 9 10 -
12 | 6 7 8 9 10 | 8 9 10 11 12 | 9 10 10 11 12
15 | 8 8 9 10 12 | 10 11 12 13 14 | 11 12 12 13 14
18 | 9 10 10 12 13 | 12 13 13 15 16 | 13 13 14 15 17
20 | 9 10 11 13 14 | 13 14 15 16 18 | 14 15 15 17 18
24 | 11 12 13 15 16 | 15 16 17 19 20 | 16 17 18 19 21
30 | 13 14 15 17 19 | 18 20 20 22 24 | 20 20 21 23 25
36 | 15 17 18 20 22 | 22 23 24 26 28 | 23 24 25 27 29
60 | 24 26 27 30 33 | 34 36 37 40 43 | 36 37 39 41 44
"""


@pytest.mark.parametrize("line", MINIMUM.strip().splitlines(), ids=lambda line: "n=" + line.split()[0])
def test_critical_numbers(line: str) -> None:
    """Checks 17, 20: every cell of the table."""
    n, triangle, half, both = (part.split() for part in line.split("|"))
    for cells, guess, two in ((triangle, 1 / 3, False), (half, 1 / 2, False), (both, 1 / 2, True)):
        found = [t.critical_correct(int(n[0]), guess, alpha, two_sided=two) for alpha in ALPHAS]
        assert found == [None if cell == "-" else int(cell) for cell in cells]


def test_critical_numbers_of_few_and_of_many() -> None:
    """Pairs of 3 and 4 (computed); check 19, duo-trio n = 40 (GOST ISO 10399, published); check 30 (sensR after Bi 2001, library)."""
    assert [t.critical_correct(3, 1 / 2, alpha) for alpha in ALPHAS] == [3, None, None, None, None]
    assert [t.critical_correct(4, 1 / 2, alpha) for alpha in ALPHAS] == [4, 4, None, None, None]
    assert [t.critical_correct(3, 1 / 2, alpha, two_sided=True) for alpha in ALPHAS] == [None] * 5
    assert [t.critical_correct(4, 1 / 2, alpha, two_sided=True) for alpha in ALPHAS] == [4] + [None] * 4
    assert [t.critical_correct(40, 1 / 2, alpha) for alpha in ALPHAS] == [24, 25, 26, 28, 31]
    assert t.critical_correct(100, 1 / 4) == 33


def test_similarity() -> None:
    """Check 21 and the row n = 132 of GOST R 53161 (published; its blank cells lie below guessing, 66); triangles computed."""
    most = {
        beta: [t.most_correct(132, 0.5 + share / 2, beta) for share in (0.1, 0.2, 0.3, 0.4, 0.5)]
        for beta in (0.05, 0.10, 0.20, 0.01)
    }
    assert most == {
        0.05: [62, 69, 76, 83, 90], 0.10: [64, 71, 78, 85, 92], 0.20: [67, 73, 80, 87, 94], 0.01: [58, 65, 72, 79, 86],
    }  # fmt: skip
    for n, cells in ((60, "21 22 24 25 26 28 29 30 32"), (30, "9 10 11 11 11 13 13 14 15")):
        found = [
            t.most_correct(n, 1 / 3 + share * 2 / 3, beta) for share in (0.2, 0.3, 0.4) for beta in (0.05, 0.1, 0.2)
        ]
        assert found == [int(cell) for cell in cells.split()]
    # 20 of 75 in a triangle, limit 20 % (sensR, test-discrim_pd0.R, library)
    assert t.similar_p(20, 75, 1 / 3 + 0.2 * 2 / 3) == pytest.approx(0.000306144, abs=5e-10)


@pytest.mark.kind("computed")
def test_power_of_pair_and_triangle() -> None:
    """Power at d' 1, 1.5, 2 for n = 6 ... 30, pair one-sided and triangle (computed)."""
    many = [6, 8, 10, 12, 15, 20, 24, 30]
    cells = {
        1.0: ".193/.050 .393/.062 .268/.069 .423/.074 .499/.122 .658/.166 .802/.154 .917/.233",
        1.5: ".392/.116 .675/.153 .565/.183 .755/.207 .840/.322 .942/.435 .984/.445 .998/.600",
        2.0: ".612/.241 .874/.326 .817/.394 .937/.452 .974/.625 .997/.769 1.00/.801 1.00/.912",
    }
    for d, row in cells.items():
        expected = np.array([[float(cell) for cell in pair.split("/")] for pair in row.split()]).T
        for method, wanted in zip(("pair", "triangle"), expected, strict=True):
            found = t.power(many, t.chance_correct(d, method), t.GUESS[method])
            assert found == pytest.approx(wanted, abs=5.1e-4)


@pytest.mark.kind("computed")
def test_power_and_size_of_the_reference_library() -> None:
    """Checks 28 and 29 (sensR, library); sizes for p_d .2 to .5 and the sawtooth (computed)."""
    assert float(t.power(30, t.chance_correct(1.0, "pair"), 1 / 2)) == pytest.approx(0.917255217993622, abs=1e-9)
    assert float(t.power(20, 0.75, 1 / 2)) == pytest.approx(0.6171726543871, abs=1e-9)
    assert t.tasters_needed(t.chance_correct(0.9, "triangle"), 1 / 3) == 297
    assert [t.tasters_needed(1 / 3 + share * 2 / 3, 1 / 3) for share in (0.2, 0.3, 0.4, 0.5)] == [87, 40, 23, 16]
    assert [t.tasters_needed(0.5 + share / 2, 1 / 2) for share in (0.2, 0.3, 0.4, 0.5)] == [158, 69, 37, 23]
    assert t.power([23, 24, 25, 26], 0.75, 1 / 2) == pytest.approx([0.804, 0.766, 0.727, 0.820], abs=5.1e-4)


@pytest.mark.kind("computed")
def test_distance_of_the_forced_choices() -> None:
    """Checks 24 and 25: sensR, test-links.R (library, good to 2e-5), exact roots computed."""
    triangle = [t.chance_correct(float(d), "triangle") for d in (1, 2, 3, 4)]
    assert triangle == pytest.approx([0.418046675, 0.604806933, 0.781427599, 0.897660380], abs=1e-8)
    roots = [t.distance(share, "triangle") for share in (0.4, 0.5, 0.6, 0.7, 0.8, 0.9)]
    assert roots == pytest.approx([0.87911, 1.46626, 1.97560, 2.50372, 3.12859, 4.02763], abs=3e-5)
    assert roots == pytest.approx([0.879112, 1.466263, 1.975585, 2.503705, 3.128585, 4.027626], abs=1e-6)
    duo = [t.chance_correct(float(d), "duo-trio") for d in (1, 2)]
    assert duo == pytest.approx([0.582475444, 0.746820246], abs=1e-8)
    roots = [t.distance(share, "duo-trio") for share in (0.6, 0.7, 0.8)]
    assert roots == pytest.approx([1.115210, 1.715302, 2.354862], abs=2e-5)
    assert roots == pytest.approx([1.115221, 1.715302, 2.354860], abs=1e-6)


@pytest.mark.kind("computed")
def test_ten_of_fifteen() -> None:
    """10 of 15 in a pair: d' (sensR, man/discrim.Rd, library)."""
    assert t.distance(10 / 15, "pair") == pytest.approx(0.60914, abs=1.1e-5)


@pytest.mark.kind("computed")
def test_range_of_right_answers() -> None:
    """10 of 15: exact 95 % range .3838 to .8818 (the upper end in sensR's manual, library; the lower computed)."""
    assert t.right_answers(10, 15, 0.95) == pytest.approx((2 / 3, 0.3838, 0.8818), abs=5e-5)


def ranks_with(sums: list[int], judges: int) -> np.ndarray:
    """Any table of untied ranks that has these rank sums."""
    rng, wanted = np.random.default_rng(0), np.array(sums)
    table = np.array([rng.permutation(len(sums)) + 1 for _ in range(judges)])
    for _ in range(200_000):
        off = table.sum(axis=0) - wanted
        if not off.any():
            return table
        row, a, b = rng.integers(judges), *rng.choice(len(sums), 2, replace=False)
        gap = table[row, b] - table[row, a]
        if abs(off[a] + gap) + abs(off[b] - gap) <= abs(off[a]) + abs(off[b]):
            table[row, [a, b]] = table[row, [b, a]]
    raise AssertionError("no such table was found")


def test_friedman() -> None:
    """Check 31: Zar's example 12.6 (published, through scipy's own tests): 10.68, chi-square p there; 20 tasters keep that p here."""
    zar = "7 9.9 8.5 5.1 10.3 5.3 5.7 4.7 3.5 7.7 4.9 7.6 5.5 2.8 8.4 8.8 8.9 8.1 3.3 9.1"
    ranks = rankdata(np.array(zar.split(), dtype=float).reshape(4, 5).T, axis=1)
    found = t.rank_friedman(ranks)
    assert found.statistic == pytest.approx(10.68, abs=1e-9)
    assert chi2.sf(found.statistic, 3) == pytest.approx(0.0135882729582176, abs=1e-12)
    many = t.rank_friedman(np.vstack([ranks] * 4))
    assert many.statistic == pytest.approx(4 * 10.68, abs=1e-9)
    assert many.p_value == pytest.approx(chi2.sf(4 * 10.68, 3), rel=1e-9)


def test_friedman_of_rank_sums() -> None:
    """Check 32: ISO 8587 annex, second-hand (published); its exact p .02465 and least difference 12.40 (computed)."""
    found = t.rank_friedman(ranks_with([17, 31, 32, 23, 17], 8))
    assert found.statistic == pytest.approx(10.6, abs=1e-9)
    assert found.p_value == pytest.approx(0.02465, abs=5e-6)
    assert found.least_difference == pytest.approx(12.40, abs=5e-3)


def test_friedman_of_seven_judges() -> None:
    """Check 33: student report STM3105 (published) 34.51; its least difference 15.06 is a slip (5 for 6), right is 13.72 (computed)."""
    found = t.rank_friedman([[1, 2, 3, 4, 5, 6]] * 6 + [[1, 2, 3, 4, 6, 5]])
    assert found.sums == (7, 14, 21, 28, 36, 41)
    assert found.statistic == pytest.approx(34.51, abs=5e-3)
    assert found.least_difference == pytest.approx(13.72, abs=5e-3)


@pytest.mark.kind("computed")
def test_exact_friedman_limits() -> None:
    """Least F with p <= .05, exact (computed from the full distribution)."""
    limits = {
        (4, 3): 6.5,
        (6, 3): 7.0,
        (8, 3): 6.25,
        (10, 3): 6.2,
        (6, 4): 7.6,
        (8, 4): 7.65,
        (10, 4): 7.68,
        (8, 5): 9.2,
    }
    for (judges, samples), limit in limits.items():
        assert t.friedman_limit(judges, samples) == pytest.approx(limit, abs=1e-9)


@pytest.mark.kind("computed")
def test_page() -> None:
    """Check 35: L 133.5, exact p (scipy's docstring, library), with ties."""
    rows = [
        [int(each) for each in row] for row in ["343", "224", "335", "132", "232", "245", "124", "344", "245", "134"]
    ]
    value, p = t.rank_page(rankdata(rows, axis=1))
    assert value == 133.5
    assert p == pytest.approx(0.0018191161948127822, abs=1e-12)


@pytest.mark.kind("memory")
def test_page_limits() -> None:
    """5 % limits; three samples agree with Page 1963 (memory), the rest exact (computed)."""
    judges = (3, 4, 5, 6, 8, 10, 12)
    assert [t.page_limit(each, 3) for each in judges] == [41, 54, 66, 79, 104, 128, 153]
    assert [t.page_limit(each, 4) for each in judges] == [84, 111, 137, 163, 214, 266, 317]
    assert [t.page_limit(each, 5) for each in judges] == [150, 197, 244, 291, 384, 477, 570]


@pytest.mark.kind("computed")
def test_page_against_scipy() -> None:
    """Untied tables: the exact p of scipy (computed)."""
    rng = np.random.default_rng(2)
    for _ in range(5):
        table = np.array([rng.permutation(4) + 1 for _ in range(6)])
        value, p = t.rank_page(table)
        other = page_trend_test(table, ranked=True, method="exact")
        assert (value, p) == (other.statistic, pytest.approx(other.pvalue, abs=1e-12))


# Chips: 150 people, liking 1 to 10 and four just-about-right scales; public notebook JAR_analysis with data1.csv of the repository
# aleva85/Projects (published). Here the counts of liking 1, 2, ..., 10 for each answer 1 to 5.
CHIPS = {
    "Saltiness": [
        [5, 2, 2, 3, 0, 1, 1, 0, 0, 0],
        [1, 1, 8, 7, 0, 11, 12, 5, 0, 0],
        [2, 2, 1, 2, 1, 5, 10, 26, 7, 0],
        [0, 1, 1, 4, 0, 6, 10, 4, 0, 0],
        [0, 0, 2, 2, 0, 4, 1, 0, 0, 0],
    ],
    "Sweetness": [
        [0, 0, 0, 0, 0, 0, 1, 0, 0, 0],
        [3, 1, 4, 6, 0, 4, 12, 5, 1, 0],
        [2, 3, 3, 5, 1, 12, 10, 15, 4, 0],
        [3, 2, 7, 7, 0, 11, 10, 15, 2, 0],
        [0, 0, 0, 0, 0, 0, 1, 0, 0, 0],
    ],
    "Acidity": [
        [0, 0, 1, 1, 0, 0, 0, 0, 0, 0],
        [1, 2, 6, 7, 1, 7, 4, 11, 1, 0],
        [5, 2, 3, 3, 0, 8, 19, 15, 6, 0],
        [0, 1, 3, 2, 0, 10, 10, 8, 0, 0],
        [2, 1, 1, 5, 0, 2, 1, 1, 0, 0],
    ],
    "Crunchiness": [
        [5, 3, 1, 0, 0, 2, 1, 0, 0, 0],
        [1, 2, 5, 11, 0, 13, 10, 2, 2, 0],
        [2, 0, 3, 3, 1, 11, 19, 32, 5, 0],
        [0, 1, 3, 4, 0, 1, 4, 1, 0, 0],
        [0, 0, 2, 0, 0, 0, 0, 0, 0, 0],
    ],
}


def spread(counts: list[list[int]]) -> tuple[list[float], list[float]]:
    liking, just = [], []
    for answer, row in enumerate(counts, start=1):
        for points, many in enumerate(row, start=1):
            liking += [float(points)] * many
            just += [float(answer)] * many
    return liking, just


@pytest.mark.parametrize(
    ("attribute", "n", "means", "drops", "weighted"),
    [
        ("Saltiness", (59, 35), (4.830508, 5.828571), (2.18735, 1.18929), (0.860357, 0.2775)),
        ("Sweetness", (37, 58), (5.540541, 5.810345), (0.641278, 0.371473), (0.158182, 0.143636)),
        ("Acidity", (42, 47), (5.476190, 5.680851), (0.835285, 0.630624), (0.23388, 0.197596)),
        ("Crunchiness", (58, 16), (4.810345, 4.6875), (2.13702, 2.25987), (0.826316, 0.241053)),
    ],
)
def test_mean_drops(attribute: str, n, means, drops, weighted) -> None:
    """Checks 36 and 37: drops as printed (published); their weighted sum is mean(just right) - mean(all) (identity)."""
    liking, just = spread(CHIPS[attribute])
    low, high = t.mean_drops(liking, just)
    assert (low.n, high.n) == n
    assert (low.mean, high.mean) == pytest.approx(means, abs=1e-6)
    assert (low.drop, high.drop) == pytest.approx(drops, abs=1e-5)
    assert (low.weighted, high.weighted) == pytest.approx(weighted, abs=1e-6)
    right = np.mean([points for points, answer in zip(liking, just, strict=True) if answer == 3])
    assert np.mean(liking) == pytest.approx(5.88)
    assert low.weighted + high.weighted == pytest.approx(right - np.mean(liking), abs=1e-12)


@pytest.mark.kind("computed")
def test_range_of_a_drop() -> None:
    """Salt, Welch: t 5.5919 low, 3.0787 high, p .00283 (computed); the 90 % range is scipy's."""
    liking, just = (np.array(each) for each in spread(CHIPS["Saltiness"]))
    right = liking[just == 3]
    for drop, group, statistic in zip(
        t.mean_drops(liking.tolist(), just.tolist()),
        (liking[just < 3], liking[just > 3]),
        (5.5919, 3.0787),
        strict=True,
    ):
        other = ttest_ind(right, group, equal_var=False)
        assert other.statistic == pytest.approx(statistic, abs=5e-5)
        ends = other.confidence_interval(0.90)
        assert drop.within == pytest.approx((drop.drop, ends.low, ends.high), abs=1e-9)


@pytest.mark.kind("computed")
def test_points_found() -> None:
    """Difference found by 3 and 6 in each of two groups, in standard deviations: 3.071, 1.796 (check 43, computed)."""
    assert t.points_found(3, 1.0, two_groups=True) == pytest.approx(3.071, abs=2e-3)
    assert t.points_found(6, 1.0, two_groups=True) == pytest.approx(1.796, abs=2e-3)


@pytest.mark.kind("memory")
def test_paired_points() -> None:
    """Sleep data, extra hours of ten people on two drugs ("Student" 1908, published): t 4.0621, p .002833 (computed, memory)."""
    first = np.array([0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0])
    second = np.array([1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4])
    assert t.paired_p(second - first) == pytest.approx(0.002833, abs=1e-6)
    assert t.mean_points(second - first, 0.95) == pytest.approx((1.58, 0.7001142, 2.4598858), abs=1e-6)


def test_steps_of_thickness() -> None:
    """Weber fraction .26 (J. Food Sci. 2015) and 9.33 % (J. Texture Stud. 2017) at 75 of 100 pairs; felt as power .29
    (Christensen 1979) to .40 (all published)."""
    assert t.chance_correct(t.STEP_DISTANCE, "pair") == pytest.approx(0.75, abs=1e-12)
    assert t.thicker_by(2 * t.STEP_DISTANCE) == pytest.approx((1.0933**2, 1.26**2), rel=1e-12)
    assert t.felt_as(10.0, 10.0) == pytest.approx((1.95, 2.51), abs=5e-3)
