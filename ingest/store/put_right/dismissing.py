"""Refused rows that are no machines: dismissed by hand, and not asked again while the list says the same."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from evener.ingest import findings
from evener.ingest.files.readers import Table
from evener.ingest.finding import listed
from evener.ingest.rows.by_hand import rows_like
from evener.ingest.rows.correction import plain, telling
from evener.ingest.store.put_right.by_hand import enter
from evener.ingest.store.senders import DISMISSED
from evener.schema.store import batches as entries
from evener.schema.store import connection as store
from evener.schema.store import copies, refused, senders
from evener.schema.store.senders import Remembered

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection


class CannotDismiss(Exception):
    """Rows that do not wait; the text says what to type."""

    exit_status: ClassVar[int] = 2


def dismiss(store_path: Path, batch_id: str, lines: Sequence[int], *, why: str = "") -> str:
    """Say that refused rows are no machines, and return the ingest that holds it, to be undone.

    Parameters
    ----------
    store_path : the store
    batch_id : ingest that refused them
    lines : lines of its file
    why : the reason, where there is one to tell

    Raises
    ------
    CannotDismiss
        No such row waits; nothing was changed.
    evener.schema.store.connection.StoreError
        The store cannot be used; nothing was changed.
    """
    store.check_writable(store_path)
    copies.keep_previous(store_path)
    with store.open_write(store_path) as con:
        waits = {one.file_row: one for one in refused.waiting(con, batch_id=batch_id)}
        absent = [line for line in lines if line not in waits]
        if absent or not lines:
            said = f"line {absent[0]} of {batch_id}" if absent else batch_id
            raise CannotDismiss(f"no refused row waits at {said}. See: evener list quarantine.")
        made = entries.next_batch(con)
        some = [waits[line] for line in dict.fromkeys(lines)]
        told = json.dumps(why.strip() or "no machine", ensure_ascii=False)
        senders.remember(
            con,
            [Remembered(one.owner, one.record, DISMISSED, _text(one), told, made) for one in some],
        )
        for one in some:
            refused.settle(con, batch_id, one.file_row, made)
        enter(con, some[0].record, made, owner=some[0].owner)
    return made


def _text(one: refused.Waiting) -> str:
    return json.dumps(telling(json.loads(one.raw), json.loads(one.mapping)), ensure_ascii=False)


def without(con: Connection, table: Table, record: str, owner: str | None) -> Table:
    """Return a list without the rows that were dismissed before, which is told.

    Parameters
    ----------
    con : an open store
    table : the list
    record : kind of record
    owner : whose it is
    """
    dismissed = [json.loads(one.heading) for one in senders.of(con, owner, record) if one.what == DISMISSED]
    if not dismissed:
        return table
    keep = np.ones(len(table.lines), bool)
    beyond = {line for line, cells in table.refused.items() if _cells(cells) in dismissed}
    for row in dismissed:
        keep[rows_like(table, row)] = False
    if keep.all() and not beyond:
        return table
    lines = sorted({*table.lines[~keep].tolist(), *beyond})
    told = findings.DismissedRows(values={"lines": f"line{'' if len(lines) == 1 else 's'} {listed(lines)}"})
    return dataclasses.replace(
        table,
        columns=tuple(column.take(keep) for column in table.columns),
        lines=table.lines[keep],
        refused={line: cells for line, cells in table.refused.items() if line not in beyond},
        findings=(*(one for one in table.findings if one.row not in beyond), told),
    )


def _cells(cells: Sequence[str]) -> Mapping[str, str]:
    return {f"cell {place}": plain(text) for place, text in enumerate(cells, 1)}
