"""`evener query`: one question in SQL to the store, locked and read-only."""

from __future__ import annotations

import contextlib
import io
import json
import sys
from pathlib import Path
from typing import Any

from evener.cli.analyst import guarded
from evener.cli.options import Answer
from evener.cli.output import exports, render
from evener.cli.store import stores

SUFFIXES = {".csv": Answer.csv, ".json": Answer.json, ".parquet": Answer.parquet, ".md": Answer.markdown}
ON_SCREEN, IN_FILE = 200, 100_000
WIDEST_CELL = 200


def query(path: Path, sql: str, *, most: int = IN_FILE, seconds: float = guarded.SECONDS) -> dict[str, Any]:
    """Answer one SELECT on a store, and return the keys of the JSON contract.

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
    found = guarded.ask(path, sql, most=most, seconds=seconds)
    return {
        "schema": 1,
        "columns": [{"name": name, "type": kind} for name, kind in zip(found.columns, found.types, strict=True)],
        "rows": [dict(zip(found.columns, row, strict=True)) for row in found.rows],
        "cut": found.cut,
    }


def run(
    sql: str, *, output: Answer | None, out: Path | None, most: int | None, seconds: float, store: Path | None
) -> int:
    """Print or write the answer; return 0, or 1 where there is none or it was cut."""
    shape = output or SUFFIXES.get(out.suffix.casefold() if out else "", Answer.table)
    if shape is Answer.parquet and out is None:
        render.complain("Parquet goes to a file: add --out FILE")
        return 2
    path = stores.ensure_library_store(store)
    limit = most or (ON_SCREEN if shape in (Answer.table, Answer.markdown) else IN_FILE)
    if shape is Answer.parquet and out is not None:
        with exports.written(out, path) as unfinished:
            count, cut = guarded.ask_to_parquet(path, sql, unfinished, most=limit, seconds=seconds)
    else:
        answer = query(path, sql, most=limit, seconds=seconds)
        count, cut = len(answer["rows"]), answer["cut"]
        if out is None:
            _print(answer, shape)
        else:
            text = io.StringIO()
            with contextlib.redirect_stdout(text):
                _print(answer, shape)
            with exports.written(out, path) as unfinished:
                unfinished.write_text(text.getvalue(), encoding="utf-8")
    if out is not None:
        sys.stderr.write(f"evener: {count:,} row{'' if count == 1 else 's'} written to {out}\n")
    if cut:
        render.complain(f"there are more rows than {limit:,}, and these were left out; ask for them with --rows")
    return 1 if cut or not count else 0


def _print(answer: dict[str, Any], shape: Answer) -> None:
    names = [column["name"] for column in answer["columns"]]
    if shape is Answer.json:
        render.json_out(answer)
    elif shape is Answer.csv:
        flat = [{name: _flat(value) for name, value in row.items()} for row in answer["rows"]]
        render.csv_out(flat, names)
    else:
        page = render.Page(markdown=shape is Answer.markdown)
        numbers = {
            place
            for place, name in enumerate(names)
            if all(isinstance(row[name], int | float) or row[name] is None for row in answer["rows"])
        }
        if answer["columns"] and answer["columns"][-1]["name"] == "explain_value":
            sys.stdout.write("\n".join(_lines(row["explain_value"]) for row in answer["rows"]) + "\n")
            return
        page.table([render.plain(name) for name in names], [_cells(row) for row in answer["rows"]], numbers)
        if not answer["rows"]:
            page.lead("No row meets this.")
        page.show()


def _lines(text: str) -> str:
    return "\n".join(render.plain(line) for line in str(text).splitlines())


def _cells(row: dict[str, Any]) -> list[str]:
    texts = ("" if value is None else str(_flat(value)) for value in row.values())
    return [text if len(text) <= WIDEST_CELL else text[: WIDEST_CELL - 4] + " ..." for text in texts]


def _flat(value: Any) -> Any:
    return json.dumps(value, ensure_ascii=False) if isinstance(value, dict | list) else value
