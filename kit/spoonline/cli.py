"""The ``spoonline`` command: lay out a working folder, open the notebooks, write a card."""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import shutil
import sys
from collections.abc import Callable, Sequence
from contextlib import closing, suppress
from datetime import date
from pathlib import Path
from typing import Any

from spoonline import __version__
from spoonline.measures.errors import KitchenError

LOGBOOK = "kitchen.sqlite"
STATE = ".spoonline"
UNREADABLE = (ValueError, KeyError, TypeError, AttributeError, RecursionError)
FIRST = "0_start_here.ipynb"
LAB = Path(__file__).resolve().with_name("lab")
OPEN = (
    "Anyone who has the address with its token can run any code on this machine as you: read, change and delete all that you can. "
    "Nothing is encrypted on the way, so use it in your own kitchen's network only."
)


def file_of(text: str) -> Path:
    """The file or folder that a path means; a sentence where none can have that name."""
    from spoonline.logbook import engine

    return engine.file_of(text)


def shipped_notebooks() -> Path:
    """The folder of notebooks that came with this package.

    Raises
    ------
    KitchenError
        If the installation lacks it.
    """
    here = Path(__file__).resolve().parent
    for folder in (here / "_notebooks", here.parent.parent / "notebooks"):
        if folder.is_dir():
            return folder
    raise KitchenError("This installation lacks its notebooks; install spoonline again.")


def cells_of(path: Path) -> list[tuple[str, str]]:
    """What a person can change in a notebook: its cells' kinds and sources. Running it changes nothing here."""
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return [(cell["cell_type"], "".join(cell["source"])) for cell in cells]


def cells_hash(path: Path) -> str:
    """Hash of what a person can change in a notebook; blank where it cannot be read any more."""
    with suppress(*UNREADABLE):
        return hashlib.sha256(json.dumps(cells_of(path)).encode()).hexdigest()
    return ""


def _laid(record: Path) -> dict[str, str]:
    """What was laid out so far, by its hash; where that cannot be read, nothing, so that whatever differs counts as a person's own."""
    with suppress(FileNotFoundError, *UNREADABLE):
        return {name: str(digest) for name, digest in json.loads(record.read_text(encoding="utf-8")).items()}
    return {}


def lay_out(folder: Path) -> list[str]:
    """Copy the notebooks that are missing or untouched; leave those that a person changed.

    Parameters
    ----------
    folder : Path
        The working folder; made if it is missing.

    Returns
    -------
    list of str
        One sentence for each notebook that was put there, renewed or left.

    Raises
    ------
    KitchenError
        If the folder cannot be written.
    """
    notes = []
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        for ours_alone in (folder, folder / STATE):
            ours_alone.mkdir(mode=0o700, exist_ok=True)
        record = folder / STATE / "laid_out.json"
        laid = _laid(record)
        for source in sorted(shipped_notebooks().glob("*.ipynb")):
            target, ours = folder / source.name, cells_hash(source)
            if not target.exists():
                target.touch(mode=0o600)
                notes.append(f"{source.name}: put there.")
            elif not cells_hash(target):
                notes.append(
                    f"{source.name}: cannot be read and was left as it is; move it away, and a new one is put there."
                )
                continue
            elif cells_hash(target) == ours:
                laid[source.name] = ours
                continue
            elif cells_hash(target) == laid.get(source.name):
                notes.append(f"{source.name}: renewed.")
            else:
                notes.append(f"{source.name}: left as you changed it.")
                continue
            target.write_bytes(source.read_bytes())
            laid[source.name] = ours
        for name in [name for name in laid if not (shipped_notebooks() / name).is_file()]:  # of an earlier release
            target, ours = folder / name, laid.pop(name)
            if target.exists() and cells_hash(target) == ours:
                target.unlink()
                notes.append(f"{name}: another page has taken its place, so it went.")
            elif target.exists():
                notes.append(f"{name}: another page has taken its place; yours stays beside it.")
        record.write_text(json.dumps(laid, indent=1, sort_keys=True) + "\n", encoding="utf-8")
    except OSError as err:
        raise KitchenError(f"The folder {folder.name!r} cannot be written ({err.strerror}); choose another.") from err
    return notes


