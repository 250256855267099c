"""Refused rows that came back corrected: what a person put right is remembered against the owner's next list."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from evener.ingest.columns.headers import OWN_HEADING
from evener.ingest.rows.correction import plain, telling
from evener.ingest.store.quarantine import BATCH, LINE
from evener.ingest.text.held_values import Words
from evener.schema import certainty, fields
from evener.schema.store import refused
from evener.schema.store.corrections import Correction

if TYPE_CHECKING:
    from evener.ingest.files.readers import Table
    from evener.ingest.rows.rows import Rows
    from evener.schema.store.engine import Connection

_WHY = "corrected in the list of refused rows"
Before = Mapping[tuple[str, str], refused.Waiting]


def waiting_for(con: Connection, table: Table, record: str) -> Before:
    """Return the rows that a list written out for correction answers, by ingest and line.

    Parameters
    ----------
    con : an open store
    table : the list
    record : kind of record
    """
    if BATCH not in table.headers or LINE not in table.headers:
        return {}
    return {(one.batch_id, str(one.file_row)): one for one in refused.waiting(con, record=record)}


def corrected(rows: Rows, before: Before, batch_id: str) -> Iterator[Correction]:
    """Yield what loaded rows of a corrected list say otherwise than the rows that were refused.

    Parameters
    ----------
    rows : prepared rows of the corrected list
    before : from `waiting_for`, before the list was loaded
    batch_id : ingest of the corrected list
    """
    if not before:
        return
    named = {header: place for place, header in enumerate(rows.table.headers)}
    key = fields.keys(rows.record)[0]
    for position in rows.good().tolist():
        told = (rows.table.columns[named[BATCH]][position].strip(), rows.table.columns[named[LINE]][position].strip())
        waited = before.get(told)
        if waited is None:
            continue
        raw, mapping = json.loads(waited.raw), json.loads(waited.mapping)
        changed = [
            one
            for one in rows.matches
            if one.field is not None
            and one.field.name not in ("owner", "kind")
            and not one.header.startswith(OWN_HEADING)
            and one.header in raw
            and plain(raw[one.header]) != plain(rows.table.columns[named[one.header]][position])
        ]
        names = [raw[heading].strip() for heading, said in mapping.items() if said[0] == key and heading in raw]
        number = (
            names[0] if names and names[0] and key not in {one.field.name for one in changed if one.field} else None
        )
        row = None if number else json.dumps(telling(raw, mapping), ensure_ascii=False)
        for one in changed:
            name = one.field.name if one.field else ""
            was = json.dumps({"text": raw[one.header]}, ensure_ascii=False)
            said = json.dumps(_said(rows, name, position), ensure_ascii=False)
            owner = _at(rows, "owner", position)
            yield Correction(owner, rows.record, number, row, name, was, said, _WHY, batch_id)


def _said(rows: Rows, name: str, position: int) -> dict[str, Any]:
    text = _at(rows, "estimated", position)
    sure = certainty.read(json.loads(text)).get(name) if text else None
    typed = json.loads(certainty.text({name: sure}) or "{}").get(name) if sure is not None else None
    return {"value": _at(rows, name, position), **({"sure": typed} if typed else {})}


def _at(rows: Rows, name: str, position: int) -> Any:
    values = rows.values.get(name)
    if values is None:
        return None
    if isinstance(values, Words):
        return values[position]
    return None if np.isnan(values[position]) else float(values[position])
