"""The ``spoonline`` command: what it lays out, what it leaves alone, what it says when something is wrong."""

from __future__ import annotations

import json
import os
from contextlib import closing
from pathlib import Path

import pytest

from spoonline import cli
from spoonline.logbook import make_demo

SOUP = "Roast parsnip and pear soup"


def change_a_cell(path: Path) -> None:
    book = json.loads(path.read_text())
    book["cells"][0]["source"] = "# My own words"
    path.write_text(json.dumps(book))


def test_new_lays_out_notebooks_and_leaves_what_a_person_changed(tmp_path: Path) -> None:
    folder = tmp_path / "kitchen"
    assert cli.main(["new", str(folder)]) == 0
    names = sorted(path.name for path in folder.glob("*.ipynb"))
    assert names[0] == cli.FIRST and len(names) >= 5
    change_a_cell(folder / names[1])
    (folder / names[2]).unlink()
    ran = json.loads((folder / names[0]).read_text())
    ran["cells"][1]["execution_count"] = 77
    (folder / names[0]).write_text(json.dumps(ran))
    said = cli.lay_out(folder)
    assert said == [f"{names[1]}: left as you changed it.", f"{names[2]}: put there."]
    assert "My own words" in (folder / names[1]).read_text()
    assert json.loads((folder / names[0]).read_text())["cells"][1]["execution_count"] == 77, "running is not a change"


def test_an_untouched_older_notebook_is_renewed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder, newer = tmp_path / "kitchen", tmp_path / "newer"
    cli.lay_out(folder)
    newer.mkdir()
    for path in cli.shipped_notebooks().glob("*.ipynb"):
        (newer / path.name).write_bytes(path.read_bytes())
    change_a_cell(newer / cli.FIRST)
    monkeypatch.setattr(cli, "shipped_notebooks", lambda: newer)
    assert cli.lay_out(folder) == [f"{cli.FIRST}: renewed."]
    assert "My own words" in (folder / cli.FIRST).read_text()


def test_a_page_of_an_earlier_release_goes_unless_it_was_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    older = tmp_path / "older"
    older.mkdir()
    for name in ("1_an_old_page.ipynb", "2_another.ipynb"):
        (older / name).write_bytes((cli.shipped_notebooks() / cli.FIRST).read_bytes())
    with monkeypatch.context() as earlier:
        earlier.setattr(cli, "shipped_notebooks", lambda: older)
        cli.lay_out(tmp_path / "kitchen")
    change_a_cell(tmp_path / "kitchen" / "2_another.ipynb")
    said = cli.lay_out(tmp_path / "kitchen")
    assert said[-2:] == [
        "1_an_old_page.ipynb: another page has taken its place, so it went.",
        "2_another.ipynb: another page has taken its place; yours stays beside it.",
    ]
    assert not (tmp_path / "kitchen" / "1_an_old_page.ipynb").exists()
    assert "My own words" in (tmp_path / "kitchen" / "2_another.ipynb").read_text()
    assert not any("another page" in each for each in cli.lay_out(tmp_path / "kitchen")), "said once"


def test_demo_fills_an_empty_folder_and_leaves_a_full_one(tmp_path: Path) -> None:
    assert "invented" in cli.fill_demo(tmp_path)
    assert "left alone" in cli.fill_demo(tmp_path)


