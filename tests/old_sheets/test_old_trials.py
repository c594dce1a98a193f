"""Old sheets: what is read, what is proposed, what is asked, and what is never guessed."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import zipfile
from dataclasses import replace
from datetime import date

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spoonline import facts
from spoonline.measures.errors import KitchenError
from spoonline.measures.local import write_decimals_with
from spoonline.old_sheets import Sheet, proposed_choices, read_sheet, to_records, understood
from spoonline.old_sheets.columns import ROLES, either_way, read_date
from spoonline.pots import Batch, batch_table
from tiers import drawn

RING = {"ring": {"radius_cm": 3.5, "height_cm": 2.0, "seconds": 10.0}}
TODAY = date(2026, 6, 1)
HEAD = "Dish;Date;Corn starch g;Stock L;Before g;After g;Ring radius cm;Temp C;Seen\n"
ROW = "Parsnip soup;23/01/2026;42;1,5;5200;4980;6,7 6,8;62;smooth\n"


def of(text: str, **choices):
    sheet = read_sheet(text.encode(), "old.csv")
    return understood(sheet, replace(proposed_choices(sheet)[1], **{"settings": RING, **choices}), TODAY)


def workbook(fill) -> bytes:
    book = openpyxl.Workbook()
    fill(book.active)
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


def test_a_plain_row_becomes_a_recipe_and_a_batch() -> None:
    (trial,) = to_records(of(HEAD + ROW))
    assert trial.recipe.title == "Parsnip soup" and trial.recipe.dose_g_per_l == pytest.approx(42 / 1.5)
    batch = Batch(**trial.batch, version=1)
    assert batch.cooked_on == date(2026, 1, 23) and batch.evaporated_g == 220
    assert [float(value) for value in batch.readings[0].values] == [6.7, 6.8]
    assert batch.note == "Seen: smooth; imported from old.csv, row 2"
    assert trial.version_note.startswith("Imported from old.csv")


@pytest.mark.parametrize("mark", [";", "\t", "|"])
@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_delimiters_and_encodings(mark: str, coding: str) -> None:
    text = "Dish;Date;Starch g;Notes\nCr\u00e8me soup;2026-01-08;42,5;\u00bd full\n".replace(";", mark)
    sheet = read_sheet(text.encode(coding), "x.csv")
    assert sheet.rows == (("Cr\u00e8me soup", "2026-01-08", "42,5", "\u00bd full"),) and sheet.marks[2] == ","
    assert any("Windows-1252" in note for note in sheet.notes) == (coding == "cp1252")


def test_commas_part_cells_and_quotes_keep_them() -> None:
    sheet = read_sheet(b'Dish,Date,Starch g\n"Soup, plain",2026-01-08,"42,5"\n')
    assert sheet.rows[0] == ("Soup, plain", "2026-01-08", "42,5")


def test_decimal_comma_and_thousands() -> None:
    settled = HEAD + ROW + ROW.replace(";42;", ";42,125;").replace("smooth", "again")
    assert not of(settled).rows[1].clear, "what another column shows settles nothing"
    with_comma = of(settled.replace(";42;", ";42,5;")).rows[1]
    assert with_comma.recipe.thickener_g == pytest.approx(42.125)
    unclear = of("Dish;Date;Corn starch g;Stock ml\nSoup;2026-01-08;42;1,500\n").rows[0]
    assert not unclear.clear and "thousands or decimals" in unclear.questions[0]
    mixed = of(HEAD + ROW.replace(";5200;", ";5.200;")).rows[0]
    assert not mixed.clear and "thousands" in " ".join(mixed.questions)


@pytest.mark.parametrize(
    ("cell", "heading", "with_point", "with_comma"),
    [
        ("1.250 g", "Corn starch", 1.25, 1250),
        ("10.000 g", "Corn starch", 10, 10_000),
        ("1.250", "Corn starch g", 1.25, 1250),
        ("10,000", "Corn starch g", 10_000, 10),
        ("1.250 kg", "Corn starch g", 1250, 1_250_000),
    ],
)
def test_thousands_or_decimals_are_asked_both_ways(
    cell: str, heading: str, with_point: float, with_comma: float
) -> None:
    text = f"Dish;Date;{heading};Stock L\nSoup;2026-01-08;{cell};4000\n"
    found = of(text)
    assert not found.clear and len(found.asked_once) == 1
    assert "thousands or decimals" in found.rows[0].questions[0] and repr(cell.split()[0]) in found.asked_once[0]
    for mark, grams in ((".", with_point), (",", with_comma)):
        (row,) = of(text, decimal=mark).clear
        assert row.recipe.thickener_g == pytest.approx(grams) and of(text, decimal=mark).asked_once == ()


@pytest.mark.parametrize(
    ("other", "grams"), [("3.75", 1.25), ("1.250,5", 1250), ("0.125", 1.25), ("7,5", 1250), ("1.000.000", 1250)]
)
def test_another_cell_of_the_column_settles_the_decimal_mark(other: str, grams: float) -> None:
    text = f"Dish;Date;Corn starch g;Stock L;Seen\nSoup;2026-01-08;1.250;4000;\nSoup;2026-01-09;{other};4000;\n"
    assert of(text).rows[0].recipe.thickener_g == pytest.approx(grams)
    assert of(text, decimal="," if grams == 1.25 else ".").rows[0].recipe.thickener_g == pytest.approx(grams)


def test_two_marks_in_a_column_settle_nothing() -> None:
    cells = ("1.250", "3.75", "3,75")
    text = "Dish;Date;Corn starch g;Stock L\n" + "".join(
        f"Soup;2026-01-0{at};{cell};1\n" for at, cell in enumerate(cells, 1)
    )
    assert [row.clear for row in of(text).rows] == [False, True, True]


@pytest.fixture
def kitchen_mark():
    yield write_decimals_with
    write_decimals_with(".")


def test_the_mark_of_the_kitchen_changes_nothing_in_a_sheet(kitchen_mark) -> None:
    settled = "Dish;Date;Corn starch;Stock L\nSoup;2026-01-08;1,250 g;1,5\nSoup;2026-01-09;12,5 g;1,5\n"
    open_ = "Dish;Date;Corn starch;Stock L\nSoup;2026-01-08;1,250 g;1,5\n"
    for mark in (".", ",", ".", ","):
        kitchen_mark(mark)
        assert of(settled).rows[0].recipe.thickener_g == pytest.approx(1.25)
        assert not of(open_).clear


def test_the_figures_of_a_workbook_have_a_decimal_point_and_settle_no_text() -> None:
    def fill(sheet) -> None:
        for row in (
            ["Dish", "Date", "Corn starch g", "Stock L"],
            ["Soup", date(2026, 1, 8), 1.25, 1.125],
            ["Soup", date(2026, 1, 9), "1.250", 1],
        ):
            sheet.append(row)

    sheet = read_sheet(workbook(fill), "x.xlsx")
    found = understood(sheet, proposed_choices(sheet)[1], TODAY)
    assert [row.clear for row in found.rows] == [True, False]
    assert found.rows[0].recipe.liquid_l == pytest.approx(1.125)


@pytest.mark.parametrize("cell", ["/", "1/", "/2", "1/0", "-/-", "//", "1/2/3/4"])
def test_a_stroke_is_a_question_of_its_row_only(cell: str) -> None:
    for column in range(2, 8):
        cells = ROW.split(";")
        cells[column] = cell
        found = of(HEAD + ";".join(cells) + ROW.replace("23/01", "24/01"))
        assert found.rows[1].clear, "another row is read as ever"
        assert found.rows[0].clear or found.rows[0].questions


def test_a_figure_in_grams_per_litre_takes_no_other_unit() -> None:
    text = "Dish;Date;Corn starch g/L;Stock L\nSoup;2026-01-08;{};2\n"
    assert of(text.format("30")).rows[0].recipe.thickener_g == pytest.approx(60)
    assert of(text.format("30 g/l")).rows[0].recipe.thickener_g == pytest.approx(60)
    assert not of(text.format("30 g")).clear and not of(text.format("2 tbsp")).clear


def test_what_a_cell_names_stands_before_the_heading_or_is_asked() -> None:
    text = "Dish;Date;Corn starch;Stock\nSoup;2026-01-08;{};1,5 l {}\n"
    assert of(text.format("42 g", "whole milk")).rows[0].recipe.ingredients[0].item == "whole milk"
    other = of(text.format("42 g potato starch", "")).rows[0]
    assert not other.clear and "another thickener than 'corn starch'" in other.questions[0]


def test_a_cell_with_a_unit_of_its_own_is_read_in_that() -> None:
    (row,) = of(HEAD.replace("Before g", "Before kg") + ROW.replace(";5200;", ";5200 g;")).clear
    assert row.batch["pot_before_g"] == 5200


def test_ambiguous_dates_are_asked() -> None:
    text = HEAD + ROW + ROW.replace("23/01", "03/04")
    found = of(text)
    assert [row.clear for row in found.rows] == [True, False], "another row's order decides nothing"
    assert "day first or month first" in found.asked_once[0] + found.rows[1].questions[0]
    assert of(text, date_order="day first").rows[1].batch["cooked_on"] == date(2026, 4, 3)
    other = of(text, date_order="month first")
    assert other.rows[1].batch["cooked_on"] == date(2026, 3, 4) and not other.rows[0].clear


@given(st.dates(date(1950, 1, 1), date(2099, 12, 31)), st.sampled_from("/.-"))
def test_a_date_has_one_reading_or_is_asked(day: date, mark: str) -> None:
    text = mark.join((f"{day.day:02}", f"{day.month:02}", str(day.year)))
    assert read_date(day.isoformat(), "") == day and read_date(text, "day first") == day
    assert read_date(text, "") == (None if either_way(text) else day)
    assert either_way(text) == (day.day <= 12 and day.day != day.month)
    assert read_date(f"{day.day} {day:%B} {day.year}", "") == day


@given(st.binary(max_size=300) | st.text(max_size=300).map(lambda text: text.encode()))
@settings(deadline=None)
def test_any_bytes_are_a_table_or_one_sentence(data: bytes) -> None:
    try:
        sheet = read_sheet(data, "x.csv")
        found = understood(sheet, proposed_choices(sheet)[1], TODAY)
    except KitchenError as err:
        assert str(err).endswith(".") and len(str(err)) < 400
    else:
        assert isinstance(sheet, Sheet) and len(found.rows) == len(sheet.rows) >= 1


CELLS = st.sampled_from(
    ["", "0", "42", "42 g", "2 heaped tbsp", "1,5", "1.5 L", "-3", "3/4/2026", "2026-01-08", "too thin", "1,250",
     "62 C", "6,7 6,8", "/", "1/", "10.000 g", "1.250,5", "\u2212", "1/2/3", "\u00bd", "=A1", "nan", "1e9", "9" * 30]
) | st.text("0123456789.,/-\u00bd gLCx", max_size=8).map(lambda text: " ".join(text.split()))  # fmt: skip


@given(
    st.lists(st.sampled_from(sorted(ROLES)), min_size=3, max_size=6, unique_by=lambda key: ROLES[key].what), st.data()
)
@drawn(150)
def test_any_cells_under_any_choice_are_saved_or_asked(roles: list[str], data) -> None:
    rows = data.draw(st.lists(st.tuples(*[CELLS] * len(roles)), min_size=1, max_size=3))
    sheet = Sheet("x", tuple(roles), tuple(rows), tuple(range(2, 2 + len(rows))), ())
    choices = replace(
        proposed_choices(sheet)[1], roles=tuple(roles), dish="Soup", litres=1.0, settings=RING, temperature_c=60.0
    )
    found = understood(sheet, choices, TODAY)
    for row in found.rows:
        assert row.clear != bool(row.questions) and row.says.endswith(".")
    for trial in to_records(found):
        batch = Batch(**trial.batch, version=1)
        for role, heading, cell in zip(roles, sheet.headings, rows[int(batch.note.rsplit(" ", 1)[1]) - 2], strict=True):
            if ROLES[role].what in ("note", "words", "viscosity") and cell:
                assert f"{heading}: {cell}" in batch.note


def test_spoons_go_through_the_tables() -> None:
    row = of("Dish;Date;Cornflour;Stock\nSoup;2026-01-08;2 heaped tbsp;6 cups\n").rows[0]
    line = row.recipe.of_part("thickener")[0]
    assert float(line.mass_g) == pytest.approx(facts.grams("2 heaped tbsp", "corn starch").mass_g, rel=1e-5)
    assert line.sd_g > 5 and "give or take" in row.says
    # 6 US cups of 236.588 mL (NIST Handbook 44, appendix C)
    assert row.recipe.liquid_l == pytest.approx(6 * 0.2365882, rel=1e-5)


@pytest.mark.parametrize(
    ("old", "new", "asked"),
    [
        ("23/01/2026", "", "date is missing"),
        ("23/01/2026", "last week", "is no date"),
        ("23/01/2026", "2031-01-01", "cannot be the day"),
        (";42;", ";some;", "some"),
        (";42;", ";;", "amount of thickener is missing"),
        (";42;", ";-4;", "below zero"),
        (";42;", ";4200;", "stiff paste"),
        (";1,5;", ";;", "liquid is missing"),
        (";1,5;", ";0;", "gives no liquid"),
        ("4980", "5980", "gained 780 g"),
        ("6,7 6,8", "1,0", "inside the ring"),
        (";62;", ";;", "no temperature"),
    ],
)
def test_what_cannot_be_is_asked_and_not_saved(old: str, new: str, asked: str) -> None:
    found = of(HEAD + ROW.replace(old, new))
    assert not found.clear and asked in " ".join(found.rows[0].questions) and to_records(found) == []


def test_a_bare_figure_under_a_heading_without_unit_is_asked() -> None:
    found = of("Dish;Date;Corn starch;Stock;Before;Time\nSoup;2026-01-08;42;1,5;5200;12\n")
    text = " ".join(found.rows[0].questions)
    assert text.count("unit") >= 3 and not found.clear


def test_words_are_no_reading() -> None:
    row = of(HEAD + ROW.replace("6,7 6,8", "too thin")).rows[0]
    assert row.clear and row.batch["readings"] == [] and "Ring radius cm: too thin" in row.batch["note"]


def test_the_sizes_of_a_tool_are_asked_once() -> None:
    found = of(HEAD + ROW, settings={})
    assert not found.clear and sum("ring" in each for each in found.asked_once) == 1
    assert "radius cm 3.5" in found.asked_once[0]


def test_equal_rows_are_asked() -> None:
    twice = HEAD + ROW + ROW.replace("smooth", "again")
    assert [row.clear for row in of(twice).rows] == [True, False]
    assert "same as row 2" in of(twice).rows[1].questions[0]
    assert len(of(twice, equal_rows_are_pots=True).clear) == 2


def test_records_come_by_date_and_equal_recipes_are_one() -> None:
    later = ROW.replace("23/01/2026", "30/01/2026")
    trials = to_records(of(HEAD + later + ROW + ROW.replace(";42;", ";48;")))
    assert [each.batch["cooked_on"].day for each in trials] == [23, 23, 30]
    assert len({each.recipe for each in trials}) == 2


def test_our_own_table_comes_back(demo) -> None:
    batches = demo.all_batches()
    recipes = {(each.title, each.version): demo.recipe(each.title, each.version) for each in batches}
    table = batch_table(batches, recipes)
    sheet = read_sheet(table.to_csv(index=False).encode(), "batches.csv")
    choices = replace(proposed_choices(sheet)[1], litres=1.0, thickener="corn starch", equal_rows_are_pots=True)
    found = understood(sheet, choices)
    assert len(found.clear) == len(batches)
    for row, was in zip(found.rows, table.to_dict("records"), strict=True):
        assert row.recipe.title == was["title"] and row.batch["cooked_on"] == was["cooked_on"].date()
        assert row.recipe.dose_g_per_l == pytest.approx(was["dose_g_per_l"], rel=1e-5)
        assert row.batch["cook"] == was["cook"]
        weighed_twice = was["evaporated_g"] == was["evaporated_g"]
        assert (f"evaporated_g: {was['evaporated_g']}" in row.batch["note"]) == weighed_twice


def test_a_workbook_gives_dates_and_figures() -> None:
    def fill(sheet) -> None:
        sheet.append(["Winter trials, invented"])
        sheet.append(["Dish", "Date", "Corn starch g", "Stock L"])
        sheet.append(["Soup", date(2026, 4, 3), 42.125, 1.5])

    found = read_sheet(workbook(fill), "x.xlsx")
    assert found.rows == (("Soup", "2026-04-03", "42.125", "1.5"),) and found.numbers == (3,)
    row = understood(found, proposed_choices(found)[1], TODAY).rows[0]
    assert row.clear and row.batch["cooked_on"] == date(2026, 4, 3) and row.recipe.thickener_g == 42.125


def _formula(sheet) -> None:
    sheet.append(["Dish", "Starch g"])
    sheet.append(["Soup", "=20+22"])


def _merged(sheet) -> None:
    for row in (["Dish", "Starch g"], ["Soup", 42], ["", 43]):
        sheet.append(row)
    sheet.merge_cells("A2:A3")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is empty"),
        (b"\n \n;;\n", "is empty"),
        (b"\x89PNG\r\n\x1a\n" + bytes(40), "a picture"),
        (b"\xff\xd8\xff\xe0" + bytes(40), "a picture"),
        (b"%PDF-1.7", "a PDF"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "password"),
        (b"PK\x03\x04 broken", "no spreadsheet that can be read"),
        (b";".join(b"c%d" % n for n in range(100_000)) + b"\n1;2\n", "100000 columns"),
        (b"Dish;Date\n", "no row below"),
        (workbook(_formula), "formula without its result in B2"),
        (workbook(_merged), "merged cells (A2:A3)"),
        (workbook(lambda sheet: None), "no filled sheet"),
    ],
)
def test_bad_files_are_said_in_one_sentence(data: bytes, said: str) -> None:
    with pytest.raises(KitchenError) as err:
        read_sheet(data, "bad.csv")
    assert said in str(err.value) and str(err.value).startswith("bad.csv") and str(err.value).endswith(".")


def packed(*parts: tuple[str, bytes, bytes]) -> bytes:
    """A plain workbook with something put in front of a place in some of its parts."""
    plain = workbook(lambda sheet: [sheet.append(row) for row in (["Dish", "Starch g"], ["Soup", 42])])
    held = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(plain)) as old, zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            content = old.read(name)
            for part, place, more in parts:
                content = content.replace(place, more + place, 1) if part == name else content
            new.writestr(name, content)
    return held.getvalue()


def _far_corner(sheet) -> None:
    for row in (["Dish", "Starch g"], ["Soup", 42]):
        sheet.append(row)
    sheet["XFD1048576"].font = openpyxl.styles.Font(bold=True)


def _far_corner_elsewhere(sheet) -> None:
    _far_corner(sheet.parent.create_sheet("trials"))
    sheet["XFD1048576"].font = openpyxl.styles.Font(bold=True)


SHEET1, ROWS = "xl/worksheets/sheet1.xml", b"</sheetData>"
ONE = b"Dish;Starch g\nSoup;42\n"
HANGING = {
    "styled corner.xlsx": (lambda: workbook(_far_corner), "1 row"),
    "styled corner of another sheet.xlsx": (lambda: workbook(_far_corner_elsewhere), "1 row"),
    "merged to the corner.xlsx": (
        lambda: packed((SHEET1, b"<pageMargins", b'<mergeCells><mergeCell ref="A3:XFD1048576"/></mergeCells>')),
        "merged cells (A3:XFD1048576)",
    ),
    "claims a million columns.xlsx": (
        lambda: packed((SHEET1, b"<sheetData>", b'<dimension ref="A1:XFD1048576"/>')), "1 row",
    ),
    "far row.xlsx": (
        lambda: packed((SHEET1, ROWS, b'<row r="900000000000"><c r="A900000000000"><v>1</v></c></row>')), "too many empty cells",
    ),
    "cells without content.xlsx": (
        lambda: packed((SHEET1, ROWS, (b"<row>" + b"<c/>" * 10 + b"</row>") * 2_000_000)), "far too large once unpacked"),
    "wide rows without content.xlsx": (
        lambda: packed((SHEET1, ROWS, b"".join(
            b'<row r="%d"><c r="ZZZ%d"/></row>' % (at, at) for at in range(3, 200_000)))), "too many empty cells",
    ),
    "styles.xlsx": (lambda: packed(("xl/styles.xml", b"</cellXfs>", b"<xf/>" * 3_000_000)), "far too large once unpacked"),
    "line ends after.csv": (lambda: ONE + b"\n" * 9_900_000, "1 row"),
    "line ends between.csv": (lambda: ONE + b"\n" * 9_900_000 + ONE, "too many empty cells"),
    "empty rows after.csv": (lambda: ONE + b";;;\r\n" * 1_900_000, "1 row"),
    "one long row.csv": (lambda: ONE + b";" * 9_900_000 + b"x", "too many empty cells"),
    "long heading.csv": (lambda: b"Dish;" + b"so long " * 12_500 + b"\nSoup;42\n", "heading of 99999 letters"),
    "long figures.csv": (lambda: ONE + b"Soup;" + b"9" * 120_000 + b"\nSoup;" + b"1.250" * 24_000 + b"\n", "3 rows"),
    "pipe.csv": (None, "cannot be opened"),
    "folder.csv": ("folder", "cannot be opened"),
}  # fmt: skip
READS = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (4 * 10**9,) * 2)
from spoonline.old_sheets import proposed_choices, read_sheet, understood
try:
    sheet = read_sheet(sys.argv[1])
    count = len(understood(sheet, proposed_choices(sheet)[1]).rows)
    print(count, "row" if count == 1 else "rows")
except ValueError as err:
    print(err)
"""


