"""Write a logbook with one of every kind of record, as the release of the interpreter that runs this writes it.

    python tests/earlier/write.py tests/earlier/RELEASE

Run it once a release, with that release installed, and commit what it made: the SQLite file and its export. Every later
release opens both. The content is invented: the winter lunch club of a village hall that does not exist.
"""

from __future__ import annotations

import io
import shutil
import sqlite3
import sys
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import spoonline as sl
from spoonline.card.records import CardNote, SignOff
from spoonline.keeping.cooling_log import CoolingLog, read_readings
from spoonline.keeping.dinner import Dinner, FreeHours, read_dishes
from spoonline.logbook import make_demo
from spoonline.recipes import Habits

SOUP = "Roast parsnip and pear soup"
# A line that the facts of release 0.1.0 did not know, a name that must be asked, nothing weighed, a part that was told.
STRANGE = """Seaweed broth \u00e0 la halle
Serves 6
1.2 l water
2 tbsp dulse flakes
1 cup flour
a glug of cider
300 ml whey [liquid]
To finish:
30 g corn starch
salt, to taste

1. Simmer for 20 to 25 minutes at 95 C.
2. Whisk in the slaked starch; boil for 2 minutes."""


def a_photo() -> bytes:
    """A small grey picture."""
    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (40, 30), (120, 120, 120)).save(out, "PNG")
    return out.getvalue()


def write(folder: Path) -> None:
    """Make the logbook and its export in a folder."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    path = folder / "kitchen.sqlite"
    make_demo(path).close()
    clock = iter(datetime(2026, 3, 1, 9, 0, tzinfo=UTC) + timedelta(minutes=11 * n) for n in range(500))
    with closing(sl.open_logbook(path, clock=lambda: next(clock))) as book:
        broth = sl.Recipe.from_text(STRANGE, target=sl.Target(viscosity_pa_s="0.8", temperature_c="62"))
        first = book.save(broth, "From a cutting; half of it nobody weighed", cook="A.")
        book.save(broth.scaled(1.5), "For a fuller hall", cook="A.")
        book.save(broth.scaled(0.5), "And for a small one", cook="M.", parent=1)
        gone = book.save(broth.scaled(3), "A slip")
        book.take_back(gone, "a slip of the key")
        spatula = {"length_cm": 25, "width_cm": 5.5, "seconds": 10}
        read = sl.Reading(tool="spatula", settings=spatula, values=[3.1, 3.2], temperature_c=62, stage="hot")
        odd = read.model_copy(update={"left_out": "the spatula still dripped", "note": "a second try"})
        pot = sl.Batch(
            title=first.title, version=1, cooked_on=date(2026, 3, 2), cook="A.", pan="28 cm pot", pot_before_g=4200,
            pot_after_g=4010, minutes=31, readings=(read, odd), note="smelt of the sea",
            weighed=[{"line": 6, "item": "corn starch", "typed": "33 g", "mass_g": 33, "sd_g": 0.3}],
        )  # fmt: skip
        kept = book.record(pot)
        correction = {"replaces": kept.id, "id": "", "recorded_at": None, "minutes": 29, "note": "the clock was fast"}
        kept = book.record(sl.Batch(**(kept.model_dump() | correction)))
        again = book.record(pot.model_copy(update={"cooked_on": date(2026, 3, 4), "left_out": "boiled over"}))
        book.take_back(again, "not ours")
        book.bring_back(again, "ours after all")
        book.record(pot.model_copy(update={"cooked_on": date(2026, 3, 5), "readings": (), "weighed": ()}))
        book.attach(kept, a_photo(), "The pot, from above")
        book.keep(sl.OwnTrim(item="parsnips", whole_g=800, trimmed_g=660))
        book.keep(sl.OwnSpoon(item="wheat flour", measure="1 tbsp", masses_g=[9, 8.5, 10, 9.25], cook="A."))
        book.take_back(book.keep(sl.Pan(name="lost tin", tare_g=412, length_cm=30, width_cm=20)), "given away")
        book.keep(Habits(kitchen="uk", names="uk", first_degrees="C", paper="a5"))
        book.keep(
            SignOff(
                title=SOUP,
                version=5,
                point="label:vegetable stock",
                reason="Label read: no celery",
                cook="A.",
                contains="none",
            )
        )
        book.keep(CardNote(title=SOUP, note="Serve in warm bowls.", prep_minutes=25, credit="The hall's kitchen"))
        log = "0 62\n40 41\n100 20.5\n300 4.8"
        book.keep(
            CoolingLog(title=SOUP, batch=9, started_on=date(2026, 3, 6), readings=read_readings(log), note="tray")
        )
        dishes = read_dishes(f"{SOUP}\n- Simmer; 15+20; burner; day 1\n- Reheat; 5+20; burner; day 0")
        hours = [FreeHours(day=1, start="14:00", end="17:00"), FreeHours(day=0, start="09:00", end="12:30")]
        lunch = {"serve_at": "2026-03-12T12:30", "guests": 24, "tools": {"burner": 2}, "dishes": dishes, "free": hours}
        book.keep(Dinner(name="Winter lunch", **lunch))
        book.draft("batch", "0123456789abcdef", {"title": SOUP, "number": 5, "lines": {"2": "410"}, "kept": []})
        book.export(folder / "export", names=True)
    # One file, nothing beside it, so that it can be committed.
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE").fetchall()
    print(f"spoonline {sl.__version__}: written to {folder.name}.")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
