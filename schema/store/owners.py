"""Whose a machine is: names that two owners use, owners under two spellings, and near copies of another's machine."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from evener.schema import fields
from evener.schema.identity import AT
from evener.schema.store.staging import STAGE

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

# What tells one machine from another of its kind; a copy has them all alike.
_TELLING = {
    "tractor": ("label", "model_year", "meter_hours_h", "engine_power_kw", "pto_power_kw", "mass_kg"),
    "implement": ("label", "family", "model_year", "working_width_m", "rated_pto_power_kw", "mass_kg"),
}
_FEWEST_ALIKE = 4


class NearCopy(NamedTuple):
    """A staged row that is alike a machine of another owner: its line and name, and that machine with its owner."""

    line: int
    name: str
    other: str
    owner: str | None


def owners(con: Connection) -> set[str]:
    """Return the owners of tractors and implements."""
    found = con.execute(
        "SELECT owner FROM tractor WHERE owner IS NOT NULL UNION SELECT owner FROM implement WHERE owner IS NOT NULL"
    ).fetchall()
    return {owner for (owner,) in found}


def shared_numbers(con: Connection, record: str) -> list[tuple[int, str]]:
    """Return the staged rows whose number another owner's machine has, or that are held with their owner: line, owner.

    Parameters
    ----------
    con : a store with staged rows
    record : kind of record
    """
    key = fields.keys(record)[0]
    other_kind = "old.kind <> 'class' AND" if "kind" in fields.of(record) else ""
    return con.execute(
        f'SELECT stage.file_row, stage.owner FROM {STAGE} stage JOIN "{record}" old ON stage."{key}" = old."{key}"'
        f" WHERE {other_kind} stage.owner IS NOT NULL AND old.owner IS NOT NULL AND stage.owner <> old.owner"
        f' UNION SELECT stage.file_row, stage.owner FROM {STAGE} stage JOIN "{record}" old'
        f' ON old."{key}" = concat(stage."{key}", \'{AT}\', stage.owner) WHERE old.owner = stage.owner ORDER BY 1'
    ).fetchall()


def bare_numbers(con: Connection, record: str) -> list[tuple[int, str]]:
    """Return the staged rows named with their owner whose machine the store holds bare: line, number.

    Parameters
    ----------
    con : a store with staged rows
    record : kind of record
    """
    key = fields.keys(record)[0]
    return con.execute(
        f'SELECT stage.file_row, old."{key}" FROM {STAGE} stage JOIN "{record}" old'
        f' ON stage."{key}" = concat(old."{key}", \'{AT}\', old.owner) WHERE old.owner = stage.owner ORDER BY 1'
    ).fetchall()


def near_copies(con: Connection, record: str) -> list[NearCopy]:
    """Return the new staged rows that are alike a machine under another name or owner in all that both state.

    Parameters
    ----------
    con : a store with staged rows
    record : kind of record
    """
    if record not in _TELLING:
        return []
    key, names = fields.keys(record)[0], _TELLING[record]
    alike = " + ".join(f'CAST(coalesce(stage."{name}" = old."{name}", false) AS INTEGER)' for name in names)
    differs = " OR ".join(f'coalesce(stage."{name}" <> old."{name}", false)' for name in names)
    # A yard may have twins; only the hours on the meter tell that two numbers of one owner are one machine.
    hours = "coalesce(stage.meter_hours_h = old.meter_hours_h, false)" if record == "tractor" else "false"
    apart = f"(stage.owner IS DISTINCT FROM old.owner OR {hours})"
    real = "old.kind <> 'class'" if "kind" in fields.of(record) else "old.owner IS NOT NULL"
    found = con.execute(
        f'SELECT stage.file_row, stage."{key}", min(old."{key}"), arg_min(old.owner, old."{key}")'
        f' FROM {STAGE} stage JOIN "{record}" old ON stage.label = old.label'
        f' WHERE {real} AND {apart} AND stage."{key}" <> old."{key}" AND {alike} >= {_FEWEST_ALIKE} AND NOT ({differs})'
        f' AND stage."{key}" NOT IN (SELECT "{key}" FROM "{record}") GROUP BY ALL ORDER BY 1'
    ).fetchall()
    return [NearCopy(*row) for row in found]
