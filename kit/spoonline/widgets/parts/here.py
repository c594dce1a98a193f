"""The logbook of the folder one works in."""

import getpass
import hashlib
import os
import platform
from collections.abc import Sequence
from contextlib import suppress

import ipywidgets as w

from spoonline.logbook import Logbook, open_logbook
from spoonline.measures import KitchenError, write_decimals_with
from spoonline.recipes import Version
from spoonline.widgets.parts.fields import choice

LOGBOOK = "kitchen.sqlite"
SYSTEMS = [("US", "us"), ("metric", "metric"), ("UK", "uk"), ("Australian", "au")]
SIZES = [("A4", "a4"), ("US letter", "letter"), ("A5", "a5"), ("card, 5 x 8 in", "5x8")]


def open_here() -> Logbook:
    """Open the logbook of this folder, or the one that ``SPOONLINE_LOGBOOK`` names (a file or a database address).

    An older logbook is copied first, with a bar; interrupting the kernel stops that and leaves the logbook as it was.
    """
    from spoonline.widgets.parts.work import bars

    with bars() as progress:
        book = open_logbook(os.environ.get("SPOONLINE_LOGBOOK") or LOGBOOK, progress=progress)
    if book.brought_up:
        print(book.brought_up)
    write_decimals_with(book.habits.decimal)
    return book


def also_saved(book: Logbook, version: Version) -> str:
    """What to say to a cook whose version is not the only child of its parent; blank where it is."""
    made = book.branches(version.title).get(version.parent or 0, [])
    others = [f"version {each.number}" + f" by {each.cook}" * bool(each.cook) for each in made if each != version]
    if not others:
        return ""
    return f" Also made from version {version.parent}: {' and '.join(others)}; all are kept, so compare them in notebook 3."


def dish_here(book: Logbook) -> str:
    """The dish that this person worked on last, else the first of the logbook; where there is none, say so and give none."""
    titles = book.titles()
    if not titles:
        print("This logbook holds no recipe yet; save one in notebook 0, then run this cell again.")
    return _last(book, titles) or "".join(titles[:1])


def dish_choice(book: Logbook, label: str = "Recipe", also: str = "") -> w.Dropdown:
    """The dishes to choose from; it begins with the one that this person worked on last, in any notebook."""
    titles = book.titles()
    return choice(label, [*titles, *([also] if also else [])], _last(book, titles) or None)


def _last(book: Logbook, titles: Sequence[str]) -> str:
    """The one of these dishes that this person worked on last, in any notebook; blank where there is none."""
    last = next((draft.fields.get("title", "") for draft in book.drafts("dish") if draft.session == _who()), "")
    return last if last in titles else ""


def remember(book: Logbook, title: str) -> None:
    """Keep which dish this person works on, so that the next notebook begins with it."""
    if title in book.titles():
        with suppress(KitchenError):  # a logbook that cannot be written says so when one saves
            book.draft("dish", _who(), {"title": title})


def _who() -> str:
    """Who works here, as a digest: the logbook needs to tell people apart and has no use for their names."""
    try:
        name = f"{getpass.getuser()}@{platform.node()}"
    except (OSError, KeyError):  # a machine without names
        name = ""
    return hashlib.sha256(name.encode()).hexdigest()[:16]
