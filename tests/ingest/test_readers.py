"""Bytes into columns: encodings, delimiters, lines, and what is no table."""

import os

import pytest

from evener.ingest import readers
from evener.ingest.readers import UnreadableFile

PLAIN = "id,label\nA,Grün\nB,plow\n"


@pytest.mark.parametrize(
    ("content", "encoding"),
    [
        (PLAIN.encode(), "utf-8"),
        (PLAIN.encode("utf-8-sig"), "utf-8-sig"),
        (PLAIN.encode("utf-16"), "utf-16"),
        (b"\xfe\xff" + PLAIN.encode("utf-16-be"), "utf-16"),
        (PLAIN.encode("cp1252"), "cp1252"),
    ],
)
def test_letters_come_through_every_encoding(content, encoding):
    """The same text is read from each encoding, and the report names a guessed one."""
    table = readers.read_bytes(content, "list.csv")
    assert table.headers == ("id", "label")
    assert table.columns == (("A", "B"), ("Grün", "plow"))
    assert table.encoding == encoding
    assert [finding.id for finding in table.findings] == (["guessed-encoding"] if encoding == "cp1252" else [])


@pytest.mark.parametrize("delimiter", readers.DELIMITERS)
def test_any_common_delimiter_is_found(delimiter):
    """Comma, semicolon, tab and bar each part the columns, with decimal commas inside."""
    rows = [["id", "width (m)", "note"], ["A", "3,05", 'a "b"'], ["B", "2,10", "c"]]
    quoted = '"' if delimiter == "," else ""
    text = "\n".join(delimiter.join(f"{quoted}{cell}{quoted}".replace('a "b"', "ab") for cell in row) for row in rows)
    table = readers.read_bytes(text.encode(), "list.csv")
    assert table.headers == ("id", "width (m)", "note")
    assert table.columns[1] == ("3,05", "2,10")


def test_rows_know_their_line():
    """A row's line is where it begins in the file, past blank rows and cells that run over lines."""
    table = readers.read_bytes(b'id,note\nA,"one\ntwo"\n\n , \nB,x\n', "list.csv")
    assert table.lines == (2, 6)
    assert table.row(1) == {"id": "B", "note": "x"}


def test_a_ragged_row_is_set_apart_with_its_text():
    """A row with too few or too many cells is refused whole and kept as text; blanks at its end are not too many."""
    table = readers.read_bytes(b"id,note\nA\nB,x,y\nC,z,,\n", "list.csv")
    assert table.lines == (4,)
    assert table.refused == {2: ("A",), 3: ("B", "x", "y")}
    assert [(finding.id, finding.row) for finding in table.findings] == [("ragged-row", 2), ("ragged-row", 3)]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "holds no rows"),
        (b"\n , \n", "holds no rows"),
        (b"id,note\x00\nA,b\n", "is no text"),
        (b"\xff\xfe\x00", "is no text"),
        (bytes(range(128, 256)), "is no text"),
        (b'id,note\nA,"never closed\n', "line 2"),
        (b"id," + b"x" * (readers.LARGEST_CELL + 1), "field larger"),
        (",".join(f"c{n}" for n in range(1001)).encode(), "1001 columns"),
    ],
)
def test_what_is_no_table_is_said(content, says):
    """Bytes that hold no table are refused with the file's name and the reason."""
    with pytest.raises(UnreadableFile, match=says) as caught:
        readers.read_bytes(content, "list.csv")
    assert "list.csv" in str(caught.value)
    assert caught.value.exit_status == 2


def test_only_regular_files_are_opened(tmp_path):
    """A folder, a pipe and a missing file are each refused, and nothing waits."""
    os.mkfifo(tmp_path / "pipe.csv")
    for path in (tmp_path, tmp_path / "pipe.csv"):
        with pytest.raises(UnreadableFile, match="no regular file"):
            readers.read(path)
    with pytest.raises(UnreadableFile, match="no file"):
        readers.read(tmp_path / "none.csv")


def test_the_path_is_taken_as_typed(tmp_path):
    """A name with brackets names that file, not another one that a pattern would match."""
    (tmp_path / "br[1]acket.csv").write_text("id\nright\n")
    (tmp_path / "br1acket.csv").write_text("id\nwrong\n")
    assert readers.read(tmp_path / "br[1]acket.csv").columns == (("right",),)
