"""Screens that cannot lie: seeded random sequences of every control of a form, and what holds after each step.

A form is a function of what is chosen and typed and of the logbook. So after any sequence a fresh form, given the same logbook and the
same fields, says the same in every answer, figure, table, link and choice; what comes of a press (a list, a plan) is either not there
or what the same press gives the fresh form. An error that stands is one that the fresh form says too, or that the same press says again.
"""

from __future__ import annotations

import base64
import html
import random
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

import ipywidgets as w
import pytest

import spoonline as sl
import tiers
from spoonline.card import CardNote, SignOff
from spoonline.effects import PotPlan
from spoonline.keeping import Dinner, FreeHours, read_dishes
from spoonline.logbook import make_demo
from spoonline.measures.local import write_decimals_with
from spoonline.recipes import Habits, OwnSpoon, OwnTrim, Pan
from spoonline.tasters import Sample, plan_session
from spoonline.widgets import (
    CardPanel,
    ComparePanel,
    FlowPanel,
    ImportPanel,
    IngredientsPanel,
    MakeAheadPanel,
    PlanPanel,
    StartPanel,
    TastersPanel,
)  # fmt: skip
from spoonline.widgets.make_ahead_panel import EXAMPLE as DINNER
from spoonline.widgets.parts.fields import Message
from spoonline.widgets.parts.panel import Panel, TakeBack
from spoonline.widgets.parts.rows_table import RowsTable

SOUP, STEPS = "Roast parsnip and pear soup", 12
TYPED = [
    "", "12", "0", "-3", "lots", "1,5", "62", "0,35", "1; 2", "4; 5", "2026-01-20", "31.1.2026", "2", "for 20", "28", "20 x 30", "<b>x</b>",
    "1e9", "nan", "corn starch", "1 heaped tbsp", "12; 15; 11", "800", "660", "burner 2, oven 1, large pot 1", "145 F", "Hall lunch",
    "2026-12-24 12:30", "24", "3,4 3,5",
]  # fmt: skip
PASTED = [
    "", "Only a title", "Barley broth\n\n1 l water\n60 g pearl barley\n10 g corn starch\n\nSimmer 20 minutes.",
    "Hall sauce\nServes 8\n\n1 l milk\n50 g wheat flour\n50 g butter\n2 onions\n\nBoil for 5 minutes.", "x" * 400,
    "Bad line\n\n1,250 g flour 3 5", "0 85\n30 60\n110 20", "0 60\n30 62", "soon 57", "14:00 80\n14:30 64", "onions: 500 g", "onions",
    "1: 14:00-18:00\n0: 9:00-12:30", "noon", DINNER, "Soup\n- Simmer; 15+20; burner; day 1",
]  # fmt: skip
SLOW = (
    "Back this",
    "Check every",
    "Export everything",
    "Write the cards",
    "Make a booklet",
    "Hand over",
    "Get this figure",
    "Stop",
)
# What one sees only of one's own doing: the two lines that say what happened, drafts that another session left, work under way.
OWN = ("status", "alert", "draft", "work", "guard", "back", "undo", "file")


def parts(widget: w.Widget) -> Iterator[w.Widget]:
    """The form and everything in it, top to bottom."""
    yield widget
    for child in getattr(widget, "children", ()):
        yield from parts(child)


def hidden(panel: Panel) -> set[w.Widget]:
    """What belongs to a session and not to the state of a form."""
    owners = [panel, *(each for each in vars(panel).values() if isinstance(each, w.Box))]
    own = [getattr(owner, name) for owner in owners for name in OWN if isinstance(getattr(owner, name, None), w.Widget)]
    return {each for one in own for each in parts(one)}


def inputs(panel: Panel) -> list[w.Widget]:
    """What a cook can set."""
    kinds = (w.Text, w.Textarea, w.Dropdown, w.Checkbox, w.FloatSlider, RowsTable)
    apart = hidden(panel)
    return [each for each in parts(panel) if isinstance(each, kinds) and each not in apart]


_CALENDAR = re.compile(r"(?<=data:text/calendar;base64,)[^\"]*")


def _undated(data: re.Match[str]) -> str:
    """A calendar without the moment at which it was written."""
    return re.sub(r"DTSTAMP:\w+", "", base64.b64decode(data[0]).decode())


def plain(text: str) -> str:
    return re.sub(r"<[^>]*>", "", text)


