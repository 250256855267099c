"""A Parquet file into rows of cells, in a process of its own.

Run as a module it reads a Parquet file on standard input; `evener.ingest.files.guarded` starts it so.
"""

from __future__ import annotations

import datetime as dt
import decimal
import tempfile
from pathlib import Path
from typing import Any

from evener.ingest.ceilings import MOST_TYPED_CELLS
from evener.ingest.files import guarded
from evener.ingest.files.grids import MOST_COLUMNS, NoTable
from evener.schema.store import connection as store
from evener.schema.store import parquet

MAGIC = b"PAR1"
_KEPT = frozenset(
    {"BOOLEAN", "TINYINT", "SMALLINT", "INTEGER", "BIGINT", "UTINYINT", "USMALLINT", "UINTEGER", "UBIGINT"}
    | {"DOUBLE", "VARCHAR", "DATE", '"NULL"'}
)


def read_rows(content: bytes) -> dict[str, Any]:
    """Return the headings and rows of a Parquet file.

    Parameters
    ----------
    content : the file's bytes

    Raises
    ------
    NoTable
        It cannot be read, or holds columns that no list has.
    """
    return guarded.run("evener.ingest.files.parquet", content)


def _found(content: bytes) -> dict[str, Any]:
    # The library reads files only, so the bytes go into one whose name cannot mean another.
    with tempfile.TemporaryDirectory(prefix="evener-") as folder:
        path = Path(folder) / "rows.parquet"
        path.write_bytes(content)
        with store.open_scratch(path) as con:
            return _rows(con, path)


def _rows(con: Any, path: Path) -> dict[str, Any]:
    try:
        columns = parquet.columns(con, path)
        if len(columns) > MOST_COLUMNS:
            raise NoTable(f"has {len(columns)} columns; the most that is read is {MOST_COLUMNS}.")
        count = parquet.count(con, path)
        if count * len(columns) > MOST_TYPED_CELLS:
            told = (
                f"has {count:,} rows of {len(columns)} columns; the most that is read at once is {MOST_TYPED_CELLS:,}"
            )
            raise NoTable(f"{told} cells. Part it, or save it as CSV.")
        for name, kind in columns:
            _check_kind(name, kind)
        kinds = dict(columns)
        rows = parquet.rows(con, path, list(kinds), short=lambda name: kinds[name] == "FLOAT")
    except store.database_errors() as error:
        reason = str(error).splitlines()[0].replace(f"'{path}'", "it")
        raise NoTable(f"cannot be read as Parquet ({reason}). Write it again.") from None
    return {"headings": list(kinds), "rows": [[_plain(cell) for cell in row] for row in rows]}


def _check_kind(name: str, kind: str) -> None:
    scalar = kind.removesuffix("[]")
    if kind != "FLOAT" and scalar not in _KEPT and not scalar.startswith(("DECIMAL", "TIMESTAMP")):
        raise NoTable(f"has a column {name!r} of {kind}, which no field holds. Leave it out or write it as text.")


def _plain(cell: Any) -> Any:
    if isinstance(cell, list):
        return [_plain(one) for one in cell]
    if isinstance(cell, decimal.Decimal):
        return float(cell)
    return str(cell) if isinstance(cell, dt.date) else cell


if __name__ == "__main__":
    guarded.serve(_found)
