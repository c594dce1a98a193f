"""How many pots the dose of one starch usually takes: counted once in invented kitchens, kept as a table."""

from spoonline.dose.priors import said
from spoonline.measures.ranges import Range

# Of 500 kitchens with corn starch, those whose dose was right within 10 % after 0, 1, 2, ... pots at the suggested doses (target times or
# divided by 1.2), read with one tool: computed, tests/experiments/dose_kitchens.py.
KITCHENS = 500
RIGHT = (178, 413, 475, 491, 496, 497)
WANTED = 0.9


def pots_needed() -> str:
    """How many pots usually bring the dose of one starch right, in a sentence with exact 90 % ranges.

    Examples
    --------
    >>> pots_needed()[:69]
    '2 pots at the suggested doses usually bring the dose of one starch ri'
    """
    from scipy.stats import binomtest

    def of_100(pots: int) -> Range:
        ends = binomtest(RIGHT[pots], KITCHENS).proportion_ci(0.90)
        return Range(100 * RIGHT[pots] / KITCHENS, 100 * float(ends.low), 100 * float(ends.high))

    enough = next(pots for pots, right in enumerate(RIGHT) if right >= WANTED * KITCHENS)
    return said("pots needed", enough=enough, right=of_100(enough), one_more=of_100(enough + 1))
