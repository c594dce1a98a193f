"""Each notebook's form driven once over the demo, as a cook would, and the figures that come of it.

    python tests/widgets/drivers.py            print what each form says now
    python tests/widgets/drivers.py --save     keep it in driven.txt, to which the tests hold the forms

The tests compare strictly: a changed figure is a failed test. Read the difference, and save it with the reason.
"""

from __future__ import annotations

import html
import re
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from spoonline.logbook import Logbook

SOUP = "Roast parsnip and pear soup"
KEPT = Path(__file__).with_name("driven.txt")


def _start(book: Logbook) -> list[str]:
    from spoonline.widgets.parts.recipe_text import EXAMPLE
    from spoonline.widgets.start_panel import StartPanel

    panel = StartPanel(book)
    before = len(book.titles())
    panel.paste.value = EXAMPLE.replace("Mushroom gravy", "White onion sauce").replace(
        "60 g wheat flour", "4 level tbsp wheat flour"
    )
    panel.save.click()
    saved = book.recipe("White onion sauce")
    lines = [
        f"recipes before and after saving one: {before}, {len(book.titles())}",
        f"dose of the new one: {saved.dose_g_per_l:.1f} g/L",
        f"said: {panel.status.value.count('Saved')} confirmation",
    ]
    panel.close_all()
    return lines


def _batch(book: Logbook) -> list[str]:
    from spoonline.widgets.stove_panel import StovePanel

    form = StovePanel(book)
    form.title.value = SOUP
    for field, _ in form.lines.fields:
        if field.description.startswith("corn starch"):
            field.value = "49,5"
    form.before.value, form.after.value = "5200", "4980"
    form.reading.temperature.value = "61"
    form.reading.values.value = "3,6 3,7"
    form.save.click()
    row = book.batches(SOUP).iloc[-1]
    lines = [
        f"batch {row['batch']} of version {row['version']}: {row['dose_g_per_l']:.2f} g/L, evaporated {row['evaporated_percent']:.1f} %",
        f"viscosity {row['viscosity_pa_s']:.2f} Pa s (90 % range {row['viscosity_low_pa_s']:.2f} to {row['viscosity_high_pa_s']:.2f}), "
        f"{row['band']}",
    ]
    form.back.click()
    lines.append(f"batches after taking it back: {len(book.batches(SOUP))}")
    form.close_all()
    return lines


def _dose(book: Logbook) -> list[str]:
    from spoonline.widgets.dose_panel import DosePanel

    panel = DosePanel(book)
    lines = []
    for title in book.titles():
        panel.title.value = title
        if book.dish(title).curve is None:  # nothing in it is dosed: see _effect
            continue
        assert panel.dish is not None and panel.dish.next is not None and panel.dish.aim is not None
        next_pot, needed = panel.dish.next, panel._curve().curve.dose_for(float(panel.dish.aim.viscosity_pa_s))
        lines.append(
            f"{title}: average pot on target at {needed:.1f} g/L (90 % range); next pot {next_pot.dose_g_per_l:.1f} g/L, "
            f"chance {next_pot.chance:.2f}"
        )
    panel.title.value = SOUP
    panel.dose.value = "37,5"
    panel.save.click()
    lines.append(f"saved: version {book.version(SOUP).number} at {book.recipe(SOUP).dose_g_per_l:.1f} g/L")
    panel.close_all()
    return lines


def _compare(book: Logbook) -> list[str]:
    from spoonline.recipes import changes
    from spoonline.widgets.compare_panel import ComparePanel

    panel = ComparePanel(book)
    panel.title.value = SOUP
    panel.old.value, panel.new.value = 3, 5
    lines = [
        changes(book.recipe(SOUP, 3), book.recipe(SOUP, 5)).text,
        f"rows of the change table: {panel.recipe_changes.value.count('<tr>') - 1}",
        f"pots shown: {panel.pots.value.count('<tr>') - 1}",
    ]
    panel.close_all()
    return lines


def _card(book: Logbook) -> list[str]:
    from spoonline.widgets.card_panel import CardPanel

    panel = CardPanel(book)
    lines = []
    for title in book.titles():
        panel.title.value = title
        card = panel.card
        assert card is not None
        tested = " ".join((card.content.tested, *(aim.good for aim in card.content.aims))).strip()
        lines.append(f"{title}: {tested} Open points: {len(card.content.open_points)}")
    panel.title.value = SOUP
    while panel.point.value:
        panel.reason.value, panel.names.value = "label read", "none"
        panel.sign.click()
    lines.append(_plain(panel.answer.value))
    panel.make_booklet.click()
    panel.work.wait()
    lines.append(panel.status.value.removeprefix('<div role="status">').removesuffix("</div>"))
    panel.unsign.click()
    lines.append(_plain(panel.answer.value))
    panel.close_all()
    return lines


