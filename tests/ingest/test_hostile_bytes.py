"""What no list holds, and another reader would pass over: refused alike in every format, with what it is."""

import io
import zipfile

import duckdb
import openpyxl
import pytest

from evener.ingest.files import readers


def workbook(cell):
    """Bytes of a workbook with one cell under its headings."""
    book = openpyxl.Workbook()
    book.active.append(["Stock #", "Description"])
    book.active.append(["S1", cell])
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


def doubled(content, name):
    """An archive in which one entry stands twice, under names that differ in case at most."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as source, zipfile.ZipFile(made, "w") as target:
        for entry in source.namelist():
            target.writestr(entry, source.read(entry))
        target.writestr(name, source.read("xl/worksheets/sheet1.xml").replace(b"Fielder", b"Another"))
    return made.getvalue()


@pytest.mark.ci
def test_a_nul_sign_is_refused_in_every_format(tmp_path):
    """A sign that ends a text for one program and not for the next is refused, and never makes two texts one."""
    with pytest.raises(readers.UnreadableFile, match="no text"):
        readers.read_bytes(b"Stock #,Description\nS1,a\x00b\n", "list.csv")
    file = tmp_path / "list.parquet"
    duckdb.sql(f"COPY (SELECT 'S1' AS \"Stock #\", 'a' || chr(0) || 'b' AS Description) TO '{file}' (FORMAT parquet)")
    with pytest.raises(readers.UnreadableFile, match="NUL sign on line 1"):
        readers.read_bytes(file.read_bytes(), "list.parquet")
    escaped = zipfile.ZipFile(io.BytesIO(workbook("a_x0000_b")))
    assert escaped.testzip() is None
    try:
        table = readers.read_bytes(workbook("a_x0000_b"), "list.xlsx")
    except readers.UnreadableFile as error:
        assert "NUL" in str(error)  # noqa: PT017
    else:
        assert "\x00" not in table.columns[1][0]


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize("name", ["xl/worksheets/sheet1.xml", "xl/worksheets/Sheet1.XML"])
def test_an_archive_with_one_part_twice_is_refused(name):
    """Two parts of one name are two lists of which each program reads another: the workbook is refused."""
    with pytest.raises(readers.UnreadableFile, match="two parts of one name"):
        readers.read_bytes(doubled(workbook("Fielder"), name), "list.xlsx")
