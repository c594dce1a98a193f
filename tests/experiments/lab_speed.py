"""From a key press to the painted figure, beside a bare slider; memory after many moves; from the command to the first form.

    python tests/experiments/lab_speed.py [moves] [many moves]

Needs chromium. The bare slider is ipywidgets' ``interact`` on a matplotlib line plot of the same size, in the same lab; the
bare start is JupyterLab on a notebook with one empty cell.
"""

from __future__ import annotations

import os
import secrets
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median
from typing import Any

import nbformat
import psutil
from nbformat.v4 import new_code_cell, new_notebook

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from browser import lab as harness

OPEN = """async (name) => {
  const app = window.jupyterapp;
  await app.restored;
  const until = Date.now() + 60000;
  while (Date.now() < until) {
    const widget = app.shell.currentWidget;
    const kernel = widget && widget.sessionContext && widget.sessionContext.session && widget.sessionContext.session.kernel;
    if (kernel && widget.context && widget.context.path === name) {
      await widget.context.ready; await widget.sessionContext.ready; await kernel.info;
      return kernel.status;
    }
    await new Promise((done) => setTimeout(done, 50));
  }
  throw new Error("no kernel for " + name);
}"""

RUN_ALL = """async () => Promise.race([
  window.jupyterapp.commands.execute('notebook:run-all-cells'),
  new Promise((_, fail) => setTimeout(() => fail(new Error('run all took too long')), 120000)),
])"""

BARE = """%matplotlib inline
import ipywidgets as w, matplotlib.pyplot as plt, numpy as np
x = np.linspace(0, 10, 400)
def draw(a):
    plt.figure(figsize=(8, 4.6)); plt.plot(x, np.sin(a * x)); plt.show()
w.interact(draw, a=w.FloatSlider(min=0, max=60, step=0.5, value=30))"""

# The time of the key is taken in the page, and the time of the paint two frames after the picture changed.
WATCH = """(selector) => {
  window.pressed = 0; window.painted = [];
  const target = [...document.querySelectorAll(selector)].find((node) => node.offsetParent !== null);
  document.addEventListener('keydown', () => { window.pressed = performance.now(); window.waiting = true; }, true);
  new MutationObserver(() => {
    if (!window.waiting) return;
    window.waiting = false;
    const from = window.pressed;
    requestAnimationFrame(() => requestAnimationFrame(() => window.painted.push(performance.now() - from)));
  }).observe(target, { childList: true, subtree: true, attributes: true, characterData: true });
}"""


def moves(page: Any, selector: str, count: int) -> list[float]:
    """Press an arrow key so often, each time when the last move was painted; the times [ms]."""
    page.evaluate(WATCH, selector)
    page.locator("[role=slider]:visible").first.focus()
    for n in range(count):
        page.keyboard.press("ArrowRight" if n % 20 < 10 else "ArrowLeft")
        page.wait_for_function("(n) => window.painted.length > n", arg=n, timeout=20000)
    return sorted(page.evaluate("() => window.painted"))


def kernels(root: int) -> float:
    """Memory of the lab's kernels [MB]."""
    children = psutil.Process(root).children(recursive=True)
    return sum(each.memory_info().rss for each in children if "ipykernel_launcher" in " ".join(each.cmdline())) / 1e6


def said(times: list[float]) -> str:
    return f"median {median(times):.0f} ms, 95 of 100 {times[int(0.95 * len(times)) - 1]:.0f} ms"


def slider(lab: harness.Lab, count: int, many: int) -> None:
    """The dose slider and the bare one in the same lab."""
    bare = new_notebook(cells=[new_code_cell(BARE, id="a")])
    bare.metadata.kernelspec = {"name": "python3", "display_name": "Python 3", "language": "python"}
    nbformat.write(bare, lab.folder / "bare.ipynb")
    found = {}
    with harness.browse() as page:
        page.goto(lab.address("bare.ipynb"), wait_until="domcontentloaded")
        page.wait_for_function("() => window.jupyterapp", timeout=60000)
        page.evaluate(OPEN, "bare.ipynb")
        page.evaluate(RUN_ALL)
        page.locator("[role=slider]:visible").first.wait_for(timeout=30000)
        page.wait_for_timeout(1000)
        found["bare"] = moves(page, ".jp-OutputArea-output .jp-OutputArea, .widget-output", count)
    with harness.browse() as page:
        harness.open_form(page, lab, "2_set_the_thickness.ipynb")
        page.wait_for_timeout(1000)
        found["ours"] = moves(page, ".sl-mark", count)
        before = kernels(lab.process.pid)
        heap = page.evaluate("() => performance.memory.usedJSHeapSize / 1e6")
        moves(page, ".sl-mark", many)
        print(
            f"memory over {many} moves: kernels {before:.0f} to {kernels(lab.process.pid):.0f} MB, page "
            f"{heap:.0f} to {page.evaluate('() => performance.memory.usedJSHeapSize / 1e6'):.0f} MB"
        )
    print(f"{count} moves of the dose slider: {said(found['ours'])}; bare slider: {said(found['bare'])}; "
          f"ratio of medians {median(found['ours']) / median(found['bare']):.2f}")  # fmt: skip


def start_ours() -> float:
    """From the command to a form that takes a key [s]."""
    with tempfile.TemporaryDirectory() as home:
        start = time.perf_counter()
        with harness.serve(Path(home)) as lab, harness.browse() as page:
            harness.open_form(page, lab, "0_start_here.ipynb")
            page.locator(".spoonline textarea:visible").first.wait_for()
            return time.perf_counter() - start


def start_bare() -> float:
    """The same for JupyterLab with a notebook of one empty cell, run [s]."""
    with tempfile.TemporaryDirectory() as home:
        book = new_notebook(cells=[new_code_cell("", id="a")])
        book.metadata.kernelspec = {"name": "python3", "display_name": "Python 3", "language": "python"}
        nbformat.write(book, Path(home) / "empty.ipynb")
        token, port = secrets.token_hex(16), harness._free_port()
        env = os.environ | {
            name: str(Path(home) / name.lower())
            for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "IPYTHONDIR")
        }
        start = time.perf_counter()
        process = subprocess.Popen(
            [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", f"--port={port}", f"--ServerApp.root_dir={home}",
             f"--IdentityProvider.token={token}", "--LabApp.expose_app_in_browser=True"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=env, cwd=home,
        )  # fmt: skip
        try:
            with harness.browse() as page:
                address = f"http://127.0.0.1:{port}/lab/tree/empty.ipynb?token={token}"
                while True:
                    try:
                        page.goto(address, wait_until="domcontentloaded")
                        break
                    except Exception:
                        time.sleep(0.1)
                page.wait_for_function("() => window.jupyterapp", timeout=60000)
                page.evaluate(OPEN, "empty.ipynb")
                page.evaluate(RUN_ALL)
                return time.perf_counter() - start
        finally:
            process.terminate()
            process.wait(20)


def main() -> None:
    """Slider, memory, start."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    many = int(sys.argv[2]) if len(sys.argv) > 2 else 1000
    with tempfile.TemporaryDirectory() as home, harness.serve(Path(home)) as lab:
        slider(lab, count, many)
    ours, bare = start_ours(), start_bare()
    print(
        f"from the command to the first usable form: {ours:.1f} s; bare JupyterLab to an empty notebook that was run: {bare:.1f} s"
    )


if __name__ == "__main__":
    main()