def seen(panel: Panel) -> list[Any]:
    """What stands on the screen: every text, figure, table and link, and every choice that is offered."""
    found: list[Any] = []
    apart = hidden(panel)
    for each in parts(panel):
        if each in apart:
            continue
        if isinstance(each, w.Dropdown):
            found.append((each.description, tuple(label for label, _ in each._options_full)))
        elif isinstance(each, w.HTML):
            # which of two live lines is in the page when there is nothing to say is no difference
            bare = isinstance(each, Message) and not plain(each.value)
            found.append("" if bare else _CALENDAR.sub(_undated, each.value))
    return found


def fields_of(panel: Panel) -> list[Any]:
    return [
        each.label if isinstance(each, w.Dropdown) else each.rows if isinstance(each, RowsTable) else each.value
        for each in inputs(panel)
    ]


def chosen(panel: Panel) -> list[Any]:
    """The dishes that are chosen."""
    return [each.value for each in inputs(panel) if isinstance(each, w.Dropdown) and each.description == "Recipe"]


def set_as(panel: Panel, other: Panel) -> None:
    """Put into a fresh form what stands in another: what is chosen brings fields with it, so more than once."""
    for _ in range(3):
        for mine, its in zip(inputs(panel), inputs(other), strict=False):
            if isinstance(mine, RowsTable):
                mine.rows = its.rows
            elif isinstance(mine, w.Dropdown):
                if mine.label != its.label and its.label in [label for label, _ in mine._options_full]:
                    mine.label = its.label
            elif mine.value != its.value:
                mine.value = its.value


@dataclass
class Case:
    """A form: how it is opened, what its presses leave on the screen, and what its Save would store."""

    open: Callable[[sl.Logbook], Panel]
    pressed: dict[str, Callable[[Panel], w.Widget]] = field(default_factory=dict)  # button: what only it fills
    saves: dict[str, Callable[[Panel], Any]] = field(default_factory=dict)  # button: what it is about to save
    pasted: tuple[int, ...] = tuple(range(len(PASTED)))
    offered: Callable[[Panel], list[w.Widget]] = lambda _panel: []  # what the form fills in where nobody typed
    carry: Callable[[Panel, Panel], Any] = lambda _panel, _fresh: None  # what a press put aside
    quick: int = 24  # sequences; fewer of a form that works for seconds at a step


SHEET = f"""Dish;Date;Corn starch g;Stock L;Ring radius cm;Temp C;Seen
{SOUP};23/01/2025;42;1,5;6,7 6,8;62;invented
Hall celery soup;25/01/2025;30;1;too thin;60;invented
Hall celery soup;03/02/2025;33;1;;;invented
"""


def _import(book: sl.Logbook) -> Panel:
    sheet = Path(book.where).with_name("trials.csv")
    sheet.write_text(SHEET)
    panel = ImportPanel(book)
    panel.path.value = str(sheet)
    return panel


def _carry_reading(panel: Any, fresh: Any) -> None:
    fresh.kept, fresh.kept_message.value = panel.kept, panel.kept_message.value
    fresh._changed()


def _flow(_book: sl.Logbook) -> Panel:
    return FlowPanel()


CASES = {
    "start": Case(StartPanel, saves={"Save this recipe": lambda p: p.recipe}),
    "compare": Case(ComparePanel, quick=6),
    "card": Case(
        CardPanel, saves={"Save these notes": lambda p: p._noted(), "Sign this point off": lambda p: p._signed()},
        offered=lambda p: [p.note, p.prep, p.credit, p.reason, p.names, p.may], quick=6,
    ),
    "flow": Case(_flow, carry=_carry_reading),
    "ingredients": Case(
        IngredientsPanel, {"Scale the recipe": lambda p: p.scaled, "Write the list": lambda p: p.shopping},
        {"Save this spoon": lambda p: p.own.weighed_spoon(), "Save this trimming": lambda p: p.own.weighed_trim(),
         "Save this pan": lambda p: p.own.measured_pan()},
    ),
    "tasters": Case(
        TastersPanel,
        saves={"Plan it and write the ballots": lambda p: p._new(), "Save these answers": lambda p: p._answered()},
        offered=lambda p: [p.answers],
    ),
    "ahead": Case(
        MakeAheadPanel, {"Plan it": lambda p: p.dinner.answer},
        {"Save this log": lambda p: p.log_part.made(), "Save this dinner": lambda p: p.dinner.dinner()}, quick=3,
    ),
    "plan": Case(PlanPanel, saves={"Save this plan": lambda p: p._made()}, offered=lambda p: [p.out], quick=6),
    "import": Case(_import),
}  # fmt: skip


