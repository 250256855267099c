"""A list that is all its owner has: what is new beside the records held, what changed, and what is gone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from evener.schema import fields
from evener.schema.store.staging import STAGE

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

# Every list has a line and a source of its own; neither is a change of the machine.
_OF_THE_LIST = ("batch_id", "file_row", "source_id", "status", "estimated", "owner", "kind")


class Unit(NamedTuple):
    """One machine of a list: what names it, what it is called, and its price."""

    name: str
    label: str
    price: float | None


class Change(NamedTuple):
    """One machine of which the list says something else than the record: its price before and now, and which fields."""

    name: str
    label: str
    price_before: float | None
    price: float | None
    fields: tuple[str, ...]


def new(con: Connection, record: str) -> list[Unit]:
    """Return the staged rows of which there is no record."""
    key = fields.keys(record)[0]
    found = con.execute(
        f'SELECT stage."{key}", stage.label, stage.price FROM {STAGE} stage'
        f' WHERE stage."{key}" NOT IN (SELECT "{key}" FROM "{record}") ORDER BY 1'
    ).fetchall()
    return [Unit(*row) for row in found]


def changed(con: Connection, record: str) -> list[Change]:
    """Return the staged rows that say something else than the record of their name."""
    key = fields.keys(record)[0]
    compared = [name for name in fields.of(record) if name not in (*_OF_THE_LIST, key)]
    differs = ", ".join(
        f'CASE WHEN stage."{name}" IS DISTINCT FROM old."{name}" THEN \'{name}\' END' for name in compared
    )
    found = con.execute(
        f'SELECT stage."{key}", stage.label, old.price, stage.price,'
        f" list_filter([{differs}], lambda name: name IS NOT NULL) AS named"
        f' FROM {STAGE} stage JOIN "{record}" old ON stage."{key}" = old."{key}" WHERE len(named) > 0 ORDER BY 1'
    ).fetchall()
    return [Change(name, label, before, price, tuple(named)) for name, label, before, price, named in found]


def absent(con: Connection, record: str, whose: Sequence[tuple[str, str | None]], besides: Iterable[str]) -> list[Unit]:
    """Return the records of an owner that no staged row names.

    Parameters
    ----------
    con : a store with staged rows
    record : kind of record
    whose : fields and the values the owner's records have; None asks for a blank
    besides : names that stand on rows which were refused: these machines are not gone
    """
    key = fields.keys(record)[0]
    same = " AND ".join(f'old."{name}" IS NOT DISTINCT FROM ?' for name, _ in whose)
    found = con.execute(
        f'SELECT old."{key}", old.label, old.price FROM "{record}" old'
        f' WHERE {same} AND old."{key}" NOT IN (SELECT "{key}" FROM {STAGE})'
        f' AND NOT list_contains(?, old."{key}") ORDER BY 1',
        [*(value for _, value in whose), list(besides)],
    ).fetchall()
    return [Unit(*row) for row in found]


def take_out(con: Connection, record: str, names: Iterable[str], batch_id: str) -> None:
    """Move records that are gone into the history.

    Parameters
    ----------
    con : a store open for writing
    record : kind of record
    names : the records
    batch_id : ingest that found them gone
    """
    key = fields.keys(record)[0]
    con.execute(
        f'INSERT INTO history SELECT $1, old."{key}", old.batch_id, $2, to_json(old)'
        f' FROM "{record}" old WHERE list_contains($3, old."{key}")',
        [record, batch_id, list(names)],
    )
    con.execute(f'DELETE FROM "{record}" WHERE list_contains($1, "{key}")', [list(names)])
