"""A real JupyterLab and a real chromium, started and ended for one test run."""

from __future__ import annotations

import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

CHROMIUM = shutil.which("chromium")
PICTURES = Path(__file__).resolve().parent / "pictures"

ERRORS = """() => window.jupyterapp.shell.currentWidget.content.widgets
  .filter((cell) => cell.model.type === 'code')
  .flatMap((cell) => cell.model.outputs.toJSON().filter((out) => out.output_type === 'error').map((out) => out.ename))"""


@dataclass
class Lab:
    """A running server: where it answers, its token and the folder it serves."""

    base: str
    token: str
    folder: Path
    log: Path
    process: subprocess.Popen[bytes]

    def address(self, notebook: str, prefix: str = "lab/tree") -> str:
        """Address of a notebook in it."""
        return f"{self.base}{prefix}/{notebook}?token={self.token}"


def _free_port() -> int:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        return int(held.getsockname()[1])


@contextmanager
def serve(home: Path, *, demo: bool = True) -> Iterator[Lab]:
    """Start ``spoonline lab`` in a throw-away home, and end it by its own process group."""
    folder, port, token = home / "kitchen", _free_port(), secrets.token_hex(16)
    env = {key: value for key, value in os.environ.items() if not key.startswith(("SPOONLINE", "JUPYTER", "IPYTHON"))}
    for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "JUPYTERLAB_SETTINGS_DIR",
                 "JUPYTERLAB_WORKSPACES_DIR", "IPYTHONDIR"):  # fmt: skip
        path = home / name.lower()
        path.mkdir(parents=True)
        env[name] = str(path)
    env["JUPYTER_TOKEN"] = token
    # The page must hand out the application object, so that a test can wait for the kernel and not for a picture of it.
    (home / "jupyter_config_dir" / "jupyter_server_config.json").write_text(
        '{"LabApp": {"expose_app_in_browser": true}}'
    )
    log = home / "server.log"
    command = [sys.executable, "-m", "spoonline.cli", "lab", str(folder), "--no-browser", "--port", str(port)]
    command += ["--demo"] if demo else []
    with log.open("wb") as out:
        process = subprocess.Popen(
            command, stdout=out, stderr=subprocess.STDOUT, env=env, cwd=home, start_new_session=True
        )
    base = f"http://127.0.0.1:{port}/"
    try:
        for _ in range(300):
            if process.poll() is not None:
                raise RuntimeError(f"the server ended: {log.read_text()[-2000:]}")
            try:
                urllib.request.urlopen(f"{base}api/status?token={token}", timeout=1).close()
                break
            except (urllib.error.URLError, OSError):
                time.sleep(0.2)
        else:
            raise RuntimeError(f"the server never answered: {log.read_text()[-2000:]}")
        yield Lab(base, token, folder, log, process)
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGTERM)
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)
                raise


@contextmanager
def browse(width: int = 1280, height: int = 1000, **options: Any) -> Iterator[Any]:
    """One page of a headless chromium; its errors are kept in ``page.faults``."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=CHROMIUM, headless=True,
            args=["--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--no-first-run", "--disable-background-networking",
                  "--disable-component-update", "--disable-sync"],
        )  # fmt: skip
        page = browser.new_context(viewport={"width": width, "height": height}, **options).new_page()
        page.faults = []
        page.on("pageerror", lambda error: page.faults.append(str(error)[:200]))
        page.on(
            "console",
            lambda message: page.faults.append(f"console: {message.text[:200]}") if message.type == "error" else None,
        )
        try:
            yield page
        finally:
            browser.close()


# The lab asks for a picture attached to a cell once before it has resolved it. That is named here and nothing else is.
NOISE = ("favicon", "ERR_UNKNOWN_URL_SCHEME")


def faults_of(page: Any) -> list[str]:
    """Faults of a page, but for what is known to be none."""
    return [fault for fault in page.faults if not any(known in fault for known in NOISE)]


def form_of(page: Any, notebook: str, said: tuple[str, ...] = ()) -> Any:
    """The form of a notebook that has opened by itself, once all its cells were run and none failed but with a sentence of ``said``."""
    shown = page.locator(".jp-NotebookPanel:visible .jp-Notebook[aria-busy=false]")
    page.wait_for_function(
        "(name) => window.jupyterapp?.shell.currentWidget?.context?.path === name", arg=notebook, timeout=60000
    )
    shown.wait_for(timeout=60000)
    assert [name for name in page.evaluate(ERRORS) if name not in said] == []
    form = shown.locator(".spoonline").first
    form.wait_for(timeout=30000)
    # A page left while its components are still being loaded reports them as failed.
    page.wait_for_timeout(500)
    return form


def open_form(page: Any, lab: Lab, notebook: str, prefix: str = "lab/tree", said: tuple[str, ...] = ()) -> Any:
    """Open a notebook by its address, and wait for its form."""
    page.goto(lab.address(notebook, prefix), wait_until="domcontentloaded")
    return form_of(page, notebook, said)


def picture(page: Any, name: str) -> None:
    """Keep a picture for people; git ignores the folder."""
    PICTURES.mkdir(exist_ok=True)
    page.screenshot(path=PICTURES / f"{name}.png")


def picture_of_form(page: Any, name: str) -> None:
    """Keep a picture of the whole form, however long."""
    PICTURES.mkdir(exist_ok=True)
    size = page.viewport_size
    # The lab scrolls inside itself, so the window is made as tall as the form for the picture.
    page.set_viewport_size({"width": size["width"], "height": 3000})
    page.wait_for_timeout(500)
    page.locator(".spoonline:visible").first.screenshot(path=PICTURES / f"{name}.png")
    page.set_viewport_size(size)
