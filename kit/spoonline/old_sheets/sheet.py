"""An old spreadsheet as a plain table of texts, with everything that was decided on the way in words."""

import csv
import io
import os
import re
import warnings
import zipfile
from collections import Counter
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

from spoonline.measures import AmountError, BatchError, Sayings, told_as
from spoonline.measures.files import content_of

MOST_BYTES, MOST_COLUMNS, MOST_ROWS, MOST_LETTERS = 10_000_000, 60, 3000, 200
# A small XLSX file may unpack to a lot: how many bytes, how many tags, and how many cells are looked at for filled ones.
MOST_UNPACKED, MOST_TAGS, MOST_CELLS = 20_000_000, 1_200_000, 1_500_000
_NO_TABLE = re.compile(r"%PDF|\{\\rtf|.*?[\x00-\x08\x0b\x0e-\x1f]", re.DOTALL)
saying = Sayings("said.csv", "old_sheets", BatchError)
_DELIMITERS = {";": "semicolons", "\t": "tabs", ",": "commas", "|": "vertical bars"}
_FIGURE = re.compile(r"[-+]?\d+(?:[.,]\d+)*(?:[eE][-+]?\d+)?|\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}.*")
_MARKED = re.compile(r"(?<!\d)\d+(?:[.,]\d+)+")
Rows = list[tuple[int, list[str]]]


class Typed(str):
    """A figure that the workbook holds as a number, so that its point is a decimal point."""


class TwoWaysError(AmountError):
    """A figure that could hold thousands or decimals."""


@dataclass(frozen=True)
class Sheet:
    """A table as it was found: headings, rows of texts, their row numbers in the file, and what was decided in reading it."""

    name: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[int, ...]
    notes: tuple[str, ...]

    def column(self, place: int) -> list[str]:
        """The filled cells of one column, from 0."""
        return [row[place] for row in self.rows if row[place]]

    @cached_property
    def marks(self) -> tuple[str, ...]:
        """The decimal mark of each column, "" where no figure in it shows one, or two differ."""
        found = []
        for place in range(len(self.headings)):
            typed = [cell for cell in self.column(place) if not isinstance(cell, Typed)]
            figures = [readings(figure) for cell in typed for figure in _MARKED.findall(cell)]
            fits = [mark for mark in ".," if all(mark in each for each in figures)]
            found.append(fits[0] if len(fits) == 1 else "")
        return tuple(found)


def readings(figure: str) -> dict[str, str]:
    """What a figure says under each decimal mark that makes sense of it.

    Examples
    --------
    >>> readings("1.250"), readings("1.250,5"), readings("0.125")
    ({'.': '1.250', ',': '1250'}, {',': '1250.5'}, {'.': '0.125'})
    """
    found = {}
    for mark, other in (".,", ",."):
        if hit := re.fullmatch(rf"(\d+|[1-9]\d{{0,2}}(?:\{other}\d{{3}})+)(?:\{mark}(\d+))?", figure):
            found[mark] = hit[1].replace(other, "") + (f".{hit[2]}" if hit[2] else "")
    return found


def plain(cell: str, mark: str) -> str:
    """A cell with each figure written with a decimal point, and so that no later reader takes its decimals for thousands.

    Examples
    --------
    >>> plain("1.250 g", ","), plain("1.250 g", "."), plain("6,7 6,8", "")
    ('1250 g', '1.2500 g', '6.7 6.8')
    """

    def one(hit: re.Match[str]) -> str:
        ways = readings(hit[0])
        figure = ways.get("." if isinstance(cell, Typed) else mark) or next(iter(ways.values()), hit[0])
        if len(ways) == 2 and not mark and not isinstance(cell, Typed):
            both = " or ".join(f"{float(each):g}" for each in ways.values())
            raise TwoWaysError(saying("two ways", came=hit[0], both=both))
        return re.sub(r"(\.\d{3})$", r"\g<1>0", figure)

    return _MARKED.sub(one, cell)


