"""What a logbook acknowledged stays, whoever else opens it, copies it or is killed: a small sample of the long experiment."""

from __future__ import annotations

import pytest

from logbook import stories

# The first two are how release 0.1.0 lost records: a seed, the openers in one kernel, the writers, and whether they are killed.
KILLED, TWO_WRITERS = (1, 2, 1, True), (2, 2, 2, False)
SAMPLE = {"sqlite": range(3), "postgresql": range(2)}


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def told(request: pytest.FixtureRequest) -> list[tuple[dict[str, int], list[str]]]:
    """All stories of an engine, told by one process; of each its score and its tale."""
    server = request.getfixturevalue("postgres_server") if request.param == "postgresql" else None
    sample = [KILLED, TWO_WRITERS, *((seed,) for seed in SAMPLE[request.param])]
    return stories.tell([(request.param, *story) for story in sample], server)


def assert_whole(score: dict[str, int], said: list[str], acknowledged: int) -> None:
    assert score["acknowledged"] >= acknowledged, "\n".join(said)
    assert not any(score.get(name) for name in stories.WRONG), "\n".join([str(score), *said])


def test_a_logbook_opened_twice_in_a_kernel_that_is_killed_keeps_its_pots(told) -> None:
    assert_whole(*told[0], acknowledged=4)


def test_a_second_writer_is_told_other_numbers_and_nothing_is_lost(told) -> None:
    assert_whole(*told[1], acknowledged=7)


def test_in_any_story_what_was_acknowledged_stays_and_copies_are_whole(told) -> None:
    assert sum(score.get("copies", 0) for score, _ in told[2:]) > 0
    for score, said in told[2:]:
        assert_whole(score, said, acknowledged=2)
