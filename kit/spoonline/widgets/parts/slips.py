"""What was typed at the stove and is likely a slip: it is asked, and answered by one press or another figure before anything is saved."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any, NamedTuple

import ipywidgets as w

from spoonline.flow import unit_of
from spoonline.measures.errors import or_none
from spoonline.pots import Batch, is_fresh, shown_as
from spoonline.recipes import Recipe
from spoonline.widgets.parts.fields import Message, appear
from spoonline.widgets.parts.panel import Panel
from spoonline.widgets.parts.tools import ReadingFields
from spoonline.widgets.parts.typed import degrees, figure, likelier, said

HOTTEST_C = 110.0  # what a reading may say
HEAVY_POT_G = 5000.0  # a cast-iron casserole with its lid (common practice, no source)
STIFF_G_PER_L = 135.0  # the concentration of a stiff paste of maize starch
FAR_OFF = 5.0  # times what the aim would show: as much as a tenfold dose gives, or a comma (judged)
AS_TYPED = "It is right as typed"


class Slip(NamedTuple):
    """What is likely a slip, in words; where it is known what was meant, its field and that value."""

    words: str = ""
    field: w.Text | None = None
    better: str = ""
    may_stand: bool = True


class Doubt(w.VBox):
    """The first slip that was not answered yet, with a press for what was likely meant, and one for what was typed."""

    def __init__(self, panel: Panel, again: Callable[[], Any]) -> None:
        self._again, self._slips, self._answered = again, list[Slip](), set[str]()
        self.asked = Message("status", "sl-ask")
        self.accept, self.as_typed = panel.button("Yes", self._accept), panel.button(AS_TYPED, self._as_typed)
        super().__init__([self.asked, w.HBox([self.accept, self.as_typed])])

    def ask(self, slips: Iterable[Slip]) -> None:
        """Ask of these, one after the other."""
        self._slips = [each for each in slips if each.words not in self._answered]
        first = self._slips[0] if self._slips else Slip()
        self.asked.say(first.words)
        self.accept.description = f"Yes, {first.better}"
        appear(first.field, self.accept)
        appear(first.words and first.may_stand, self.as_typed)
        appear(first.words, self)

    def answered(self) -> None:
        """Nothing is doubted any more; else a BatchError that says how to answer."""
        if self._slips:
            raise said.error("doubted", words=self._slips[0].words, as_typed=AS_TYPED)

    def begin(self, *, recorded: bool) -> None:
        """Another pot: of one that is recorded, what was doubted then was answered then."""
        self._answered = set()
        self._again()
        if recorded:
            self._answered = {each.words for each in self._slips}
            self._again()

    def _accept(self) -> None:
        if self._slips and (field := self._slips[0].field) is not None:
            field.value = self._slips[0].better

    def _as_typed(self) -> None:
        self._answered |= {each.words for each in self._slips[:1]}
        self._again()


def slips(
    lines: Iterable[tuple[w.Text, str, float]], pots: Iterable[tuple[w.Text, str]], reading: ReadingFields,
    batch: Batch | None, recipe: Recipe, pot_g: float, tonight: Recipe,
) -> Iterator[Slip]:  # fmt: skip
    """What is likely a slip: a comma or a unit off, a hot pot that is cold, Fahrenheit, a lid weighed only once.

    Parameters
    ----------
    lines : iterable of (field, what, expected)
        Fields that hold masses [g].
    pots : iterable of (field, what)
        Fields that hold the pot with everything.
    reading : ReadingFields
    batch, recipe : Batch or None, Recipe
        The pot as it can be read so far.
    pot_g : float
        What the pot is expected to weigh with everything in [g].
    tonight : Recipe
        In tonight's size, with its aim, against which a reading far off is asked.
    """
    aim, poured = tonight.target, {each.item for each in tonight.ingredients if each.part == "liquid"}
    celsius = or_none(degrees, reading.temperature.value)
    if celsius is not None and celsius > 105:
        meant = (celsius - 32) / 1.8
        words = said("hotter than food", celsius=celsius, meant=meant)
        yield Slip(words, reading.temperature, f"{meant:.1f}", may_stand=celsius <= HOTTEST_C)
    weighings, some = [(*pot, pot_g) for pot in pots], float(f"{pot_g:.2g}")
    lines = [*lines]
    for field, what, expected in (*lines, *weighings):
        typed = or_none(figure, field.value, what, "g")
        whole = (field, what, expected) in weighings
        if typed and whole and pot_g < typed <= pot_g + HEAVY_POT_G:
            continue
        better = likelier(typed, expected) if typed else None
        if better is not None:
            yield Slip(f"{what}: {typed:g} g came; was {better:g} g meant?", field, f"{better:g} g")
        elif typed is not None and whole and not 0.25 <= typed / pot_g <= 4:
            yield Slip(f"{what}: {typed:g} g came; some {some:g} g is expected.")
    read = None if reading.blank else or_none(reading.reading)
    if read and aim and is_fresh(read.stage, aim):
        shown = or_none(shown_as, read, float(aim.viscosity_pa_s), aim)
        if shown and not 0.1 < read.mean / shown < FAR_OFF:
            told = {"what": reading.values.description.split(",")[0], "unit": unit_of(read.tool).split()[0]}
            yield Slip(said("likely slip of a reading", came=read.mean, expected=shown, tool=read.tool, **told))
    for weighed in (each.mass_g for each in batch.moments if each.kind == "weighed") if batch else ():
        if weighed and not 0.25 * pot_g <= weighed <= 4 * pot_g + HEAVY_POT_G:
            yield Slip(said("weighed slip", weighed=float(weighed), some=some))
    if celsius is not None and celsius < 40 and reading.stage.value == "hot":
        yield Slip(f"{celsius:g} C is cold for a reading of the stage hot: choose served or chilled, or read it hot.")
    dose = batch.cooked(recipe).dose_g_per_l if batch else 0.0
    if dose > STIFF_G_PER_L:
        yield Slip(f"{dose:.0f} g/L of starch is a stiff paste: check the grams that went in.")
    if batch and batch.evaporated_g and batch.evaporated_g > 0.3 * pot_g:
        yield Slip(said("much evaporated", gone=batch.evaporated_g))
    expects = [(what, expected) for _, what, expected in lines]
    for line in batch.weighed if batch else ():
        by_measure = or_none(figure, line.typed, line.item, "g") is None
        expected = expects[line.line - 1][1] if line.line <= len(expects) else 0
        if by_measure and expected and not 0.1 <= float(line.mass_g) / expected <= 10:
            yield Slip(said("measure far off", of=line, expected=expected))
    for each in batch.moments if batch else ():
        if each.kind == "put in" and each.mass_g:
            came = float(each.mass_g)
            if each.line and each.line > len(expects):
                yield Slip(f"The pot's story: line {each.line} came; the recipe has {len(expects)}.", may_stand=False)
                continue
            item, expected = expects[each.line - 1] if each.line else (each.item, dict(expects).get(each.item, 0))
            better = likelier(came, expected)
            if better and better < came and item not in poured:  # a pinch more of something is no slip
                yield Slip(said("put in slip", came=came, item=item, better=better))
            elif came > pot_g - came:
                yield Slip(said("put in too much", came=came, item=item))
