"""Columns of text into values: numbers, words, lists, ranges, bounds, and the decimal mark of a file."""

import math

import numpy as np
import pytest

from evener.ingest.columns import columns
from evener.ingest.columns.field_cells import Setting
from evener.ingest.columns.headers import match
from evener.ingest.findings import Finding
from evener.ingest.text.held_values import Words
from evener.ingest.text.texts import Texts


def read(header, texts, record="tractor", **options):
    """One column as read."""
    (one,), _ = match([header], record)
    setting = Setting(options.pop("decimal", "."), options.pop("measures", "us"))
    return columns.read_column(one, Texts.of(texts), setting=setting, lines=range(2, 2 + len(texts)), **options)


def listed(values):
    """A column's values as a list."""
    return list(values) if isinstance(values, Words) else values.tolist()


@pytest.mark.parametrize(
    ("header", "text", "value"),
    [
        ("Width (ft)", "10", 3.048),
        ("Width", "5'6\"", 1.6764),
        ("Width", "5 ft 6 in", 1.6764),
        ("Width (ft)", "1 1/2", 0.4572),
        ("Width (ft)", "3 m", 3.0),
        ("Mass (lb)", "1,500", 680.388555),
        ("Rated PTO power", "75 hp", 55.92749036867027),
        ("Rated PTO power", "56 kW", 56.0),
        ("Tank (gal)", "100", 378.5411784),
    ],
)
def test_cells_become_the_stores_units(header, text, value):
    """A number takes its unit from its cell, else from its heading, and is stored in SI."""
    column = read(header, [text], "implement")
    assert column.values == pytest.approx([value])
    assert column.findings == []


@pytest.mark.parametrize("text", ["", " ", "-", "--", "n/a", "N/A"])
def test_blank_marks_are_blanks(text):
    """The trade's marks for "no value" are blanks, not findings and not zeros."""
    column = read("Mass (lb)", [text, "5000"])
    assert np.isnan(column.values[0])
    assert column.findings == []


@pytest.mark.parametrize(
    "text",
    ["nan", "inf", "1e400", "True", "1_000", "１２３４", "5,0,0", "heavy", "5000 hp", "5000 parsecs", "=1+1", "<5000"],
)
def test_what_is_no_plain_number_is_a_finding(text):
    """Only a plain finite number in a unit of the right kind is stored; the finding holds row, column and text."""
    column = read("Mass (lb)", ["4000", text])
    assert np.isnan(column.values[1])
    ((position, finding),) = column.findings
    assert position == 1
    assert (finding.id, finding.row, finding.column, finding.raw) == ("unreadable-cell", 3, "Mass (lb)", text)


def test_each_wrong_row_has_its_finding():
    """The same wrong text on two rows is two findings, each on its own line."""
    column = read("Mass (lb)", ["x", "4000", "x"])
    assert [finding.row for _, finding in column.findings] == [2, 4]


def test_a_column_without_units_is_one_finding():
    """Bare numbers under a heading without a unit are one finding for the column, with a heading to write instead."""
    finding = read("Weight", ["4000", "5000", ""])
    assert isinstance(finding, Finding)
    assert finding.id == "no-unit"
    assert "Weight (lb)" in finding.what_to_do


def test_a_bare_number_among_others_is_a_cell_finding():
    """Where other cells give their unit, only the bare one is refused."""
    column = read("Weight", ["4000 lb", "5000"])
    assert [position for position, _ in column.findings] == [1]


@pytest.mark.parametrize(
    ("header", "text", "suspects"),
    [("Width (m)", "120", "cm"), ("Width (m)", "96", "in"), ("Mass (t)", "5800", "lb"), ("Mass (kg)", "0.0", "")],
)
def test_a_value_out_of_bounds_names_the_unit_it_fits(header, text, suspects):
    """A width of 96 m is refused, and the finding asks whether it was in inches."""
    ((_, finding),) = read(header, [text], "implement").findings
    assert finding.id == "out-of-bounds"
    assert suspects in finding.message
    assert ("was it in" in finding.message) == bool(suspects)


def test_a_range_keeps_both_ends_where_the_record_has_both():
    """35-75 hp asked of the shaft is a least and a most; where one value is kept a range is refused."""
    column = read("Rated PTO power (hp)", ["35-75", "40"], "implement")
    assert column.values == pytest.approx([26.0995, 29.828], rel=1e-4)
    assert column.upper == pytest.approx([55.9275, math.nan], rel=1e-4, nan_ok=True)
    ((_, finding),) = read("Mass (lb)", ["5000-6000"]).findings
    assert finding.id == "range-not-kept"


def test_about_is_marked():
    """A value given as about so much keeps its middle and is marked."""
    column = read("Mass (lb)", ["about 5000", "5000"])
    assert column.values[0] == pytest.approx(column.values[1])
    assert column.about.tolist() == [True, False]


@pytest.mark.parametrize(
    ("header", "text", "word"),
    [
        ("Drive", "MFWD", "4wd"),
        ("Drive", "4x4", "4wd"),
        ("Drive", "2WD", "2wd"),
        ("Transmission", "HST", "hydrostatic"),
        ("Transmission", "Power-Shift", "powershift"),
        ("Hitch", "Cat. 2", "2"),
        ("Hitch", "Category II", "2"),
        ("Hitch", "cat 3N", "3N"),
        ("Hitch", "1", "1"),
    ],
)
def test_words_of_the_trade_are_known(header, text, word):
    """A choice is read in the trade's spellings."""
    column = read(header, [text])
    assert listed(column.values) == [word]
    assert column.findings == []


