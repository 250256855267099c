"""Text that no field takes, and of cells that were left unknown, kept beside the rows that were loaded."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from evener.ingest.columns.headers import OWN_HEADING, Match
from evener.ingest.rows.rows import Rows
from evener.ingest.text.texts import Texts
from evener.schema.store import connection as store

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection


def keep(con: Connection, rows: Rows, batch_id: str, unchanged: set[int]) -> None:
    """Keep what the loaded rows say in columns that no field takes.

    Parameters
    ----------
    con : a store open for writing
    rows : prepared rows
    batch_id : ingest they belong to
    unchanged : lines of the rows that were not loaded, since the store held them
    """
    good = rows.good()
    kept = [(one.header, rows.table.columns[one.position].take(good)) for one in rows.matches if _is_strange(one)]
    kept += [
        (one.header, _only(rows.table.columns[one.position], rows.unread[one.field.name]).take(good))
        for one in rows.matches
        if one.field is not None and one.field.name in rows.unread
    ]
    if not kept or not len(good):
        return
    columns = [column for _, column in kept]
    combined, which = np.unique(np.stack([column.codes for column in columns]), axis=1, return_inverse=True)
    texts = []
    for codes in combined.T.tolist():
        said = {
            heading: column.distinct[code].strip()
            for (heading, column), code in zip(kept, codes, strict=True)
            if column.distinct[code].strip()
        }
        texts.append(json.dumps(said, ensure_ascii=False) if said else None)
    lines = rows.table.lines[good].tolist()
    held = [
        (line, texts[place])
        for line, place in zip(lines, which.reshape(-1).tolist(), strict=True)
        if texts[place] is not None and line not in unchanged
    ]
    if held:
        at, raw = zip(*held, strict=True)
        store.append(
            con,
            "unplaced",
            {"batch_id": [batch_id] * len(at), "record": [rows.record] * len(at), "file_row": at, "raw": raw},
        )


def _is_strange(one: Match) -> bool:
    return one.field is None and not one.header.startswith(OWN_HEADING)


def _only(column: Texts, rows: NDArray[np.bool_]) -> Texts:
    """Return a column that is blank but on some rows."""
    return Texts(np.where(rows, column.codes, column.distinct_count).astype(np.int32), [*column.distinct, ""])
