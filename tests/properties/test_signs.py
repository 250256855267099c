"""Every sign at every place of a cell: the value that a careful clerk reads there, or a refusal that names the sign."""

import math
import sys
import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evener.ingest import findings
from evener.ingest.columns.columns import read_column
from evener.ingest.columns.headers import match
from evener.ingest.text.cell_errors import CellError
from evener.ingest.text.cells import read_number, read_quantity
from evener.ingest.text.texts import Texts

# What a clerk reads: the text, the unit of its bare number, and the number in that unit.
READ = {
    "45": ("kW", 45.0),
    "1,500": ("kg", 1500.0),
    "12.5": ("kW", 12.5),
    "45 kW": ("kW", 45.0),
    "7 m": ("m", 7.0),
    "45kW": ("kW", 45.0),
    "1 1/2 m": ("m", 1.5),
}
NUMERIC = [
    chr(code) for code in range(128, sys.maxunicode + 1) if unicodedata.category(chr(code)) in ("Nd", "Nl", "No")
]
HALVES = {sign: unicodedata.numeric(sign) for sign in "¼½¾⅓⅔⅛⅜⅝⅞⅕⅖⅗⅘⅙⅚"}
DASHES = "\u2010\u2011\u2012\u2013\u2014\u2015\u2212"
SPACES = [chr(code) for code in range(sys.maxunicode + 1) if chr(code).isspace()]
RAISED = [sign for sign in NUMERIC if unicodedata.decomposition(sign).startswith(("<super>", "<sub>"))]
LOOK_ALIKES = "OoIlSBZ\u041e\u043e\u0417\u0431\u0391\u0392\u039f\u03bf\uff10\uff11\u01c0\u2113\u24ea\u2460\U0001d7d8"


def places(text):
    return range(len(text) + 1)


def read(text, unit):
    """The value of a text, or None and what the refusal says."""
    try:
        quantity = read_quantity(text, unit, default_unit=unit)
    except CellError as error:
        return None, error.message if error.remedy else ""
    return (quantity.low, "") if quantity.given == "exact" else (None, f"a range or a guess of {text!r}")


def named(sign, text, message):
    return sign in message or repr(sign)[1:-1] in message or repr(text.strip())[1:-1] in message


def test_every_numeric_sign_at_every_place_is_read_rightly_or_refused_by_name():
    """No digit of another script, raised figure, circled figure or fraction is taken for a digit beside others."""
    assert len(NUMERIC) > 1500
    for text, (unit, value) in READ.items():
        for place in places(text):
            before, behind = text[:place], text[place:]
            for sign in NUMERIC:
                whole = f"{before}{sign}{behind}"
                got, message = read(whole, unit)
                if got is None:
                    assert named(sign, whole, message), (whole, message)
                    continue
                assert sign in HALVES, (whole, got)
                # Only behind the digits of a whole number, or alone, is a fraction a part of it.
                assert before.strip().isdigit(), (whole, got)
                assert not behind.lstrip()[:1].isdigit(), (whole, got)
                assert math.isclose(got, int(before) + HALVES[sign]), (whole, got, value)


def test_a_fraction_sign_behind_a_whole_number_is_its_part():
    """Seven and a half is written with one sign, glued or apart, and is never seven hundred or a range."""
    for sign, part in HALVES.items():
        for text in (f"7{sign}", f"7 {sign}", f"7{sign} kW", f"7\u00a0{sign}kW"):
            assert read_quantity(text, "kW", default_unit="kW").low == pytest.approx(7 + part), text
        assert read_number(sign) == pytest.approx(part)


@pytest.mark.parametrize("sign", RAISED)
def test_a_raised_figure_is_a_footnote_and_no_digit(sign):
    """Behind a number or its unit a raised figure is a finding of its own; a power of a unit alone is none."""
    for text in (f"5{sign}", f"10{sign} kW", f"7{sign} kW", f"45 {sign}"):
        (one,), _ = match(["Engine net (kW)"], "tractor")
        column = read_column(one, Texts.of([text]), lines=[2])
        ((_, finding),) = column.findings
        assert isinstance(finding, findings.FootnoteMark), text
        assert finding.raw == text


