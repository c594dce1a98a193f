"""A corpus of 940 lines in four kitchens' styles, 640 of them written before the reader was changed: never wrong, seldom asked."""

from __future__ import annotations

from collections import Counter

import pytest

from recipes import corpus_score


@pytest.mark.parametrize(("half", "count"), [("a", 320), ("b", 320), ("c", 200), ("d", 100)])
def test_the_corpus_is_never_read_wrong_and_seldom_asked(half: str, count: int) -> None:
    rows = corpus_score.rows(half)
    assert len(rows) == count
    verdicts = {row["line"]: corpus_score.verdict(row) for row in rows}
    assert not [line for line, said in verdicts.items() if said.startswith("wrong")]
    assert sum(said.startswith("asked") for said in verdicts.values()) <= 0.1 * count


def test_the_corpus_check_can_fail() -> None:
    row = {"line": "2 onions (250g)", "system": "uk", "want": "mass", "low": "250", "high": "250", "fill": ""}
    assert corpus_score.verdict(row) == "right"
    assert corpus_score.verdict(row | {"low": "220", "high": "220"}).startswith("wrong")
    assert corpus_score.verdict(row | {"want": "ask"}).startswith("wrong")
    assert corpus_score.verdict(row | {"want": "volume"}).startswith("wrong")


@pytest.mark.parametrize(("half", "told"), [("c", "184 right, 15 asked, 1 wrong"), ("d", "93 right, 6 asked, 1 wrong")])
def test_the_first_scoring_of_lines_nobody_had_shown_the_reader_is_kept(half: str, told: str) -> None:
    lines = {row["line"] for row in corpus_score.rows(half)}
    kept = {row["line"]: row["said"].split(":")[0] for row in corpus_score.first(half)}
    assert set(kept) < lines
    tally = Counter(kept.values())
    tally["right"] = len(lines) - len(kept)
    assert corpus_score.told(tally) == told
