"""From the readings of one pot to one viscosity at the target's temperature and shear rate."""

import math
from collections.abc import Iterable, Sequence
from contextlib import suppress
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from spoonline import flow
from spoonline.flow.fluid import GAS_CONSTANT, FloatArray, above_zero, said
from spoonline.measures import Range, ReadingError, as_said
from spoonline.pots.records import STAGES, Batch, Reading, known_stage
from spoonline.recipes import Target

# Hot starch-thickened liquids: white sauce 18.9 kJ/mol, pastes 4-16, rice starch 23-40 (published); maize paste n 0.3-0.6 (memory).
ACTIVATION_KJ, ACTIVATION_KJ_SD = 17.0, 6.0
FLOW_INDEX, FLOW_INDEX_SD = 0.5, 0.1
SOUP_DENSITY_KG_M3 = 1030.0
# After these a pot is another one than was read.
CHANGES = ("put in", "boiled off", "blended")
# A dish whose aim is colder than this is eaten cold [C].
SERVED_COLD_C = 20.0
T90 = 1.6448536269514722
# Two readings with one tool share what its single figure leaves open; only a change of the flow index matters (judged).
SAME_TOOL_INDEX_SD = 0.05
# Without an aim pots are still compared with one another: at this temperature [C] and shear rate [1/s].
USUAL_CONDITIONS = (60.0, 1.0)


def conditions(target: Target | None) -> tuple[float, float]:
    """Temperature [C] and shear rate [1/s] at which the pots of a dish are compared: its aim's, or 60 C and 1 1/s without one."""
    return USUAL_CONDITIONS if target is None else (float(target.temperature_c), float(target.shear_rate_per_s))


def ln_range(best: float, ln_sd: float) -> Range:
    """The 90 % range of a figure whose logarithm has this standard uncertainty."""
    return Range(*(best * math.exp(k * T90 * ln_sd) for k in (0, -1, 1)))


Conditions = tuple[float | None, float | None, float]  # shear rate [1/s], temperature [C], spread of the flow index


class Thickness(NamedTuple):
    """A viscosity [Pa s] with its standard uncertainty on the log scale, and the conditions it holds at.

    ``own_ln_sd`` is the part of it that is this reading's own, without what all readings of its tool have in common.
    """

    viscosity_pa_s: float
    ln_sd: float
    temperature_c: float
    shear_rate_per_s: float
    flags: tuple[str, ...] = ()
    own_ln_sd: float = 0.0

    @property
    def range(self) -> Range:
        """The 90 % range [Pa s]."""
        return ln_range(self.viscosity_pa_s, self.ln_sd)

    @property
    def text(self) -> str:
        """Value, range and conditions in words."""
        return f"{self.range:.2g} Pa s (90 % range) at {self.shear_rate_per_s:g} 1/s and {self.temperature_c:g} C"


def temperature_ratio(from_c: float, to_c: float, activation_kj: float = ACTIVATION_KJ) -> float:
    """Viscosity at ``to_c`` over viscosity at ``from_c`` [C] (Arrhenius, fresh sauces, 5 to 100 C).

    17 kJ/mol with a standard uncertainty of 6 (white sauce 18.9, read; pastes 4 to 16, memory). Never across chilling and
    reheating of a starch dish.

    Examples
    --------
    >>> round(temperature_ratio(60, 20), 2)
    2.31
    """
    return math.exp(activation_kj / GAS_CONSTANT * (1 / (to_c + 273.15) - 1 / (from_c + 273.15)))


def shift_ln_sd(from_c: float, to_c: float) -> float:
    """Standard uncertainty of ln :func:`temperature_ratio`."""
    return abs(math.log(temperature_ratio(from_c, to_c))) * ACTIVATION_KJ_SD / ACTIVATION_KJ


def own_thickness(reading: Reading) -> Thickness:
    """The viscosity at the reading's own temperature and shear rate."""
    return brought_to(reading, None, None)


