"""The house style as a file that a cook can read, change and pass on."""

from __future__ import annotations

import json
from pathlib import Path

from spoonline.measures.errors import RecipeError
from spoonline.recipes import Habits


def save_style(habits: Habits, path: str | Path) -> Path:
    """Write a house style as JSON.

    Raises
    ------
    RecipeError
        If the file cannot be written.
    """
    target = Path(path)
    text = json.dumps(habits.model_dump(mode="json", exclude={"id", "recorded_at"}), indent=2, ensure_ascii=False)
    try:
        target.write_text(text + "\n", encoding="utf-8")
    except OSError as err:
        raise RecipeError(
            f"The house style could not be written to {target.name!r} ({err.strerror}); choose another place."
        ) from err
    return target


def load_style(path: str | Path) -> Habits:
    """Read a house style; what the file leaves out stays as it is usual.

    Raises
    ------
    RecipeError
        If the file is not there, is no JSON object, or names a habit or a value that this kit does not know.
    """
    source = Path(path)
    try:
        read = json.loads(source.read_text(encoding="utf-8"))
    except OSError as err:
        raise RecipeError(
            f"The house style {source.name!r} cannot be read ({err.strerror}); give the name of its file."
        ) from err
    except ValueError as err:
        raise RecipeError(f"{source.name!r} is no JSON: {err}; mend it, or save a new house style.") from err
    if not isinstance(read, dict):
        raise RecipeError(f'{source.name!r} holds no habits; write an object such as {{"kitchen": "uk"}}.')
    return Habits(**read)
