"""Properties of the cell grammar that hold for every number, unit and text."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evener.ingest.text import cells
from evener.ingest.text.cell_errors import CellError
from evener.ingest.text.cells import read_number, read_quantity
from evener.schema import units

FINITE = st.floats(allow_nan=False, allow_infinity=False)
SIZES = st.floats(min_value=1e-6, max_value=1e9)
SPELLINGS = sorted(spelling for spelling in units._table("us") if spelling != "1")
QUICK = settings(deadline=None, max_examples=80)


@QUICK
@given(FINITE)
def test_number_round_trip(value):
    """Every finite number is read back exactly from its shortest text."""
    assert read_number(repr(value)) == value


@QUICK
@given(st.integers(1000, 10**12), st.sampled_from([",", " ", "\u00a0", "\u202f", "'"]), st.integers(0, 99))
def test_grouped_number_round_trip(whole, mark, hundredths):
    """A number with thousands marks is the number without."""
    text = f"{whole:,}".replace(",", mark) + f".{hundredths:02d}"
    assert read_number(text) == float(f"{whole}.{hundredths:02d}")


@QUICK
@given(SIZES, st.sampled_from(SPELLINGS), st.sampled_from(["", " ", "\u00a0"]))
def test_unit_round_trip(value, spelling, gap):
    """A value in any spelling of any unit, glued or not, converts to SI and back to itself."""
    unit = units.find(spelling)
    if "e" in repr(value) or (gap == "" and (spelling == "'" or spelling[0].isdigit())):
        gap = " "
    text = f"{value!r}{gap}{spelling}"
    quantity = read_quantity(text, unit.si_unit)
    assert quantity.given == "exact"
    assert math.isclose(quantity.low / unit.factor, value, rel_tol=1e-12)
    assert quantity.text == text


@QUICK
@given(SIZES, SIZES, st.sampled_from(["ft", "lb", "hp", "%", "gal"]), st.sampled_from([" to ", "-", " - ", "–", ".."]))
def test_range_round_trip(one, other, unit, parting):
    """A range reads as its two ends, the lower first."""
    low, high = sorted((one, other))
    quantity = read_quantity(f"{low:.3f}{parting}{high:.3f} {unit}", units.find(unit).si_unit)
    factor = units.find(unit).factor
    assert math.isclose(quantity.low, float(f"{low:.3f}") * factor, rel_tol=1e-12)
    assert math.isclose(quantity.high, float(f"{high:.3f}") * factor, rel_tol=1e-12)


@QUICK
@given(st.integers(1, 99), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]), st.sampled_from([" ", "-"]))
def test_fraction_round_trip(whole, top, bottom, parting):
    """A whole and a fraction are their sum, however they are joined."""
    assert read_number(f"{whole}{parting}{top}/{bottom}") == whole + top / bottom


@QUICK
@given(st.integers(0, 99), st.integers(0, 11), st.sampled_from(["{}'{}\"", "{} ft {} in", "{}ft{}in", "{}' {}"]))
def test_feet_and_inches_round_trip(feet, inches, form):
    """Feet and inches are twelfths of a foot, in every form."""
    assert math.isclose(read_quantity(form.format(feet, inches), "m").low, (12 * feet + inches) * 0.0254, abs_tol=1e-12)


@pytest.mark.ci
@settings(deadline=None, max_examples=200)
@given(
    st.one_of(
        st.text(max_size=30),
        st.lists(
            st.sampled_from(
                [*"0123456789.,'\"-/+ %#~?½e", "to", "in", "ft", "kg", "about ", "1", "12", "500", "nan", "inf"]
            ),
            max_size=12,
        ).map("".join),
    ),
    st.sampled_from([".", ",", ""]),
)
def test_no_text_breaks_the_grammar(text, decimal):
    """Any text is a finite quantity, an unknown, or an error with a remedy; nothing else ever comes out."""
    for read in (
        lambda: read_quantity(text, "m", default_unit="ft", decimal=decimal, negative=True),
        lambda: read_quantity(text, "1", decimal=decimal),
        lambda: cells.read_slope(text),
    ):
        try:
            quantity = read()
        except CellError as error:
            outcome = bool(error.message and error.remedy)
            assert outcome, text
        else:
            assert (quantity.given == "unknown") == (quantity.low is None) == (quantity.high is None)
            assert quantity.low is None or -math.inf < quantity.low <= quantity.high < math.inf


@QUICK
@given(
    st.lists(st.sampled_from([*"0123456789", ".", ",", "000", "234", " "]), min_size=1, max_size=8).map("".join),
)
def test_evidence_of_the_decimal_mark_is_no_guess(text):
    """A text that settles the decimal mark is unreadable with the other one."""
    mark = cells.decimal_mark(text)
    if mark:
        with pytest.raises(CellError, match="can only be read with a decimal"):
            read_quantity(text, "1", decimal="," if mark == "." else ".")
