"""How much of the corpus is read, how fast, and what rounding to spoons costs. Run by hand: prints figures."""

from __future__ import annotations

import csv
import statistics
import sys
import time
from collections import Counter
from pathlib import Path

from spoonline.facts import grams, household, ingredients, read_line
from spoonline.facts.rows import find
from spoonline.measures import amounts

sys.path.insert(0, str(Path(__file__).parents[1] / "facts"))
from test_lines import corpus, verdict


def share() -> None:
    """Count right, asked and wrong readings of the corpus."""
    counts = Counter(verdict(row).split(":")[0] for row in corpus())
    print("corpus:", dict(counts), "of", sum(counts.values()))


def speed() -> None:
    """Time each line of the corpus cold (first pass builds the lexer's states) and with the line caches emptied."""
    lines = [row["line"] for row in corpus()]
    for name in ("cold", "warm"):
        for cached in (read_line, amounts.split_line, amounts.parse_amount, find):
            cached.cache_clear()
        times = []
        for line in lines:
            start = time.perf_counter()
            read_line(line)
            times.append(1e3 * (time.perf_counter() - start))
        worst = sorted(times)[-1]
        print(
            f"{name}: median {statistics.median(times):.2f} ms a line, 99 % {sorted(times)[int(0.99 * len(times))]:.2f}, worst {worst:.1f}"
        )


def rounding() -> None:
    """Spread of the household rounding error over thickeners and over all ingredients."""
    for system in ("us", "metric", "uk", "au"):
        for part in ("thickener", ""):
            errors, refused = [], 0
            for row in ingredients().values():
                if row.density() is None or not row.part.startswith(part):
                    continue
                for mass in (4, 7, 12, 19, 31, 52, 83, 140, 260, 480):
                    found = household(mass, row.name, system)
                    refused += found.text.endswith(" g")
                    errors.append(abs(found.error_percent))
            print(
                f"{system} {part or 'all'}: median {statistics.median(errors):.1f} %, worst {max(errors):.1f} %,"
                f" grams instead {100 * refused / len(errors):.0f} %"
            )


def spreads() -> None:
    """What one spoon, cup and scale of corn starch know."""
    for text in ("8 g", "1 level tbsp", "1 tbsp", "1 rounded tbsp", "1 heaped tbsp", "1/2 cup"):
        print(f"{text} corn starch: {grams(text, 'corn starch')}")


if __name__ == "__main__":
    with (Path(__file__).parents[1] / "measures" / "corpus.csv").open(encoding="utf-8") as file:
        print(len(list(csv.DictReader(file))), "lines")
    share()
    speed()
    rounding()
    spreads()
