"""Notebook 7: can people tell, and which do they like?"""

import re
from typing import Any

from spoonline.card import file_name
from spoonline.figures import session_figure
from spoonline.logbook import Logbook
from spoonline.tasters import Sample, Session, plan_session, pot_scores, power_sentence, read_session, session_sentence
from spoonline.widgets.parts import drafts, here, sheets
from spoonline.widgets.parts.fields import appear, blank, declared, fill, laid_out
from spoonline.widgets.parts.markup import bullets, download, invented
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.typed import day, figure, figures, said, wanted, whole


class TastersPanel(Panel):
    """Plan a session, print its ballots, type the answers, and read what they can say."""

    def __init__(self, book: Logbook) -> None:
        super().__init__(book)
        self.title = here.dish_choice(book)
        first, rare = declared(self, "a session"), declared(self, "a session, rarely set")
        declared(self, "a session planned")
        self.draft = drafts.DraftPart(self, "tasters", lambda: drafts.named(self, "title", "session", "answers"))
        self.ballots = self.printer("Print the ballots", lambda: sheets.ballots_html(self._chosen_session()))
        self.key = self.printer("Print the key sheet", lambda: sheets.key_html(self._chosen_session()))
        self.lay(*laid_out(self, "tasters"), self.bar(self.keep, self.give, self.back))
        self.watch(self._show_power, *first, *rare)
        self.watch(lambda: self._show(self.session.value), self.session)
        self.draft.watch(self.answers)
        self.begin(self.title, self._title_changed, self._show, self._show_power)

    def sessions(self) -> dict[int, Session]:
        """Sessions of the chosen dish as they stand, by number."""
        return {each.number: each for each in self.book.kept(Session, self.title.value)}

    def _title_changed(self) -> None:
        numbers = [each.number for each in self.book.all_versions(self.title.value)]
        with self.filling_in():
            self.versions.value = "; ".join(map(str, numbers[-2:]))
            self.batches.value = ""
        self._show(max(self.sessions(), default=0))
        self._show_power()

    def _planned(self) -> Session:
        """The session as the form has it now."""
        test, about = self.kind.value
        numbers = _whole(self.versions.value, "Versions")
        known = [each.number for each in self.book.all_versions(self.title.value)]
        missing = [str(each) for each in numbers if each not in known]
        said.refuse(missing, "no version", missing=", ".join(missing), known=", ".join(map(str, known)))
        batches = _one_each(_whole(self.batches.value, "Batches"), len(numbers), "batches")
        warm = _one_each(figures(self.served.value.replace("°", ""), "Served at", "C"), len(numbers), "temperatures")
        samples = [
            Sample(label=f"version {n}" + (f", batch {b}" if b else ""), version=n, batch=b, temperature_c=celsius)
            for n, b, celsius in zip(numbers, batches, warm, strict=True)
        ]
        limit = figure(self.same.value, "The same if fewer of 100 tell")
        names = tuple(name.strip() for name in re.split(r"[;,]", self.names.value) if name.strip())
        number = max((each.number for each in self.book.kept(Session, self.title.value, history=True)), default=0) + 1
        return plan_session(
            self.title.value, test, samples, whole(self.tasters.value, "Tasters"), number=number, seed=number, about=about,
            expected=self.expected.value, same_share=None if limit is None else limit / 100, names=names,
            day=day(self.day.value, self.book.habits.kitchen), invented=self.book.recipe(self.title.value).invented,
        )  # fmt: skip

    def _show_power(self) -> None:
        self.power.tell(lambda: power_sentence(self._planned()))

    def _new(self) -> Session:
        """That session, if none is planned just so."""
        made = self._planned()
        number = next((each.number for each in self.sessions().values() if _same(each, made)), None)
        said.refuse(number is not None, "planned already", number=number)
        return made

    def _plan(self) -> None:
        kept = self.book.keep(self._new())
        self._show(kept.number)
        self.say(said("planned", number=kept.number, title=kept.title, tasters=kept.tasters))

    def _show(self, chosen: int | None = None) -> None:
        """The session that is chosen, as it stands; answers that are typed stay where the session stays."""
        found, before = self.sessions(), self.session.value
        last = before if chosen is None else chosen
        last = last if last in found else max(found, default=0)
        named = {n: f"{each.test}, {len(each.ballots())} of {each.tasters} answered" for n, each in found.items()}
        with self.filling_in():
            fill(self.session, [(f"{n}: {words}", n) for n, words in named.items()] or [("none planned yet", 0)], last)
        session = found.get(last)
        for part in (self.answers, self.keep, self.back):
            part.disabled = session is None
        blank(*self.places)
        self.figure.show(None)
        appear(session is not None and pot_scores(session), self.give)
        if chosen is not None or last != before or not self.draft.typed():
            typed = self.draft.turn_to(f"{self.title.value} {last}").get("answers")
            self.draft.start(self.answers, "" if session is None else "\n".join(session.answers))
            self.answers.value = typed or self.answers.value
        if session is None:
            self.answer.say("Can people tell? No session of this dish yet: plan one below.")
            return
        self.answers.placeholder = f"1: {session.example}\n2: -"
        name = f"{file_name(session.title)}-session-{session.number}"
        ballots, key = "Download the ballots (print on A4)", "Download the key sheet (for whoever serves)"
        self.sheets.value = download(f"{name}-ballots.html", "text/html", sheets.ballots_html(session), ballots)
        self.sheets.value += download(f"{name}-key.html", "text/html", sheets.key_html(session), key)
        self.answer.say(f"{session_sentence(session)}.", markup=invented(session))
        if session.ballots():
            read = read_session(session)
            self.figure.show(session_figure(session, read))
            self.working.value = bullets(read.sentences)

    def _chosen_session(self) -> Session:
        return wanted(self.sessions().get(self.session.value), "no session")

    def _answered(self) -> Session:
        """The session with the answers as they are typed."""
        session = self._chosen_session()
        said.refuse(not self.answers.value.strip(), "no answer", example=session.example)
        return session.with_answers(self.answers.value)

    def _keep(self) -> None:
        answered = self._answered()
        self.book.keep(answered)
        self.draft.done()
        self._show(answered.number)
        self.say(said("answers saved", count=len(answered.ballots()), of=answered.tasters, number=answered.number))

    def _give(self) -> None:
        """What tasters scored stands with the pots they tasted, as outcomes; pressed again, it stands there once."""
        given = pot_scores(self._chosen_session())
        pots = [each for each in self.book.all_batches(self.title.value) if each.number in given]
        for pot in pots:
            scores = given[pot.number]
            outcomes = (*(each for each in pot.outcomes if each.note != scores[0].note), *scores)
            if outcomes != pot.outcomes:
                self.book.correct(pot, outcomes=outcomes)
        with_pots = ", ".join(f"batch {each.number}" for each in pots) or "no batch, as they were taken back"
        self.say(f"The scores stand with {with_pots}. Next: notebook 2 sets what varies against them.")

    def _take_back(self) -> None:
        session = self._chosen_session()
        self.book.take_back(session)
        before = self.sessions().get(session.number)
        self._show(session.number)
        left = "plan gone" if before is None else "answers again" if before.answers else "plan again"
        self.say(said("session back", number=session.number, left=said(left)))


def _same(planned: Session, made: Session) -> bool:
    """Whether a session without answers has the plan of another that is to be made."""
    asked = ("test", "about", "samples", "tasters", "expected", "same_share", "names", "day")
    return not planned.answers and all(getattr(planned, name) == getattr(made, name) for name in asked)


def _whole(text: str, what: str) -> list[int]:
    """Whole numbers parted by semicolons or spaces; blank is none."""
    found = figures(text, what, "")
    said.refuse(any(each != int(each) or each < 1 for each in found), "whole numbers", what=what, came=text)
    return [int(each) for each in found]


def _one_each(values: list[Any], count: int, what: str) -> list[Any]:
    """A value for each sample: one typed for all, one each, or none."""
    said.refuse(len(values) not in (0, 1, count), "one each", count=len(values), what=what, versions=count)
    return values if len(values) == count else (values or [None]) * count
