"""A frame as a small page: what a recipe, a batch, a curve or a dish shows of itself in a notebook."""

from collections.abc import Iterable
from html import escape
from typing import TYPE_CHECKING, Any

# pandas is slow to load, so a table's type is known to the type checker alone
if TYPE_CHECKING:
    from pandas import DataFrame as DataFrame
else:

    class DataFrame:
        """Stands for pandas' own where annotations are read."""


# No dollar sign of a title is read as the start of a formula.
PLAIN = "tex2jax_ignore"


def frame_of(rows: Iterable[Any], *heads: str) -> DataFrame:
    """Rows as a table under these headings; rows with names of their own need none.

    >>> frame_of([("corn starch", 30)], "item", "mass_g")["mass_g"].tolist()
    [30]
    """
    import pandas as pd

    return pd.DataFrame([*rows], columns=[*heads] or None)


def frame_html(frame: DataFrame | None, title: str, notes: Iterable[str] = ()) -> str:
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
