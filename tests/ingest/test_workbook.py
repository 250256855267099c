"""Workbooks: typed cells, sheets, formulas, merged cells, and what is no list at all."""

import datetime as dt
import io
import zipfile

import openpyxl
import pytest

from evener.ingest.columns import headers
from evener.ingest.files import guarded, readers, workbook
from evener.ingest.files.grids import NoTable
from evener.ingest.files.readers import UnreadableFile

HEADINGS = ["Stock #", "Description", "Weight (lb)", "PTO hp", "Hitch"]


def book(*rows, title="Stock", headings=HEADINGS):
    """A workbook of one sheet."""
    made = openpyxl.Workbook()
    made.active.title = title
    for row in [headings, *rows]:
        made.active.append(row)
    return made


def content(made):
    """A workbook's bytes."""
    held = io.BytesIO()
    made.save(held)
    return held.getvalue()


def read(made, **options):
    """A workbook as the ingest of tractors reads it."""
    held = made if isinstance(made, bytes) else content(made)
    return readers.read_bytes(held, "list.xlsx", knows=headers.knows("tractor"), **options)


def noticed(table):
    """The findings of a table: id and line."""
    return [(finding.id, finding.row) for finding in table.findings]


@pytest.mark.ci
def test_typed_cells_are_the_text_a_person_would_type():
    """Whole numbers come without a point, truth values as words, dates in full, and rows keep the sheet's numbers."""
    table = read(book(["S1", "Utility", 6950.0, 62.5, True], [], ["S2", 12, 1e21, 2.5, dt.date(2024, 2, 1)]))
    assert table.row(0) == dict(zip(HEADINGS, ["S1", "Utility", "6950", "62.5", "TRUE"], strict=True))
    assert list(table.row(1).values()) == ["S2", "12", "1e+21", "2.5", "2024-02-01"]
    assert table.lines.tolist() == [2, 4]
    assert noticed(table) == [("blank-rows", 3)]
    assert table.encoding == "xlsx, sheet Stock"


@pytest.mark.ci
def test_a_typed_number_never_reads_two_ways():
    """A number stored as one says nothing about commas in text, and is never taken for thousands."""
    table = read(book(["S1", "a", 1.234, 62, "2"], ["S2", "b", "1,234", 60, "2"]))
    assert table.decimal == ""
    assert list(table.columns[2]) == ["1.2340", "1,234"]
    table = read(book(["S1", "a", 1.234, 62, "2"], ["S2", "b", "3050,5", 60, "2"]))
    assert table.decimal == ","
    assert list(table.columns[2]) == ["1,2340", "3050,5"]


def test_the_sheet_with_the_list_is_read_and_the_others_named():
    """Among several sheets the one whose headings are known is read, and those left out are named, hidden ones too."""
    made = book(["S1", "Utility", 6950, 62, "2"])
    made.create_sheet("Notes").append(["Ask at the office."])
    costs = made.create_sheet("Costs")
    costs.append(HEADINGS)
    costs.sheet_state = "hidden"
    table = read(made)
    assert table.columns[0] == ["S1"]
    (finding,) = table.findings
    assert (finding.id, finding.message) == ("other-sheets", "sheet 'Stock' was read, and 'Notes', 'Costs' not")
    assert read(made, sheet="Notes").headers == ("Ask at the office.",)
    with pytest.raises(UnreadableFile, match="no sheet 'Yard'; it has Stock, Notes, Costs"):
        read(made, sheet="Yard")


@pytest.mark.ci
def test_two_sheets_with_lists_ask():
    """Where two sheets hold lists, none is chosen for the person."""
    made = book(["S1", "Utility", 6950, 62, "2"])
    made.create_sheet("Second").append(HEADINGS)
    with pytest.raises(UnreadableFile, match=r"2 sheets with rows: Stock, Second\. Choose one with --sheet"):
        read(made)


@pytest.mark.ci
def test_a_formula_without_its_result_is_said():
    """A cell that holds a formula and no result is the formula's text, which no field takes; nothing goes blank."""
    table = read(book(["S1", "Utility", "=A1*2", 62, '=IF(A2="",1,"<")']))
    assert table.columns[2] == ["=A1*2"]
    assert table.columns[4] == ['=IF(A2="",1,"<")']


def test_a_formula_with_its_result_is_its_result():
    """A result that was stored is read."""
    held = content(book(["S1", "Utility", "=3475*2", 62, "2"])).replace(b"", b"")
    source, made = zipfile.ZipFile(io.BytesIO(held)), io.BytesIO()
    with zipfile.ZipFile(made, "w") as target:
        for entry in source.namelist():
            page = source.read(entry).replace(b"<f>3475*2</f><v></v>", b"<f>3475*2</f><v>6950</v>")
            page = page.replace(b"<f>3475*2</f><v/>", b"<f>3475*2</f><v>6950</v>")
            target.writestr(entry, page.replace(b"<f>3475*2</f><v />", b"<f>3475*2</f><v>6950</v>"))
    assert read(made.getvalue()).columns[2] == ["6950"]


