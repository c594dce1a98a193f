"""Pots that stand out, with the reason where the record shows one."""

import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from spoonline.dose.compare import Spread
from spoonline.dose.priors import said
from spoonline.pots.counted import CookedPot
from spoonline.pots.thickness import read_at, temperature_ratio

# A pot this many standard deviations from the others of its version is named.
ODD_SDS = 2.5


@dataclass(frozen=True)
class OddPot:
    """One pot that stands out of its version: ratio to the others, how many standard deviations, and what the record shows."""

    pot: CookedPot
    ratio: float
    sds: float
    reasons: tuple[str, ...]

    @property
    def text(self) -> str:
        """One sentence."""
        times = f"{self.ratio:.2f} times thicker" if self.ratio > 1 else f"{1 / self.ratio:.2f} times thinner"
        why = "; ".join(self.reasons) or "the record shows no reason: look at its weights and its reading"
        return said("odd pot", batch=self.pot.batch, times=times, sds=abs(self.sds), why=why)


def odd_pots(pots: Iterable[CookedPot], spread: Spread) -> list[OddPot]:
    """Name the pots that lie more than 2.5 standard deviations from the others of their version; each still counts.

    Parameters
    ----------
    pots : iterable of CookedPot
        Pots of one dish; those that do not count are passed over.
    spread : Spread
        The kitchen's pot-to-pot spread.

    Returns
    -------
    list of OddPot
        With reasons from the record: more or less boiled away, read hot or cold, another amount put in, another tool.
    """
    found, read = [], [pot for pot in pots if pot.counts]
    for pot in read:
        others = [each for each in read if each.batch.version == pot.batch.version and each is not pot]
        if not others:
            continue
        off = math.log(pot.viscosity_pa_s) - statistics.fmean(math.log(each.viscosity_pa_s) for each in others)
        sds = off / (spread.ln_sd * math.sqrt(1 + 1 / len(others)))
        if abs(sds) > ODD_SDS:
            found.append(OddPot(pot, math.exp(off), sds, _reasons(pot, others, off > 0)))
    return found


def _reasons(pot: CookedPot, others: Sequence[CookedPot], thicker: bool) -> tuple[str, ...]:
    """What in the record points the way the pot strayed."""
    found = []
    here, *usual = map(_percent, (pot, *others))
    known = [each for each in usual if each]
    if here and known:
        middle = statistics.median(known)
        if (here > 1.03 * middle) == thicker and abs(here / middle - 1) > 0.03:
            lost, *losses = (each.batch.evaporated_g or 0.0 for each in (pot, *others))
            before = statistics.median(losses)
            what = f"{'more' if lost > before else 'less'} boiled away ({lost:.0f} g against {before:.0f} g)"
            found.append(what if abs(lost - before) > 30 else f"starch to water is {100 * (here / middle - 1):+.0f} %")
    readings, *usual_readings = (read_at(each.batch) for each in (pot, *others))
    own, *warm = (statistics.fmean(float(r.temperature_c) for r in each) for each in (readings, *usual_readings))
    rest = statistics.median(warm)
    # The usual allowance for temperature is made already; what is left can be a fifth of it either way.
    if abs(math.log(temperature_ratio(own, rest))) > 0.15 and (own < rest) == thicker:
        found.append(f"read at {own:.0f} C where the others were read at {rest:.0f} C")
    tools, usual_tools = {r.tool for r in readings}, {r.tool for each in usual_readings for r in each}
    if not tools & usual_tools:
        with_this, with_those = (" and ".join(sorted(each)) for each in (tools, usual_tools))
        found.append(f"read with the {with_this}, the others with the {with_those}")
    return tuple(dict.fromkeys([*found, *(flag for reading in readings for flag in reading.flags)]))


def _percent(pot: CookedPot) -> float:
    """Starch to starch and water [%]; 0 where the pot was not weighed or holds none."""
    return pot.inside.percent if pot.inside is not None and pot.batch.evaporated_g is not None else 0.0