def _flow(_book: Logbook) -> list[str]:
    from spoonline.widgets.flow_panel import FlowPanel

    panel = FlowPanel()
    panel.reading.values.value = "3,6 3,7"
    one = panel.answer.value
    panel.keep.click()
    panel.reading.tool.value = "ring"
    panel.reading.values.value = "9,3 9,4 9,3 9,2"
    two = panel.answer.value
    panel.expected.value = "cream soup"
    lines = [
        f"one tool: {_plain(one)}",
        f"two tools: {_plain(two)}",
        f"tests advised for a cream soup: {panel.advice.value.count('<tr>') - 1}",
    ]
    panel.close_all()
    return lines


def _plan(book: Logbook) -> list[str]:
    from spoonline.widgets.plan_panel import PlanPanel

    panel = PlanPanel(book)
    panel.title.value = "Oat biscuits"
    lines = [f"kept plans: {', '.join(name for name, _ in panel.which.options[1:])}", _plain(panel.answer.value)]
    lines.append(f"pots: {panel.pots.value.count('<tr>') - 1}, cooked: {panel.pots.value.count('batch ')}")
    panel.title.value = SOUP
    starch = [[*cells[:3], "28", "40"] if cells[0] == "corn starch" else cells for cells in panel.change.value]
    panel.change.rows = [[*cells[:3], "10", "30"] if "cream" in cells[0] else cells for cells in starch]
    for stars in (False, True):
        panel.stars.value = stars
        lines.append(_plain(panel.answer.value))
    panel.save.click()
    lines += [_words(panel.status.value), _plain(panel.answer.value)]
    panel.close_all()
    return lines


def _effect(book: Logbook) -> list[str]:
    from spoonline.widgets.dose_panel import DosePanel

    panel = DosePanel(book)
    panel.title.value = "Oat biscuits"
    lines = [f"{panel.view.varies.label} against {panel.view.out.label}: {_plain(panel.answer.value)}"]
    panel.view.low.value, panel.view.high.value = "7,6", "8"
    lines += [panel.save.description, _plain(panel.answer.value)]
    panel.save.click()
    lines += [_words(panel.status.value), panel.save.description]
    panel.title.value = SOUP
    lines.append(f"{panel.view.varies.label} against {panel.view.out.label}: {_plain(panel.answer.value)}")
    panel.close_all()
    return lines


def _ingredients(book: Logbook) -> list[str]:
    from spoonline.recipes import check
    from spoonline.widgets.ingredients_panel import IngredientsPanel

    panel = IngredientsPanel(book)
    assert panel.recipe is not None
    lines = [_plain(panel.answer.value), f"to mend: {', '.join(each.kind for each in check(panel.recipe).findings)}"]
    own = panel.own
    own.item.value, own.measure.value, own.masses.value = "cornflour", "1 heaped tbsp", "12; 15; 11,5; 9; 13"
    own.keep_spoon()
    starch = next(line for line in panel.recipe.ingredients if line.item == "corn starch")
    lines.append(
        f"with the cook's own spoon: {float(starch.mass_g or 0):.1f} g, give or take {float(starch.sd_g or 0):.1f} g"
    )
    own.item.value, own.whole.value, own.trimmed.value = "parsnips", "800", "640"
    own.keep_trim()
    for name, wide in (("24 cm pot", "24"), ("28 cm pot", "28")):
        own.pan.value, own.wide.value, own.tare.value = name, wide, "2150"
        own.keep_pan()
    small, large = panel.pan.options[1][1], panel.pan.options[2][1]
    panel.was_pan.value, panel.pan.value, panel.rate.value = small, large, "100"
    panel._scale()
    lines.append(_words(panel.scaled.value.partition("<table")[0]))
    panel.store.value = "onions: 1 large"
    panel._buy()
    lines += _words(panel.shopping.value.replace("</li>", "\n")).splitlines()[:4]
    panel.close_all()
    return lines


