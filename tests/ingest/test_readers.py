"""Bytes into columns: encodings, delimiters, lines, and what is no table."""

import io
import os
from pathlib import Path

import pytest

from evener.ingest.files import delimited, grids, readers
from evener.ingest.files.readers import UnreadableFile

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


@pytest.mark.parametrize("delimiter", delimited.DELIMITERS)
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
    assert table.lines.tolist() == [2, 6]
    assert table.row(1) == {"id": "B", "note": "x"}


def test_a_ragged_row_is_set_apart_with_its_text():
    """A row with too few or too many cells is refused whole and kept as text; blanks at its end are not too many."""
    table = readers.read_bytes(b"id,note\nA\nB,x,y\nC,z,,\n", "list.csv")
    assert table.lines.tolist() == [4]
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
        (b"id," + b"x" * (grids.LARGEST_CELL + 1), "field larger"),
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


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"id,label\n" + b"x" * 20_000_000 + b",y\n", r"20000000|field larger"),
        (b'id,label\n"' + b"x" * 20_000_000 + b'",y\n', "field larger"),
        ((",".join(f"c{place}" for place in range(10_000)) + "\n" + "1," * 9_999 + "1\n").encode(), "10000 columns"),
        ("id,label\nA,b\n".encode("utf-16-le"), "is no text"),
    ],
    ids=["line of 20 MB", "cell of 20 MB", "10,000 columns", "UTF-16 without its mark"],
)
def test_hostile_bytes_are_refused_at_once(content, says):
    """What no list holds is refused by name, without taking memory for it."""
    with pytest.raises(UnreadableFile, match=says):
        readers.read_bytes(content, "list.csv")


def test_a_stated_delimiter_is_taken():
    """A first line that states the delimiter, as some spreadsheet programs write it, settles it and is no record."""
    table = readers.read_bytes(b"sep=;\nid;label\nA;b,c,d,e\n", "list.csv")
    assert table.headers == ("id", "label")
    assert table.columns[1] == ("b,c,d,e",)


def test_standard_input_is_read_once(monkeypatch):
    """The name - stands for standard input."""
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"id\nA\n")))
    table = readers.read(Path("-"))
    assert (table.name, table.columns) == ("standard input", (("A",),))


def test_too_large_a_file_is_said(tmp_path, monkeypatch):
    """A file beyond the limit is refused before it is taken apart."""
    monkeypatch.setattr(readers, "LARGEST_FILE", 10)
    (tmp_path / "list.csv").write_text("id,label\nA,b\n")
    with pytest.raises(UnreadableFile, match="Part it into several files"):
        readers.read(tmp_path / "list.csv")
