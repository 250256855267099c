"""Rows whose cells stand a column too far to one side: a number where words stand, and another misfit in the row."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from evener.ingest import findings
from evener.ingest.columns.columns import Column
from evener.ingest.columns.headers import Match
from evener.ingest.rows.rows import Rows

_NUMBER = re.compile(r"\s*\d[\d.,' ]*\s*")
_FEWEST = 2  # cells of a row that do not fit
_LEAST = 10  # a word of the trade may be a small number, such as a category


def check(rows: Rows, read: Sequence[tuple[Match, Column]]) -> None:
    """Refuse each row that was moved by a cell: what can be read of it may belong to other columns.

    Parameters
    ----------
    rows : the rows of a file
    read : its columns with their values
    """
    unread = [column.unread for _, column in read if column.unread is not None]
    if len(unread) < _FEWEST:
        return
    misfits = np.sum(unread, axis=0)
    for one, column in read:
        if column.unread is None or column.field.kind != "choice":
            continue
        texts = rows.table.columns[one.position]
        for position in np.flatnonzero(column.unread & (misfits >= _FEWEST)).tolist():
            if _NUMBER.fullmatch(texts[position]) and _figures(texts[position]) >= _LEAST:
                line = int(rows.table.lines[position])
                rows.refuse(position, findings.ShiftedRow(row=line, column=one.header, raw=texts[position]))


def _figures(text: str) -> int:
    return int(re.sub(r"\D", "", text))
