"""The quick way through plain text reads as the csv module does."""

import pytest

from evener.ingest.files import delimited, grids, layout, splitting
from evener.ingest.text import texts
from evener.ingest.text.texts import Coder, Texts, joined, settled

LINES = [f"S-{n:06d},Utility {n % 7} hp,{n % 50},{n / 8},Grün {n % 3}" for n in range(3000)]


KNOWN = {"id", "label", "count", "width", "note"}


def both(text, monkeypatch, block=512):
    """A text's rows by the quick way and by the csv module."""
    monkeypatch.setattr(splitting, "BLOCK", block)
    monkeypatch.setattr(delimited, "_SAMPLE", 200)
    quick = delimited.grid_in(text.encode(), KNOWN.__contains__)
    monkeypatch.setattr(delimited, "_plain_grid", lambda plain, mark, knows: _csv(plain, mark))
    return quick, delimited.grid_in(text.encode(), KNOWN.__contains__)


def _csv(text, mark):
    return grids.grid_of(delimited._rows(text, mark), KNOWN.__contains__)


def same(one, other):
    """Two grids hold the same."""
    assert (one.heading_line, one.headings, one.above) == (other.heading_line, other.headings, other.above)
    one, other = layout.laid_out(one), layout.laid_out(other)
    assert one.lines.tolist() == other.lines.tolist()
    assert [list(column) for column in one.columns] == [list(column) for column in other.columns]
    assert one.refused == other.refused
    assert one.findings == other.findings


@pytest.mark.parametrize(
    "lines",
    [
        LINES,
        [*LINES[:100], "", "short,row", *LINES[100:], "a,b,c,d,e,f,g", " ", "x,y,z,1,2,,,"],
        [*LINES[:50], "long," + "x" * 300 + ",1,2,ü", *LINES[50:]],
        ["a,b,c,d,e" for _ in range(200)],
        [",,,," for _ in range(200)],
        [line + "," for line in LINES[:300]],
        [*LINES[:300], "no end of line,a,b,c,d"],
    ],
    ids=["even", "uneven", "long", "alike", "blank", "trailing", "last"],
)
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_plain_text_is_split_as_csv(lines, ending, monkeypatch):
    """Cells, lines, blank and misshapen rows are the same both ways, across blocks and with either line end."""
    text = "title\nid,label,count,width,note\n".replace("\n", ending) + ending.join(lines)
    same(*both(text, monkeypatch))


def test_words_that_mix_alike_are_told_apart(monkeypatch):
    """Texts whose words mix to one number stay two texts: every row is compared with the text it is given."""
    monkeypatch.setattr(texts, "_SPREAD", texts._SPREAD * 0)
    held = ["a" * 12, "b" * 12, "a" * 12, "b" * 8 + "a" * 4]
    column = settled(Texts.of(held).packed[Texts.of(held).codes])
    assert list(column) == held


def test_columns_of_every_kind_join():
    """Packed pieces of any width and pieces of long texts join to one column in their order."""
    parts = [["a", "b", "a"], ["b" * 20, "a"], ["ü", "x" * 200], []]
    pieces = [Texts.of(part) for part in parts]
    packed = [settled(piece.packed[piece.codes]) for piece in pieces[:2]]
    assert list(joined(packed)) == parts[0] + parts[1]
    assert list(joined([*packed, *pieces[2:]])) == [text for part in parts for text in part]


def test_a_column_is_a_sequence_of_its_texts():
    """Rows, parts, equality and distinct texts of a column are those of the list it was made from."""
    held = ["a", "ü", "a", ""]
    column = Texts.of(held)
    assert list(column) == held
    assert column == held
    assert [column[row] for row in range(4)] == held
    assert column[1:3] == held[1:3]
    assert column.distinct == ["a", "ü", ""]
    coder = Coder()
    coder.add(["a"])
    coder.add(["b", "a"])
    assert coder.column() == ["a", "b", "a"]


@pytest.mark.parametrize("line", ["x" * (grids.LARGEST_CELL + 1), "x" * (grids.LARGEST_CELL + 1) + ",1,2,3,4"])
def test_a_line_beyond_any_list_is_refused(line, monkeypatch):
    """A cell of more than a million signs ends the reading with its length, on the quick way too."""
    monkeypatch.setattr(delimited, "_SAMPLE", 200)
    with pytest.raises(grids.NoTable, match="1048577 characters"):
        delimited.grid_in("\n".join(["id,label,count,width,note", *LINES[:100], line]).encode(), None)
