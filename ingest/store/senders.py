"""A sender's lists are read as the last one was settled: headings, words, decimal mark, measures."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.ingest.columns.headers import Choice
from evener.ingest.columns.mappings import FileMapping
from evener.ingest.files.readers import Table
from evener.schema.store import connection as store
from evener.schema.store import copies, corrections, senders
from evener.schema.store.corrections import Correction
from evener.schema.store.senders import Remembered

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

COLUMN, VALUE, SETTING, DISMISSED = "column", "value", "setting", "dismissed"
_SETTINGS = ("decimal", "measures")
_USUAL = {"decimal": "", "measures": "us"}


def headings(con: Connection, owner: str | None, record: str) -> dict[str, Choice]:
    """Return what the headings of an owner's lists were settled to mean."""
    held = senders.of(con, owner, record)
    return {one.heading: Choice(*json.loads(one.said)) for one in held if one.what == COLUMN}


def recalled(con: Connection, table: Table, record: str, owner: str | None, said: FileMapping) -> FileMapping:
    """Return how a list is to be read: as is said for it, and where nothing is said, as its sender's last one was.

    Parameters
    ----------
    con : an open store
    table : the list
    record : kind of record
    owner : whose it is
    said : settled for this list
    """
    columns: dict[str, Choice] = {}
    values: dict[str, dict[str, str]] = {}
    settings: dict[str, Any] = {}
    for one in senders.of(con, owner, record):
        held = json.loads(one.said)
        if one.what == SETTING:
            settings[one.heading] = held
        elif one.what in (COLUMN, VALUE) and one.heading in table.headers:
            if one.what == COLUMN:
                columns[one.heading] = Choice(*held)
            else:
                values[one.heading] = held
    kept = {name: settings[name] for name in _SETTINGS if name in settings and getattr(said, name) == _USUAL[name]}
    return dataclasses.replace(said, columns={**columns, **said.columns}, values={**values, **said.values}, **kept)


def settled(record: str, owner: str | None, said: FileMapping, batch_id: str | None) -> Iterator[Remembered]:
    """Yield what a mapping settles, as it is remembered.

    Parameters
    ----------
    record : kind of record
    owner : whose the list is
    said : the mapping
    batch_id : ingest it was settled with
    """

    def one(what: str, heading: str, held: Any) -> Remembered:
        return Remembered(owner, record, what, heading, json.dumps(held, ensure_ascii=False), batch_id)

    for heading, choice in said.columns.items():
        yield one(COLUMN, heading, [choice.field, choice.unit, choice.engine])
    for heading, words in said.values.items():
        yield one(VALUE, heading, dict(words))
    for name in _SETTINGS:
        if getattr(said, name) != _USUAL[name]:
            yield one(SETTING, name, getattr(said, name))


def remembered(store_path: Path) -> list[Remembered]:
    """Return everything a store remembers of senders."""
    with store.open_read(store_path) as con:
        return senders.every(con)


def corrected(store_path: Path) -> list[Correction]:
    """Return the corrections by hand that hold in a store."""
    with store.open_read(store_path) as con:
        return corrections.holding(con)


def forget(store_path: Path, owner: str | None) -> int:
    """Forget what a store remembers of an owner's lists, corrections among it; return how many things there were."""
    copies.keep_previous(store_path)
    with store.open_write(store_path) as con:
        return senders.forget(con, owner) + corrections.forget(con, owner)
