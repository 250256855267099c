"""What the rating fits rest on, and the table that keeps them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import astuple, fields
from typing import TYPE_CHECKING, Any

import numpy as np

from evener.schema.records import RatingFit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evener.schema.store.engine import Connection


def read_rated(con: Connection, family: str, columns: Sequence[str]) -> dict[str, NDArray[np.float64]]:
    """Return sizes and rated PTO power of a family's records that state one; a store can hold a million of them.

    Parameters
    ----------
    con : an open store
    family : the family
    columns : sizes wanted, as the nomenclature names them

    Returns
    -------
    dict
        `rated_pto_power_kw` [kW] and each column [its unit], of shape (n,), NaN where not stated, ordered by id.
        Invented records, and ratings that are not stated outright, are left out.
    """
    shown = ", ".join(f'"{name}"' for name in dict.fromkeys([*columns, "rated_pto_power_kw"]))
    found = con.execute(
        f"SELECT {shown} FROM implement WHERE family = ? AND rated_pto_power_kw IS NOT NULL AND status <> 'invented'"
        " AND NOT coalesce(map_contains(estimated, 'rated_pto_power_kw'), false) ORDER BY implement_id",
        [family],
    ).fetchnumpy()
    return {name: np.ma.filled(np.ma.asarray(column, dtype=float), np.nan) for name, column in found.items()}


def replace_rating_fits(con: Connection, fits: Iterable[RatingFit]) -> None:
    """Rewrite the table of rating fits.

    Parameters
    ----------
    con : a store open for writing
    fits : all that there are
    """
    con.execute("DELETE FROM rating_fit")
    names = [one.name for one in fields(RatingFit)]
    for fit in fits:
        row: list[Any] = [list(value) if isinstance(value, tuple) else value for value in astuple(fit)]
        con.execute(f"INSERT INTO rating_fit ({', '.join(names)}) VALUES ({', '.join('?' for _ in names)})", row)