def _tasters(book: Logbook) -> list[str]:
    from spoonline.widgets.tasters_panel import TastersPanel

    panel = TastersPanel(book)
    panel.title.value = "Mushroom gravy"  # the soup has a session in the demo
    panel.expected.value = True
    lines = [_words(panel.power.value).replace("&#x27;", "'")]
    panel.plan.click()
    session = panel.sessions()[1]
    lines.append(f"ballots: {len(session.orders)}, codes {', '.join(code for each in session.codes for code in each)}")
    for right in (11, 7):
        typed = [
            f"{taster}: {session.right_code(taster) if taster <= right else '-'.join(set(order) - {session.right_code(taster)})}"
            for taster, order in enumerate(session.orders, start=1)
        ]
        panel.answers.value = "\n".join(typed)
        panel.keep.click()
        lines.append(f"{right} right of 12: {_plain(panel.answer.value)}")
    panel.back.click()
    panel.back.click()
    lines.append(f"answers left after taking back twice: {len(panel.sessions()[1].answers)}")
    panel.close_all()
    return lines


def _import(book: Logbook) -> list[str]:
    from spoonline.widgets.import_panel import ImportPanel

    panel = ImportPanel(book)
    panel._open(OLD_SHEET.encode("cp1252"), "old trials.csv")
    panel.invented.value = True
    lines = [_plain(panel.answer.value)]
    panel.date_order.value = "day first"
    panel._tools["ring"][1].value = True
    lines.append(_plain(panel.answer.value))
    panel.save.click()
    panel.work.wait()
    lines.append(html.unescape(_words(panel.status.value)))
    before = len(book.all_batches())
    panel.back.click()
    lines.append(f"batches after taking it back: {len(book.all_batches()) - before:+d}")
    panel.close_all()
    return lines


OLD_SHEET = """Village hall lunch club, invented
Dish;Date;Corn starch g;Stock, L;Pot before g;Pot after g;Ring radius cm;Temp C;Seen
White onion sauce;08/01/2025;42;1,5;5200;4980;6,7 6,8;62;pur\u00e9e smooth
White onion sauce;23/01/2025;48;1,5;5210;5000;5,9 6,0;61;
White onion sauce;30/01/2025;some;1,5;5190;5005;too thin;60;
Celery soup;05/02/2025;30;1;;;7,1;60;half a batch
"""


def _ahead(book: Logbook) -> list[str]:
    from spoonline.keeping import CoolingLog, Dinner
    from spoonline.widgets.make_ahead_panel import MakeAheadPanel

    panel = MakeAheadPanel(book)
    lines = []
    for depth in (5.0, 2.5):
        panel.cool.depth.value = depth
        lines.append(f"{depth:g} cm deep: {_plain(panel.cool.answer.value)}")
    log = panel.log_part
    log.title.value, log.on.value = SOUP, "2026-01-21"
    log.readings.value = "14:05 71\n14:35 57\n15:20 38"
    lines.append(_words(log.advice.value.partition("</div>")[0]))
    log.readings.value += "\n16:25 20,5\n19:40 4,8"
    log.keep()
    lines.append(f"log: {_plain(log.verdict.value)} Kept: {book.kept(CoolingLog)[0].verdict}")
    dinner = panel.dinner
    dinner.at.value = "2026-01-22 12:30"
    dinner.make()
    lines.append(_plain(dinner.answer.value))
    dinner.keep()
    dinner.hours.value = "1: 15:00-17:00\n0: 11:00-12:30"
    dinner.make()
    lines += [_plain(dinner.answer.value), f"dinners kept: {len(book.kept(Dinner))}"]
    panel.close_all()
    return lines


def _words(markup: str) -> str:
    return re.sub(r"<[^>]*>", "", markup).strip()


def _plain(markup: str) -> str:
    """The first sentence of a status line, without its markup."""
    return _words(re.sub(r"<div class.*", "", markup.partition(">")[2]))


DRIVERS: dict[str, Callable[[Logbook], list[str]]] = {
    "start": _start, "batch": _batch, "dose": _dose, "compare": _compare, "card": _card, "flow": _flow, "plan": _plan, "effect": _effect,
    "ingredients": _ingredients, "tasters": _tasters, "ahead": _ahead, "import": _import,
}  # fmt: skip


def kept() -> dict[str, list[str]]:
    """What each form said when it was saved last, by name."""
    found: dict[str, list[str]] = {}
    for line in KEPT.read_text(encoding="utf-8").splitlines():
        if line.startswith("== "):
            lines = found[line.removeprefix("== ")] = []
        else:
            lines.append(line)
    return found


def said_now() -> Iterator[str]:
    """What each form says now, each on a demo of its own."""
    from spoonline.logbook import passing_demo

    for name, drive in DRIVERS.items():
        with passing_demo() as book:
            yield "\n".join([f"== {name}", *drive(book)])


if __name__ == "__main__":
    text = "\n".join(said_now())
    print(text)
    if "--save" in sys.argv:
        KEPT.write_text(text + "\n", encoding="utf-8")
