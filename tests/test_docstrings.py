"""A docstring is a contract: its names are those of the signature, its units those of the names, its errors exist, its example runs."""

from __future__ import annotations

import builtins
import doctest
import inspect
import re
import sys
from collections.abc import Iterator
from typing import Any

import pytest
from pydantic import BaseModel

import spoonline as sl
from spoonline.measures import errors, unit_in

HEADS = "Parameters|Attributes|Steps|Returns|Raises|Notes|Examples"
ENTRY = re.compile(r"^(\*{0,2}\w+(?:, \*{0,2}\w+)*)(?: : .*)?$")
# What pydantic and dataclasses make themselves has no docstring of ours.
OURS = "spoonline."


def sections(doc: str) -> dict[str, str]:
    """The parts of a numpydoc docstring by heading; what stands before the first is under a blank."""
    parts = re.split(rf"^({HEADS})\n-+\n", doc, flags=re.MULTILINE)
    return {"": parts[0]} | dict(zip(parts[1::2], parts[2::2], strict=True))


def entries(section: str) -> dict[str, str]:
    """What a section says of each name."""
    found: dict[str, str] = {}
    names: list[str] = []
    for line in section.splitlines():
        if line and not line.startswith(" ") and (entry := ENTRY.match(line)):
            names = [name.strip("* ") for name in entry[1].split(",")]
        for name in names:
            found[name] = found.get(name, "") + line + "\n"
    return found


def parameters(thing: Any) -> list[str]:
    """Names of a signature, without the object itself and what dataclasses hide."""
    return [name for name in inspect.signature(thing).parameters if name not in ("self", "cls")]


def faults(name: str, thing: Any, *, must_list: bool) -> list[str]:
    """What is wrong with the docstring of a function, a method, a property or a class; nothing for a good one."""
    doc = inspect.cleandoc((thing.fget if isinstance(thing, property) else thing).__doc__ or "")
    if not doc:
        return [f"{name} has no docstring"]
    said = sections(doc)
    listed = entries(said.get("Parameters", "")) | entries(said.get("Attributes", ""))
    wrong = []
    if isinstance(thing, property):
        wanted = {name.rpartition(".")[2]: doc}
    elif isinstance(thing, type) and issubclass(thing, BaseModel):
        wanted = {field: info.description or "" for field, info in thing.model_fields.items()}
    else:
        names = parameters(thing)
        if listed and set(listed) != set(names):
            wrong.append(f"{name} lists {sorted(listed)} but takes {sorted(names)}")
        if must_list and names and not listed:
            wrong.append(f"{name} lists none of {names}")
        wanted = {each: listed.get(each, said[""] if not listed else "") for each in names}
    for each, text in wanted.items():
        unit = unit_in(each)
        if unit and not re.search(rf"\[(?:[^\]]*[ ,])?{re.escape(unit)}(?:[ ,][^\]]*)?\]", text):
            wrong.append(f"{name} does not say [{unit}] of {each}")
    for error in re.findall(r"\b[A-Z]\w+Error\b", doc):
        if not hasattr(errors, error) and not hasattr(builtins, error):
            wrong.append(f"{name} names {error}, which does not exist")
    return wrong


def members(cls: type) -> Iterator[tuple[str, Any]]:
    """Public methods and properties of a class that are written in this package."""
    for name in dir(cls):
        thing = inspect.getattr_static(cls, name)
        thing = getattr(cls, name) if isinstance(thing, (classmethod, staticmethod)) else thing
        home = thing.fget if isinstance(thing, property) else thing
        if (
            not name.startswith("_")
            and getattr(home, "__module__", "").startswith(OURS)
            and (inspect.isroutine(thing) or isinstance(thing, property))
        ):
            yield f"{cls.__name__}.{name}", thing


def all_faults(name: str) -> list[str]:
    thing = getattr(sl, name)
    found = faults(name, thing, must_list=inspect.isfunction(thing))
    for member, method in members(thing) if isinstance(thing, type) else ():
        found += faults(member, method, must_list=False)
    return found


NAMES = [name for name in sl.__all__ if name != "units"]


@pytest.mark.parametrize("name", NAMES)
def test_a_public_docstring_keeps_its_word(name: str) -> None:
    assert all_faults(name) == []


@pytest.mark.parametrize("name", NAMES)
def test_a_public_name_has_an_example_that_is_run(name: str) -> None:
    thing = getattr(sl, name)
    tests = doctest.DocTestFinder(exclude_empty=True).find(sys.modules[thing.__module__])
    own = f"{thing.__module__}.{thing.__qualname__}"
    assert any(test.examples for test in tests if test.name == own or test.name.startswith(f"{own}.")), own


def test_the_check_can_fail() -> None:
    def pour(mass_g: float, minutes: float) -> None:
        """Pour.

        Parameters
        ----------
        mass_g : float
            Mass [kg].
        hours : float
            Time [h].

        Raises
        ------
        PourError
        """

    def bare(volume_ml: float) -> None:
        """Pour so much."""

    wrong = faults("pour", pour, must_list=True) + faults("bare", bare, must_list=True)
    assert [said.split()[1] for said in wrong] == ["lists", "does", "does", "names", "lists", "does"]