def thickness_at(reading: Reading, target: Target | None) -> Thickness:
    """The viscosity at the target's temperature and shear rate; 60 C and 1 1/s where there is none.

    Returns
    -------
    Thickness
        With the spread of the reading, of the flow index (0.5, standard uncertainty 0.1, where one tool alone was used) and of
        the temperature shift.
    """
    temperature_c, rate = conditions(target)
    return brought_to(reading, rate, temperature_c)


def brought_to(
    reading: Reading, rate: float | None, temperature_c: float | None, flow_index_sd: float = FLOW_INDEX_SD
) -> Thickness:
    """The viscosity at a shear rate [1/s] and temperature [C], its own where None; a spread of the flow index of 0 leaves the reading's
    own error. It is kept with the reading."""
    key = rate, temperature_c, flow_index_sd
    if key not in reading.brought:
        _together([reading], key)
    found: Thickness = reading.brought[key]
    return found


def unread(reading: Reading) -> str:
    """Why nothing can be worked out from a reading; blank where it can."""
    try:
        if not any(spread >= FLOW_INDEX_SD for *_, spread in reading.brought):
            own_thickness(reading)
    except ReadingError as err:
        return str(err)
    return ""


def bring(
    readings: Iterable[Reading], rate: float | None, temperature_c: float | None, flow_index_sd: float = FLOW_INDEX_SD
) -> None:
    """Work out :func:`brought_to` of many readings, those of one tool at once; what cannot be read is said where it alone is asked for."""
    key, alike = (rate, temperature_c, flow_index_sd), dict[tuple[Any, ...], list[Reading]]()
    for each in readings:
        if key not in each.brought:
            alike.setdefault((each.tool, *sorted(each.settings.items())), []).append(each)
    for same in alike.values():
        try:
            _together(same, key)
        except ReadingError:  # of one of them: the others are read by themselves
            for each in same:
                with suppress(ReadingError):
                    _together([each], key)


def _together(same: Sequence[Reading], key: Conditions) -> None:
    """Readings of one tool at once; ReadingError if one of them cannot be read."""
    rate, temperature_c, flow_index_sd = key
    shown, sds = np.array([(each.mean, each.sd) for each in same]).T
    tool = same[0].instrument()
    with np.errstate(all="ignore"):  # what comes out beyond all figures is refused
        rates = tool.shear_rate(tool.fluid(shown, FLOW_INDEX, SOUP_DENSITY_KG_M3)) if rate is None else rate
        best, parts = tool.ln_sds(shown, sds, FLOW_INDEX, flow_index_sd, SOUP_DENSITY_KG_M3, at_shear_rate=rates)
    if not (above_zero(best) and np.all(np.isfinite(rates))):
        raise said.error("no food", tool=tool.name, came=as_said(shown.tolist()), unit=tool.unit)
    index = np.broadcast_to(parts.pop("index", 0.0), shown.shape)
    rows = zip(same, best, np.broadcast_to(rates, shown.shape), index, *parts.values(), strict=True)
    for each, viscosity, at_rate, by_index, *own in rows:
        alone, own_c = math.hypot(*own), float(each.temperature_c)
        to_c = own_c if temperature_c is None else temperature_c
        sd = math.hypot(math.hypot(alone, by_index), shift_ln_sd(own_c, to_c))
        thick = float(viscosity) * temperature_ratio(own_c, to_c)
        each.brought[key] = Thickness(thick, sd, to_c, float(at_rate), each.flags, alone)


def bring_all(batches: Iterable[Batch], target: Target | None) -> None:
    """Work out the readings of many pots at the target's conditions at once."""
    read = (each for batch in batches for each in (*batch.readings, *(moment.reading for moment in batch.moments)))
    bring((each for each in read if each is not None and not each.left_out), *conditions(target)[::-1])


def tool_shows(tool: flow.Instrument, viscosity_pa_s: float, shear_rate_per_s: float) -> float | None:
    """What a tool reads of a viscosity [Pa s] at a shear rate [1/s], in its own unit; None where it cannot read that.

    >>> round(tool_shows(flow.usual("spatula"), 0.4, 1.0), 2)
    1.44
    """
    shown = float(_tool_shows(tool, np.array([viscosity_pa_s]), shear_rate_per_s)[0])
    return None if math.isnan(shown) else shown


