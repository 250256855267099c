"""A Parquet file as the database reads it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection


def columns(con: Connection, path: Path) -> list[tuple[str, str]]:
    """Return the columns of a file, with the database's type of each.

    Parameters
    ----------
    con : from `open_scratch`, for this file
    path : the file
    """
    found = con.execute("DESCRIBE SELECT * FROM read_parquet(?)", [str(path)]).fetchall()
    return [(name, kind) for name, kind, *_ in found]


def count(con: Connection, path: Path) -> int:
    """Return how many rows a file has [1]."""
    ((rows,),) = con.execute("SELECT count(*) FROM read_parquet(?)", [str(path)]).fetchall()
    return int(rows)


def rows(con: Connection, path: Path, names: Sequence[str], *, short: Callable[[str], bool]) -> list[tuple[Any, ...]]:
    """Return the rows of a file.

    Parameters
    ----------
    con : from `open_scratch`, for this file
    path : the file
    names : columns wanted
    short : tells which columns hold numbers of single precision; the shortest text of such a number has the figures
        that were stored, its double has ten more
    """
    quoted = {name: '"' + name.replace('"', '""') + '"' for name in names}
    shown = [f"CAST(CAST({quoted[name]} AS VARCHAR) AS DOUBLE)" if short(name) else quoted[name] for name in names]
    return con.execute(f"SELECT {', '.join(shown)} FROM read_parquet(?)", [str(path)]).fetchall()
