"""Tables and models of the store, both derived from the nomenclature."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from evener.schema import fields
from evener.schema.fields import Field

STORE_VERSION = 10

_SQL_TYPES = {
    "text": "VARCHAR",
    "choice": "VARCHAR",
    "json": "VARCHAR",  # kept as text: a store must open where no extension is loaded
    # In the record's own row: what is superseded, undone or compared takes its certainty along.
    "certainty": "MAP(VARCHAR, STRUCT(kind VARCHAR, low DOUBLE, high DOUBLE, spread_pct DOUBLE, basis VARCHAR))",
    "number": "DOUBLE",
    "integer": "INTEGER",
    "flag": "BOOLEAN",
    "timestamp": "TIMESTAMP",
}
_FRAME_TYPES = {
    "text": "object",
    "choice": "object",
    "json": "object",
    "certainty": "object",
    "list": "object",
    "number": "float64",
    "integer": "Int64",
    "flag": "boolean",
    "timestamp": "datetime64[us]",
}


def sql_type(field: Field) -> str:
    """Return the column type of a field."""
    return f"{_SQL_TYPES[field.item or 'text']}[]" if field.kind == "list" else _SQL_TYPES[field.kind]


def _column(field: Field) -> str:
    words = [f'"{field.name}"', sql_type(field)]
    if field.required:
        words.append("NOT NULL")
    if field.kind == "number":
        # A plain comparison lets NaN and infinity through.
        words.append(f'CHECK (isfinite("{field.name}"))')
    return " ".join(words)


def ddl(record: str) -> str:
    """Return the statement that creates a record's table.

    There is no primary key: DuckDB refuses to delete and insert the same key in one transaction, which is how a
    correction supersedes. The ingest holds the keys apart.
    """
    columns = ",\n  ".join(_column(field) for field in fields.of(record).values())
    return f'CREATE TABLE "{record}" (\n  {columns}\n)'


def read_from_json(record: str, column: str) -> str:
    """Return the expression that reads a record back from a column of JSON, as a struct with the table's columns."""
    shape = json.dumps({one.name: _json_type(sql_type(one)) for one in fields.of(record).values()})
    return f"""from_json({column}, '{shape.replace("'", "''")}')"""


def _json_type(kind: str) -> str | list[str]:
    return [kind.removesuffix("[]")] if kind.endswith("[]") else kind


def frame_type(field: Field) -> str:
    """Return the pandas type that carries a field to the store."""
    return _FRAME_TYPES[field.kind]


@cache
def model(record: str) -> Any:
    """Return the pandera model of a record: types, bounds, choices and what may be blank.

    Returns
    -------
    pandera.DataFrameSchema
        Strict: exactly the columns of the table, in their order.
    """
    import pandera.pandas as pa

    def column(field: Field) -> Any:
        checks = []
        if field.kind in ("number", "integer"):
            # Infinity passes where there is no bound on its side.
            checks.append(pa.Check.gt(float("-inf")) if field.low is None else pa.Check.ge(field.low))
            checks.append(pa.Check.lt(float("inf")) if field.high is None else pa.Check.le(field.high))
        if field.kind == "choice":
            checks.append(pa.Check.isin(list(field.choices)))
        return pa.Column(frame_type(field), checks=checks, nullable=not field.required)

    columns = {field.name: column(field) for field in fields.of(record).values()}
    return pa.DataFrameSchema(columns, strict=True, ordered=True, name=record)
