"""Pictures of every notebook's form at 1280 and 768 px, light and dark, and at 200 %, in the real lab; for people to look at.

    python tests/experiments/lab_pictures.py [folder] [part of a notebook's name]

A form wider than its place is counted and named: nothing may have to be scrolled sideways to be read.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from browser import lab as harness

NOTEBOOKS = sorted(path.name for path in (Path(__file__).resolve().parents[2] / "notebooks").glob("*.ipynb"))
# Name, width [px], pixels a px, theme. A page at 200 % on a screen of 1280 px has 640 px to lay itself out in.
VIEWS = (("1280", 1280, 1, "Light"), ("1280-dark", 1280, 1, "Dark"), ("768", 768, 1, "Light"), ("768-dark", 768, 1, "Dark"),
         ("200-percent", 640, 2, "Light"))  # fmt: skip
TOO_WIDE = """() => [...document.querySelectorAll('.spoonline')].filter((form) => form.offsetParent !== null)
  .flatMap((form) => [...form.querySelectorAll('*')].filter((node) => node.offsetParent !== null && !node.closest('[hidden]')
    && node.getBoundingClientRect().right > form.getBoundingClientRect().right + 2
    && ![...(function* () { for (let up = node.parentElement; up && up !== form; up = up.parentElement) yield up; })()]
      .some((up) => getComputedStyle(up).overflowX !== 'visible')))
  .slice(0, 3).map((node) => node.outerHTML.slice(0, 120))"""


def main() -> int:
    """Make the pictures and print where they are, and what is too wide."""
    out = Path(sys.argv[1] if len(sys.argv) > 1 else tempfile.mkdtemp(prefix="lab-pictures-"))
    part = sys.argv[2] if len(sys.argv) > 2 else ""
    out.mkdir(parents=True, exist_ok=True)
    wide = 0
    with tempfile.TemporaryDirectory() as home, harness.serve(Path(home)) as lab:
        for name, width, factor, theme in VIEWS:
            with harness.browse(width, 1000, device_scale_factor=factor) as page:
                for notebook in (each for each in NOTEBOOKS if part in each):
                    harness.open_form(page, lab, notebook, "doc/tree" if width < 1000 else "lab/tree")
                    page.evaluate(
                        f"() => window.jupyterapp.commands.execute('apputils:change-theme', {{theme: 'JupyterLab {theme}'}})"
                    )
                    page.set_viewport_size({"width": width, "height": 3600})
                    page.wait_for_timeout(800)
                    found = page.evaluate(TOO_WIDE)
                    wide += bool(found)
                    for each in found:
                        print(f"{notebook} at {name}: too wide: {each}")
                    page.screenshot(path=out / f"{Path(notebook).stem}-{name}.png")
                    page.set_viewport_size({"width": width, "height": 1000})
    print(f"{len(VIEWS)} views of {len(NOTEBOOKS)} notebooks in {out}; forms wider than their place: {wide}")
    return bool(wide)


if __name__ == "__main__":
    raise SystemExit(main())