@pytest.mark.parametrize("name", HANGING)
def test_no_sheet_hangs(name: str, tmp_path) -> None:
    made, said = HANGING[name]
    path = tmp_path / name
    if made is None:
        os.mkfifo(path)
    elif made == "folder":
        path.mkdir()
    else:
        path.write_bytes(made())
        assert path.stat().st_size < 10_000_000
    # a process of its own, so that a sheet that hangs or eats the memory ends with this test
    out = subprocess.run([sys.executable, "-c", READS, path], capture_output=True, text=True, timeout=90, check=True)
    assert said in out.stdout and out.stdout.count("\n") == 1 and not out.stderr


def test_a_path_that_is_not_there(tmp_path) -> None:
    with pytest.raises(KitchenError, match="cannot be opened"):
        read_sheet(tmp_path / "none.csv")


def test_two_columns_for_one_thing_are_refused() -> None:
    with pytest.raises(KitchenError, match="Columns 1 and 2 are both taken as the dish"):
        of("Dish;Date\nSoup;2026-01-08\n", roles=("dish", "dish"))


@pytest.mark.parametrize("cell", ["/", "//", "1/0", "-", "n/a", "?", "\u00bd/"])
def test_a_stroke_for_nothing_asks_about_its_own_row_only(cell: str) -> None:
    for column in range(2, 8):
        row = ["soup", "2026-01-08", "42", "1", "6.5", "62", "20", "3000"]
        first = ";".join(cell if at == column else each for at, each in enumerate(row))
        heads = "Dish;Date;Corn starch g;Stock L;Ring cm;Temperature C;Minutes min;Pot before g"
        sheet = read_sheet(f"{heads}\n{first}\n{';'.join(row)}\n".encode())
        sizes = {"ring": {"radius_cm": 3.5, "height_cm": 2, "seconds": 10}}
        found = understood(sheet, replace(proposed_choices(sheet)[1], settings=sizes))
        assert found.rows[1].clear, (column, found.rows[1].questions)
        assert found.rows[0].questions or found.rows[0].remarks


def test_a_sheet_under_another_name_inside_its_file_is_weighed_too() -> None:
    import io
    import time
    import zipfile

    import openpyxl

    made, bomb = io.BytesIO(), io.BytesIO()
    book = openpyxl.Workbook()
    book.active.append(["Dish", "Starch g"])
    book.save(made)
    cells = (b"<row>" + b'<c t="inlineStr"><is><t>x</t></is></c>' * 50_000 + b"</row>") * 30
    with zipfile.ZipFile(made) as whole, zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as packed:
        for name in whole.namelist():
            data = (
                whole.read(name).replace(b"sheet1.xml", b"sheet1.bin").replace(b"</sheetData>", cells + b"</sheetData>")
            )
            packed.writestr(name.replace("sheet1.xml", "sheet1.bin"), data)
    begun = time.monotonic()
    with pytest.raises(KitchenError, match="far too large once unpacked"):
        read_sheet(bomb.getvalue(), "trials.xlsx")
    assert time.monotonic() - begun < 2
