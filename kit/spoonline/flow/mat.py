"""A true-to-scale sheet for the ring test: circles to read the puddle by, to lie under a glass plate; drawn by ``mat.typ``."""

from functools import cache
from pathlib import Path
from typing import Any

from spoonline.flow.fluid import said
from spoonline.measures import as_said, takes_quantities

PAPERS_CM = {"a4": (21.0, 29.7), "letter": (21.59, 27.94)}  # ISO 216; ANSI Y14.1
FONTS = "/fonts/ttf"  # of matplotlib, in the folder of its data
NOT_CLINICAL = said("not clinical")


@cache
def fonts() -> Any:
    """typst's own fonts, and a plain face with more signs; none of this machine's, so that a sheet is the same everywhere."""
    import matplotlib
    import typst

    return typst.Fonts(include_system_fonts=False, font_paths=[matplotlib.get_data_path() + FONTS])


@takes_quantities
def mat(path: str | Path, paper: str = "a4", radius_cm: float = 3.5) -> Path:
    """Write the sheet as PDF or SVG, true to scale.

    Parameters
    ----------
    path : str or Path
        Where to; the ending, .pdf or .svg, says which.
    paper : str
        "a4" or "letter".
    radius_cm : float
        Outer radius of the ring's foot [cm], above 0 and below 9.

    Returns
    -------
    Path

    Raises
    ------
    ReadingError
        For another ending, paper or radius.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> mat(pathlib.Path(tempfile.mkdtemp()) / "mat.svg", radius_cm=3.5).name
    'mat.svg'
    """
    import typst

    target = Path(path)
    ending = target.suffix.lower().removeprefix(".")
    said.refuse(ending not in ("pdf", "svg"), "name of a sheet", came=target.name)
    said.refuse(paper not in PAPERS_CM, "paper", came=paper, known=" or ".join(PAPERS_CM))
    said.refuse(not 0 < radius_cm < 9, "foot of a ring", came=as_said(radius_cm))
    width, height = PAPERS_CM[paper]
    how: dict[str, Any] = {"format": ending, "timestamp": 0}
    how["sys_inputs"] = {"width": f"{width}", "height": f"{height}", "radius": f"{radius_cm:g}"}
    target.write_bytes(typst.compile(Path(__file__).with_name("mat.typ").read_bytes(), font_paths=fonts(), **how))
    return target