def test_an_unknown_word_lists_those_allowed():
    """A word that is none of the choices is refused with the list."""
    ((_, finding),) = read("Drive", ["6wd"]).findings
    assert finding.id == "unknown-word"
    assert "2wd, 4wd, track, articulated" in finding.what_to_do


def test_hitch_categories_from_to():
    """An implement for category 1 to 2 keeps both; of a tractor the larger is kept, and it is said."""
    for text in ("Cat 1/2", "1-2", "Cat. 1 & 2", "I to II"):
        column = read("Hitch category", [text], "implement")
        assert (listed(column.values), listed(column.upper)) == (["1"], ["2"]), text
    column = read("Hitch", ["Cat 1/2"])
    ((_, finding),) = column.remarks
    assert (listed(column.values), finding.id, column.findings) == (["2"], "read-as", [])


def test_speeds_are_a_list():
    """Shaft speeds are whole numbers in any of the trade's separations, within bounds."""
    column = read("PTO speeds (rpm)", ["540;1000", "540/1000", "540 rpm", "540 and 1000", ""])
    assert listed(column.values) == [[540, 1000], [540, 1000], [540], [540, 1000], None]
    wrong = read("PTO speeds (rpm)", ["54", "540.5", "fast"]).findings
    assert [finding.id for _, finding in wrong] == ["out-of-bounds", "unreadable-cell", "unreadable-cell"]


def test_counts_are_whole():
    """Half a remote outlet is refused."""
    column = read("Rear remotes", ["2", "2.5"])
    assert [position for position, _ in column.findings] == [1]


def test_prices_shed_their_sign():
    """A currency sign before or after a price is no part of the number."""
    assert listed(read("Price", ["$38,500", "38500 €"]).values) == [38500, 38500]


def mark(*sheet):
    """Decimal mark of a file with these columns."""
    return columns.decimal_mark([(match([header], "implement")[0][0], Texts.of(texts)) for header, texts in sheet])


@pytest.mark.parametrize(
    ("sheet", "expected"),
    [
        ([("Width (ft)", ["2.5", "10"])], "."),
        ([("Width (m)", ["3,05", "10"])], ","),
        ([("Width (ft)", ["10"]), ("Mass (lb)", ["1,234.5"])], "."),
        ([("Width (m)", ["3"]), ("Mass (kg)", ["1.234,5"])], ","),
        ([("Width (ft)", ["10"])], ""),
        ([("Width (ft)", ["2.5"]), ("Mass (kg)", ["12,5"])], ""),
        ([("Tank (gal)", ["1,500"]), ("Width (ft)", ["10"])], ""),
        ([("Tank (gal)", ["1,500"]), ("Mass (lb)", ["6,950"])], "."),
    ],
)
def test_the_decimal_mark_is_the_files(sheet, expected):
    """Cells that read one way only settle the mark, else bounds do (no implement weighs 6.95 lb), else nothing."""
    assert mark(*sheet) == expected


def test_an_unsettled_mark_refuses_only_what_reads_two_ways():
    """Without a settled mark 1,234 is refused, 12 and 2.5 are not."""
    column = read("Payload (kg)", ["1,234", "12", "2500.5"], "implement", decimal="")
    assert [position for position, _ in column.findings] == [0]


def test_gallons_and_tons_follow_the_file():
    """A bare gallon or ton is the US or the imperial one as the file's setting says; a stated one is itself."""
    held = {}
    for measures in ("us", "imperial"):
        tank = read("Tank (gal)", ["100", "100 US gal"], "implement", measures=measures)
        mass = read("Mass", ["2 ton", "2 t"], "implement", measures=measures)
        held[measures] = [*tank.values.tolist(), *mass.values.tolist()]
    assert held["us"] == pytest.approx([378.5411784, 378.5411784, 1814.36948, 2000.0])
    assert held["imperial"] == pytest.approx([454.609, 378.5411784, 2032.0938176, 2000.0])


def test_each_distinct_text_is_read_once(monkeypatch):
    """A text that stands on a thousand rows goes through the grammar once."""
    asked = []
    grammar = columns.number
    monkeypatch.setattr(columns, "number", lambda *given: asked.append(given[2]) or grammar(*given))
    column = read("Width", ["5'6\"", "8 ft", "5'6\""] * 1000, "implement")
    assert sorted(asked) == ["5'6\"", "8 ft"]
    assert column.values.shape == (3000,)


def test_a_formula_is_nobodys_name():
    """A formula without its result is refused as text too; with an apostrophe before it, it is a name."""
    column = read("Description", ["=A2", "'=A2", "Utility", "'-5", "'twas"])
    assert listed(column.values)[1:] == ["=A2", "Utility", "-5", "'twas"]
    assert [row for row, _ in column.findings] == [0]


def test_an_apostrophe_before_a_number_is_none_of_it():
    """What the tool's own lists put before a dash is taken off again."""
    column = read("Loader lift (lb)", ["'-", "2400"])
    assert np.isnan(column.values[0])
    assert column.findings == []
