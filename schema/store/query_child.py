"""The process that answers one question in SQL, with limits of its own, so that no question can harm the command.

It reads one request as JSON from stdin and writes one answer as JSON to stdout. The database's own limits do not hold
everywhere: a function that makes one long text ignores its memory limit, and one that sleeps ignores its clock.
"""

from __future__ import annotations

import json
import math
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

from evener.schema.store import connection as store
from evener.schema.store import query, sandbox

MEMORY_LIMIT = "1GB"
ADDRESS_SPACE = 3 << 30
LARGEST_ANSWER = 64 << 20
LARGEST_FILE = 4 << 30
DIGITS_OF_FLOAT = 15


def main() -> None:
    """Answer the request on stdin."""
    request = json.load(sys.stdin)
    file_size = LARGEST_FILE if request["target"] else 0
    sandbox.hold(memory=ADDRESS_SPACE, file_size=file_size, wall_seconds=request["seconds"] + 1)
    try:
        text = json.dumps(_answer(request), ensure_ascii=True, allow_nan=False)
        if len(text) > LARGEST_ANSWER:
            raise query.QueryRefused(
                f"the answer is larger than {LARGEST_ANSWER >> 20} MB. Ask for fewer rows or columns."
            )
    except store.StoreError as error:
        text = json.dumps({"refused": str(error), "exit_status": error.exit_status})
    except MemoryError:
        text = json.dumps({"refused": "the answer takes more memory than it may have. Ask for less.", "exit_status": 2})
    except (ValueError, OverflowError, RecursionError) as error:
        text = json.dumps({"refused": f"the answer holds a value that cannot be shown: {error}", "exit_status": 2})
    sys.stdout.write(text)
    sys.stdout.flush()


def _answer(request: dict[str, Any]) -> dict[str, Any]:
    target = Path(request["target"]) if request["target"] else None
    limit_ms = max(1, round(1000 * request["seconds"]))
    with store.open_read(Path(request["store"]), memory_limit=MEMORY_LIMIT, limit_ms=limit_ms, may_write=target) as con:
        if request["what"] == "keys":
            return {"keys": query.keys_where(con, request["record"], request["sql"])}
        if target is not None:
            written, cut = query.select_to_parquet(con, request["sql"], most=request["most"], target=target)
            return {"written": written, "cut": cut}
        answer = query.select(con, request["sql"], most=request["most"])
    return {
        "columns": answer.columns,
        "types": answer.types,
        "rows": [[_without_folder(_plain(value), Path(request["store"])) for value in row] for row in answer.rows],
        "cut": answer.cut,
    }


def _without_folder(value: Any, path: Path) -> Any:
    """Return a value in which the store has its bare name: the database's own tables tell the folder it is in."""
    if isinstance(value, list):
        return [_without_folder(one, path) for one in value]
    for whole in (str(path.absolute()), str(path.resolve())):
        value = value.replace(whole, path.name) if isinstance(value, str) else value
    return value


def _plain(value: Any) -> Any:
    """Return a value as JSON has it; what JSON lacks becomes its text, so that no number is made up."""
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, Decimal) and len(value.as_tuple().digits) <= DIGITS_OF_FLOAT:
        value = float(value)
    if isinstance(value, float):
        return value if math.isfinite(value) else str(value)
    if isinstance(value, bytes):
        return value.hex()
    if isinstance(value, dict):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value.isoformat() if hasattr(value, "isoformat") else str(value)


if __name__ == "__main__":
    main()