def _tool_shows(tool: flow.Instrument, viscosity_pa_s: FloatArray, shear_rate_per_s: float) -> FloatArray:
    """As :func:`tool_shows`, of many viscosities at once; NaN where the tool cannot read one."""
    consistency = viscosity_pa_s * shear_rate_per_s ** (1 - FLOW_INDEX)
    try:
        shown = np.ravel(tool.reading(flow.Fluid(consistency, FLOW_INDEX, SOUP_DENSITY_KG_M3)))
    except ReadingError:  # of one of them
        if viscosity_pa_s.size == 1:
            return np.array([math.nan])
        return np.concatenate([_tool_shows(tool, each, shear_rate_per_s) for each in viscosity_pa_s[:, None]])
    return np.array([math.nan if tool.flags(float(each)) else each for each in shown])


def shown_as(reading: Reading, viscosity_pa_s: float, target: Target | None) -> float | None:
    """What the tool of a reading would have shown, as hot as the food then was, of a viscosity at the target's conditions [Pa s]."""
    shown = float(all_shown_as(reading, np.array([viscosity_pa_s]), target)[0])
    return None if math.isnan(shown) else shown


def all_shown_as(reading: Reading, viscosity_pa_s: FloatArray, target: Target | None) -> FloatArray:
    """As :func:`shown_as`, of many viscosities at once; NaN where the tool cannot read one."""
    temperature_c, rate = conditions(target)
    then = viscosity_pa_s * temperature_ratio(temperature_c, float(reading.temperature_c))
    return _tool_shows(reading.instrument(), then, rate)


def own_tool(batches: Sequence[Batch], target: Target | None) -> Reading:
    """A reading of the tool that these pots were read with last, as if at the target's temperature; the spatula's where none was read."""
    celsius = conditions(target)[0]
    read = (each for batch in reversed(batches) for each in reversed(batch.readings) if not each.set_apart)
    last = next((each for each in read if is_fresh(each.stage, target)), None)
    if last is not None:
        return last.model_copy(update={"temperature_c": celsius})
    return Reading(tool="spatula", settings=flow.usual_settings("spatula"), values=[3], temperature_c=celsius)


def shown_text(reading: Reading, viscosity: Range, target: Target | None) -> str:
    """A range of viscosity [Pa s] as the tool of a reading would have shown it, in its own unit; blank where it cannot read that."""
    found = [shown_as(reading, each, target) for each in viscosity]
    best, *ends = (each for each in found if each is not None) if None not in found else (None,)
    return "" if best is None else f"{Range(best, min(ends), max(ends)):.2g} {flow.unit_of(reading.tool)}"


@lru_cache
def tool_ln_sd(name: str, shear_rate_per_s: float) -> float:
    """What all readings of one tool have in common, on ln viscosity: its single figure leaves the flow index open (0.5, sd 0.1).

    At its usual sizes, for a liquid of the middle of kitchens' range that it can read.

    Examples
    --------
    >>> round(tool_ln_sd("spatula", 1.0), 2)
    0.29
    """
    tool = flow.usual(name)
    for viscosity in (0.5, 2.0, 0.1, 10.0):
        fluid = flow.Fluid(viscosity, FLOW_INDEX, SOUP_DENSITY_KG_M3)
        try:
            read = float(tool.reading(fluid))
            ends = [tool.fluid(read, FLOW_INDEX + side * FLOW_INDEX_SD, SOUP_DENSITY_KG_M3) for side in (-1, 1)]
        except ReadingError:
            continue
        low, high = (float(each.viscosity(shear_rate_per_s)) for each in ends)
        return abs(math.log(high / low)) / 2
    return 0.0


def is_fresh(stage: str, target: Target | None) -> bool:
    """Whether a reading at this stage tells how thick the pot is meant to be: fresh, or chilled where the aim itself is cold."""
    what = STAGES[stage]
    cold = target is not None and target.temperature_c < SERVED_COLD_C
    return what.fresh or (cold and what.temperature_c is not None and what.temperature_c < SERVED_COLD_C)