def fill_demo(folder: Path) -> str:
    """Restore the invented demo into the folder's logbook, unless there is one already."""
    from spoonline.logbook import make_demo, open_logbook

    path = folder / LOGBOOK
    if path.exists():
        with closing(open_logbook(path)) as book:
            held = book.holds
        if held:
            return f"{LOGBOOK} already holds records of its own and was left alone; give a new folder for the demo."
    make_demo(path).close()
    return f"{LOGBOOK}: invented demo of a winter lunch club put there."


def lab_arguments(folder: Path, browser: bool, port: int | None, network: bool = False) -> list[str]:
    """Arguments for JupyterLab: loopback unless the whole network is asked for, its own token, on the start notebook.

    What a tablet opens shows one notebook and nothing else.
    """
    arguments = [
        f"--ServerApp.root_dir={folder}",
        f"--ServerApp.ip={'0.0.0.0' if network else '127.0.0.1'}",
        f"--LabApp.default_url=/{'doc' if network else 'lab'}/tree/{FIRST}",
        f"--LabApp.workspaces_dir={folder / STATE / 'jupyter' / 'workspaces'}",
        f"--LabApp.extra_labextensions_path={LAB / 'labextensions'}",
        # No terminals, and nobody who looks for npm and its language servers.
        "--ServerApp.terminals_enabled=False",
        "--ServerApp.jpserver_extensions=jupyter_lsp=False",
        "--LabApp.extension_manager=readonly",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
    ]
    if port is not None:
        arguments += [f"--ServerApp.port={port}", "--ServerApp.port_retries=0"]
    if not browser:
        arguments.append("--no-browser")
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        arguments.append("--allow-root")
    return arguments


def _quiet_lab(folder: Path) -> None:
    """Settings of this folder only: no news question, forms that open by themselves and stay, the side lists closed at first.

    The page is told what the shipped notebooks hold; what differs from it belongs to a person, and is not run by itself.
    """
    from jupyterlab_server.workspaces_handler import WorkspacesManager

    place = folder / STATE / "jupyter"
    (place / "labconfig").mkdir(parents=True, exist_ok=True)
    for each in (LAB / "labconfig").iterdir():
        shutil.copyfile(each, place / "labconfig" / each.name)
    page = json.loads((LAB / "labconfig" / "page_config.json").read_text(encoding="utf-8"))
    # As text: of a table the server hands on its names only.
    page["spoonline"] = json.dumps({path.name: cells_of(path) for path in shipped_notebooks().glob("*.ipynb")})
    (place / "labconfig" / "page_config.json").write_text(json.dumps(page), encoding="utf-8")
    places = WorkspacesManager(str(place / "workspaces"))
    try:
        kept = places.list_workspaces()
    except UNREADABLE:  # the lab would not start; how its tabs stood is no loss
        shutil.rmtree(places.workspaces_dir)
        kept = []
    if not kept:
        places.save("default", (LAB / "workspace.json").read_text(encoding="utf-8"))
    held = os.environ.get("JUPYTER_CONFIG_PATH")
    os.environ["JUPYTER_CONFIG_PATH"] = os.pathsep.join([str(place), *([held] if held else [])])


def _new(args: argparse.Namespace) -> int:
    folder = file_of(args.folder)
    print("\n".join([*lay_out(folder), f"Ready. Open it with: spoonline lab {args.folder}"]))
    return 0


