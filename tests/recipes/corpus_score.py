"""Hold every line of a corpus against its reading: right, asked or wrong.

    python tests/recipes/corpus_score.py a|b|c|d

What rules in a line (a weight, a volume, a count, or nothing that can be weighed), how much of it, and how a spoon was filled, as
the corpus says; asked is a line that gets a question and no weight, where the corpus has an amount. Of lines that were scored once
before anybody had shown them to the reader, ``corpus_first.csv`` keeps what came out; with the package of the commit it names on
PYTHONPATH this command prints it again.
"""

from __future__ import annotations

import csv
import sys
from collections import Counter
from pathlib import Path

from spoonline.facts import LineReading, read_line
from spoonline.measures import Amount

CORPUS = Path(__file__).with_name("corpus_lines.csv")
FIRST = Path(__file__).with_name("corpus_first.csv")
METRIC = ("g", "kg", "ml", "cl", "dl", "l")
RANK = {"mass": 0, "volume": 1, "piece": 3, "feel": 4, "length": 5}


def rows(half: str) -> list[dict[str, str]]:
    """The lines of one half."""
    with CORPUS.open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["half"] == half]


def first(half: str) -> list[dict[str, str]]:
    """The lines of a half that were not read right when they were new to the reader, with what was said of each then."""
    with FIRST.open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["half"] == half]


def told(tally: Counter[str]) -> str:
    """How many were right, asked and wrong, in words."""
    return f"{tally['right']} right, {tally['asked']} asked, {tally['wrong']} wrong"


def rules(read: LineReading) -> Amount | None:
    """The measure that the weight of a line rests on."""
    us = read.measures and read.measures[0].system == "us"  # where two weights stand, the first one is the recipe's own

    def order(each: Amount) -> tuple[int, bool]:
        return RANK[each.measure.kind], each.unit not in METRIC and not (us and each.measure.kind == "mass")

    found = sorted(read.measures, key=order)
    return found[0] if found else None


def verdict(row: dict[str, str]) -> str:
    """Say how one line was read."""
    decimal = "," if row["system"] == "metric" else "."
    read = read_line(row["line"], row["system"], decimal)
    amount = rules(read)
    if row["want"] == "ask":
        return "right" if read.mass is None and read.notes else f"wrong: guessed {amount} {read.mass}"
    if row["want"] == "taste":
        loose = amount is None or amount.measure.kind == "feel"
        return "right" if loose and read.mass is None and read.notes else f"wrong: not to taste but {amount}"
    if amount is None:
        return "asked: no amount" if read.notes else "wrong: asks nothing"
    size = amount.measure.size or 1.0
    kind = {"piece": "count", "feel": "count"}.get(amount.measure.kind, amount.measure.kind)
    low, high = amount.value * size, (amount.high or amount.value) * size
    near = all(
        abs(mine - float(theirs)) <= 0.006 * float(theirs) for mine, theirs in ((low, row["low"]), (high, row["high"]))
    )
    fill = {"rounded": "heaped"}.get(amount.fill, amount.fill) or "level"
    filled = fill == ({"rounded": "heaped"}.get(row["fill"], row["fill"]) or "level") or kind != "volume"
    if kind != row["want"] or not near or not filled:
        said = f"{kind} {low:g}-{high:g} {amount.fill}"
        return f"asked: {said}" if read.mass is None and amount.measure.kind in ("feel", "length") else f"wrong: {said}"
    if read.mass is None:
        return "asked: no weight" if read.notes else "wrong: asks nothing"
    return "right"


if __name__ == "__main__":
    tally: Counter[str] = Counter()
    for row in rows(sys.argv[1]):
        said = verdict(row)
        tally[said.split(":")[0]] += 1
        if said != "right" and (len(sys.argv) < 3 or said.startswith(sys.argv[2])):
            notes = read_line(row["line"], row["system"], "," if row["system"] == "metric" else ".").notes
            print(
                f"{row['system']:6} {row['line']} | {row['want']} {row['low']}-{row['high']} {row['fill']} | {said} | {notes[:1]}"
            )
    new = Counter(row["said"].split(":")[0] for row in first(sys.argv[1]))
    if new:
        new["right"] = tally.total() - new.total()
        print(f"first scoring, by the reader of {first(sys.argv[1])[0]['reader']}: {told(new)}")
    print(f"now: {told(tally)}")
