"""An old spreadsheet as a plain table of texts, with everything that was decided on the way said in words."""

from __future__ import annotations

import contextlib
import csv
import io
import os
import re
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from spoonline.measures.errors import BatchError

MOST_BYTES, MOST_COLUMNS, MOST_ROWS = 10_000_000, 60, 3000
MOST_UNPACKED = 100_000_000
MOST = f"keep at most {MOST_COLUMNS} and {MOST_ROWS}"
_NOT_TABLES = {
    start: f"{what}, not a table; save the sheet as CSV or XLSX"
    for start, what in (
        (b"\x89PNG", "a picture (PNG)"), (b"\xff\xd8\xff", "a picture (JPEG)"), (b"GIF8", "a picture (GIF)"), (b"%PDF", "a PDF"),
        (b"{\\rtf", "a text document (RTF)"), (b"Rar!", "a packed archive"), (b"\x1f\x8b", "a packed archive"),
    )
} | {b"\xd0\xcf\x11\xe0": "protected by a password, or of the old XLS kind; open it and save it as XLSX without a password"}  # fmt: skip
EMPTY = "is empty; choose the file that holds the trials"
_FIGURE = re.compile(r"[-+]?\d+(?:[.,]\d+)*(?:[eE][-+]?\d+)?|\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}.*")


@dataclass(frozen=True)
class Sheet:
    """A table as it was found: headings, rows of texts, and what was decided in reading it.

    ``numbers`` are the row numbers in the file, ``decimal`` the decimal mark that the figures show ("" where they show
    none or both), ``name`` the file's name.
    """

    name: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[int, ...]
    decimal: str
    notes: tuple[str, ...]

    def column(self, place: int) -> list[str]:
        """The filled cells of one column, from 0."""
        return [row[place] for row in self.rows if row[place]]


