"""What is read for a whole column at once is what the grammar reads cell by cell."""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from evener.ingest.columns import columns
from evener.ingest.columns.field_cells import Setting, number, plain_text
from evener.ingest.columns.headers import match
from evener.ingest.text import cells
from evener.ingest.text.plain_cells import plain_names, plain_numbers
from evener.ingest.text.texts import Texts

QUICK = settings(deadline=None, max_examples=100)
NUMBERS = st.one_of(
    st.text("0123456789.,", min_size=1, max_size=18),
    st.text("0123456789.,-+ e'", max_size=10),
    st.floats(0, 1e9).map(lambda value: f"{value:.3f}"),
    st.integers(0, 10**16).map(str),
    st.sampled_from(["", "-", "n/a", "1,234", "1.234", "0.234", "12,5", "1 1/2", "5'6\"", "75 hp"]),
)
MARKS = st.sampled_from([".", ",", ""])
(WEIGHT,), _ = match(["weight (lb)"], "tractor")


@QUICK
@given(st.lists(NUMBERS, min_size=1, max_size=12), MARKS)
def test_plain_numbers_are_the_grammars(texts, decimal):
    """A text read at once is the number the grammar reads, to the last bit, under every decimal mark."""
    column = Texts.of(texts)
    plain = plain_numbers(column.packed)
    for place in np.flatnonzero(plain.readable(decimal)).tolist():
        assert cells.read_number(column.distinct[place], decimal=decimal) == plain.values[place]


@QUICK
@given(st.lists(NUMBERS, min_size=1, max_size=12))
def test_the_decimal_mark_is_the_grammars(texts):
    """Evidence found at once is the evidence found cell by cell."""
    marks = {cells.decimal_mark(text) for text in texts} - {""}
    found = columns.decimal_mark([(WEIGHT, Texts.of(texts))])
    if marks:
        assert found == (marks.pop() if len(marks) == 1 else "")


@QUICK
@given(st.lists(NUMBERS, min_size=1, max_size=12), MARKS)
def test_a_column_is_its_cells(texts, decimal):
    """A column's values and findings are those of its cells one by one, in the order of the rows."""
    setting = Setting(decimal)
    column = columns.read_column(WEIGHT, Texts.of(texts), setting=setting, lines=range(len(texts)))
    found = {row for row, _ in column.findings}
    for row, text in enumerate(texts):
        cell = number(WEIGHT, WEIGHT.field, text, setting)
        value = None if cells.is_missing(text) else cell.value
        low, high = WEIGHT.field.low, WEIGHT.field.high
        if row in found:
            assert math.isnan(column.values[row])
            assert cell.problem is not None or not low <= value <= high
        elif value is None:
            assert math.isnan(column.values[row])
        else:
            assert column.values[row] == value


@QUICK
@given(st.lists(st.one_of(st.text(max_size=14), st.sampled_from(["n/a", "N/A ", "POA", "-", "'=1", "S-1", "ü"]))))
def test_plain_names_are_kept_as_they_stand(texts):
    """A name taken at once is the text kept cell by cell."""
    held = [text.replace("\x00", "") for text in texts]
    column = Texts.of(held)
    plain = plain_names(column.packed) if held else []
    for place in np.flatnonzero(plain).tolist():
        assert plain_text(column.distinct[place]) == column.distinct[place]
