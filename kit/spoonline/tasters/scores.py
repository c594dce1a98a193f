"""What tasters scored, as outcomes of the pots that were served to them."""

from spoonline.pots import Outcome
from spoonline.tasters.session import Session

SCORED = {"liking": ("liking",), "just right": ("liking", "just about right")}


def pot_scores(session: Session) -> dict[int, tuple[Outcome, ...]]:
    """Return the scores of each sample that names its batch, by that number; the note says which session they are from.

    Examples
    --------
    >>> from spoonline.tasters import Sample, plan_session
    >>> served = [Sample(label=f"batch {n}", version=2, batch=n) for n in (8, 9)]
    >>> session = plan_session("Soup", "liking", served, 2).with_answers("1: 7 6\\n2: 8 5")
    >>> sorted(pot_scores(session)), pot_scores(session)[8][0].note
    ([8, 9], 'tasters, session 1')
    """
    found, ballots = dict[int, tuple[Outcome, ...]](), session.ballots().values()
    for place, sample in enumerate(session.samples):
        marks = [marks for ballot in ballots for code, marks in ballot.items() if session.sample_of(code) == place]
        if sample.batch is not None and marks:
            named = zip(SCORED.get(session.test, ()), zip(*marks, strict=True), strict=False)
            note = f"tasters, session {session.number}"
            told = [Outcome(name=name, unit="score", values=each, note=note) for name, each in named]
            found |= {sample.batch: tuple(told)} if told else {}
    return found
