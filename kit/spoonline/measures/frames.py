"""A frame as a small page: what a recipe, a batch, a curve or a dish shows of itself in a notebook."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

# No dollar sign of a title is read as the start of a formula.
PLAIN = "tex2jax_ignore"


def frame_html(frame: pd.DataFrame | None, title: str, notes: Iterable[str] = ()) -> str:
    """A table under its title, remarks below it; every text escaped, empty cells blank, figures to three digits.

    Examples
    --------
    >>> import pandas as pd
    >>> "&lt;b&gt;" in frame_html(pd.DataFrame({"item": ["<b>"], "mass_g": [1420.4]}), "Soup")
    True
    """
    how: dict[str, Any] = {"index": False, "border": 0, "na_rep": "", "float_format": _figure, "classes": PLAIN}
    table = frame.to_html(**how) if frame is not None and len(frame) else ""
    listed = "".join(f"<li>{escape(note)}</li>" for note in notes)
    return f"<div class='{PLAIN}'><p>{escape(title)}</p>{table}{f'<ul>{listed}</ul>' if listed else ''}</div>"


def _figure(value: float) -> str:
    return f"{value:.3g}" if abs(value) < 1000 else f"{value:.0f}"
