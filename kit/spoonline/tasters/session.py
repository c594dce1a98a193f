"""A tasting session as a frozen record: what was served to how many, in which order, and what they answered."""

from __future__ import annotations

import re
from datetime import date
from typing import ClassVar, Literal, get_args

from pydantic import Field

from spoonline.measures import BatchError, KitchenError, Sayings, read_table
from spoonline.pots import Outcome
from spoonline.recipes import Kept, MaybeNumber, Record

# what a ballot says of each code: 1 = chosen; rank; points; points and just-about-right
Marks = dict[str, tuple[float, ...]]
Pairs = list[tuple[str, tuple[float, ...]]]
Test = Literal["pair", "triangle", "duo-trio", "ranking", "liking", "just right"]
TESTS: tuple[Test, ...] = get_args(Test)
CHOICES = ("pair", "triangle", "duo-trio")
ROWS = {row["test"]: row for row in read_table("tests.csv", "tasters")}
_SCALES = [(row["scale"], int(row["number"]), row["words"]) for row in read_table("scales.csv", "tasters")]
said = Sayings("said.csv", "tasters", BatchError)
# nine words of liking, 9 to 1, and the five of just-about-right, 1 to 5, with what else people write for these
LIKING, JUST = (tuple(words for scale, _, words in _SCALES if scale == which) for which in ("liking", "just"))
_SAYS = {words: number for scale, number, words in _SCALES if scale != "liking"}
_CODE = re.compile(r"[1-9]\d{2}")
_POINTS = re.compile(r"(?:\d{3}[\s,;:=]+)?[^\s,;:=]+")  # points with the code before them, or alone


class Sample(Record):
    """One thing that is tasted."""

    wrong: ClassVar[type[KitchenError]] = BatchError

    label: str = Field(min_length=1, max_length=60, description="how it is named in the answer, never on a ballot")
    version: int = Field(ge=1, description="version of the recipe that was cooked")
    batch: int | None = Field(None, ge=1, description="number of the batch it came from")
    temperature_c: MaybeNumber = Field(None, ge=-5, le=100, description="temperature as served [C]")