@pytest.mark.parametrize("mark", ["*", "**", "†", "‡", "§", " *", "[1]", " [a]", " (1)", " (a)", "^1"])
@pytest.mark.parametrize("text", ["45", "45 kW", "45kW", "1,500.5"])
def test_a_footnote_mark_is_named(text, mark):
    """A star, a dagger or a number in brackets beside a value is named as the mark of a footnote."""
    with pytest.raises(CellError, match="footnote"):
        read_quantity(text + mark, "kW", default_unit="kW")


def test_powers_of_units_are_units():
    """A raised two or three behind the letters of a unit is its power."""
    assert read_quantity("2 m²", "m2").low == 2
    assert read_quantity("3 m³", "m3").low == 3


@pytest.mark.parametrize("sign", LOOK_ALIKES)
def test_a_look_alike_of_a_digit_is_no_digit(sign):
    """A letter or figure that looks like a digit is refused with the text, wherever it stands among digits."""
    for text in ("45", "1,500", "12.5"):
        for place in places(text):
            whole = text[:place] + sign + text[place:]
            got, message = read(whole, "kW")
            if place == len(text) and got is not None:
                assert sign in "lIO" or whole[-1].isalpha()  # a unit glued on: never another number
            assert got is None, (whole, got)
            assert named(sign, whole, message)


@pytest.mark.parametrize("space", SPACES)
def test_a_space_parts_thousands_or_a_unit_and_lines_part_values(space):
    """Any blank before a unit is a space; between digits a line end or a tab parts two values, which is refused."""
    assert read(f"45{space}kW", "kW")[0] == 45.0
    got, _ = read(f"1{space}500", "kW")
    assert got == (None if space in "\t\n\r\v\f\x1c\x1d\x1e\x1f\x85\u2028\u2029" else 1500.0)
    assert read(f"4{space}5", "kW")[0] is None


@pytest.mark.parametrize("dash", DASHES)
def test_a_dash_is_a_range_or_a_sign(dash):
    """A dash of any length between two numbers is a range, before one a sign, behind one nothing that is read."""
    quantity = read_quantity(f"3{dash}5 m", "m")
    assert (quantity.low, quantity.high) == (3, 5)
    assert read_number(f"{dash}5") == -5
    assert read(f"5{dash}", "m")[0] is None


@pytest.mark.parametrize("mark", ["\u2032", "\u00b4", "\u02b9"])
def test_a_foot_mark_never_parts_thousands(mark):
    """1 foot mark 500 is neither fifteen hundred nor one foot; the plain apostrophe parts thousands."""
    assert read(f"1{mark}500", "kg")[0] is None
    assert read("1'500", "kg")[0] == 1500
    assert read_quantity(f"5{mark}6", "m").low == pytest.approx(5.5 * 0.3048)


@pytest.mark.parametrize("text", ["75/56", "11/2", "31/4", "12/12", "45/37 kW", "540/1000", "21⁄2"])
def test_two_values_are_no_fraction(text):
    """A pair of figures, or a whole number run together with a fraction, is refused and never divided."""
    got, message = read(text, "kW")
    assert got is None
    assert "two values" in message


@pytest.mark.parametrize(
    "sign", [chr(code) for code in (*range(9), *range(14, 28), *range(127, 160), 0xAD, 0x200B, 0x200E, 0x202E, 0xFEFF)]
)
def test_what_cannot_be_seen_is_refused_by_name(sign):
    """Controls, invisible signs and marks of direction inside a number are named, and never passed over."""
    if sign == "\x85":
        return  # a line end, above
    got, message = read(f"4{sign}5", "kW")
    assert got is None
    assert named(sign, f"4{sign}5", message)


@pytest.mark.ci
@settings(deadline=None, max_examples=300)
@given(st.sampled_from(sorted(READ)), st.characters(min_codepoint=128), st.integers(0, 8))
def test_no_sign_of_any_kind_changes_a_value(text, sign, place):
    """Any sign beyond ASCII at any place leaves the value or is refused, but for fractions, dashes and marks."""
    if sign in HALVES or sign in DASHES or sign in "\u2018\u2019\u2032\u00b4\u02b9\u201c\u201d\u2033\u02ba\u2044\u2248":
        return
    unit, value = READ[text]
    got, message = read(text[:place] + sign + text[place:], unit)
    assert got in (None, value), (sign, text, place)
    assert (got is None) == bool(message)
