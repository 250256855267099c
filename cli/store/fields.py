"""`evener fields`: the nomenclature, field by field."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from evener.cli.options import Format, Output
from evener.cli.output import render


def run(
    record: Annotated[
        str | None,
        typer.Argument(
            metavar="RECORD", help='Kind of record, or "sheet" for the keys of a job sheet; all records when left out.'
        ),
    ] = None,
    output: Output = Format.table,
) -> int:
    """List the nomenclature: every field's name, unit, bounds, header spellings and meaning."""
    from evener.results.tables import fields

    found = fields(record)
    if output is Format.json:
        render.json_out(found.to_dict())
        return 0
    if output is Format.csv:
        render.csv_out(found.rows())
        return 0
    page = render.Page(markdown=output is Format.markdown)
    entries = found.to_dict()["fields"]
    for name in dict.fromkeys(entry["record"] for entry in entries):
        page.heading(name)
        rows = [
            [entry["name"], entry["unit"] or entry["kind"], _bounds(entry), _meaning(entry)]
            for entry in entries
            if entry["record"] == name
        ]
        page.table(["field", "unit or kind", "allowed", "meaning"], rows)
    page.show()
    return 0


def _bounds(entry: dict[str, Any]) -> str:
    if entry["choices"]:
        return ", ".join(entry["choices"])
    low, high = entry["low"], entry["high"]
    if low is None and high is None:
        return ""
    if high is None:
        return f"from {low:g}"
    return f"to {high:g}" if low is None else f"{low:g} to {high:g}"


def _meaning(entry: dict[str, Any]) -> str:
    headed = f" (also called: {', '.join(entry['spellings'])})" if entry["spellings"] else ""
    return f"{entry['meaning']}{headed}"
