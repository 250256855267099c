"""A few figures of one implement, typed by hand, read as the cells of a list are read."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import replace
from typing import ClassVar

from evener.ingest.files import readers
from evener.ingest.finding import Finding
from evener.ingest.rows.known import Known
from evener.ingest.rows.preparing import prepare
from evener.ingest.text.held_values import Words

_NAMES = ("implement_id", "family", "label")


class CannotRead(ValueError):
    """A figure that cannot be read; the text says which and why."""

    exit_status: ClassVar[int] = 2


def read_figures(family: str, given: Mapping[str, str], known: Known) -> dict[str, str | float]:
    """Return figures of an implement by field, numbers in the store's units.

    Parameters
    ----------
    family : family of the implement
    given : by heading, as a list would have it, the text of the cell: "45 kW"
    known : what the store holds

    Raises
    ------
    CannotRead
        A heading that is no field, or a text that the field cannot hold.
    """
    headings = [name for name in given if name not in _NAMES]
    text = io.StringIO()
    csv.writer(text).writerows([[*_NAMES, *headings], ["typed", family, "typed", *(given[name] for name in headings)]])
    rows = prepare(readers.read_bytes(text.getvalue().encode(), "what was typed"), "implement", known)
    figures: dict[str, str | float] = {}
    for match, heading in zip(rows.matches[len(_NAMES) :], headings, strict=True):
        if match.field is None:
            raise CannotRead(f"{heading!r} is no field of an implement. See: evener fields implement.")
        wrong = next((one for one in rows.findings if one.refuses and one.column in (None, heading)), None)
        if wrong is not None or not given[heading].strip():
            raise CannotRead(f"{_said(wrong)}." if wrong else f"{heading}: there is no value after the equals sign.")
        column = rows.values[match.field.name]
        figures[match.field.name] = str(column.objects()[0]) if isinstance(column, Words) else float(column[0])
    wrong = next((one for one in rows.findings if one.refuses), None)
    if wrong is not None:
        raise CannotRead(f"{_said(wrong)}.")
    return figures


def _said(wrong: Finding) -> str:
    """Return what is wrong and what to do; a figure typed by hand is refused, never left unknown."""
    refused = replace(wrong, unread=False)
    return f"{refused.message}; {refused.what_to_do}"
