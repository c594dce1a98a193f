"""The invented demo logbook that comes with the package."""

import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from spoonline.logbook.engine import Where
from spoonline.logbook.logbook import Logbook
from spoonline.measures.errors import LogbookError


def demo_folder() -> Path:
    """Where the demo's files lie: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "_demo", package.parent.parent / "demo" / "winter_lunch_club"):
        if folder.is_dir():
            return folder
    raise LogbookError("This installation lacks its demo data; install spoonline again.")


def make_demo(where: Where) -> Logbook:
    """Restore the demo into a new logbook."""
    return Logbook.restore(demo_folder(), where)


@contextmanager
def passing_demo() -> Iterator[Logbook]:
    """A demo logbook for the time of a check; nothing of it stays."""
    with tempfile.TemporaryDirectory() as folder, closing(make_demo(Path(folder) / "demo.sqlite")) as book:
        yield book
