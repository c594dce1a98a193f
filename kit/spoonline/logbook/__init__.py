"""Keeping all of it: one SQLite file, or one database by address."""
