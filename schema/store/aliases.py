"""Owners with their further names, and the records of one name brought under another."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from evener.schema import fields, tables
from evener.schema.identity import AT

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

RECORDS = ("tractor", "implement")


class Owner(NamedTuple):
    """An owner: further names, and how many tractors and implements there are."""

    owner: str
    also: tuple[str, ...]
    tractors: int
    implements: int


def aliases(con: Connection) -> dict[str, str]:
    """Return the owner that each further name means."""
    return dict(con.execute("SELECT alias, owner FROM owner_alias ORDER BY alias").fetchall())


def every(con: Connection) -> list[Owner]:
    """Return all owners, by name."""
    found = con.execute(
        "SELECT owner, count(*) FILTER (WHERE what = 'tractor'), count(*) FILTER (WHERE what = 'implement') FROM"
        " (SELECT owner, 'tractor' AS what FROM tractor UNION ALL SELECT owner, 'implement' FROM implement"
        " UNION ALL SELECT owner, '' FROM owner_alias)"
        " WHERE owner IS NOT NULL GROUP BY owner ORDER BY lower(owner), owner"
    ).fetchall()
    also = aliases(con)
    return [
        Owner(owner, tuple(alias for alias, meant in also.items() if meant == owner), tractors, implements)
        for owner, tractors, implements in found
    ]


def numbers(con: Connection, record: str, owner: str) -> dict[str, str]:
    """Return an owner's own numbers of his machines, with the ids they have.

    Parameters
    ----------
    con : an open store
    record : kind of record
    owner : the owner
    """
    key = fields.keys(record)[0]
    found = con.execute(f'SELECT "{key}" FROM "{record}" WHERE owner = $1 ORDER BY 1', [owner]).fetchall()
    return {name.removesuffix(f"{AT}{owner}"): name for (name,) in found}


def enter(con: Connection, alias: str, owner: str, batch_id: str) -> None:
    """Enter a further name of an owner.

    Parameters
    ----------
    con : a store open for writing
    alias : the further name
    owner : the owner
    batch_id : ingest it was said with
    """
    con.execute("DELETE FROM owner_alias WHERE alias = $1", [alias])
    con.execute("INSERT INTO owner_alias VALUES ($1, $2, $3)", [alias, owner, batch_id])


def bring_under(con: Connection, record: str, alias: str, owner: str, batch_id: str) -> int:
    """Bring the records of one name under an owner, the versions before into the history; return how many.

    Parameters
    ----------
    con : a store open for writing
    record : kind of record
    alias, owner : the name they have, and the owner they get
    batch_id : ingest that moves them
    """
    key = fields.keys(record)[0]
    con.execute(
        f'CREATE OR REPLACE TEMP TABLE moved AS SELECT "{key}" AS name, batch_id, file_row,'
        f' row_number() OVER (ORDER BY "{key}") AS place FROM "{record}" WHERE owner = $1',
        [alias],
    )
    ((count,),) = con.execute("SELECT count(*) FROM moved").fetchall()
    con.execute(
        f'INSERT INTO history SELECT $1, old."{key}", old.batch_id, $2, to_json(old) FROM "{record}" old'
        " WHERE old.owner = $3",
        [record, batch_id, alias],
    )
    con.execute(
        "INSERT INTO unplaced (batch_id, record, file_row, raw) SELECT $1, u.record, m.place, u.raw"
        " FROM moved m JOIN unplaced u ON u.batch_id = m.batch_id AND u.file_row = m.file_row AND u.record = $2",
        [batch_id, record],
    )
    con.execute(
        f'UPDATE "{record}" SET owner = $1, batch_id = $2, file_row = moved.place,'
        f' "{key}" = CASE WHEN ends_with("{key}", $3) THEN'
        f' concat(left("{key}", length("{key}") - length($3)), $4) ELSE "{key}" END'
        f' FROM moved WHERE "{record}"."{key}" = moved.name',
        [owner, batch_id, f"{AT}{alias}", f"{AT}{owner}"],
    )
    con.execute("DROP TABLE moved")
    return int(count)


_REMEMBERED = ("sender", "correction", "owner_alias")


def bring_memory(con: Connection, alias: str, owner: str, batch_id: str) -> None:
    """Let what is remembered of the lists of one name hold for an owner's, where his own were not settled otherwise.

    Parameters
    ----------
    con : a store open for writing
    alias, owner : the name it has, and the owner it gets
    batch_id : ingest it is brought with, which the history keeps it by
    """
    for table in _REMEMBERED:
        con.execute(
            f'INSERT INTO history SELECT $1, $2, coalesce(old.batch_id, $3), $3, to_json(old) FROM "{table}" old'
            " WHERE old.owner = $2",
            [table, alias, batch_id],
        )
    con.execute(
        "DELETE FROM sender WHERE owner = $1 AND (record, what, heading) IN"
        " (SELECT (record, what, heading) FROM sender WHERE owner = $2)",
        [alias, owner],
    )
    for table in _REMEMBERED:
        con.execute(f'UPDATE "{table}" SET owner = $1 WHERE owner = $2', [owner, alias])


def part_memory(con: Connection, batch_id: str) -> None:
    """Give back to a name what an ingest brought under another; what was settled since stays with the owner.

    Parameters
    ----------
    con : a store open for writing
    batch_id : ingest it was brought with
    """
    joined = con.execute("SELECT alias, owner FROM owner_alias WHERE batch_id = $1", [batch_id]).fetchall()
    for alias, owner in joined:
        for table in _REMEMBERED:
            same = " AND ".join(
                f'CAST(now."{name}" AS VARCHAR) IS NOT DISTINCT FROM CAST(v."{name}" AS VARCHAR)'
                for name in fields.of(table)
                if name != "owner"
            )
            kept = (
                f"SELECT unnest({tables.read_from_json(table, 'version')}) FROM history"
                " WHERE record = $1 AND key = $2 AND superseded_by = $3"
            )
            said = [table, alias, batch_id]
            con.execute(
                f'DELETE FROM "{table}" now WHERE now.owner = $4 AND EXISTS (SELECT 1 FROM ({kept}) v WHERE {same})',
                [*said, owner],
            )
            con.execute(f'INSERT INTO "{table}" BY NAME {kept}', said)
            con.execute("DELETE FROM history WHERE record = $1 AND key = $2 AND superseded_by = $3", said)
