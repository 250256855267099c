"""What the models of ratings rest on, and the table that keeps them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from evener.schema import fields

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evener.schema.store.engine import Connection

_REAL = "implement.status <> 'invented'"


def marks(con: Connection) -> dict[str, str]:
    """Return per family a mark of its records and of the verdicts on them; it changes when one of them does."""
    rows = con.execute(
        f"""
        SELECT family, count(*), bit_xor(hash(implement)), bit_xor(hash(verdict))
        FROM implement LEFT JOIN verdict USING (implement_id) WHERE {_REAL} GROUP BY family
        """
    ).fetchall()
    return {family: f"{count}/{records}/{judged}" for family, count, records, judged in rows}


def read_family(con: Connection, family: str, numbers: Sequence[str], words: Sequence[str]) -> dict[str, NDArray[Any]]:
    """Return columns of a family's records, ordered by id; a store can hold a million of them.

    Parameters
    ----------
    con : an open store
    family : the family; its invented records are left out
    numbers : fields wanted as numbers; NaN where not stated, and where a value is only an estimate
    words : fields wanted as words; None where not stated

    Returns
    -------
    dict
        `implement_id` and each field, of shape (n,).
    """
    known = [
        f'CASE WHEN map_contains(estimated, \'{name}\') THEN NULL ELSE "{name}" END AS "{name}"' for name in numbers
    ]
    shown = ", ".join(['"implement_id"', *known, *(f'"{name}"' for name in words)])
    found = con.execute(
        f"SELECT {shown} FROM implement WHERE family = ? AND {_REAL} ORDER BY implement_id", [family]
    ).fetchnumpy()
    columns: dict[str, NDArray[Any]] = {}
    for name, column in found.items():
        masked = np.ma.asarray(column)
        if name in numbers:
            columns[name] = np.array(np.ma.filled(masked.astype(float), np.nan))
            continue
        held: Any = np.asarray(masked.data, object).copy()
        held[np.ma.getmaskarray(masked)] = None
        columns[name] = held
    return columns


def kept_marks(con: Connection) -> dict[str, str]:
    """Return per family that has a model what that rests on."""
    return dict(con.execute("SELECT family, any_value(rests_on) FROM rating_model GROUP BY family").fetchall())


def count(con: Connection, quantity: str) -> int:
    """Return how many families have a model of a quantity [1]."""
    ((found,),) = con.execute("SELECT count(*) FROM rating_model WHERE quantity = ?", [quantity]).fetchall()
    return int(found)


def replace(con: Connection, family: str, rows: Sequence[Mapping[str, Any]]) -> None:
    """Write the models of one family in the place of those it had.

    Parameters
    ----------
    con : a store open for writing
    family : the family
    rows : one per quantity, by field
    """
    con.execute("DELETE FROM rating_model WHERE family = ?", [family])
    names = list(fields.of("rating_model"))
    for row in rows:
        con.execute(
            f"INSERT INTO rating_model ({', '.join(names)}) VALUES ({', '.join('?' for _ in names)})",
            [row[name] for name in names],
        )
