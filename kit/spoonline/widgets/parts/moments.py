"""What happens to a pot on its way, as a cook types it: one moment in fields, and the whole story as rows of a table."""

from collections.abc import Sequence
from typing import Any, get_args

import ipywidgets as w

from spoonline.measures import parse_amount
from spoonline.pots import STAGES, Kind, Moment
from spoonline.recipes import Ingredient, OwnSpoon
from spoonline.widgets.parts.fields import FORMS, appear, declared, watch
from spoonline.widgets.parts.tools import reading_cells, typed_reading
from spoonline.widgets.parts.typed import WORDS, about, degrees, figure, grams_typed, said

COLUMNS = FORMS["a pot's story"]["columns"]
EVENTS, ASKED = FORMS["events"], "?"
TIMED = ("held", "reheated")


def moment_cells(moment: Moment) -> list[str]:
    """A moment as the cells that :func:`typed_moment` takes."""
    if moment.reading is not None:
        return reading_cells(moment.reading)
    much = f"{moment.mass_g} g" if moment.mass_g is not None else ""
    if moment.kind in TIMED:
        much = f"{moment.minutes} min" if moment.minutes is not None else ""
    elif not much and moment.volume_ml is not None:
        much = f"{moment.volume_ml} ml"
    what = moment.item or moment.what or moment.pot or (f"line {moment.line}" if moment.line else "")
    celsius = "" if moment.temperature_c is None or moment.kind in STAGES else f"{moment.temperature_c}"
    return [moment.kind, what, celsius, much, "", ""]


def typed_moment(cells: Sequence[str], spoons: Sequence[OwnSpoon] = (), system: str = "us", tare: str = "") -> Moment:
    """A moment from the cells of a row.

    Raises
    ------
    KitchenError
        If something is missing or wrong; the sentence names it.
    """
    kind, what, celsius, much, sizes, left_out = (*(cell.strip() for cell in cells), *[""] * 6)[:6]
    kind = kind.lower()
    # a pot that was chilled, or read chilled: only a reading has a temperature
    if kind in ("", *STAGES) and (celsius or kind not in get_args(Kind)):
        return Moment(kind="read", reading=typed_reading(kind, what, celsius, much, sizes, left_out))
    kinds = ", ".join(get_args(Kind))
    said.refuse(kind not in get_args(Kind), "no kind", came=kind, stages=", ".join(STAGES), kinds=kinds)
    fields: dict[str, Any] = {"kind": kind}
    line = WORDS["line"].fullmatch(what)
    if kind in TIMED:
        fields |= {"minutes": figure(much, "Minutes", "min"), "temperature_c": degrees(celsius)}
    elif kind == "put in":
        weight = grams_typed(much, Ingredient(**Ingredient.fields_of(what or "water")), spoons, system)
        fields |= {"line": int(line[1])} if line else {"item": what}
        fields |= {"mass_g": round(weight.mass_g, 2), "sd_g": round(weight.sd_g, 3)} if weight else {}
    elif kind == "strained" and much and parse_amount(much).unit not in ("", "g", "kg"):
        fields["volume_ml"] = figure(much, "Sauce", "ml")
    elif kind != "chilled":
        fields["mass_g"] = figure(much, kind.capitalize(), "g")
    if kind == "weighed":
        fields |= {"pot": what, "tare_g": figure(tare, "The pot empty", "g")}
    return Moment(**fields | ({"what": what} if kind == "taken out" else {}))


class EventFields(w.HBox):
    """Fields for one thing that happened to the pot."""

    def __init__(self) -> None:
        super().__init__(declared(self, "what happened", event=EVENTS))
        self.add_class("sl-row")
        watch(self._chosen, self.event)
        self._chosen()

    def _chosen(self, _change: Any = None) -> None:
        _, self.much.description, what = EVENTS[self.event.value]
        appear(self.much.description, self.much)
        appear(what == ASKED, self.what)

    def cells(self) -> list[str]:
        """The row that was typed."""
        kind, _, what = EVENTS[self.event.value]
        return [kind, self.what.value if what == ASKED else what, "", self.much.value, "", ""]

    @property
    def fields(self) -> dict[str, w.Widget]:
        """The fields by name."""
        return {"event": self.event, "event what": self.what, "event much": self.much}

    @property
    def blank(self) -> bool:
        """Whether nothing stands in them."""
        return not (self.much.value.strip() or self.what.value.strip())

    def clear(self) -> None:
        """Begin anew."""
        self.much.value = self.what.value = ""


def typed_story(
    rows: Sequence[Sequence[str]], as_told: Sequence[Moment], spoons: Sequence[OwnSpoon], system: str, tare: str
) -> list[Moment]:  # fmt: skip
    """The moments of a table; a row that stands as it was told keeps what no cell shows."""
    # two that look alike may differ in what no cell shows: its own row first
    found, told = [], {n: (moment_cells(each), each) for n, each in enumerate(as_told, start=1)}
    for number, cells in enumerate(rows, start=1):
        same = next((n for n in (number, *told) if n in told and told[n][0] == list(cells)), None)
        with about(f"Row {number} of the story"):
            found.append(told.pop(same)[1] if same else typed_moment(cells, spoons, system, tare))
    return found
