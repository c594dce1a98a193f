"""Tasting: sessions, plans, ballots, answers and what they can say."""

from spoonline.tasters.plan import plan_session, power_sentence
from spoonline.tasters.reading import SessionReading, read_session, session_sentence, told_band
from spoonline.tasters.session import JUST, LIKING, TESTS, Sample, Session, pot_scores
