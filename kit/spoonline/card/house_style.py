"""The house style as a file that a cook can read, change and pass on."""

import json
from pathlib import Path

from spoonline.card.words import said
from spoonline.measures.files import content_of
from spoonline.recipes import Habits


def style_text(habits: Habits) -> str:
    """A house style as the JSON text of its file."""
    kept = habits.model_dump(mode="json", exclude={"id", "recorded_at"})
    return json.dumps(kept, indent=2, ensure_ascii=False) + "\n"


def style_from(text: str, name: str) -> Habits:
    """Read the text of a house style file; what it leaves out stays as it is usual.

    Raises
    ------
    RecipeError
        If it is no JSON object, or names a habit or a value that this kit does not know.
    """
    try:
        read = json.loads(text)
    except ValueError as err:
        raise said.error("no JSON", name=name, why=err) from err
    said.refuse(not isinstance(read, dict), "no habits", name=name)
    return Habits(**read)


def load_style(path: str | Path) -> Habits:
    """Read a house style file; a RecipeError if it cannot be read, or `style_from` cannot make sense of it."""
    source = Path(path)
    try:
        return style_from(content_of(source).decode(), source.name)
    except (OSError, UnicodeError) as err:
        why = getattr(err, "strerror", None) or "it is no text"
        raise said.error("no style", name=source.name, why=why) from err