def _lab(args: argparse.Namespace) -> int:
    folder = file_of(args.folder)
    print("\n".join(lay_out(folder)))
    if args.demo:
        print(fill_demo(folder))
    _quiet_lab(folder)
    # While it is imported, the lab would ask node, where there is one, where it would build from; nothing is built here.
    held, os.environ["PATH"] = os.environ.get("PATH", ""), os.devnull
    try:
        from jupyterlab.labapp import LabApp
    finally:
        os.environ["PATH"] = held

    if args.open_to_the_network:
        print(OPEN)
    LabApp.launch_instance(lab_arguments(folder, not args.no_browser, args.port, args.open_to_the_network))
    return 0


def _port(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and 0 < int(text[:9]) < 65536):
        raise argparse.ArgumentTypeError(f"{text[:20]!r} came; a port is a whole number from 1 to 65535.")
    return int(text)


def _where(text: str) -> str:
    """A logbook file or an address; a password in it would show in the list of processes."""
    from spoonline.logbook.engine import address_of, is_address

    try:
        url, secret = address_of(text) if is_address(text) else (None, None)
    except KitchenError as err:
        raise argparse.ArgumentTypeError(str(err)) from None
    if secret or (url is not None and url.password):
        raise argparse.ArgumentTypeError(
            "everyone on this machine can read a password in a command line; leave it out of the address and put it into the "
            "environment (PGPASSWORD) or into the file ~/.pgpass."
        )
    return text


def _card(args: argparse.Namespace) -> int:
    from spoonline.card import FACES, RecipeCard, booklet, export, load_style
    from spoonline.card.booklet import write
    from spoonline.logbook import open_logbook

    out = file_of(args.out)
    with closing(open_logbook(args.logbook, create=False)) as book:
        if args.title is None and not (args.all or args.booklet):
            raise KitchenError("No title came; name a dish, or ask for --all or a --booklet.")
        own = load_style(file_of(args.style)) if args.style else book.habits
        asked = {"kitchen": args.measures, "paper": args.paper}
        habits = own.model_copy(update={name: value for name, value in asked.items() if value})
        number = args.version if args.title else None
        every = book.titles()
        titles = [args.title] if args.title else every
        today = date.today()
        cards = [RecipeCard.from_logbook(book, title, number, habits=habits, printed_on=today) for title in titles]
    if args.booklet:
        files = [write(out / "recipe-cards.pdf", booklet(cards, paper=habits.paper))]
    else:
        forms = list(FACES) if args.format == ["all"] else args.format or ["html", "markdown"]
        files = export(
            cards, out, formats=forms, paper=habits.paper, among=every,
            progress=(lambda done, every, title: print(f"{done} of {every}: {title}")) if args.all else None,
        )  # fmt: skip
    print("\n".join(f"{path.name} written to {path.parent.name}." for path in files))
    for card in cards:
        left = len(card.content.open_points)
        told = " ".join((card.content.tested, *card.content.aims)).strip()
        print(f"{card.recipe.title}: {told} {f'A draft: {left} open.' if left else 'Finished.'}")
    return 0


def _mat(args: argparse.Namespace) -> int:
    from spoonline.flow import mat

    path = mat(file_of(args.out), paper=args.paper, radius_cm=args.radius)
    print(f"{path.name} written. Print it at 100 %, and check its 10 cm rule before you use it.")
    return 0


