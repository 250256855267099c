"""What stands in a file beside its records is recognised, reported with its lines, and not loaded."""

import pytest

from evener.ingest.columns import headers
from evener.ingest.files import readers

HEADINGS = "stock number,description,weight,PTO power\n"
ROWS = "S1,Utility,6950,62\nS2,Compact,2400,20\n"


def table(text, *, record="tractor"):
    """A text as the ingest of a kind of record reads it."""
    return readers.read_bytes(text.encode(), "list.csv", knows=headers.knows(record))


def noticed(one):
    """The findings of a table: id and line."""
    return [(finding.id, finding.row) for finding in one.findings]


def test_lines_above_the_headings_are_no_record():
    """Title lines of any width are passed over, named once with their lines and text, and the line numbers stay."""
    one = table("Yard list, spring,,\n\n;prices in hand;\n" + HEADINGS + ROWS)
    assert one.headers == ("stock number", "description", "weight", "PTO power")
    assert one.lines.tolist() == [5, 6]
    (finding,) = one.findings
    assert (finding.id, finding.row) == ("preamble", 1)
    assert finding.message == "above the headings, not loaded: lines 1, 3"
    assert finding.raw == "Yard list | spring / ;prices in hand;"


def test_a_row_of_units_gives_the_columns_theirs():
    """Units under the headings count for their columns, in brackets or not, and are no record."""
    one = table(HEADINGS + ",,(lb),hp\n" + ROWS)
    assert one.units == (None, None, "lb", "hp")
    assert noticed(one) == [("units-row", 2)]
    assert noticed(table(HEADINGS + ",,,hp\n" + ROWS)) == [("units-row", 2)]
    matches, found = headers.match(one.headers, "tractor", units_row=one.units)
    assert [match.unit for match in matches] == [None, None, "lb", "hp"]
    assert found == []


def test_a_unit_said_twice_must_be_the_same():
    """A heading and the row of units may repeat each other, not contradict each other."""
    for below, ids in (("lb", []), ("lbs", []), ("kg", ["units-differ"])):
        _, found = headers.match(["id", "weight (lb)"], "tractor", units_row=[None, below])
        assert [finding.id for finding in found] == ids


@pytest.mark.parametrize("row", ["S1,Utility,6950,62", "t,Utility,,", "t,,,", "1,1,1,1"])
def test_a_record_is_no_row_of_units(row):
    """A first row that could be a record is one."""
    assert table(HEADINGS + row + "\n").lines.tolist() == [2]


def test_headings_again_are_no_record():
    """Headings printed on every page are passed over, and reported once with every line."""
    one = table(HEADINGS + ROWS + HEADINGS + "S3,Utility,7000,60\n" + HEADINGS.upper())
    assert one.lines.tolist() == [2, 3, 5]
    (finding,) = one.findings
    assert finding.message == "the headings again, not loaded: lines 4, 6"


def test_blank_rows_are_reported_where_something_follows():
    """Blank rows between records are one finding; those at the end of the file are none."""
    one = table(HEADINGS + "S1,Utility,6950,62\n\n , ,,\nS2,Compact,2400,20\n\n,,,\n\n")
    assert one.lines.tolist() == [2, 5]
    (finding,) = one.findings
    assert (finding.id, finding.message) == ("blank-rows", "blank: lines 3, 4")


@pytest.mark.parametrize(
    "foot",
    [
        "Total,,9350,82",
        "Grand total: 2,,,",
        "2 units,,,",
        "* prices as they stand, ex yard",
        "Note: weights without ballast",
        "\nfigures as the last owners told them\nand not measured by us",
    ],
)
def test_sums_and_remarks_at_the_end_are_no_record(foot):
    """A sum or a remark below the last record is reported with its text and not loaded."""
    one = table(HEADINGS + ROWS + foot + "\n")
    assert one.lines.tolist() == [2, 3]
    assert one.refused == {}
    assert "footer" in dict(noticed(one))
    (finding,) = [finding for finding in one.findings if finding.id == "footer"]
    assert finding.raw.split(" ")[0] in foot


@pytest.mark.parametrize(
    ("last", "refused"),
    [
        ("Utility 75 hp with loader,2wd", True),
        ("S9", True),
        ("S9,,,", False),
        ("Total Utility,Utility,6950,62", False),
        ("Utility with a cab,,,", False),
    ],
)
def test_a_record_at_the_end_is_never_taken_for_a_remark(last, refused):
    """A last row that may be a record, cut short or not, is loaded or refused, not passed over."""
    one = table(HEADINGS + ROWS + last + "\n")
    assert one.refused == ({4: tuple(last.split(","))} if refused else {})
    assert one.lines.tolist() == ([2, 3] if refused else [2, 3, 4])
    assert "footer" not in dict(noticed(one))


def test_a_column_without_heading_is_kept_and_reported():
    """Values under no heading are kept as text under the column's place; an empty column is left out in silence."""
    one = table("id,,label,\nA,note,plow,\nB,,harrow,\n")
    assert one.headers == ("id", "(column 2)", "label")
    assert [(finding.id, finding.column) for finding in one.findings] == [("no-heading", "(column 2)")]
    assert one.row(0) == {"id": "A", "(column 2)": "note", "label": "plow"}


def test_a_heading_that_stands_twice_keeps_both_cells():
    """The text of a row keeps the cells of two columns of one heading apart."""
    one = table("id,label,remark,remark\nA,plow,old,new\n")
    assert one.row(0) == {"id": "A", "label": "plow", "remark (column 3)": "old", "remark (column 4)": "new"}


def test_missing_cells_under_no_heading_are_not_too_few():
    """A row without the cells of trailing blank headings is whole."""
    one = table("id,label,,\nA,plow\nB,harrow,,\n")
    assert one.columns[0] == ("A", "B")
    assert one.refused == {}


@pytest.mark.parametrize(
    ("row", "kept"),
    [
        ("S3,Utility,6950,needs tyres, and a clutch", "needs tyres, and a clutch"),
        ("S3,Utility, long,6950,red", None),
        ("S3,Utility,$6,950,", None),
    ],
)
def test_a_remark_with_bare_commas_is_whole_and_no_price_is_parted(row, kept):
    """What was parted at the commas of a sentence is joined; any other cell too many leaves the row out."""
    one = table(f"stock number,description,weight,note\nS1,Utility,6950,red\n{row}\n")
    assert (one.columns[3][1] if len(one.lines) == 2 else None) == kept
    assert [finding.id for finding in one.findings] == ([] if kept else ["ragged-row"])


@pytest.mark.parametrize(
    "row",
    ["(1),(2),(3),(4)", "a,b,c,d", "text,text,number,number", "e.g. 12,Barn,4100,45", "Totaal,2 stuks,9350,82"],
)
def test_rows_of_a_form_are_no_machines(row):
    """What numbers the columns, says what goes in them, gives an example or a sum is told and is no record."""
    one = table(f"{HEADINGS}{row}\n{ROWS}")
    assert one.lines.tolist() == [3, 4]
    assert noticed(one) == [("note-lines", 2)]


def test_headings_in_two_languages_are_one_row():
    """A second row that names the columns once more is no record, and helps where the first is not known."""
    one = table("Nr,Bezeichnung,Etwas,Zapfwelle\nnumber,description,weight,PTO power\nS1,Utility,6950,62\n")
    assert one.headers == ("Nr", "Bezeichnung", "weight", "Zapfwelle")
    assert one.lines.tolist() == [3]