def records(book: sl.Logbook) -> dict[str, Any]:
    """All that stands and ever stood, by id."""
    kinds = (
        PotPlan,
        CardNote,
        SignOff,
        OwnSpoon,
        OwnTrim,
        Pan,
        Dinner,
        sl.tasters.Session,
        sl.keeping.CoolingLog,
        Habits,
    )
    found = {each.id: each for kind in kinds for each in book.kept(kind, history=True)}
    for title in book.titles():
        found |= {f"{title} {each.number}": each.recipe for each in book.all_versions(title)}
        found |= {each.id: each for each in book.all_batches(title)}
    return found


def told(record: Any) -> dict[str, Any]:
    """What a record says, without what the logbook gives it."""
    return record.model_dump(exclude={"id", "recorded_at"})


def elsewhere(other: sl.Logbook, rng: random.Random) -> None:
    """Somebody else saves or takes back something."""
    titles = other.titles()
    title = rng.choice(titles)
    versions = other.all_versions(title)

    def dish() -> None:
        other.save(sl.Recipe(title=f"Broth {rng.randrange(99)}", ingredients=["1 l beef stock", "20 g corn starch"]))

    def version() -> None:
        recipe = versions[-1].recipe
        other.save(recipe.model_copy(update={"servings": Decimal(rng.randrange(2, 60))}), "elsewhere")

    def version_back() -> None:
        if len(titles) > 2 or len(versions) > 1:
            other.take_back(versions[-1])

    def pot() -> None:
        other.record(
            sl.Batch(title=title, version=versions[-1].number, cooked_on="2026-02-05", note=f"windy {rng.random()}")
        )

    def pot_back() -> None:
        if batches := other.all_batches(title):
            other.take_back(batches[-1])

    def session() -> None:
        if len(versions) > 1:
            samples = [Sample(label=f"version {each.number}", version=each.number) for each in versions[-2:]]
            number = max((each.number for each in other.kept(sl.tasters.Session, title, history=True)), default=0) + 1
            other.keep(plan_session(title, "triangle", samples, 6, number=number, about="thickness", seed=number))

    def kept() -> None:
        records = [
            CardNote(title=title, note=f"windy {rng.randrange(99)}"), Pan(name="Hall pot", diameter_cm=rng.randrange(20, 40)),
            OwnTrim(item="onions", whole_g=800, trimmed_g=rng.randrange(500, 700)), Habits(decimal=rng.choice(".,")),
            Dinner(name="Hall lunch", serve_at="2026-12-24 12:30", guests=rng.randrange(2, 60), dishes=read_dishes(DINNER), note=DINNER,
                   free=[FreeHours(day=1, start="09:00", end="17:00")], tools={"burner": 2, "oven": 1, "large pot": 1}),
        ]  # fmt: skip
        other.keep(rng.choice(records))

    rng.choice([dish, version, version_back, pot, pot_back, session, kept])()


def turn(panel: Panel, case: Case, rng: random.Random) -> None:
    """Set one field, at random."""
    each = rng.choice(inputs(panel))
    if isinstance(each, w.Dropdown):
        each.index = rng.randrange(len(each.options)) if each.options else None
    elif isinstance(each, w.Checkbox):
        each.value = not each.value
    elif isinstance(each, w.FloatSlider):
        each.value = rng.uniform(each.min, each.max)
    elif isinstance(each, RowsTable):
        if each.rows:
            rows = [[*row] for row in each.rows]
            rows[rng.randrange(len(rows))][0] = rng.choice(["10 g", "1,250 g", "", "1 kg"])
            each.rows = rows
    else:
        each.value = rng.choice(PASTED if isinstance(each, w.Textarea) else TYPED)


def buttons(panel: Panel) -> list[w.Button]:
    apart = {each for each in hidden(panel) if not isinstance(each, TakeBack)}
    return [
        each for each in parts(panel)
        if isinstance(each, w.Button) and each not in apart and not each.description.startswith(SLOW) and not each.disabled
    ]  # fmt: skip