def _care(args: argparse.Namespace) -> int:
    """Back a logbook up, restore it, check it or move it; with a bar."""
    from spoonline.logbook import Logbook, care, open_logbook
    from spoonline.widgets.parts.work import bars

    exported = args.command == "restore" and "://" not in args.logbook and file_of(args.logbook).is_dir()
    with bars() as progress:
        if args.command == "backup":
            made = care.backup(args.logbook, args.to, progress)
            print(f"{made.name} holds the same records; it was compared with the logbook.")
            return 0
        if exported:
            Logbook.restore(args.logbook, args.to).close()
        if args.command == "check" or exported:
            where = args.to if exported else args.logbook
            with closing(open_logbook(where, progress=progress, create=False)) as book:
                found = care.check(book, progress)
        else:
            found = care.move(args.logbook, args.to, progress)
    print(found.text + ("\nThe old logbook is left as it was." if args.command == "move" else ""))
    return 1 if found.faults else 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="spoonline", description="Turn a thickened dish made by feel into one whose thickness anyone can repeat."
    )
    parser.add_argument("--version", action="version", version=f"spoonline {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    def command(name: str, run: Callable[[argparse.Namespace], int], does: str) -> Callable[..., argparse.Action]:
        """Add a command; what comes back adds its arguments."""
        made = commands.add_parser(name, help=does)
        made.set_defaults(run=run)
        return made.add_argument

    own, papers = "(default: this kitchen's own habits)", ["a4", "letter", "a5", "5x8"]
    lab = command("lab", _lab, "prepare a working folder and open the notebooks in it")
    lab("folder", nargs="?", default="my-kitchen", metavar="FOLDER", help="working folder (default: my-kitchen)")
    lab("--demo", action="store_true", help="start with an invented logbook")
    lab("--no-browser", action="store_true", help="print the address and open no browser")
    lab("--port", type=_port, metavar="N", help="port on this machine (default: the first free one)")
    tablet = "let a tablet in the kitchen open it too (default: this machine only)"
    lab("--open-to-the-network", action="store_true", help=tablet)
    new = command("new", _new, "prepare a working folder only")
    new("folder", metavar="FOLDER")
    card = command("card", _card, "write the recipe card of a dish")
    card("title", metavar="TITLE", nargs="?", help="the dish (or --all)")
    card("--all", action="store_true", help="the latest version of every dish")
    card("--booklet", action="store_true", help="one PDF of the cards, with contents and index")
    card("--format", nargs="+", metavar="FORM", help="html, pdf, ... or all (default: html markdown)")
    card("--paper", choices=papers, help=f"paper {own}")
    card("--out", required=True, metavar="DIR", help="folder for the files")
    card(
        "--logbook", type=_where, default=LOGBOOK, metavar="FILE", help=f"logbook file or address (default: {LOGBOOK})"
    )
    card("--version", type=int, metavar="N", help="version to print (default: the latest)")
    card("--measures", choices=["us", "metric", "uk", "au"], help=f"household measures {own}")
    card("--style", metavar="FILE", help=f"a house style file {own}")
    sheet = command("mat", _mat, "write a true-to-scale mat for the ring test")
    sheet("--paper", choices=papers[:2], default="a4", help="paper (default: a4)")
    sheet("--radius", type=float, default=3.5, metavar="CM", help="inner radius of the ring (default: 3.5)")
    sheet("--out", default="ring-mat.pdf", metavar="FILE", help="PDF or SVG file (default: ring-mat.pdf)")
    named = "a logbook file, or postgresql+psycopg://name@host/database (its password: PGPASSWORD, or ~/.pgpass)"
    where: dict[str, Any] = {"metavar": "LOGBOOK", "type": _where, "help": named}
    copy = command("backup", _care, "copy a logbook, in use or not, and prove the copy")
    copy("logbook", **where)
    copy("to", metavar="FILE", help="a new file")
    back = command("restore", _care, "make a new logbook from an export folder or a backup")
    back("logbook", metavar="FOLDER_OR_FILE", type=_where)
    back("to", **where)
    command("check", _care, "hold every record against the content it was kept with")("logbook", **where)
    other = command("move", _care, "copy a logbook between a file and a database")
    other("logbook", **where)
    other("to", **where)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; 0 done, 1 something was wrong (one sentence says what), 2 the command line was wrong."""
    args = _parser().parse_args(argv)
    try:
        return int(args.run(args))
    except KitchenError as err:
        print(f"spoonline: {err}", file=sys.stderr)
        return 1


if __name__ == "__main__":
    raise SystemExit(main())