def read_sheet(source: str | os.PathLike[str] | bytes, name: str = "") -> Sheet:
    """Read a CSV or XLSX file into a plain table.

    Parameters
    ----------
    source : path or bytes
        Where it lies, or its content.
    name : str, optional
        Its name, for notes and errors; of a path its own.

    Returns
    -------
    Sheet
        Every cell as text; what was decided about delimiter, encoding and headings stands in ``notes``.

    Raises
    ------
    BatchError
        If it cannot be opened, is no table, is protected, is too large, or holds what has no one reading.

    Examples
    --------
    >>> sheet = read_sheet(b"dish;starch g\\nsoup;42,5\\n", "trials.csv")
    >>> sheet.headings, sheet.rows, sheet.marks
    (('dish', 'starch g'), (('soup', '42,5'),), ('', ','))
    """
    if not isinstance(source, bytes):
        name, source = name or Path(source).name, _content(Path(source))
    name = name or "the sheet"
    saying.refuse(len(source) > MOST_BYTES, "large", name=name, most=MOST_BYTES // 10**6)
    return _table(name, *(_from_xlsx if source.startswith(b"PK\x03\x04") else _from_csv)(source, name))


def _content(path: Path) -> bytes:
    """A file's bytes, one more than are allowed at most; a pipe or a device could go on for ever and is not opened."""
    with suppress(OSError, ValueError):
        return content_of(path, MOST_BYTES + 1)
    raise saying.error("no file", came=path)


def _filled(lines: Iterable[Sequence[Any]], name: str, most: int = MOST_ROWS + 2) -> Rows:
    """The rows that hold something, each with its number; no more of them than anyone needs."""
    looked, found = 0, []
    for number, line in enumerate(lines, start=1):
        looked += 1 + 4 * len(line)  # a cell takes longer to look at than a row that is not there
        saying.refuse(looked > MOST_CELLS, "empty cells", name=name)
        row = [_text(cell) for cell in line]
        found += [(number, row)] if any(row) else []
        if len(found) == most:
            break
    return found


def _text(value: Any) -> str:
    if isinstance(value, float):
        return Typed(f"{value:.12g}")
    if isinstance(value, date):  # a day and time is a date too
        return value.isoformat()[:10]
    return "" if value is None else " ".join(str(value).split())


def _from_csv(data: bytes, name: str) -> tuple[Rows, list[str]]:
    text = "\0"
    for encoding in ("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig", "cp1252"):
        with suppress(UnicodeDecodeError):
            text = data.decode(encoding)
            break
    saying.refuse(_NO_TABLE.match(text), "no table", name=name)
    # Spreadsheets may save empty lines to the end of the page: they hold nothing and are not looked at.
    end = len(text.rstrip(" \t\r\n;,|"))
    saying.refuse(not end, "empty", name=name)
    text = text[:end] + re.split(r"[\r\n]", text[end:], maxsplit=1)[0]
    tables: dict[str, Rows] = {}
    for mark in _DELIMITERS:
        with suppress(csv.Error):
            tables[mark] = _filled(csv.reader(io.StringIO(text, newline=""), delimiter=mark), name)
    saying.refuse(not any(tables.values()), "not separated", name=name)

    def evenness(mark: str) -> float:
        """How many rows a mark separates into the same number of cells; one cell a row is no separation."""
        width, count = Counter(len(row) for _, row in tables[mark]).most_common(1)[0]
        return (width > 1) * (count / len(tables[mark]) + 0.001 * min(width, 50))

    best = max(tables, key=evenness)
    notes = [saying("accents")] * (encoding == "cp1252")
    return tables[best], [*notes, f"The cells are separated by {_DELIMITERS[best]}."]


def _from_xlsx(data: bytes, name: str) -> tuple[Rows, list[str]]:
    # a damaged file raises whatever its parser meets first
    with told_as(saying.error("no spreadsheet", name=name), Exception), zipfile.ZipFile(io.BytesIO(data)) as packed:
        parts = packed.infolist()  # whatever their names: a workbook says itself which part is a sheet
        large = sum(each.file_size for each in parts) > MOST_UNPACKED
        large = large or sum(_weight(packed.read(each)) for each in parts) > MOST_TAGS
        saying.refuse(large, "unpacked", name=name)
        # what openpyxl leaves out (styles, drawings) says nothing about cells
        with warnings.catch_warnings(action="ignore"):
            return _from_workbook(packed, io.BytesIO(data), name)


def _weight(xml: bytes) -> int:
    """The tags of a part; what stands beside the rows of a sheet (styles, rules) takes about six times as long to read."""
    head, _, rest = xml.partition(b"<sheetData")
    return xml.count(b"<") + 5 * (head.count(b"<") + rest.rpartition(b"</sheetData>")[2].count(b"<"))


def _from_workbook(packed: zipfile.ZipFile, data: io.BytesIO, name: str) -> tuple[Rows, list[str]]:
    import openpyxl

    book = openpyxl.load_workbook(data, read_only=True, data_only=True, keep_links=False)
    for each in book.worksheets:
        each.reset_dimensions()  # a sheet may claim a million columns
    filled = [each for each in book.worksheets if _filled(each.values, name, 1)]
    saying.refuse(not filled, "no filled sheet", name=name)
    unread = ", ".join(repr(each.title) for each in filled[1:6])
    notes = [f"Read from the sheet {filled[0].title!r}."]
    notes += [f"Not read: {unread}; save such a sheet as a file of its own."] if unread else []
    # What a streamed sheet does not tell stands in its XML, here without the prefix that some programs write.
    xml = re.sub(rb"<(/?)\w+:", rb"<\1", packed.read(filled[0]._worksheet_path))
    merged = [hit for hit in re.findall(rb'<mergeCell [^>]*?ref="(\w+?(\d+):[A-Z]+(\d+))"', xml) if hit[1] != hit[2]]
    saying.refuse(merged, "merged", name=name, cells=b"".join(hit[0] for hit in merged[:1]).decode())
    empty = re.findall(rb'<c [^>]*?r="(\w+)"[^>]*><f(?:[^>]*/>|[^>]*>[^<]*</f>)(?:<v ?/>|<v></v>)?</c>', xml)
    saying.refuse(empty, "formula", name=name, cell=b"".join(empty[:1]).decode())
    formulas = len(re.findall(rb"<f[ />]", xml))
    notes += [saying("formulas", count=formulas)] if formulas else []
    return _filled(filled[0].values, name), notes


def _table(name: str, filled: Rows, notes: list[str]) -> Sheet:
    from openpyxl.utils import get_column_letter

    width = max(place for _, row in filled for place, cell in enumerate(row, start=1) if cell)
    came = f"{width} columns" if width > MOST_COLUMNS else f"more than {MOST_ROWS} rows"
    wide = width > MOST_COLUMNS or len(filled) > MOST_ROWS
    saying.refuse(wide, "wide", name=name, came=came, columns=MOST_COLUMNS, rows=MOST_ROWS)
    rows = [(*row[:width], *[""] * (width - len(row))) for _, row in filled]
    top = next((at for at, row in enumerate(rows[:15]) if sum(map(bool, row)) >= min(2, width)), 0)
    first = top + 1
    headings = [cell or f"column {get_column_letter(at)}" for at, cell in enumerate(rows[top], start=1)]
    above = " / ".join(" ".join(filter(None, row)) for row in rows[:top])
    note = "is taken as the headings" + f"; what stands above it is left out: {above}"[:300] * bool(top)
    if any(_FIGURE.fullmatch(cell) for cell in headings):
        first, headings = top, [f"column {get_column_letter(at)}" for at in range(1, width + 1)]
        note = "already holds figures, so there are no headings: the columns are named by letters"
    long = max(map(len, headings))
    saying.refuse(long > MOST_LETTERS, "long heading", name=name, came=long, most=MOST_LETTERS)
    saying.refuse(not rows[first:], "no row", name=name)
    numbers = tuple(number for number, _ in filled)
    notes.append(f"Row {numbers[top]} {note}.")
    return Sheet(name, tuple(headings), tuple(rows[first:]), numbers[first:], tuple(notes))