def test_card(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    make_demo(tmp_path / "kitchen.sqlite").close()
    arguments = ["card", SOUP, "--out", str(tmp_path / "cards"), "--logbook", str(tmp_path / "kitchen.sqlite")]
    assert cli.main(arguments) == 0
    assert (
        "Tested: 3 of the last 3 batches within the band, on 3 days; about 8 of 10 further ones should be. A draft: 2 open."
        in capsys.readouterr().out
    )
    assert sorted(path.name for path in (tmp_path / "cards").iterdir()) == [
        "roast-parsnip-and-pear-soup.html",
        "roast-parsnip-and-pear-soup.md",
    ]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["card", "Soup", "--out", "x", "--logbook", "nowhere.sqlite"], "There is no logbook 'nowhere.sqlite'"),
        (["new", "/proc/nowhere"], "cannot be written"),
    ],
)
def test_wrong_calls_get_one_sentence(arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(arguments) == 1
    err = capsys.readouterr().err
    assert said in err and err.count("\n") == 1


def test_all_cards_and_a_booklet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    make_demo(tmp_path / "kitchen.sqlite").close()
    where = ["--out", str(tmp_path / "cards"), "--logbook", str(tmp_path / "kitchen.sqlite")]
    assert cli.main(["card", "--all", "--format", "all", "--paper", "a5", *where]) == 0
    assert "3 of 6: Blackcurrant sauce" in capsys.readouterr().out
    assert len(list((tmp_path / "cards").iterdir())) == 30
    assert cli.main(["card", "--booklet", *where]) == 0
    assert (tmp_path / "cards" / "recipe-cards.pdf").read_bytes().startswith(b"%PDF")
    assert cli.main(["card", *where]) == 1
    assert "No title came" in capsys.readouterr().err
    assert cli.main(["card", SOUP, *where, "--format", "docx"]) == 1
    assert "choose of html, pdf, markdown, json_ld, text" in capsys.readouterr().err


def test_a_missing_title_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    make_demo(tmp_path / "kitchen.sqlite").close()
    assert (
        cli.main(["card", "Parsnip soup", "--out", str(tmp_path), "--logbook", str(tmp_path / "kitchen.sqlite")]) == 1
    )
    assert "did you mean" in capsys.readouterr().err


def test_a_wrong_command_line_exits_with_2() -> None:
    with pytest.raises(SystemExit) as caught:
        cli.main(["bake"])
    assert caught.value.code == 2


def test_the_lab_listens_on_loopback_only(tmp_path: Path) -> None:
    arguments = cli.lab_arguments(tmp_path, browser=False, port=9123)
    assert "--ServerApp.ip=127.0.0.1" in arguments and "--no-browser" in arguments
    assert not any("token" in argument for argument in arguments), "JupyterLab makes its own"


def test_the_lab_is_told_what_was_laid_out_and_finds_its_extension(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from jupyterlab_server.config import get_federated_extensions

    monkeypatch.setenv("JUPYTER_CONFIG_PATH", "")
    cli._quiet_lab(tmp_path)
    page = json.loads((tmp_path / cli.STATE / "jupyter" / "labconfig" / "page_config.json").read_text())
    told = json.loads(page["spoonline"])
    assert sorted(told) == sorted(path.name for path in cli.shipped_notebooks().glob("*.ipynb"))
    assert ["code", "StovePanel(book)"] in told["1_at_the_stove.ipynb"]
    assert page["buildCheck"] is False
    (where,) = (each.partition("=")[2] for each in cli.lab_arguments(tmp_path, False, None) if "labextensions" in each)
    found = get_federated_extensions([where])["spoonline"]
    assert (Path(found["ext_path"]) / found["jupyterlab"]["_build"]["load"]).is_file()


def test_mat(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["mat", "--paper", "letter", "--out", str(tmp_path / "mat.svg")]) == 0
    assert "10 cm rule" in capsys.readouterr().out and (tmp_path / "mat.svg").stat().st_size > 1000
    assert cli.main(["mat", "--out", str(tmp_path / "mat.docx")]) == 1
    assert capsys.readouterr().err.count("\n") == 1


def test_looking_after_a_logbook(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Backup, check, move and restore by command; each says in a sentence what came of it."""
    from spoonline.logbook import make_demo, open_logbook

    book = tmp_path / "kitchen.sqlite"
    opened = make_demo(book)
    before = opened.all_batches()
    opened.export(tmp_path / "out")
    opened.close()
    assert cli.main(["backup", str(book), str(tmp_path / "copy.sqlite")]) == 0
    assert cli.main(["check", str(tmp_path / "copy.sqlite")]) == 0
    assert cli.main(["move", str(book), str(tmp_path / "moved.sqlite")]) == 0
    assert cli.main(["restore", str(tmp_path / "out"), str(tmp_path / "restored.sqlite")]) == 0
    assert cli.main(["restore", str(tmp_path / "copy.sqlite"), str(tmp_path / "again.sqlite")]) == 0
    said = capsys.readouterr().out
    assert said.count("every record has the content it was kept with") == 4 and "compared with the logbook" in said
    for name in ("copy", "moved", "restored", "again"):
        each = open_logbook(tmp_path / f"{name}.sqlite")
        assert each.all_batches() == before, name
        each.close()
    assert cli.main(["check", str(tmp_path / "none.sqlite")]) == 1
    assert cli.main(["backup", str(book), str(tmp_path / "copy.sqlite")]) == 1
    assert "exists already" in capsys.readouterr().err


def test_the_network_is_opened_only_in_so_many_words(tmp_path: Path) -> None:
    assert "--ServerApp.ip=0.0.0.0" in cli.lab_arguments(tmp_path, False, None, True)
    assert "--ServerApp.ip=127.0.0.1" in cli.lab_arguments(tmp_path, False, None)


def test_what_is_broken_in_a_folder_is_set_apart_and_the_lab_starts(tmp_path: Path) -> None:
    folder = tmp_path / "kitchen"
    cli.lay_out(folder)
    record = folder / cli.STATE / "laid_out.json"
    for broken in ("", "{", "[]", "null", "[" * 90000, "\udcff"):
        record.write_bytes(broken.encode("utf-8", "surrogateescape"))
        assert cli.lay_out(folder) == [], "every notebook is as it was shipped"
        assert json.loads(record.read_text())
    names = sorted(path.name for path in folder.glob("*.ipynb"))
    for broken in ("", "{", "[]", '{"cells": 3}', '{"cells": [{}]}', "[" * 90000):
        (folder / names[1]).write_text(broken)
        (folder / names[2]).unlink()
        said = cli.lay_out(folder)
        apart = f"{names[1]}: cannot be read and was left as it is; move it away, and a new one is put there."
        assert said == [apart, f"{names[2]}: put there."] and (folder / names[1]).read_text() == broken
    (folder / names[1]).unlink()
    assert cli.lay_out(folder) == [f"{names[1]}: put there."]


@pytest.mark.parametrize("broken", ["", "{", "[]", "null", '{"data": 1}'])
def test_a_broken_file_of_how_the_tabs_stood_does_not_stop_the_lab(
    broken: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("JUPYTER_CONFIG_PATH", "")
    cli._quiet_lab(tmp_path)
    (kept,) = (tmp_path / cli.STATE / "jupyter" / "workspaces").iterdir()
    whole = kept.read_text()
    kept.write_text(broken)
    cli._quiet_lab(tmp_path)
    (again,) = (tmp_path / cli.STATE / "jupyter" / "workspaces").iterdir()
    assert json.loads(again.read_text())["data"] == json.loads(whole)["data"]


@pytest.mark.skipif(os.name != "posix", reason="permissions of another kind")
def test_a_new_folder_is_its_owner_s_alone_and_a_shared_one_stays_shared(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        cli.lay_out(tmp_path / "mine")
        assert not [path for path in (tmp_path / "mine", *(tmp_path / "mine").iterdir()) if path.stat().st_mode & 0o077]
        shared = tmp_path / "ours"
        shared.mkdir(mode=0o775)
        cli.lay_out(shared)
        first = shared / cli.FIRST
        first.chmod(0o664)
        cli.lay_out(shared)
        assert shared.stat().st_mode & 0o777 == 0o775 and first.stat().st_mode & 0o777 == 0o664
    finally:
        os.umask(before)


def test_who_opens_the_lab_to_the_network_is_told_what_the_token_means(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from jupyterlab.labapp import LabApp

    monkeypatch.setenv("JUPYTER_CONFIG_PATH", "")
    monkeypatch.setattr(LabApp, "launch_instance", lambda _arguments: None)
    assert cli.main(["lab", str(tmp_path / "a")]) == 0
    assert "token" not in capsys.readouterr().out
    assert cli.main(["lab", str(tmp_path / "b"), "--open-to-the-network"]) == 0
    assert "with its token can run any code on this machine as you" in capsys.readouterr().out


@pytest.mark.parametrize("port", ["0", "-1", "65536", "9" * 5000, "x", "8888.5", "\u0665"])
def test_a_port_that_is_none_is_refused(port: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        cli.main(["lab", "--port", port])
    assert "a port is a whole number from 1 to 65535" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["", " ", "x\0y", "x" * 300, "x\udcff"])
def test_a_name_that_can_be_none_is_one_sentence(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    make_demo(tmp_path / "kitchen.sqlite").close()
    where = ["--logbook", str(tmp_path / "kitchen.sqlite")]
    for arguments in (
        ["new", name], ["mat", "--out", name], ["card", SOUP, "--out", name, *where], ["backup", where[1], name], ["check", name],
        ["card", SOUP, "--out", str(tmp_path), "--style", name, *where], ["restore", name, str(tmp_path / "r")], ["move", where[1], name],
        ["card", name * 40, "--out", str(tmp_path), *where], ["card", SOUP, "--out", str(tmp_path), *where, "--version", "9" * 40],
    ):  # fmt: skip
        assert cli.main(arguments) == 1, arguments
        err = capsys.readouterr().err
        assert err.startswith("spoonline: ") and err.count("\n") == 1 and len(err) < 1000


def test_a_folder_that_cannot_be_gone_into_is_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As a folder without its x right does it, for root too."""
    real = os.stat

    def stat(path: object, *more: object, **named: object) -> os.stat_result:
        if "shut" in str(path) and not str(path).endswith("shut"):
            raise PermissionError(13, "Permission denied", str(path))
        return real(path, *more, **named)

    monkeypatch.setattr(os, "stat", stat)
    (tmp_path / "shut").mkdir()
    for arguments in (
        ["check", str(tmp_path / "shut" / "kitchen.sqlite")],
        ["new", str(tmp_path / "shut" / "kitchen")],
    ):
        assert cli.main(arguments) == 1


def test_cards_of_dishes_whose_names_differ_in_a_mark_do_not_overwrite_each_other(tmp_path: Path) -> None:
    import spoonline as sl

    with closing(sl.open_logbook(tmp_path / "kitchen.sqlite")) as book:
        for title in ("Soup!", "soup?", "Soup"):
            book.save(sl.Recipe(title=title, ingredients=["1 l stock", "40 g corn starch"]))
    where = ["--out", str(tmp_path / "cards"), "--logbook", str(tmp_path / "kitchen.sqlite"), "--format", "text"]
    for title in ("soup?", "Soup!", "Soup"):
        assert cli.main(["card", title, *where]) == 0
    files = {path.name: path.read_text().splitlines()[0] for path in (tmp_path / "cards").iterdir()}
    assert files == {"soup.txt": "Soup!", "soup-2.txt": "soup?", "soup-3.txt": "Soup"}
    assert cli.main(["card", "--all", *where]) == 0
    assert files == {path.name: path.read_text().splitlines()[0] for path in (tmp_path / "cards").iterdir()}


@pytest.mark.skipif(os.name != "posix", reason="links and pipes of another kind")
class TestAFolderOfAnother:
    """What a working folder that somebody else made can lead to: nothing outside it is written or removed, and nothing waits for ever."""

    def test_a_link_leads_nowhere(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("JUPYTER_CONFIG_PATH", "")
        folder, mine = tmp_path / "kitchen", tmp_path / "mine.json"
        (folder / cli.STATE / "jupyter" / "labconfig").mkdir(parents=True)
        mine.write_text("mine")
        (folder / cli.FIRST).symlink_to(tmp_path / "new.txt")
        (folder / cli.STATE / "laid_out.json").symlink_to(mine)
        (folder / cli.STATE / "jupyter" / "labconfig" / "page_config.json").symlink_to(mine)
        assert cli.lay_out(folder)[0].startswith(f"{cli.FIRST}: cannot be read and was left as it is")
        cli._quiet_lab(folder)
        assert mine.read_text() == "mine" and not (tmp_path / "new.txt").exists()

    def test_what_was_laid_out_names_no_file_elsewhere(self, tmp_path: Path) -> None:
        folder, mine = tmp_path / "kitchen", tmp_path / "mine.ipynb"
        (folder / cli.STATE).mkdir(parents=True)
        mine.write_text('{"cells": []}')
        laid = {"../mine.ipynb": cli.cells_hash(mine), str(mine): cli.cells_hash(mine), "..": "x"}
        (folder / cli.STATE / "laid_out.json").write_text(json.dumps(laid))
        assert all(said.endswith("put there.") for said in cli.lay_out(folder)) and mine.exists()

    def test_a_pipe_is_not_waited_for(self, tmp_path: Path) -> None:
        folder = tmp_path / "kitchen"
        (folder / cli.STATE).mkdir(parents=True)
        os.mkfifo(folder / cli.FIRST)
        os.mkfifo(folder / cli.STATE / "laid_out.json")
        assert cli.lay_out(folder)[0].startswith(f"{cli.FIRST}: cannot be read and was left as it is")

    def test_a_style_that_never_ends(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        make_demo(tmp_path / "kitchen.sqlite").close()
        os.mkfifo(tmp_path / "pipe.toml")
        for style in (tmp_path / "pipe.toml", Path("/dev/zero")):
            asked = ["card", SOUP, "--logbook", str(tmp_path / "kitchen.sqlite"), "--out", str(tmp_path)]
            assert cli.main([*asked, "--style", str(style)]) == 1
            assert "cannot be read (no ordinary file is there)" in capsys.readouterr().err


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full")
def test_words_that_cannot_be_printed_are_no_traceback(tmp_path: Path) -> None:
    import subprocess
    import sys

    make_demo(tmp_path / "kitchen.sqlite").close()
    asked = [sys.executable, "-m", "spoonline.cli", "check", str(tmp_path / "kitchen.sqlite")]
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(asked, stdout=full, stderr=subprocess.PIPE, text=True, env=os.environ)
    assert "Traceback" not in done.stderr and "No space left on device" in done.stderr and done.returncode
    narrow = os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    asked = [*asked[:3], "check", str(tmp_path / "Cr\u00e8me.sqlite")]
    done = subprocess.run(asked, capture_output=True, text=True, env=narrow)
    assert done.returncode == 1 and done.stderr.startswith("spoonline: There is no logbook 'Cr\\xe8me.sqlite'")
