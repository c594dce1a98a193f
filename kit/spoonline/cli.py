"""The ``spoonline`` command: lay out a working folder, open the notebooks, write a card."""

import argparse
import hashlib
import io
import json
import os
import re
import shutil
import sys
from collections.abc import Sequence
from contextlib import closing, suppress
from datetime import date
from pathlib import Path
from typing import Any

from spoonline import __version__
from spoonline.measures import KitchenError, Sayings, read_table
from spoonline.measures.files import content_of

LOGBOOK = "kitchen.sqlite"
STATE = ".spoonline"
UNREADABLE = (ValueError, KeyError, TypeError, AttributeError, RecursionError)
FIRST = "0_start_here.ipynb"
LAB = Path(__file__).resolve().with_name("lab")
said = Sayings("said.csv", "", KitchenError)


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
    raise KitchenError(said("no notebooks"))


def cells_of(path: Path) -> list[tuple[str, str]]:
    """What a person can change in a notebook: its cells' kinds and sources. Running it changes nothing here."""
    cells = json.loads(content_of(path))["cells"]
    return [(cell["cell_type"], "".join(cell["source"])) for cell in cells]


def cells_hash(path: Path) -> str:
    """Hash of what a person can change in a notebook; blank where it cannot be read any more."""
    with suppress(FileNotFoundError, *UNREADABLE):
        return hashlib.sha256(json.dumps(cells_of(path)).encode()).hexdigest()
    return ""


def _laid(record: Path) -> dict[str, str]:
    """What was laid out so far, by its hash; where that cannot be read, nothing, so that whatever differs counts as a person's own."""
    with suppress(FileNotFoundError, *UNREADABLE):
        laid = json.loads(content_of(record)).items()
        # no file of another folder
        return {name: str(digest) for name, digest in laid if re.fullmatch(r"[^/\\]+\.ipynb", name)}
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
            held = cells_hash(target) if os.path.lexists(target) else None
            states = {laid.get(source.name): "renewed.", None: "put there.", "": said("unread"), ours: ""}
            state = states.get(held, "left as you changed it.")
            if state in ("put there.", "renewed."):
                target.touch(mode=0o600)
                target.write_bytes(source.read_bytes())
            if state in ("put there.", "renewed.", ""):
                laid[source.name] = ours
            notes += [f"{source.name}: {state}"] if state else []
        for name in [name for name in laid if not (shipped_notebooks() / name).is_file()]:  # of an earlier release
            target, ours = folder / name, laid.pop(name)
            if target.exists() and cells_hash(target) == ours:
                target.unlink()
                notes.append(said("gone", name=name))
            elif target.exists():
                notes.append(said("beside", name=name))
        record.unlink(missing_ok=True)  # it may lead to a file elsewhere
        record.write_text(json.dumps(laid, indent=1, sort_keys=True) + "\n", encoding="utf-8")
    except OSError as err:
        raise KitchenError(said("not written", name=folder.name, why=err.strerror)) from err
    return notes


def fill_demo(folder: Path) -> str:
    """Restore the invented demo into the folder's logbook, unless there is one already."""
    from spoonline.logbook import make_demo, open_logbook

    path = folder / LOGBOOK
    if path.exists():
        with closing(open_logbook(path)) as book:
            if book.holds:
                return said("holds records", name=LOGBOOK)
    make_demo(path).close()
    return said("demo", name=LOGBOOK)


def lab_arguments(folder: Path, browser: bool, port: int | None, network: bool = False) -> list[str]:
    """Arguments for JupyterLab: loopback unless the whole network is asked for, its own token, on the start notebook.

    What a tablet opens shows one notebook and nothing else; no terminals, and nobody who looks for npm and its language servers.
    """
    ip, page = ("0.0.0.0", "doc") if network else ("127.0.0.1", "lab")
    places = {"folder": folder, "state": folder / STATE, "lab": LAB, "first": FIRST}
    lines = (LAB / "arguments.txt").read_text(encoding="utf-8").splitlines()
    arguments = [each.format(ip=ip, page=page, **places) for each in lines]
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
    shutil.rmtree(place / "labconfig", ignore_errors=True)  # its files may lead elsewhere
    shutil.copytree(LAB / "labconfig", place / "labconfig", copy_function=shutil.copyfile)
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
    # of matrices as small as a pot's, threads only wait for one another
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


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
        print(said("open"))
    LabApp.launch_instance(lab_arguments(folder, not args.no_browser, args.port, args.open_to_the_network))
    return 0


def _port(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and 0 < int(text[:9]) < 65536):
        raise argparse.ArgumentTypeError(said("port", came=text[:20]))
    return int(text)


def _where(text: str) -> str:
    """A logbook file or an address; a password in it would show in the list of processes."""
    from spoonline.logbook.engine import address_of, is_address

    try:
        url, secret = address_of(text) if is_address(text) else (None, None)
    except KitchenError as err:
        raise argparse.ArgumentTypeError(str(err)) from None
    if secret or (url is not None and url.password):
        raise argparse.ArgumentTypeError(said("password"))
    return text


def _card(args: argparse.Namespace) -> int:
    from spoonline.card import FACES, RecipeCard, booklet, export, load_style
    from spoonline.card.card import write
    from spoonline.logbook import open_logbook

    out = file_of(args.out)
    with closing(open_logbook(args.logbook, create=False)) as book:
        said.refuse(args.title is None and not (args.all or args.booklet), "no title")
        own = load_style(file_of(args.style)) if args.style is not None else book.habits
        asked = {"kitchen": args.measures, "paper": args.paper}
        habits = own.model_copy(update={name: value for name, value in asked.items() if value})
        number = args.version if args.title else None
        every = book.titles()
        titles = every if args.title is None else [args.title]
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
        told = " ".join((card.content.tested, *(aim.good for aim in card.content.aims))).strip()
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
    purpose = "Turn a thickened dish made by feel into one whose thickness anyone can repeat."
    parser = argparse.ArgumentParser(prog="spoonline", description=purpose)
    parser.add_argument("--version", action="version", version=f"spoonline {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    runs = {"lab": _lab, "new": _new, "card": _card, "mat": _mat}
    types: dict[str, Any] = {"port": _port, "where": _where, "whole": int, "figure": float}
    for row in read_table("commands.toml", ""):
        command = commands.add_parser(row["name"], help=row["does"])
        command.set_defaults(run=runs.get(row["name"], _care))
        for name, how in row["takes"].items():
            command.add_argument(name, **how | {key: types[how[key]] for key in ("type",) if key in how})
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; 0 done, 1 something was wrong (one sentence says what), 2 the command line was wrong."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a letter that the terminal lacks is written by its number
            stream.reconfigure(errors="backslashreplace")
    args = _parser().parse_args(argv)
    try:
        return int(args.run(args))
    except (KitchenError, OSError) as err:  # what is printed may go nowhere, too: a full disk, a closed pipe
        print(f"spoonline: {getattr(err, 'strerror', None) or err}", file=sys.stderr)
        return 1


if __name__ == "__main__":
    raise SystemExit(main())