@pytest.mark.ci
def test_cells_merged_over_rows_are_said():
    """A word merged over rows is that of each, a number that of the first alone; a title's columns are not told."""
    made = book(["S1", "Utility", 6950, 62, "2"], ["S2", None, None, 60, "2"])
    made.active.insert_rows(1)
    made.active["A1"] = "A dealer's list"
    made.active.merge_cells("A1:D1")
    made.active.merge_cells("B3:B4")
    made.active.merge_cells("C3:C4")
    table = read(made)
    assert sorted(noticed(table)) == [("merged-cells", 3), ("merged-words", 3), ("preamble", 1)]
    assert {one.id: one.values["cells"] for one in table.findings[1:]} == {
        "merged-words": "B3:B4",
        "merged-cells": "C3:C4",
    }
    assert table.columns[1] == ("Utility", "Utility")
    assert table.columns[2] == ("6950", "")


@pytest.mark.ci
def test_a_cell_far_out_ends_the_reading_and_nothing_else():
    """A sheet that one stray cell makes huge is refused; the process that reads it ends, not the command."""
    made = book(["S1", "Utility", 6950, 62, "2"])
    made.active["XFD1048576"] = 1
    with pytest.raises(UnreadableFile, match=r"list.xlsx .*(far out|stray)"):
        read(made)


@pytest.mark.ci
def test_strict_workbooks_are_read():
    """The strict form of the format, with other names for its parts, holds the same cells."""
    held = content(book(["S1", "Utility", 6950, 62, "2"]))
    source, made = zipfile.ZipFile(io.BytesIO(held)), io.BytesIO()
    other = {
        b"http://schemas.openxmlformats.org/spreadsheetml/2006/main": b"http://purl.oclc.org/ooxml/spreadsheetml/main",
        b"http://schemas.openxmlformats.org/officeDocument/2006/relationships": (
            b"http://purl.oclc.org/ooxml/officeDocument/relationships"
        ),
    }
    with zipfile.ZipFile(made, "w") as target:
        for entry in source.namelist():
            page = source.read(entry)
            for one, strict in other.items():
                page = page.replace(one, strict)
            target.writestr(entry, page)
    assert read(made.getvalue()).columns[2] == ["6950"]


def archive(**files):
    """An archive of some files."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as made:
        for name, text in files.items():
            made.writestr(name.replace("__", "/"), text)
    return held.getvalue()


def bomb():
    """A small archive that unpacks to far more than a list."""
    names = {"xl__workbook.xml": "<a/>", "[Content_Types].xml": "<a/>"}
    return archive(**names, **{"xl__worksheets__sheet1.xml": b" " * (workbook._RATIO_FROM + 1)})


@pytest.mark.ci
@pytest.mark.parametrize(
    ("held", "says"),
    [
        (lambda: archive(**{"a.txt": "x"}), "no XLSX workbook"),
        (lambda: content(book())[:300], "damaged workbook"),
        (bomb, "unpacks to 64 MB"),
        (lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "older kind, or locked with a password"),
        (lambda: archive(**{"xl__workbook.xml": "x", "[Content_Types].xml": "y"}), "list.xlsx"),
        (lambda: content(openpyxl.Workbook()), "no rows on a visible sheet"),
    ],
)
def test_what_is_no_workbook_is_said(held, says):
    """Other archives, damaged, locked and exploding ones are refused by name, before anything takes them apart."""
    with pytest.raises(UnreadableFile, match=says) as caught:
        read(held())
    assert "list.xlsx" in str(caught.value)


def test_a_locked_archive_is_said():
    """An archive with encrypted entries is refused as locked."""
    held = bytearray(content(book()))
    for mark in (b"PK\x01\x02", b"PK\x03\x04"):
        place = held.find(mark)
        held[place + (8 if mark == b"PK\x01\x02" else 6)] |= 1
    with pytest.raises(NoTable, match="password"):
        workbook.check_archive(bytes(held))


def test_only_a_workbook_has_sheets():
    """Asking a list of plain text for a sheet is wrong use."""
    with pytest.raises(UnreadableFile, match="no sheets"):
        readers.read_bytes(b"id,label\nA,b\n", "list.csv", sheet="Stock")


def test_a_reader_that_runs_away_is_ended(monkeypatch):
    """The process that reads is stopped after its time, and the person is told what to do."""
    monkeypatch.setattr(guarded, "WALL_SECONDS", 0.01)
    with pytest.raises(UnreadableFile, match="takes too long to read"):
        read(book(["S1", "Utility", 6950, 62, "2"]))


@pytest.mark.ci
def test_the_folder_one_is_in_cannot_stand_in_for_a_module(tmp_path, monkeypatch):
    """A file named like a module in the person's folder is not run by the process that reads."""
    (tmp_path / "zipfile.py").write_text("raise SystemExit(3)")
    (tmp_path / "python_calamine.py").write_text("raise SystemExit(3)")
    monkeypatch.chdir(tmp_path)
    assert read(book(["S1", "Utility", 6950, 62, "2"])).columns[0] == ["S1"]


@pytest.mark.parametrize(("row", "column", "name"), [(0, 0, "A1"), (6, 25, "Z7"), (0, 26, "AA1"), (9, 16383, "XFD10")])
def test_cells_are_named_as_on_screen(row, column, name):
    """A cell's name is the one spreadsheet programs show."""
    assert workbook.cell_name(row, column) == name
    assert workbook._column(name.rstrip("0123456789")) == column
