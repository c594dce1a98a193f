"""Keeping all of it: one SQLite file, or one PostgreSQL database by address. The only room that knows storage."""

from spoonline.logbook.demo import make_demo, passing_demo
from spoonline.logbook.logbook import Logbook, open_logbook

__all__ = ["Logbook", "make_demo", "open_logbook", "passing_demo"]
