"""Shape 3: how sure a value is, until now words in JSON, becomes typed values in the record's row."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import TYPE_CHECKING

from evener.schema import certainty

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

_TYPE = "MAP(VARCHAR, STRUCT(kind VARCHAR, low DOUBLE, high DOUBLE, spread_pct DOUBLE, basis VARCHAR))"
_RECORDS = ("tractor", "implement")


def migrate(con: Connection) -> None:
    """Turn `estimated` of tractors and implements, and of the versions of them that were superseded."""
    for record in _RECORDS:
        _turn(con, record, "estimated", _typed)
        typed = f"CAST(from_json(estimated, '\"{_TYPE}\"') AS {_TYPE})"
        con.execute(f"ALTER TABLE {record} ALTER estimated TYPE {_TYPE} USING {typed}")
    _turn(con, "history", "version", _version)


def _turn(con: Connection, table: str, column: str, turned: Callable[[str], str | None]) -> None:
    """Rewrite each distinct text of a column."""
    found = con.execute(f"SELECT DISTINCT {column} FROM {table} WHERE {column} IS NOT NULL").fetchall()
    before = [text for (text,) in found]
    con.execute(
        f"UPDATE {table} SET {column} = pair.after FROM (SELECT unnest($1) AS before, unnest($2) AS after) pair"
        f" WHERE {column} = pair.before",
        [before, [turned(text) for text in before]],
    )


def _typed(words: str) -> str | None:
    return certainty.text(certainty.read(json.loads(words)))


def _version(text: str) -> str:
    held = json.loads(text)
    if held.get("estimated"):
        held["estimated"] = json.loads(_typed(held["estimated"]) or "null")
    return json.dumps(held, ensure_ascii=False)
