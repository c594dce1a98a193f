"""Write the notebooks from their cells, run them on the demo, and save them with their outputs.

    python tests/save_notebooks.py            run and save all
    python tests/save_notebooks.py --check    only say which would change

The cells stand here as text because a notebook file is mostly quotes and braces; what a person opens is the .ipynb.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

REPO = Path(__file__).resolve().parent.parent
RUN = "Choose **Run**, then **Run All Cells**; the form appears below each cell."

NOTEBOOKS: dict[str, list[tuple[str, str]]] = {
    "0_start_here": [
        (
            "md",
            "# Where am I?\n\n"
            "spoonline turns a thickened dish that is made by feel into one whose thickness anyone can repeat. You cook a few test "
            "pots, weigh what goes in, read the thickness with a spatula or a ring, and are told how much thickener the next pot "
            "needs; at the end a recipe card says it in weights and in spoons.\n\n"
            f"Needs: nothing. Answers: what this logbook holds, and what to do next with each dish.\n\n{RUN}",
        ),
        ("code", "from spoonline.widgets import StartPanel, open_here, self_check\n\nbook = open_here()"),
        ("code", "StartPanel(book)"),
        (
            "md",
            "## Five minutes\n\n"
            "1. [Record a batch](1_record_a_batch.ipynb): type what the scale said (a blank is as the recipe says), the pot before and "
            "after, and what the spatula held. The viscosity is said back at once, with its range.\n"
            "2. [Set the thickness](2_set_the_thickness.ipynb): the answer stands on top; move the dose and watch where the next pot "
            "would land.\n\n![The dose curve of the invented soup: pots, two ranges, the band and the next pot](attachment:curve.png)\n\n"
            "3. [Compare two versions](3_compare.ipynb): what changed, what the pots did, whether anyone can tell.\n"
            "4. [Finish the card](4_finish_the_card.ipynb): what is missing, how it prints, the files.\n\n"
            "Beside these: [5 read a thickness](5_read_thickness.ipynb), [6 ingredients](6_ingredients.ipynb), "
            "[7 tasters](7_tasters.ipynb), [8 made ahead](8_make_ahead.ipynb), [9 plan the pots](9_plan_the_pots.ipynb), "
            "[10 bring old trials](10_bring_old_trials.ipynb).\n\n"
            "**To begin one's own:** give `spoonline lab` another folder name, without the demo; paste a recipe above; cook it; "
            "record the batch in [notebook 1](1_record_a_batch.ipynb). The last cell tries this notebook out on a passing copy.",
        ),
        ("code", 'self_check("start")'),
    ],
    "1_record_a_batch": [
        (
            "md",
            "# What did I cook, and how thick was it?\n\n"
            "Needs: a saved recipe, a scale, a thermometer, and a flat spatula or a ring. Answers: what really went in, how much "
            f"boiled away, and the viscosity with its range.\n\n{RUN}",
        ),
        ("code", "from spoonline.widgets import BatchForm, open_here, self_check\n\nbook = open_here()"),
        ("code", "BatchForm(book)"),
        ("md", "Next: [2 set the thickness](2_set_the_thickness.ipynb)."),
        ("code", 'self_check("batch")'),
    ],
    "2_set_the_thickness": [
        (
            "md",
            "# How much thickener in the next pot?\n\n"
            "Needs: a recipe with a thickener and a liquid; it already answers without any batch, from the figures of the trade, "
            f"and narrows with each one.\n\n{RUN}",
        ),
        ("code", "from spoonline.widgets import DosePanel, open_here, self_check\n\nbook = open_here()"),
        ("code", "DosePanel(book)"),
        (
            "md",
            "Next: cook it and [record the batch](1_record_a_batch.ipynb), or [compare two versions](3_compare.ipynb).",
        ),
        ("code", 'self_check("dose")'),
    ],
    "3_compare": [
        (
            "md",
            "# What changed, and what did it do?\n\n"
            "Needs: two versions of one recipe. Answers: what differs per litre of liquid, and whether the pots show it.\n\n"
            + RUN,
        ),
        ("code", "from spoonline.widgets import ComparePanel, open_here, self_check\n\nbook = open_here()"),
        ("code", "ComparePanel(book)"),
        ("md", "Next: [4 finish the card](4_finish_the_card.ipynb)."),
        ("code", 'self_check("compare")'),
    ],
    "4_finish_the_card": [
        (
            "md",
            "# Is it ready to hand over?\n\n"
            "Needs: a version that was cooked three times inside its band, or the patience to print a card that says it was not. "
            "Answers: what is missing and where to mend it, what an editor would say, how the card will print, and the files for paper, "
            f"screens and machines.\n\n{RUN}",
        ),
        ("code", "from spoonline.widgets import CardPanel, open_here, self_check\n\nbook = open_here()"),
        ("code", "CardPanel(book)"),
        ("md", "Back to [0 start here](0_start_here.ipynb)."),
        ("code", 'self_check("card")'),
    ],
    "5_read_thickness": [
        (
            "md",
            "# What fluid is this?\n\n"
            "Needs: one kitchen test of thickness, or two with different tools. Answers: the viscosity with its range, where on the "
            f"curve the tool reads it, what another tool would show, and every doubt in words.\n\n{RUN}",
        ),
        ("code", "from spoonline.widgets import FlowPanel, self_check"),
        ("code", "FlowPanel()"),
        ("md", "Next: record it with the pot it came from, in [1 record a batch](1_record_a_batch.ipynb)."),
        ("code", 'self_check("flow")'),
    ],
    "6_ingredients": [
        (
            "md",
            "# What did they mean by that?\n\n"
            "Needs: a recipe in someone's words. Answers: what each line weighs and how sure that is, what must be asked, whether "
            "its measures agree, what it is for another pot, and what to buy. A spoon, a trimming or a pan that you weigh once "
            f"here rules over every table from then on.\n\n{RUN}",
        ),
        ("code", "from spoonline.widgets import IngredientsPanel, open_here, self_check\n\nbook = open_here()"),
        ("code", "IngredientsPanel(book)"),
        (
            "md",
            "Next: save the recipe in [0 start here](0_start_here.ipynb), then [2 set the thickness](2_set_the_thickness.ipynb).",
        ),
        ("code", 'self_check("ingredients")'),
    ],
    "7_tasters": [
        (
            "md",
            "# Can people tell, and which do they like?\n\n"
            "Needs: two or more versions that are cooked, and some people. Answers: how small a difference so many tasters would find, "
            "before you cook for them; ballots and a key sheet to print; and, from one typed line a ballot, what may be said and what "
            f"not.\n\n{RUN}",
        ),
        ("code", "from spoonline.widgets import TastersPanel, open_here, self_check\n\nbook = open_here()"),
        ("code", "TastersPanel(book)"),
        (
            "md",
            "Next: [3 compare](3_compare.ipynb) what the pots did, or [4 finish the card](4_finish_the_card.ipynb).",
        ),
        ("code", 'self_check("tasters")'),
    ],
    "8_make_ahead": [
        (
            "md",
            "# Will it cool, keep and be ready?\n\n"
            "Needs: how deep the food stands and what cools it; a probe; the dishes and the free hours of a dinner. Answers: whether it is "
            "likely to cool in time, what a log of probe readings shows, by when to use it, how it comes back hot, and a plan for the days "
            f"before.\n\n{RUN}",
        ),
        ("code", "from spoonline.widgets import MakeAheadPanel, open_here, self_check\n\nbook = open_here()"),
        ("code", "MakeAheadPanel(book)"),
        (
            "md",
            "None of this approves a procedure: your local food code or inspector decides. Next: "
            "[4 finish the card](4_finish_the_card.ipynb).",
        ),
        ("code", 'self_check("ahead")'),
    ],
    "9_plan_the_pots": [
        (
            "md",
            "# Which pots should I cook, and how many?\n\n"
            "Needs: two quantities that may both matter, such as starch and simmering, and pots read with one tool; or nothing at all, "
            "to rehearse how many pots a dose takes. Answers: which pots to cook on which day, what each change does, where the band "
            f"lies, and how many pots to plan for.\n\n{RUN}",
        ),
        (
            "code",
            "from spoonline.widgets import PlanPanel, RehearsalPanel, open_here, self_check\n\nbook = open_here()",
        ),
        ("code", "PlanPanel(book)"),
        ("md", "## How many pots will I need?"),
        ("code", "RehearsalPanel()"),
        (
            "md",
            "Next: cook a pot and [record the batch](1_record_a_batch.ipynb), then "
            "[set the thickness](2_set_the_thickness.ipynb).",
        ),
        ("code", 'self_check("plan")'),
    ],
    "10_bring_old_trials": [
        (
            "md",
            "# How do my old notes come in?\n\n"
            "Needs: a sheet (CSV or XLSX) with one trial a row. Answers: what each column and each row is taken for and why, what must "
            f"be asked, and only then, at your word, recipes and batches in the logbook.\n\n{RUN}",
        ),
        ("code", "from spoonline.widgets import ImportPanel, open_here, self_check\n\nbook = open_here()"),
        ("code", "ImportPanel(book)"),
        (
            "md",
            "Next: [0 start here](0_start_here.ipynb) shows what came in; then [2 set the thickness](2_set_the_thickness.ipynb).",
        ),
        ("code", 'self_check("import")'),
    ],
}


def curve() -> str:
    """The demo's dose curve as a small PNG in base64: a real picture of what the reader will see."""
    import base64
    import io

    from PIL import Image

    from spoonline.figures import dose_figure
    from spoonline.logbook import passing_demo

    with passing_demo() as book:
        dish = book.dish(book.titles()[0])
        assert dish.curve is not None
        drawn = dose_figure(dish.curve, None, dish.next).png(dpi=75)
    # Few colours and no metadata: the notebook stays small, and equal from one run to the next.
    out = io.BytesIO()
    Image.open(io.BytesIO(drawn)).convert("RGB").quantize(48).save(out, "PNG", optimize=True)
    return base64.b64encode(out.getvalue()).decode()