def fault_of(make: Callable[[], Any]) -> str:
    try:
        make()
    except sl.KitchenError as err:
        return str(err)
    return ""


def press(panel: Panel, case: Case, button: w.Button, book: sl.Logbook) -> None:
    """Press twice, as a quick finger does: one record at the most, and what is saved is what the form held."""
    saves = case.saves.get(button.description)
    wrong = fault_of(lambda: saves(panel)) if saves else ""
    shown = told(saves(panel)) if saves and not wrong else None
    before = records(book)
    button.click()
    if isinstance(panel, ImportPanel):
        panel.work.wait()
    now = records(book)
    new = [now[key] for key in now if key not in before]
    if wrong:
        assert plain(panel.alert.value) and not new, f"{button.description}: refused, and said why"
    elif shown is not None:
        assert (
            "Saved" in panel.status.value
            or "Planned" in panel.status.value
            or "Signed" in panel.status.value
            or panel.alert.value
        )
        assert len(new) <= 1 and all(told(each) == shown for each in new), f"{button.description} saves what is shown"
    if saves:
        button.click()
        assert len(records(book)) == len(now), f"{button.description}, pressed twice, saves once"


def check(panel: Panel, case: Case, book: sl.Logbook) -> None:
    """Everything on the screen belongs to what is chosen and typed now, and to the logbook as it is."""
    fresh = case.open(book)
    set_as(fresh, panel)
    case.carry(panel, fresh)
    try:
        assert fields_of(fresh) == fields_of(panel)
        for name, part in case.pressed.items():
            if plain(part(panel).value):
                next(each for each in parts(fresh) if isinstance(each, w.Button) and each.description == name).click()
        for mine, its in zip(seen(panel), seen(fresh), strict=True):
            assert mine == its
        # what a press refused stands while that press would refuse again; one that has no state goes with whatever is done next
        said, again = ({text for text, *_ in each._wrong.values()} for each in (panel, fresh))
        for text, then, state in panel._wrong.values():
            assert text in again or state is None or state() == then, f"{text}: this was cured"
        assert not again - said, "what is wrong is not said any more"
        assert all(text in html.unescape(panel.alert.value) for text in said)
    finally:
        fresh.close_all()


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("kitchen") / "demo.sqlite"
    make_demo(path).close()
    return path


def run(name: str, kitchen: Path, path: Path, seed: int) -> None:
    case, rng = CASES[name], random.Random(f"{name} {seed}")
    shutil.copy(kitchen, path)
    book, other = sl.open_logbook(path), sl.open_logbook(path)
    write_decimals_with(book.habits.decimal)
    panel = case.open(book)
    try:
        for _ in range(STEPS):
            what = rng.random()
            if what < 0.6:
                turn(panel, case, rng)
            elif what < 0.8 and buttons(panel):
                press(panel, case, rng.choice(buttons(panel)), book)
            else:
                elsewhere(other, rng)
                typed = {each: each.value for each in inputs(panel) if isinstance(each, (w.Text, w.Textarea))}
                here, said = chosen(panel), panel.status.value
                panel.look()
                if here == chosen(panel):  # else the dish itself was taken back, and with it what was typed of it
                    lost = [
                        each for each, text in typed.items() if each.value != text and each not in case.offered(panel)
                    ]
                    assert not lost, [each.description for each in lost]
                assert panel.status.value == said
            assert "no fault of yours" not in panel.alert.value and "Decimal(" not in panel.alert.value
            if rng.random() < 0.1:
                panel.look()
                check(panel, case, book)
        panel.look()
        check(panel, case, book)
    finally:
        panel.close_all()
        book.close()
        other.close()


@pytest.mark.parametrize("name", CASES)
def test_a_screen_belongs_to_what_is_chosen_and_typed(name: str, kitchen: Path, tmp_path: Path) -> None:
    for seed in range(CASES[name].quick):
        run(name, kitchen, tmp_path / f"{seed}.sqlite", seed)


@pytest.mark.long
@pytest.mark.parametrize("name", CASES)
def test_a_screen_belongs_to_it_however_long(name: str, kitchen: Path, tmp_path: Path) -> None:
    tried = CASES[name].quick  # by the quick test above
    for seed in range(tried, max(tiers.sequences(0), tried + 1)):
        run(name, kitchen, tmp_path / "kitchen.sqlite", seed)
        for each in tmp_path.iterdir():
            each.unlink()
