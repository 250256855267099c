"""`evener query`: one question in SQL to the store, locked and read-only."""

from __future__ import annotations

import contextlib
import io
import json
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from evener.cli.options import Answer, Replace, Store
from evener.cli.output import render
from evener.cli.store.opened import opened
from evener.writing import check_target, write

SUFFIXES = {".csv": Answer.csv, ".json": Answer.json, ".parquet": Answer.parquet, ".md": Answer.markdown}
ON_SCREEN, IN_FILE = 200, 100_000
WIDEST_CELL = 200


def run(
    sql: Annotated[str, typer.Argument(metavar="SQL", help="One SELECT, or EXPLAIN and one.", show_default=False)],
    output: Annotated[
        Answer | None,
        typer.Option("--format", help="How to write the answer. Else by the ending of --out.", show_default=False),
    ] = None,
    out: Annotated[
        Path | None, typer.Option(help="File to write; Parquet needs one.", show_default=False, metavar="FILE")
    ] = None,
    rows: Annotated[
        int | None,
        typer.Option(min=1, max=1_000_000, help="Rows at most; 200 on screen, 100,000 else.", show_default=False),
    ] = None,
    seconds: Annotated[float, typer.Option(min=0.1, max=600, help="Longest it may take.")] = 30.0,
    replace: Replace = False,
    store: Store = None,
) -> int:
    """Ask the store one question in SQL, locked and read-only.

    Tables: tractor and implement, tractor_us and implement_us in feet and horsepower, and those of the fields command.
    """
    shape = output or SUFFIXES.get(out.suffix.casefold() if out else "", Answer.table)
    if shape is Answer.parquet and out is None:
        render.complain("Parquet goes to a file: add --out FILE")
        return 2
    if output is None and out is not None and out.suffix and out.suffix.casefold() not in SUFFIXES:
        render.complain(f"{out.suffix} cannot be written: end --out in {', '.join(SUFFIXES)}, or say --format")
        return 2
    held = opened(store)
    if out is not None:
        check_target(out, held.path, replace=replace)
    limit = rows or (ON_SCREEN if shape in (Answer.table, Answer.markdown) else IN_FILE)
    if shape is Answer.parquet and out is not None:
        count, cut = held.query_to_parquet(sql, out, most=limit, seconds=seconds, replace=replace)
    else:
        found = held.query(sql, most=limit, seconds=seconds)
        count, cut = len(found.values), found.cut
        if out is None:
            _print(found.to_dict(), shape)
        else:
            text = io.StringIO()
            with contextlib.redirect_stdout(text):
                _print(found.to_dict(), shape)
            write(out, text.getvalue(), held.path, replace=replace)
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
        cells = [_cells(row) for row in answer["rows"]]
        left_out = page.table([render.plain(name) for name in names], cells, numbers, may_drop=True)
        if left_out:
            page.bullets([render.no_room(left_out, "a SELECT of the ones you want")])
        if not answer["rows"]:
            page.lead("No row meets this.")
        page.show()


def _lines(text: str) -> str:
    return "\n".join(render.plain(line) for line in str(text).splitlines())


def _cells(row: dict[str, Any]) -> list[str]:
    texts = (_shown(value) for value in row.values())
    return [text if len(text) <= WIDEST_CELL else text[: WIDEST_CELL - 4] + " ..." for text in texts]


def _shown(value: Any) -> str:
    """Return a value as a screen shows it: numbers to six figures; CSV and JSON have them whole."""
    if value is None:
        return ""
    return f"{value:.6g}" if isinstance(value, float) and 1e-4 <= abs(value) < 1e6 else str(_flat(value))


def _flat(value: Any) -> Any:
    return json.dumps(value, ensure_ascii=False) if isinstance(value, dict | list) else value
