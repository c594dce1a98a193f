"""A logbook as a folder of readable files: JSON Lines for each kind, and a manifest with counts and SHA-256."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, inspect, select

from spoonline.logbook import tables
from spoonline.logbook.rows import plain_json
from spoonline.measures.errors import LogbookError, Progress

KINDS = tuple(table for table in tables.KINDS if table is not tables.pictures)
FORMAT = "spoonline logbook"
PHOTOS = "photos"


def write_folder(
    connection: Connection,
    folder: Path,
    *,
    names: bool = False,
    schema: int = tables.LATEST,
    progress: Progress | None = None,
) -> Path:
    """Write one ``.jsonl`` file a kind, the photos, and ``manifest.json``.

    ``names`` says whether the personal names of tasters go with it; tables of an older ``schema`` lack the later kinds.
    """
    there = set(inspect(connection).get_table_names())
    try:
        folder.mkdir(parents=True, exist_ok=True)
        usual = (".jsonl", ".json", ".csv")
        strange = [path.name for path in folder.iterdir() if path.suffix not in usual and path.name != PHOTOS]
        if strange:
            raise LogbookError(
                f"The folder {folder.name} holds other files ({', '.join(strange[:3])}); choose an empty one."
            )
        # Without its manifest a folder is no export: it comes last, and an older one goes first.
        (folder / "manifest.json").unlink(missing_ok=True)
        files: dict[str, dict[str, Any]] = {}
        for table in (each for each in KINDS if each.name in there):
            rows = connection.execute(select(table).order_by(table.c.seq)).mappings().all()
            lines = []
            for done, row in enumerate(rows, start=1):
                lines.append(_line(dict(row), names))
                if progress is not None and (done % 500 == 0 or done == len(rows)):
                    progress(done, len(rows), table.name)
            text = "".join(line + "\n" for line in lines)
            path = folder / f"{table.name}.jsonl"
            path.write_text(text, encoding="utf-8", newline="\n")
            files[path.name] = {"lines": len(lines), "sha256": hashlib.sha256(text.encode()).hexdigest()}
        if tables.pictures.name in there:
            files |= _write_photos(connection, folder)
        manifest = {"format": FORMAT, "schema": schema, "files": files}
        (folder / "manifest.json").write_text(json.dumps(manifest, indent=1, sort_keys=True) + "\n", encoding="utf-8")
    except OSError as err:
        raise LogbookError(f"The folder {folder.name} could not be written ({err.strerror}); choose another.") from err
    return folder


def _write_photos(connection: Connection, folder: Path) -> dict[str, dict[str, Any]]:
    """One file a photo, named by its content."""
    files = {}
    for row in connection.execute(select(tables.pictures).order_by(tables.pictures.c.seq)).mappings():
        (folder / PHOTOS).mkdir(exist_ok=True)
        name = f"{PHOTOS}/{row['id']}.{row['media'].removeprefix('image/')}"
        (folder / name).write_bytes(row["data"])
        files[name] = {"sha256": row["id"], "media": row["media"]}
    return files


def _line(row: dict[str, Any], names: bool) -> str:
    row.pop("seq")
    if "body" in row:
        row["body"] = json.loads(row["body"])
        if not names and row["body"].get("names"):
            row["body"]["names"] = []
    return plain_json(row)


def _checked(folder: Path, name: str, sha256: str | None) -> bytes:
    """The content of a file that has the fingerprint which the manifest gives it."""
    try:
        data = (folder / name).read_bytes()
    except OSError as err:
        raise LogbookError(f"The export {folder.name!r} lacks {name}; copy the whole folder again.") from err
    if not name.startswith(f"{PHOTOS}/"):
        data = data.replace(b"\r\n", b"\n")  # a copy may have taken on the line ends of its machine
    if hashlib.sha256(data).hexdigest() != sha256:
        raise LogbookError(f"{name} in {folder.name!r} was changed after the export; restore from an unchanged copy.")
    return data


def read_folder(folder: Path) -> list[tuple[Table, list[dict[str, Any]]]]:
    """Read an exported folder back, every file checked against the manifest."""
    try:
        manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    except (OSError, ValueError) as err:
        raise LogbookError(f"{folder.name!r} is not an exported logbook: it has no readable manifest.json.") from err
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise LogbookError(f"{folder.name!r} is not an exported logbook: its manifest names another format.")
    if int(manifest.get("schema", 0)) > tables.LATEST:
        raise LogbookError(f"{folder.name!r} was exported by a newer spoonline; update spoonline and restore again.")
    contents, photos = [], []
    for table in KINDS:
        name = f"{table.name}.jsonl"
        if name not in manifest["files"] and int(manifest.get("schema", 0)) < tables.LATEST:
            continue  # an export from before this kind was kept
        lines = _checked(folder, name, manifest["files"].get(name, {}).get("sha256")).splitlines()
        rows = [json.loads(line) for line in lines]
        contents.append((table, [row | {"body": plain_json(row["body"])} if "body" in row else row for row in rows]))
    for name, said in manifest["files"].items():
        if name.startswith(f"{PHOTOS}/"):
            data = _checked(folder, f"{PHOTOS}/{Path(name).name}", said.get("sha256"))
            photos.append({"id": said["sha256"], "media": said.get("media", ""), "data": data})
    return [*contents, (tables.pictures, photos)]
