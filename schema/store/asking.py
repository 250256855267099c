"""Questions in SQL, asked in a process that can be stopped: the one door for `query`, and for --where everywhere."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, NamedTuple

from evener.schema.store import connection as store
from evener.schema.store import sandbox

SECONDS = 30.0
START_UP_S = 10.0


class Stopped(store.StoreError):
    """A question that was not answered; the text says why."""

    exit_status = 2


class Rows(NamedTuple):
    """The answer to one question: names and types of the columns, values as JSON has them, and whether it was cut."""

    columns: list[str]
    types: list[str]
    rows: list[list[Any]]
    cut: bool


def ask(path: Path, sql: str, *, most: int, seconds: float = SECONDS) -> Rows:
    """Answer one SELECT on a store, read-only and locked, within limits of memory, time and rows.

    Parameters
    ----------
    path : the store
    sql : one SELECT, or a plain EXPLAIN of one
    most : rows wanted at most [1]
    seconds : longest it may take [s]

    Raises
    ------
    evener.schema.store.connection.StoreError
        The question is refused or was stopped, or the path holds no store that can be read.
    """
    answer = _run({"what": "rows", "store": str(path), "sql": sql, "most": most, "seconds": seconds, "target": None})
    return Rows(answer["columns"], answer["types"], answer["rows"], answer["cut"])


def ask_to_parquet(path: Path, sql: str, target: Path, *, most: int, seconds: float = SECONDS) -> tuple[int, bool]:
    """Write the answer to one SELECT to an empty file; return how many rows, and whether there were more.

    Parameters
    ----------
    path : the store
    sql : one SELECT
    target : the file; nothing else can be written
    most : rows wanted at most [1]
    seconds : longest it may take [s]

    Raises
    ------
    evener.schema.store.connection.StoreError
        As `ask`.
    """
    request = {"what": "rows", "store": str(path), "sql": sql, "most": most, "seconds": seconds, "target": str(target)}
    answer = _run(request)
    return answer["written"], answer["cut"]


def keys_where(path: Path, record: str, condition: str, *, seconds: float = SECONDS) -> set[str]:
    """Return what names the records of one kind that meet a condition on their fields.

    Parameters
    ----------
    path : the store
    record : kind of record, as the nomenclature names it
    condition : one SQL expression; stored field names, or their names in US units
    seconds : longest it may take [s]

    Raises
    ------
    evener.schema.store.connection.StoreError
        As `ask`.
    """
    request = {"what": "keys", "store": str(path), "record": record, "sql": condition, "seconds": seconds}
    return set(_run({**request, "target": None})["keys"])


def _run(request: dict[str, Any]) -> dict[str, Any]:
    # The process that answers may write nothing, so an older store is brought up to date here.
    store.bring_up_to_date(Path(request["store"]))
    seconds = request["seconds"]
    try:
        content = json.dumps(request).encode()
        answer = sandbox.run("evener.schema.store.query_child", content, seconds=seconds + START_UP_S)
    except sandbox.TookTooLong:
        raise Stopped(_too_long(seconds)) from None
    except sandbox.Ended as said:
        raise Stopped(f"the question ended its process ({said}); most often it asks for too much memory.") from None
    if "refused" in answer:
        error = Stopped(answer["refused"])
        error.exit_status = answer["exit_status"]  # type: ignore[misc]
        raise error
    return answer


def _too_long(seconds: float) -> str:
    return f"the question took longer than {seconds:g} s and was stopped. Ask for less; query takes more --seconds."
