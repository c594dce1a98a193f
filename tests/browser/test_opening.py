"""Forms open by themselves: by every way in, after a reload and a restart, by touch; never what a person changed; and closing asks nothing."""

from __future__ import annotations

import json
import os
import re
import subprocess
import time
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import expect

from browser import lab as harness
from browser.keys import start_in_form, type_into
from spoonline import cli

pytestmark = pytest.mark.browser
BATCH, START = "1_at_the_stove.ipynb", "0_start_here.ipynb"
POT = "Pot, everything in, g"
OPENING = ".jp-NotebookPanel:visible .jp-Notebook[aria-busy=true]"
SHOWN = "() => window.jupyterapp.shell.currentWidget"


@pytest.fixture
def tablet(lab: harness.Lab) -> Iterator[Any]:
    with harness.browse(820, 1180, has_touch=True, is_mobile=True) as opened:
        yield opened
        assert harness.faults_of(opened) == []


def sources(page: Any) -> list[str]:
    """The code that one sees."""
    return page.locator(".jp-NotebookPanel:visible .jp-CodeCell .jp-InputArea-editor:visible").all_inner_texts()


@pytest.mark.parametrize("prefix", ["lab/tree", "doc/tree"])
def test_a_link_opens_the_form_with_its_code_folded(lab, page, prefix: str) -> None:
    began = time.perf_counter()
    form = harness.open_form(page, lab, BATCH, prefix)
    print(f"from the address to the form, {prefix}: {time.perf_counter() - began:.1f} s")
    assert form.get_by_label(POT).is_visible()
    assert sources(page) == []
    page.locator(".jp-NotebookPanel:visible .jp-InputPlaceholder .jp-Placeholder-content").nth(1).click()
    assert [text.strip() for text in sources(page)] == ["StovePanel(book)"]
    harness.picture(page, f"opened-{prefix[:3]}")


def test_the_start_page_opens_in_the_lab_and_its_link_opens_the_next_form(lab, page) -> None:
    page.goto(f"{lab.base}?token={lab.token}", wait_until="domcontentloaded")  # as the command opens it
    form = harness.form_of(page, START)
    began = time.perf_counter()
    form.get_by_role("link", name="set the next dose: Mushroom gravy").click()
    form = harness.form_of(page, "2_set_the_thickness.ipynb")
    print(f"from the start page's link to the form: {time.perf_counter() - began:.1f} s")
    assert form.get_by_label("Recipe", exact=True).input_value() == "Mushroom gravy"


def test_by_touch_on_a_tablet(lab, tablet) -> None:
    form = harness.open_form(tablet, lab, START, "doc/tree")
    form.get_by_role("link", name="set the next dose: Mushroom gravy").tap()
    form = harness.form_of(tablet, "2_set_the_thickness.ipynb")
    assert form.get_by_label("Recipe", exact=True).input_value() == "Mushroom gravy"
    harness.picture(tablet, "opened-tablet")


@pytest.mark.parametrize("prefix", ["lab/tree", "doc/tree"])
def test_a_reload_keeps_the_living_form_and_all_that_is_typed(lab, page, prefix: str) -> None:
    harness.open_form(page, lab, BATCH, prefix)
    start_in_form(page)
    type_into(page, POT, "5200")
    page.get_by_label("Note", exact=True).focus()
    page.keyboard.type("M. never left this field")
    page.wait_for_timeout(500)
    page.reload(wait_until="domcontentloaded")
    form = harness.form_of(page, BATCH)
    assert form.get_by_label(POT).input_value() == "5200"
    assert form.get_by_label("Note", exact=True).input_value() == "M. never left this field"
    # It is the form that lives: it hears what is typed now.
    type_into(page, "The same at the end, g", "4980")
    form.get_by_text("220 g evaporated").wait_for()


def test_after_a_kernel_restart_the_form_comes_back_and_offers_what_was_typed(lab, page) -> None:
    harness.open_form(page, lab, BATCH)
    start_in_form(page)
    type_into(page, POT, "5300")
    page.wait_for_timeout(300)
    page.evaluate(f"async () => (({SHOWN})()).sessionContext.restartKernel()")
    page.locator(OPENING).wait_for(timeout=30000)
    form = harness.form_of(page, BATCH)
    form.get_by_text(re.compile(r"Typed on \d{4}-\d\d-\d\d \d\d:\d\d and not saved")).wait_for()
    form.get_by_role("button", name="Go on with it").click()
    expect(form.get_by_label(POT)).to_have_value("5300")  # the latest of what was typed and not saved
    # A field left while its kernel restarts finds nobody to tell, and the widgets' own library says so on the console.
    page.faults[:] = [fault for fault in page.faults if fault != "Cannot send"]


