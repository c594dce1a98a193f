"""Files that a person names: ordinary ones, read whole, and never a logbook that is open here."""

from pathlib import Path

# Logbooks that this process holds open. Closing one's own handle on such a file would drop the locks that SQLite keeps for the process.
LIVE: list[Path] = []


def content_of(path: Path, most: int = -1) -> bytes:
    """The bytes of an ordinary file, no more than ``most`` of them; a pipe or a device would never end.

    Raises
    ------
    OSError
        If there is none, or if it is a logbook that is open here, or belongs to one.
    """
    if not path.is_file():
        raise FileNotFoundError(2, "no ordinary file is there")
    found = path.resolve()
    if any(found in (live, *(live.with_name(f"{live.name}{end}") for end in ("-wal", "-shm"))) for live in LIVE):
        raise PermissionError(13, "it is a logbook that is open here")
    with path.open("rb") as file:
        return file.read(most)
