"""How thick it should be, in a cook's words: as that pot, between two pots, as an everyday liquid."""

import math
from dataclasses import dataclass
from functools import cache

from spoonline.dose.priors import said
from spoonline.flow import Fluid
from spoonline.measures import Range, one_of, read_table, typed
from spoonline.pots.records import Batch, Reading
from spoonline.pots.thickness import batch_thickness, conditions, mended, own_thickness, read_at
from spoonline.recipes import Target

# In the mouth and off the ladle food is sheared about so fast [1/s] (a convention, read).
MOUTH_PER_S = 50.0
LEAST_BAND, MOST_BAND = 1.05, 2.0


@dataclass(frozen=True)
class Everyday:
    """A liquid that everybody knows, as it is at a temperature [C], good to a factor either way; with its source."""

    name: str
    temperature_c: float
    consistency_pa_sn: float
    flow_index: float
    factor: float
    source: str
    kind: str

    @property
    def viscosity(self) -> Range:
        """Viscosity in the mouth, at 50 1/s [Pa s]."""
        best = float(Fluid(self.consistency_pa_sn, self.flow_index).viscosity(MOUTH_PER_S))
        return Range(best, best / self.factor, best * self.factor)

    @property
    def text(self) -> str:
        """Name, figure, range and kind of its source."""
        return said("everyday", of=self, rate=MOUTH_PER_S)


@cache
def everyday() -> dict[str, Everyday]:
    """Everyday liquids by name, thinnest first."""
    found = [typed(Everyday, row) for row in read_table("everyday.csv", "flow")]
    return {each.name: each for each in sorted(found, key=lambda each: each.viscosity.best)}


def aim_as(liquid: str, temperature_c: float = 60.0) -> Target:
    """Aim at the thickness of an everyday liquid, for a dish that is served at this temperature [C].

    Raises
    ------
    ItemError
        If no such liquid is kept here.

    Examples
    --------
    >>> aim = aim_as("pouring custard")
    >>> float(aim.viscosity_pa_s), float(aim.shear_rate_per_s)
    (0.2, 50.0)
    """
    best = one_of(everyday(), liquid, "everyday liquid").viscosity.best
    return Target(viscosity_pa_s=float(f"{best:.2g}"), temperature_c=temperature_c, shear_rate_per_s=MOUTH_PER_S)


def aim_of(*pots: Batch, now: Target | None = None) -> Target:
    """Aim at the thickness of a pot that was right, or between two pots, of which one was too thin and one too thick.

    Parameters
    ----------
    *pots : Batch
        One pot, or two.
    now : Target, optional
        The aim so far: its temperature and shear rate are kept, where there is one; else those of the pot's own reading.

    Returns
    -------
    Target
        Of one pot with the band so far, or times and divided by 1.2; between two pots the band reaches from one to the other.

    Raises
    ------
    BatchError
        If a pot was not read fresh, or two pots are alike.

    Examples
    --------
    >>> from spoonline.pots import Reading
    >>> size = {"length_cm": 8, "width_cm": 10, "seconds": 10}
    >>> thin, thick = (Batch(title="Soup", version=1, cooked_on="2026-01-08", number=n,
    ...     readings=[Reading(tool="spatula", settings=size, values=[grams], temperature_c=62)]) for n, grams in ((1, 2.0), (2, 3.0)))
    >>> aim = aim_of(thin, thick)
    >>> round(float(aim.band), 2), float(aim.temperature_c), float(aim.shear_rate_per_s)
    (1.36, 62.0, 25.0)
    """
    if now is None:
        last = _last_read(pots[0])
        rate = own_thickness(last).shear_rate_per_s
        now = Target(viscosity_pa_s=1, temperature_c=last.temperature_c, shear_rate_per_s=float(f"{rate:.2g}"))
    read = []
    for each in pots:
        _last_read(each)
        said.refuse(mended(each, now), "mended", number=each.number)
        thickness = batch_thickness(each, now)
        read.append(thickness.viscosity_pa_s if thickness else math.nan)
    best, band = math.exp(sum(map(math.log, read)) / len(read)), float(now.band)
    if len(read) > 1:
        band = math.sqrt(max(read) / min(read))
        said.refuse(band < LEAST_BAND, "alike")
        band = min(band, MOST_BAND)
    celsius, rate = conditions(now)
    return Target(viscosity_pa_s=f"{best:.3g}", band=f"{band:.3g}", temperature_c=celsius, shear_rate_per_s=rate)


def _last_read(batch: Batch) -> Reading:
    found = read_at(batch) or [each for each in batch.readings if not each.set_apart and each.stage == "chilled"]
    said.refuse(not found, "not read fresh", number=batch.number)
    return found[-1]