class Session(Kept):
    """One tasting session of one dish; made by :func:`plan_session`, answered with :meth:`with_answers`.

    A corrected session has the same key, so it stands for the earlier one in the logbook.
    """

    wrong: ClassVar[type[KitchenError]] = BatchError
    kind: ClassVar[str] = "session"
    key_fields: ClassVar[tuple[str, ...]] = ("title", "number")

    title: str = Field(min_length=1, max_length=200, description="the dish")
    number: int = Field(1, ge=1, description="number of the session of this dish")
    day: date | None = Field(None, description="the day it is, or was, held")
    test: Test
    about: Literal["thickness", "liking"] = Field("thickness", description="what a pair or a ranking asks for")
    samples: tuple[Sample, ...] = Field(min_length=1, max_length=6, description="what is tasted")
    expected: bool = Field(False, description="whether the samples stand from thinnest to thickest, as is expected")
    same_share: MaybeNumber = Field(None, gt=0, lt=1, description="share who may truly tell two that count as the same")
    tasters: int = Field(ge=2, le=99, description="how many are asked")
    names: tuple[str, ...] = Field((), description="who they are, in order; leaves the logbook only when asked for")
    seed: int = Field(1, ge=0, description="number of the draw that made codes and orders")
    codes: tuple[tuple[str, ...], ...] = Field(description="codes of each sample, three digits each")
    orders: tuple[tuple[str, ...], ...] = Field(description="codes that each taster gets, in serving order")
    references: tuple[int, ...] = Field((), description="duo-trio: number of the sample each taster gets as reference")
    answers: tuple[str, ...] = Field((), description="ballots as typed, each beginning with the taster's number")
    invented: bool = Field(False, description="whether it is made-up data")

    def hold(self) -> None:
        """Samples, names, codes and orders that fit the test, and ballots that can be read."""
        row, samples = ROWS[self.test], len(self.samples)
        least, most = int(row["least"]), int(row["most"])
        wanted = f"{least}" if least == most else f"{least} to {most}"
        codes = [code for each in self.codes for code in each]
        apart = samples == len(self.codes) and len(set(codes)) == len(codes) and all(map(_CODE.fullmatch, codes))
        served = len(self.orders) == self.tasters and all(set(order) <= set(codes) for order in self.orders)
        ordered = self.about != "liking" and self.test in ("pair", "ranking")
        labels = {each.label.casefold() for each in self.samples}
        said.refuse(not least <= samples <= most, "samples", came=samples, test=self.test, wanted=wanted)
        said.refuse(len(labels) < samples, "one name")
        said.refuse(len(self.names) not in (0, self.tasters), "names", came=len(self.names), tasters=self.tasters)
        said.refuse(self.expected and not ordered, "order expected")
        said.refuse(self.same_share is not None and self.test not in CHOICES, "the same")
        said.refuse(not apart, "codes")
        said.refuse(not served, "orders")
        self.ballots()

    @property
    def two_sided(self) -> bool:
        """Whether either answer would count, because none was expected beforehand."""
        return self.test == "pair" and not self.expected

    def sample_of(self, code: str) -> int:
        """Which sample a code stands for, from 0."""
        return next(sample for sample, codes in enumerate(self.codes) if code in codes)

    def right_code(self, taster: int) -> str:
        """The code that is right on one taster's ballot: the thicker, the odd one, or the one like the reference."""
        order = self.orders[taster - 1]
        samples = [self.sample_of(code) for code in order]
        if self.test == "triangle":
            return next(code for code, sample in zip(order, samples, strict=True) if samples.count(sample) == 1)
        wanted = self.references[taster - 1] - 1 if self.test == "duo-trio" else 1
        return order[samples.index(wanted)]

    @property
    def example(self) -> str:
        """What a taster's ballot may say, with the codes of the first."""
        order = self.orders[0]
        points, both = (", ".join(f"{code} {each}" for code in order) for each in ("7", "7 too thin"))
        return {"ranking": " ".join(order), "liking": points, "just right": both}.get(self.test, order[0])

    def with_answers(self, typed: str) -> Session:
        """The session with its ballots, one line each; a name becomes the taster's number.

        Parameters
        ----------
        typed : str
            ``3: 534`` for a choice; ``3: 534 218 = 907`` for a ranking (thinnest, or best liked, first; = for a tie);
            ``3: 534 7, 218 6`` or in serving order ``3: 7 6`` for points; ``3: 534 7 too thin, 218 8 just right``.
            A dash stands for no answer.

        Raises
        ------
        BatchError
            If a line cannot be read.
        """
        numbered = [self._numbered(line) for line in typed.splitlines() if line.strip()]
        lines = sorted(numbered, key=lambda line: int(line.partition(":")[0]))
        return Session(**dict(self) | {"answers": tuple(lines), "id": "", "recorded_at": None})

    def _numbered(self, line: str) -> str:
        who, colon, answer = line.strip().partition(":")
        if not colon:
            who, _, answer = line.strip().partition(" ")
        who, answer = who.strip(), " ".join(answer.split())
        known = [name.casefold() for name in self.names]
        if who.casefold() in known:
            who = str(known.index(who.casefold()) + 1)
        if not who.isdecimal() or not 1 <= int(who) <= self.tasters:
            raise BatchError(said("taster's number", line=line.strip(), tasters=self.tasters))
        return f"{int(who)}: {answer or '-'}"

    def ballots(self) -> dict[int, Marks]:
        """Every ballot that was answered, read, by the taster's number.

        Raises
        ------
        BatchError
            If one cannot be read, or one taster answered twice.
        """
        found: dict[int, Marks] = {}
        for line in self.answers:
            number, answer = self._numbered(line).split(": ", 1)
            taster = int(number)
            said.refuse(taster in found, "two lines", taster=taster)
            found[taster] = {} if answer.strip("-. ") == "" else self._marks(taster, answer)
        return {taster: marks for taster, marks in found.items() if marks}

    def _marks(self, taster: int, text: str) -> Marks:
        order, bare = self.orders[taster - 1], text.strip(" ,;.")
        if self.test in CHOICES:
            pairs: Pairs = [(bare, (1.0,))]
        elif self.test == "ranking":
            pairs = self._ranks(taster, text)
        else:
            parts = re.split(r"[,;]", bare) if self.test == "just right" else re.findall(_POINTS, text)
            pairs = [self._points(taster, part, at) for at, part in enumerate(parts)]
        for code, _ in pairs:
            said.refuse(code not in order, "no code", taster=taster, came=code, codes=", ".join(order))
        if len(dict(pairs)) < len(pairs) or (self.test not in CHOICES and len(pairs) != len(order)):
            raise BatchError(said("each once", taster=taster, came=text, codes=", ".join(order)))
        return dict(pairs)

    def _ranks(self, taster: int, text: str) -> Pairs:
        first, allowed = ("thinnest", "<") if self.about == "thickness" else ("best liked", ">")
        said.refuse(set(text) & {"<", ">"} - {allowed}, "ranks", taster=taster, came=text, first=first)
        groups = re.split(rf"[\s,;{allowed}]+", re.sub(r"\s*=\s*", "=", text.strip(" ,;.")))
        found: Pairs = []
        before = 0
        for group in (each.split("=") for each in groups):
            found += [(code, (before + (len(group) + 1) / 2,)) for code in group]
            before += len(group)
        return found

    def _points(self, taster: int, part: str, at: int) -> tuple[str, tuple[float, ...]]:
        """A code and its points, and where they are asked the words beside them; without a code by its place in the order."""
        order, kind = self.orders[taster - 1], "both" if self.test == "just right" else "points"
        read = re.fullmatch(r"\s*(?:(\d{3})\b[\s,;:=]*)?([1-9])\b\s*([1-5]|[a-z][a-z ]*?)?\s*", part.casefold())
        word = (read[3] or "") if read else ""
        just = _SAYS.get(word) or (int(word) if word.isdecimal() else None)
        if read is None or (just is None) == (kind == "both") or (read[1] is None and at >= len(order)):
            raise BatchError(said(kind, taster=taster, came=part.strip(), words=", ".join(JUST), code=order[0]))
        return read[1] or order[at], (float(read[2]), *([] if just is None else [float(just)]))


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
