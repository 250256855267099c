"""Cells that come with a type, from workbooks and Parquet, as the text a person would have typed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from evener.ingest.text import cells
from evener.ingest.text.cells import DecimalMark

_EXACT_WHOLE = 1e15
# Three figures behind the mark could be thousands; a nought more and they cannot.
_READS_TWO_WAYS = re.compile(r"[1-9]\d{0,2}\.\d{3}")


def as_text(value: Any, decimal: DecimalMark) -> str:
    """Return a typed cell as text.

    Parameters
    ----------
    value : text, number, truth value, list of these, or None
    decimal : decimal mark that the cells of text in the file are written with; "" when it is not known
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, list):
        return ";".join(as_text(one, decimal) for one in value)
    if isinstance(value, int | float):
        return number_text(value).replace(".", decimal or ".")
    return str(value)


def number_text(value: float) -> str:
    """Return a number as the shortest text that reads back to it, and reads one way alone."""
    if isinstance(value, int) or (value.is_integer() and abs(value) < _EXACT_WHOLE):
        return str(int(value))
    text = repr(value)
    return f"{text}0" if _READS_TWO_WAYS.fullmatch(text.lstrip("-")) else text


def decimal_of(values: Iterable[Any]) -> DecimalMark:
    """Return the decimal mark that the cells of text cannot be read without, or "" when they settle none.

    A number that is stored as one says nothing about how its owner writes numbers in text.
    """
    texts = {value for value in values if isinstance(value, str) and value[:1].isdigit()}
    marks = {cells.decimal_mark(text) for text in texts} - {""}
    return marks.pop() if len(marks) == 1 else ""
