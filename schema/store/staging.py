"""Rows on their way into a table: columns handed over whole and offered as the relation `stage`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from evener.schema import fields, tables
from evener.schema.fields import Field

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

STAGE = "stage"
_FRAME = "stage_columns"


@contextmanager
def staged(
    con: Connection, record: str, columns: Mapping[str, Any], coded: Mapping[str, Sequence[Any]]
) -> Iterator[None]:
    """Offer rows as the relation `stage`, with the columns of the record's table, in their order.

    Parameters
    ----------
    con : an open store
    record : kind of record
    columns : by field, its values as an array or a categorical; fields left out are blank
    coded : by field of lists or certainties, the values that its column's codes stand for; a certainty as JSON
    """
    import numpy as np
    import pandas as pd

    known = fields.of(record)
    shown = [f'{_shown(one, one.name in columns, one.name in coded)} AS "{one.name}"' for one in known.values()]
    joins = [f'LEFT JOIN "{name}_coded" ON f."{name}" = "{name}_coded".code' for name in coded]
    con.register(_FRAME, pd.DataFrame(dict(columns), copy=False))
    for name, values in coded.items():
        kind = tables.sql_type(known[name])
        given = f"from_json(held, '\"{kind}\"')" if known[name].kind == "certainty" else "held"
        held = pd.DataFrame({"code": np.arange(len(values)), "held": pd.Series(list(values), dtype="object")})
        con.register(f"{name}_held", held)
        con.execute(
            f'CREATE TEMP TABLE "{name}_coded" AS SELECT code, CAST({given} AS {kind}) AS held FROM "{name}_held"'
        )
        con.unregister(f"{name}_held")
    con.execute(f"CREATE TEMP VIEW {STAGE} AS SELECT {', '.join(shown)} FROM {_FRAME} f {' '.join(joins)}")
    try:
        yield
    finally:
        con.execute(f"DROP VIEW IF EXISTS {STAGE}")
        con.unregister(_FRAME)
        for name in coded:
            con.execute(f'DROP TABLE IF EXISTS "{name}_coded"')


def _shown(known: Field, held: bool, coded: bool) -> str:
    if not held:
        return f"CAST(NULL AS {tables.sql_type(known)})"
    if coded:
        return f'"{known.name}_coded".held'
    return f'f."{known.name}"' if known.kind == "number" else f'CAST(f."{known.name}" AS {tables.sql_type(known)})'
