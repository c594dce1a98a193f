"""Make the notebooks from their text, run them on the demo, and save them with their outputs.

    python tests/save_notebooks.py            run and save all
    python tests/save_notebooks.py --check    only say which would change

The text stands in ``tests/notebooks``, one Markdown file a notebook: each block of Python is a code cell, and what stands between two
of them a text cell. What a person opens is the .ipynb, which is mostly quotes and braces.
"""

from __future__ import annotations

import argparse
import base64
import io
import itertools
import os
import re
import sys
import tempfile
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook
from PIL import Image

REPO = Path(__file__).resolve().parent.parent
TEXTS = sorted((REPO / "tests" / "notebooks").glob("*.md"))
UNFINISHED = re.compile("TODO|FIXME|XXX|HACK", re.IGNORECASE)
PICTURE = re.compile(r"(?<=data:image/png;base64,)[A-Za-z0-9+/=]+")
BLOCK = re.compile(r"^```python\n(.*?)\n```$", re.MULTILINE | re.DOTALL)


def curve() -> str:
    """The demo's dose curve as a small PNG in base64: a real picture of what the reader will see."""
    from spoonline.figures import dose_figure
    from spoonline.logbook import passing_demo

    with passing_demo() as book:
        dish = book.dish(book.titles()[0])
        assert dish.curve is not None
        drawn = dose_figure(dish.curve, None, dish.next).png(dpi=75)
    return small(drawn)


def small(png: bytes) -> str:
    """A picture in few colours and without metadata, as base64: the notebook stays small, and equal from one run to the next."""
    # Base64 spells words by chance; the first number of colours whose text spells no mark of unfinished work is taken, so that a search
    # of the tree for such marks finds none.
    for colours in range(48, 1, -1):
        out = io.BytesIO()
        Image.open(io.BytesIO(png)).convert("RGB").quantize(colours).save(out, "PNG", optimize=True)
        text = base64.b64encode(out.getvalue()).decode()
        if not UNFINISHED.search(text):
            return text
    raise SystemExit("every picture of this figure spells a mark of unfinished work by chance; draw it in another size")


def cells_of(text: str) -> list[tuple[str, str]]:
    """The cells of a notebook's text, in order: ``md`` or ``code``, and what stands in each."""
    # What a pattern with one group leaves between its finds is text, and what it finds is code.
    parts = BLOCK.split(text)
    kinds = ("md", "code") * len(parts)
    return [(kind, part.strip()) for kind, part in zip(kinds, parts, strict=False) if part.strip()]


def build(path: Path) -> nbformat.NotebookNode:
    """One notebook from its text; all cells but the last, which is the reader's to change, are locked against a stray key."""
    cells = []
    for number, (kind, source) in enumerate(cells_of(path.read_text(encoding="utf-8")), start=1):
        make = new_markdown_cell if kind == "md" else new_code_cell
        locked = {"deletable": False, "editable": False}
        # A cook wants the form; the code above it is one press away.
        folded = {"jupyter": {"source_hidden": True}} if kind == "code" else {}
        cell = make(source, id=f"{path.stem.partition('_')[0]}-{number}", metadata=locked | folded)
        if "(attachment:curve.png)" in source:
            cell.attachments = {"curve.png": {"image/png": curve()}}
        cells.append(cell)
    cells[-1].metadata["editable"] = True
    book = new_notebook(cells=cells)
    book.metadata.kernelspec = {"name": "python3", "display_name": "Python 3", "language": "python"}
    book.metadata.language_info = {"name": "python"}
    return book


def run(path: Path, folder: Path) -> str:
    """The notebook's text after a run on a fresh demo."""
    from spoonline.logbook import make_demo

    where = folder / f"{path.stem}.sqlite"
    make_demo(where).close()
    os.environ |= {"SPOONLINE_LOGBOOK": str(where), "SPOONLINE_RAISE": "1"}
    book = build(path)
    NotebookClient(book, kernel_name="python3", store_widget_state=False, record_timing=False, timeout=300).execute()
    book.metadata.pop("widgets", None)
    for cell in book.cells:
        # What is printed comes in one piece or in several, as the machine is busy; it is kept as one.
        for before, out in itertools.pairwise(list(cell.get("outputs", []))):
            if before.output_type == out.output_type == "stream" and before.name == out.name:
                out.text = before.text + out.text
                cell.outputs.remove(before)
        for out in cell.get("outputs", []):
            if page := out.get("data", {}).get("text/html"):
                out.data["text/html"] = PICTURE.sub(lambda found: small(base64.b64decode(found.group())), page)
            view = out.get("data", {}).get("application/vnd.jupyter.widget-view+json")
            if view:
                # Widget ids are random and mean nothing in a saved file; a fixed one keeps equal runs equal.
                view["model_id"] = cell.id
    book.metadata.language_info = {"name": "python"}
    return nbformat.writes(book) + "\n"


def main() -> int:
    """Run every notebook; save it, or with ``--check`` only compare."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true")
    args = parser.parse_args()
    differ = []
    with tempfile.TemporaryDirectory() as folder:
        for path in TEXTS:
            text = run(path, Path(folder))
            saved = REPO / "notebooks" / f"{path.stem}.ipynb"
            if not saved.exists() or saved.read_text(encoding="utf-8") != text:
                differ.append(saved.name)
                if not args.check:
                    saved.write_text(text, encoding="utf-8")
    print(f"{len(TEXTS)} notebooks run; {'would change' if args.check else 'changed'}: {', '.join(differ) or 'none'}")
    return 1 if args.check and differ else 0


if __name__ == "__main__":
    sys.exit(main())