def test_a_kernel_that_died_comes_back_with_its_form(lab, page) -> None:
    harness.open_form(page, lab, "5_read_thickness.ipynb")
    before = page.locator(".spoonline:visible").count()
    page.evaluate(f"""() => {{ const kernel = (({SHOWN})()).sessionContext.session.kernel;
        kernel.requestExecute({{ code: 'import os; os._exit(1)', silent: true }}).done.catch(() => {{}}); }}""")
    page.locator(OPENING).wait_for(timeout=30000)
    harness.form_of(page, "5_read_thickness.ipynb")
    assert page.locator(".spoonline:visible").count() == before


def test_what_a_person_changed_is_not_run(lab, page) -> None:
    path = lab.folder / "3_compare.ipynb"
    book = json.loads(path.read_text())
    book["cells"][-1]["source"] = "open('ran', 'w').close()"
    path.write_text(json.dumps(book))
    page.goto(lab.address(path.name), wait_until="domcontentloaded")
    page.wait_for_function(f"() => {{ const shown = window.jupyterapp && ({SHOWN})(); return shown && shown.context && "
                           "shown.sessionContext.session?.kernel?.status === 'idle'; }", timeout=60000)  # fmt: skip
    page.wait_for_timeout(3000)
    assert page.locator(".spoonline:visible").count() == 0
    assert not (lab.folder / "ran").exists()


def test_outputs_that_were_saved_are_no_change(lab, page) -> None:
    path = lab.folder / "4_finish_the_card.ipynb"
    shipped = path.read_text()
    harness.open_form(page, lab, path.name)
    page.evaluate(f"() => (({SHOWN})()).context.save()")
    assert path.read_text() != shipped and cli.cells_of(path) == cli.cells_of(cli.shipped_notebooks() / path.name)
    assert harness.open_form(page, lab, path.name).is_visible()


def test_closing_asks_nothing_and_an_own_line_is_kept(lab, page) -> None:
    path = lab.folder / "6_ingredients.ipynb"
    shipped = path.read_bytes()
    asked: list[str] = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.accept()))
    form = harness.open_form(page, lab, path.name)
    form.locator("textarea").first.fill("Broth\n\n1 l water")
    page.keyboard.press("Tab")
    page.wait_for_timeout(500)
    page.evaluate("() => window.jupyterapp.commands.execute('application:close')")
    page.wait_for_function(f"(name) => ({SHOWN})()?.context?.path !== name", arg=path.name, timeout=5000)
    assert page.locator(".jp-Dialog").count() == 0
    assert path.read_bytes() == shipped, "there was nothing to save"
    # A line of one's own is kept without a word, and the notebook is a person's from then on.
    harness.open_form(page, lab, path.name)
    page.locator(".jp-NotebookPanel:visible .jp-InputPlaceholder .jp-Placeholder-content").last.click()
    page.locator(".jp-NotebookPanel:visible .jp-CodeCell .cm-content").last.click()
    page.keyboard.press("Control+Home")
    page.keyboard.type("# mine\n")
    for _ in range(100):
        if b"# mine" in path.read_bytes():
            break
        page.wait_for_timeout(100)
    page.wait_for_timeout(300)
    page.close(run_before_unload=True)
    assert asked == [] and b"# mine" in path.read_bytes()


def test_no_program_of_developers_is_looked_for_at_launch(tmp_path, monkeypatch) -> None:
    tools, asked = tmp_path / "tools", tmp_path / "asked"
    tools.mkdir()
    for name in ("npm", "node", "git", "yarn", "jlpm"):
        (tools / name).write_text(f"#!/bin/sh\necho {name} >> {asked}\n")
        (tools / name).chmod(0o755)
    monkeypatch.setenv("PATH", f"{tools}:{os.environ['PATH']}")
    subprocess.run(["git", "--version"], check=True)  # they would be found
    assert asked.read_text() == "git\n"
    with harness.serve(tmp_path / "home") as lab, harness.browse() as page:
        harness.open_form(page, lab, BATCH)
    assert asked.read_text() == "git\n"
