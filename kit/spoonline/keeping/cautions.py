"""What can hurt: a line beside the step it belongs to, the box on what is made ahead, and limits that a cook's own step goes against.

Words, patterns and whose figures they are stand in ``cautions.toml``, with how to read and write them at its head.
"""

import re
import tomllib
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

from spoonline.flow import NOT_CLINICAL as NOT_CLINICAL
from spoonline.measures.temperatures import cues
from spoonline.recipes import Recipe

_ALL: dict[str, dict[str, Any]] = tomllib.loads(Path(__file__).with_name("cautions.toml").read_text(encoding="utf-8"))
COLUMNS = ("step", "last", "unless", "needs", "needs_not", "anywhere", "nowhere")
_SENTENCE = re.compile(r"[.;:!?](?:\s|$)|\n|\bthen\b", re.IGNORECASE)
_GAPS = {"...": r"(?:\w+\W+)*?", "..": r"(?:\w+\W+){0,2}?"}
_SIGNS = {"": (r"\b(?:", "|", r")(?!\w)\W*+"), "!": ("(?!(?:", "|", r")\b)"), "-": (r"(?<!\b", r"\W)(?<!\b", r"\W)")}
COLD_C = 15.0  # from here down a fridge is meant, no heat
ROUNDED_C = 0.12  # 165 F is 73.89 C, and the code's 74 C


@cache
def _pattern(written: str) -> re.Pattern[str]:
    """A pattern of the table as an expression; its signs are explained at the table's head."""
    parts = []
    for word in written.split():
        sign = word[0] if word[0] in "!-" else ""
        either = "/".join(_ALL["words"].get(each, each) for each in word.removeprefix(sign).split("/")).split("/")
        exact = [re.escape(each).replace(r"\*", r"\w*").replace("_", r"\W+") for each in either]
        start, between, end = _SIGNS[sign]
        parts.append(_GAPS.get(word) or start + between.join(exact) + end)
    return re.compile("".join(parts), re.IGNORECASE)


def _says(patterns: Iterable[str], *texts: str) -> bool:
    return any(_pattern(each).search(text) for each in patterns for text in texts)


def _places(row: dict[str, Any], method: Iterable[str], lines: Iterable[str], title: str) -> Iterator[tuple[int, str]]:
    """Each place where a row is said, the best first: the step's number, and what stands between the commas around it."""
    step, last, unless, needs, needs_not, anywhere, nowhere = (row.get(each, ()) for each in COLUMNS)
    steps = [(n, each) for n, text in enumerate(method) for each in _SENTENCE.split(text) if each.strip()]
    whole = [title, *(sentence for _, sentence in steps)]
    if (anywhere and not _says(anywhere, *whole)) or _says(nowhere, *whole):
        return
    listed = [line for line in lines if _says(needs, line)]
    wanted = not needs or any(not _says(needs_not, line) for line in listed)
    for patterns, order in ((step, steps), (last, steps[::-1])):
        for written, (number, sentence) in product(patterns, order):
            for found in _pattern(written).finditer(sentence):
                before, after = sentence.rfind(",", 0, found.start()) + 1, sentence.find(",", found.end())
                around = sentence[before : after if after >= 0 else None]
                own = not listed and _says(needs, around) and not _says(needs_not, around)
                if (wanted or own) and not _says(unless, around):
                    yield number, around


def _is_broken(row: dict[str, Any], said: str, whose: str) -> bool:
    """Whether the temperature or the hours that are said go against the row's limit."""
    minutes, celsius = cues(said, low=True)  # what may be so low is so low
    if "below_c" in row:
        return celsius is not None and COLD_C < celsius < float(row["below_c"][whose]) - ROUNDED_C
    return "above_h" not in row or (minutes or 0) > 60 * float(row["above_h"])


def caution(name: str, kind: str = "", whose: str = "us") -> str:
    """The words of a caution for a kind of dish, by whose limits (``Habits.jurisdiction``); blank where it is none for that kind.

    Examples
    --------
    >>> caution("HOT_LIQUID", "blended")[:18], caution("HOT_LIQUID", "cold")
    ('Hot thick liquids ', '')
    """
    row = _ALL["beside"].get(name) or _ALL["against"][name]
    instead, near = row.get("instead", {}), "england" if whose == "scotland" else whose
    keys = (f"{kind} {whose}", f"{kind} {near}", kind, whose, near)
    return str(next((instead[each] for each in keys if each in instead), row["text"]))


def made_ahead(kind: str = "", whose: str = "us") -> tuple[str, ...]:
    """Cooling, keeping and reheating of a kind of dish made ahead, and whose word rules."""
    box = ("COOLING", "KEEPING", "REHEATING", "LOCAL_CODE")
    return tuple(filter(None, (caution(name, kind, whose) for name in box)))


COOLING, REHEATING, LOCAL_CODE = map(caution, ("COOLING", "REHEATING", "LOCAL_CODE"))
HOT_LIQUID, PRESSURE, HOT_SUGAR, ALLERGENS = map(caution, ("HOT_LIQUID", "PRESSURE", "HOT_SUGAR", "ALLERGENS"))


def beside(steps: Sequence[str], kind: str, whose: str, lines: Iterable[str], title: str) -> list[list[str]]:
    """Find the cautions of a method; each line stands once, beside the step it belongs to.

    Parameters
    ----------
    steps : sequence of str
    kind : str
        The kind of dish.
    whose : str
        Whose limits stand first: "us", "england", "scotland", "eu" or "australia", as in `Habits.jurisdiction`.
    lines : iterable of str
        The ingredient lines.
    title : str
        The title, and what else is said of the dish, such as who eats it.

    Returns
    -------
    list of list of str
        The cautions of each step. An empty answer is no approval.

    Examples
    --------
    >>> found = beside(["Peel.", "Simmer 40 minutes."], "stew", "us", ["1 kg chicken thighs"], "Soup")
    >>> [[line[:14] for line in each] for each in found]
    [[], ['Poultry: 74 C ']]
    """
    found: list[list[str]] = [[] for _ in steps]
    for name, row in _ALL["beside"].items():
        line, place = caution(name, kind, whose), next(_places(row, steps, lines, title), None)
        if line and place:
            found[place[0]].append(line)
    return found


def cautions_for(step: str, kind: str = "", whose: str = "us") -> tuple[str, ...]:
    """Find the cautions that belong beside a step of the method, for a kind of dish; an empty answer is no approval.

    Examples
    --------
    >>> cautions_for("Puree until smooth.") == (HOT_LIQUID,), cautions_for("Peel the pears.")
    (True, ())
    """
    return tuple(beside([step], kind, whose, (), "")[0])


def against_limits(recipe: Recipe, whose: str = "us") -> dict[tuple[int, str], str]:
    """Find steps that go against a limit: the limit and whose it is, by the step's number (from 1) and the row's name.

    Examples
    --------
    >>> against_limits(Recipe(title="Soup", steps=["Simmer.", "Cool on the counter overnight."]))
    {(2, 'OVERNIGHT'): 'no cooked food stands out overnight: 57 to 21 C within 2 h, to 5 C within 6 h in all (US model Food Code 3-501.14)'}
    """
    steps, lines = [step.text for step in recipe.steps], [line.line for line in recipe.ingredients]
    found = ((name, row, _places(row, steps, lines, recipe.title)) for name, row in _ALL["against"].items())
    broken = [(at + 1, name) for name, row, places in found for at, around in places if _is_broken(row, around, whose)]
    return {(number, name): caution(name, recipe.kind, whose) for number, name in broken}