def build(name: str) -> nbformat.NotebookNode:
    """One notebook from its cells, each of them locked against a stray key."""
    locked = {"deletable": False, "editable": False}
    cells = []
    for number, (kind, source) in enumerate(NOTEBOOKS[name], start=1):
        make = new_markdown_cell if kind == "md" else new_code_cell
        cell = make(source, id=f"{name.partition('_')[0]}-{number}", metadata=dict(locked))
        if "(attachment:curve.png)" in source:
            cell.attachments = {"curve.png": {"image/png": curve()}}
        cells.append(cell)
    book = new_notebook(cells=cells)
    book.metadata.kernelspec = {"name": "python3", "display_name": "Python 3", "language": "python"}
    book.metadata.language_info = {"name": "python"}
    return book


def run(name: str, folder: Path) -> str:
    """The notebook's text after a run on a fresh demo."""
    from spoonline.logbook import make_demo

    where = folder / f"{name}.sqlite"
    make_demo(where).close()
    os.environ |= {"SPOONLINE_LOGBOOK": str(where), "SPOONLINE_RAISE": "1"}
    book = build(name)
    NotebookClient(book, kernel_name="python3", store_widget_state=False, record_timing=False, timeout=300).execute()
    book.metadata.pop("widgets", None)
    for cell in book.cells:
        for out in cell.get("outputs", []):
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
        for name in NOTEBOOKS:
            text = run(name, Path(folder))
            path = REPO / "notebooks" / f"{name}.ipynb"
            if not path.exists() or path.read_text(encoding="utf-8") != text:
                differ.append(path.name)
                if not args.check:
                    path.write_text(text, encoding="utf-8")
    print(
        f"{len(NOTEBOOKS)} notebooks run; {'would change' if args.check else 'changed'}: {', '.join(differ) or 'none'}"
    )
    return 1 if args.check and differ else 0


if __name__ == "__main__":
    sys.exit(main())
