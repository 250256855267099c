"""Parquet: its values as a person would have typed them, and what no list holds."""

import duckdb
import pytest

from evener.ingest.columns import headers
from evener.ingest.files import readers
from evener.ingest.files.readers import UnreadableFile


@pytest.fixture
def parquet(tmp_path):
    """Write what a statement gives to a Parquet file, and return its path."""

    def write(select, name="list.parquet"):
        path = tmp_path / name
        con = duckdb.connect()
        con.execute(f"COPY ({select}) TO '{path}' (FORMAT parquet)")
        con.close()
        return path

    return write


@pytest.mark.ci
def test_values_are_read_as_their_text(parquet):
    """Whole numbers, fractions, single precision, decimals, lists, dates and blanks come out as plain text."""
    path = parquet(
        "SELECT 'S1' AS id, 6950.0 AS \"weight (lb)\", CAST(3.05 AS FLOAT) AS f, CAST(1.50 AS DECIMAL(5,2)) AS d,"
        " [540, 1000] AS \"PTO speeds (rpm)\", DATE '2024-02-01' AS bought, true AS cab, CAST(NULL AS VARCHAR) AS note,"
        " CAST('nan' AS DOUBLE) AS odd, 1.234 AS three"
    )
    table = readers.read(path, knows=headers.knows("tractor"))
    assert list(table.row(0).values()) == [
        *("S1", "6950", "3.05", "1.5", "540;1000", "2024-02-01", "TRUE", "", "nan", "1.2340")
    ]
    assert table.lines.tolist() == [1]
    assert (table.encoding, table.decimal) == ("parquet", "")


@pytest.mark.ci
def test_the_bytes_tell_what_a_file_is(parquet):
    """A Parquet file under another name is read as one."""
    assert readers.read(parquet("SELECT 'S1' AS id", "list.csv")).columns[0] == ["S1"]


@pytest.mark.ci
@pytest.mark.parametrize(
    ("select", "says"),
    [
        ("SELECT {'a': 1} AS s", "column 's' of STRUCT"),
        ("SELECT 'x'::BLOB AS b", "column 'b' of BLOB"),
        ("SELECT " + ", ".join(f"1 AS c{n}" for n in range(1001)), "1001 columns"),
    ],
)
def test_what_no_list_holds_is_said(parquet, select, says):
    """Columns that are no text and no number, and more columns than any list has, are refused by name."""
    with pytest.raises(UnreadableFile, match=says):
        readers.read(parquet(select))


@pytest.mark.ci
def test_a_damaged_file_is_said(parquet, tmp_path):
    """A file that only begins like Parquet is refused, without the name of any folder."""
    path = parquet("SELECT 1 AS id")
    path.write_bytes(path.read_bytes()[:-20] + bytes(20))
    with pytest.raises(UnreadableFile, match=r"list\.parquet cannot be read as Parquet") as caught:
        readers.read(path)
    assert "/" not in str(caught.value)