def read_at(batch: Batch, stage: str = "", target: Target | None = None) -> list[Reading]:
    """The readings of a pot at a stage, but for those that are set apart; without a stage the fresh ones (:func:`is_fresh`) of how it ended.

    Fresh readings may stand for one another once the temperature is allowed for; a chilled starch dish is another fluid. What was
    read before something more was put in, boiled off or blended was read of another pot.
    """
    if stage:
        return [each for each in batch.readings if each.stage == stage and not each.set_apart]
    found = [each for each in batch.readings if is_fresh(each.stage, target) and not each.set_apart]
    ended: list[Reading] = []
    changed = True
    for moment in batch.moments:
        changed |= moment.kind in CHANGES
        if moment.reading in found:
            ended, changed = [*([] if changed else ended), moment.reading], False
    return ended or found


def mended(batch: Batch, target: Target | None = None) -> bool:
    """Whether something was put in, boiled off or blended after the last reading that tells how thick the pot is meant to be."""
    read = [n for n, each in enumerate(batch.moments) if each.reading and is_fresh(each.reading.stage, target)]
    return bool(read) and any(each.kind in CHANGES for each in batch.moments[read[-1] :])


def batch_thickness(batch: Batch, target: Target | None) -> Thickness | None:
    """One viscosity for one pot, at the target's conditions: its fresh readings as it ended, the surer ones with more weight.

    Readings of one pot share the pot, so they are averaged here and are never taken for several pots. None without such a reading.
    """
    found = [thickness_at(each, target) for each in read_at(batch, target=target)]
    if not found:
        return None
    logs, ln_sd = np.array([(math.log(each.viscosity_pa_s), each.ln_sd) for each in found]).T
    weights = np.maximum(ln_sd, 1e-6) ** -2
    mean = float(np.average(logs, weights=weights))
    # Flow index and temperature shift are shared by the readings, so averaging cannot shrink the spread below the surest one's.
    spread = max(float(ln_sd.min()), math.sqrt(np.average((logs - mean) ** 2, weights=weights)))
    flags = tuple(dict.fromkeys(flag for each in found for flag in each.flags))
    own = min(each.own_ln_sd for each in found)
    return Thickness(math.exp(mean), spread, found[0].temperature_c, found[0].shear_rate_per_s, flags, own)


def later_over_fresh(batch: Batch, stage: str) -> tuple[float, float] | None:
    """What a stage did to one pot: ln of viscosity at the stage over fresh, and its standard uncertainty; None without such a pair.

    The fresh reading is brought to 60 C and the later one to the stage's own temperature, or both to 60 C. The pair whose readings are surest
    is taken; two readings with one tool share its flow index, of which only a change matters (0.05, judged).
    """
    found, later_c = [], known_stage(stage).temperature_c
    for fresh in read_at(batch):
        for later in read_at(batch, stage):
            same = fresh.tool == later.tool and fresh.settings == later.settings
            spread = SAME_TOOL_INDEX_SD if same else FLOW_INDEX_SD
            fresh_c, own_c = float(fresh.temperature_c), float(later.temperature_c)
            to_c = 60.0 if later_c is None else later_c
            before, after = (brought_to(each, 1.0, float(each.temperature_c), spread) for each in (fresh, later))
            shift = temperature_ratio(own_c, to_c) / temperature_ratio(fresh_c, 60.0)
            # One activation energy moves both readings: where both go to one temperature only the difference matters.
            apart = math.hypot(shift_ln_sd(own_c, to_c), shift_ln_sd(fresh_c, 60.0))
            unsure = shift_ln_sd(own_c, fresh_c) if later_c is None else apart
            ratio = math.log(after.viscosity_pa_s / before.viscosity_pa_s * shift)
            found.append((math.hypot(before.ln_sd, after.ln_sd, unsure), ratio))
    if not found:
        return None
    error, ratio = min(found)
    return ratio, error