def letter(place: int) -> str:
    """The letter of a column, from 0, as spreadsheets count.

    Examples
    --------
    >>> letter(0), letter(25), letter(26)
    ('A', 'Z', 'AA')
    """
    return (letter(place // 26 - 1) if place >= 26 else "") + chr(65 + place % 26)


def read_sheet(source: str | os.PathLike[str] | bytes, name: str = "") -> Sheet:
    """Read a CSV or XLSX file into a plain table.

    Parameters
    ----------
    source : path or bytes
        Where it lies, or its content.
    name : str, optional
        Its name, for what is said; of a path its own.

    Returns
    -------
    Sheet
        Every cell as text; delimiter, encoding, headings and decimal mark that were found stand in ``notes``.

    Raises
    ------
    BatchError
        If it cannot be opened, is no table, is protected, is too large, or holds what has no one reading.

    Examples
    --------
    >>> sheet = read_sheet(b"dish;starch g\\nsoup;42,5\\n", "trials.csv")
    >>> sheet.headings, sheet.rows, sheet.decimal
    (('dish', 'starch g'), (('soup', '42,5'),), ',')
    """
    try:
        name = name or ("the sheet" if isinstance(source, bytes) else Path(source).name)
        # An old sheet of more than a few MB is something else; it is not read into memory to find out.
        size = len(source) if isinstance(source, bytes) else Path(source).stat().st_size
        data = b"" if size > MOST_BYTES else source if isinstance(source, bytes) else Path(source).read_bytes()
    except (OSError, ValueError) as err:
        raise _wrong(str(source), "cannot be opened; check the path, or choose the file instead") from err
    if size > MOST_BYTES:
        raise _wrong(name, f"is larger than {MOST_BYTES // 10**6} MB; save only the sheet of trials")
    if not data.strip():
        raise _wrong(name, EMPTY)
    for start, what in _NOT_TABLES.items():
        if data.startswith(start):
            raise _wrong(name, f"is {what}")
    cells, notes = _from_xlsx(data, name) if data.startswith(b"PK\x03\x04") else _from_csv(data, name)
    return _table(name, cells, notes)


def _wrong(name: str, what: str) -> BatchError:
    return BatchError(f"{name[:120]} {what}.")


def _from_csv(data: bytes, name: str) -> tuple[list[list[str]], list[str]]:
    notes, text = [], "\0"
    for encoding in ("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig", "cp1252"):
        with contextlib.suppress(UnicodeDecodeError):
            text = data.decode(encoding)
            break
    if any(ord(ch) < 32 and ch not in "\t\r\n\f" for ch in text):
        raise _wrong(name, "is no text; save the sheet as CSV (UTF-8) or XLSX")
    if encoding == "cp1252":
        notes.append("Read as Windows-1252 because it is no UTF-8: look whether accents and fractions are right.")
    told = re.match(r"sep=(.)\r?\n", text, re.IGNORECASE)
    text = "\n" * bool(told) + text[told.end() if told else 0 :]
    best: tuple[float, str, list[list[str]]] = (0.0, "", [])
    for mark in told[1] if told else ";\t,|":
        try:
            cells = list(csv.reader(io.StringIO(text, newline=""), delimiter=mark))
        except (csv.Error, TypeError, ValueError):
            continue
        widths = [len(row) for row in cells if any(cell.strip() for cell in row)]
        if not widths:
            raise _wrong(name, EMPTY)
        usual = max(set(widths), key=lambda width: (widths.count(width), width))
        # A mark that parts most rows into the same number of cells is the delimiter; 1 cell a row is no parting.
        score = 0.01 if usual == 1 else widths.count(usual) / len(widths) + 0.001 * min(usual, 50)
        best = max(best, (score, mark, cells), key=lambda each: each[0])
    if not best[1]:
        raise _wrong(name, "could not be parted into cells; save the sheet again as CSV or XLSX")
    word = {";": "semicolons", "\t": "tabs", ",": "commas", "|": "upright strokes"}.get(best[1], f"{best[1]!r}")
    notes.append(f"The cells are parted by {word}.")
    return best[2], notes


def _from_xlsx(data: bytes, name: str) -> tuple[list[list[str]], list[str]]:
    import warnings

    import openpyxl

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(each.file_size for each in packed.infolist()) > MOST_UNPACKED:
                raise _wrong(name, "unpacks to far more than a sheet of trials; save only that sheet")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # styles and drawings that openpyxl leaves out say nothing about cells
            book, written = (openpyxl.load_workbook(io.BytesIO(data), data_only=only) for only in (True, False))
    except BatchError:
        raise
    except Exception as err:  # a damaged file raises whatever its parser meets first
        raise _wrong(name, "is no spreadsheet that can be read; open it and save it again as XLSX or CSV") from err
    filled = [
        each for each in book.worksheets if any(c is not None for row in each.iter_rows(values_only=True) for c in row)
    ]
    if not filled:
        raise _wrong(name, "holds no filled sheet; choose the file that holds the trials")
    sheet, *others = filled
    if sheet.max_column > MOST_COLUMNS * 4 or sheet.max_row > MOST_ROWS * 4:
        raise _wrong(name, f"has {sheet.max_column} columns and {sheet.max_row} rows; {MOST}")
    merged = [each.coord for each in sheet.merged_cells.ranges if each.max_row > each.min_row]
    if merged:
        unsaid = "which rows they stand for is not said; unmerge them and fill each row"
        raise _wrong(name, f"has merged cells ({merged[0]}): {unsaid}")
    notes = [f"Read from the sheet {sheet.title!r}."]
    if others:
        unread = ", ".join(repr(each.title) for each in others[:5])
        notes[0] += f" Not read: {unread}; save such a sheet as a file of its own."
    formulas = [cell.coordinate for row in written[sheet.title].iter_rows() for cell in row if cell.data_type == "f"]
    for at in formulas:
        if sheet[at].value is None:
            raise _wrong(
                name, f"holds a formula without its result in {at}; open it, and save it with values or as CSV"
            )
    if formulas:
        notes.append(f"{len(formulas)} cells hold formulas: the results last saved were read, check them.")
    return [[_text(cell) for cell in row] for row in sheet.iter_rows(values_only=True)], notes


def _text(value: object) -> str:
    if isinstance(value, date):  # a day and time is a date too
        return value.isoformat()[:10]
    return "" if value is None else f"{value:.12g}" if isinstance(value, float) else str(value)


def _table(name: str, cells: Sequence[Sequence[str]], notes: list[str]) -> Sheet:
    tidied = [(number, [" ".join(cell.split()) for cell in row]) for number, row in enumerate(cells, start=1)]
    filled = [(number, row) for number, row in tidied if any(row)]
    if not filled:
        raise _wrong(name, EMPTY)
    width = max(place for _, row in filled for place, cell in enumerate(row, start=1) if cell)
    if width > MOST_COLUMNS or len(filled) > MOST_ROWS:
        raise _wrong(name, f"has {width} columns and {len(filled)} rows; {MOST}")
    filled = [(number, [*row[:width], *[""] * (width - len(row))]) for number, row in filled]
    place = next((at for at, (_, row) in enumerate(filled[:15]) if sum(map(bool, row)) >= min(2, width)), 0)
    number, top = filled[place]
    if any(_FIGURE.fullmatch(cell) for cell in top):
        headings = [f"column {letter(at)}" for at in range(width)]
        notes.append(f"Row {number} already holds figures, so there are no headings: the columns are named by letters.")
    else:
        headings = [cell or f"column {letter(at)}" for at, cell in enumerate(top)]
        lines = " / ".join(" ".join(filter(None, row)) for _, row in filled[:place])
        above = f"; what stands above it is left out: {lines}"[:300] if place else ""
        notes.append(f"Row {number} is taken for the headings{above}.")
        place += 1
    rows = filled[place:]
    if not rows:
        raise _wrong(name, "has headings but no row below them; choose the file that holds the trials")
    every = [cell for _, row in rows for cell in row]
    # a mark before three digits alone could part thousands, so it shows nothing
    decimals = [hit for cell in every if (hit := re.fullmatch(r"\d+([,.])(?:\d{1,2}|\d{4,})(?:\s*[a-zA-Z].*)?", cell))]
    marks = {hit[1] for hit in decimals}
    decimal = marks.pop() if len(marks) == 1 else ""
    if decimal:
        notes.append(f"The decimal mark is a {'comma' if decimal == ',' else 'point'}, as in {decimals[0][0]!r}.")
    numbers, texts = zip(*((at, tuple(row)) for at, row in rows), strict=True)
    return Sheet(name, tuple(headings), texts, numbers, decimal, tuple(notes))
