"""Good rows as a relation the store can take in: columns handed over whole, and held to the record's model first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from evener.ingest.rows.rows import Rows
from evener.ingest.text.held_values import Words
from evener.schema import fields, tables
from evener.schema.store import staging

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

_APART = ("list", "certainty")  # each distinct value is turned once, in a table of its own
_FEW = 50_000  # above so many distinct words a name per row is handed over quicker than a list of names


def check_model(rows: Rows, batch_id: str) -> None:
    """Hold the good rows to the model of their record.

    A model looks at one value at a time, so the rows that hold a column's least, its most, each of its words, and a
    blank speak for all.

    Parameters
    ----------
    rows : prepared rows
    batch_id : ingest they belong to

    Raises
    ------
    pandera.errors.SchemaError
        A defect of this tool: the checks before should have refused the row.
    """
    import pandas as pd

    positions = _telling(rows)
    held: dict[str, Any] = {}
    for name, known in fields.of(rows.record).items():
        if name == "batch_id":
            held[name] = pd.Series([batch_id] * len(positions), dtype="object")
        elif name == "file_row":
            held[name] = pd.array(rows.table.lines[positions], dtype="Int64")
        else:
            values = rows.values[name]
            if isinstance(values, Words):
                held[name] = pd.Series(values.take(positions).objects(), dtype=tables.frame_type(known))
            elif known.kind == "integer":
                held[name] = pd.array(values[positions], dtype="Float64").astype("Int64")
            else:
                held[name] = pd.Series(values[positions], dtype=tables.frame_type(known))
    tables.model(rows.record).validate(pd.DataFrame(held))


def _telling(rows: Rows) -> NDArray[np.int64]:
    good = rows.good()
    telling: list[NDArray[np.int64]] = [good[:1]]
    for name, known in fields.of(rows.record).items():
        values = rows.values.get(name)
        if values is None or not len(good):
            continue
        if isinstance(values, Words):
            codes = values.codes if len(good) == rows.count else values.codes[good]
            if known.kind == "choice":
                telling.append(good[_firsts(codes, len(values.words))])
            elif codes.min() < 0:
                telling.append(good[[codes.argmin()]])
        else:
            numbers = values if len(good) == rows.count else values[good]
            stated = ~np.isnan(numbers)
            if not stated.all():
                telling.append(good[[stated.argmin()]])
            if stated.any():
                telling.append(good[[np.nanargmin(numbers), np.nanargmax(numbers)]])
    return np.unique(np.concatenate(telling))


def _firsts(codes: NDArray[np.int32], count: int) -> NDArray[np.int64]:
    """Return the first place of each code, blanks among them."""
    places = np.full(count + 1, -1)
    places[codes[::-1]] = np.arange(len(codes))[::-1]
    return places[places >= 0]


@contextmanager
def staged(con: Connection, rows: Rows, batch_id: str) -> Iterator[list[str]]:
    """Offer the good rows as the relation `stage`, with the columns of the record's table, in their order.

    Parameters
    ----------
    con : an open store
    rows : prepared rows
    batch_id : ingest they belong to

    Yields
    ------
    list
        Names of the columns that hold anything.
    """
    import pandas as pd

    # Where every row is good the columns are handed over as they are, without a copy.
    good: NDArray[np.int64] | slice = slice(None) if not rows.refused else rows.good()
    lines = rows.table.lines[good]
    held: dict[str, Any] = {"file_row": lines}
    coded: dict[str, Sequence[Any]] = {}
    for name, known in fields.of(rows.record).items():
        if name == "batch_id":
            held[name] = pd.Categorical.from_codes(np.zeros(len(lines), np.int8), [batch_id])
        elif name != "file_row":
            values = rows.values[name]
            if not isinstance(values, Words):
                if not np.isnan(values[good]).all():
                    held[name] = values[good]
            elif known.kind in _APART and values.words:
                held[name], coded[name] = values.codes[good], values.words
            elif values.words:
                held[name] = _handed(values.take(good))
    with staging.staged(con, rows.record, held, coded):
        yield list(held)


def _handed(values: Words) -> Any:
    import pandas as pd

    if len(values.words) > _FEW:
        return values.objects()
    return pd.Categorical.from_codes(values.codes, list(values.words))
