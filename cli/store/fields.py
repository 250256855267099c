"""`evener fields`: the nomenclature, field by field."""

from __future__ import annotations

from typing import Any

from evener.cli.options import Format
from evener.cli.output import render
from evener.schema import fields
from evener.schema.fields import Field


def catalogue(record: str | None = None) -> list[dict[str, Any]]:
    """Return the nomenclature of one kind of record, or of all.

    Parameters
    ----------
    record : kind of record, as `fields.csv` names it

    Raises
    ------
    KeyError
        No such kind of record.
    """
    records = [record] if record else list(fields.nomenclature())
    return [_entry(one) for name in records for one in fields.of(name).values()]


def run(record: str | None, *, output: Format) -> int:
    """Print the nomenclature; return 0, or 2 for a kind of record that is not in it."""
    if record is not None and record not in fields.nomenclature():
        render.complain(f"{record!r} is no kind of record; use one of {', '.join(fields.nomenclature())}")
        return 2
    entries = catalogue(record)
    if output is Format.json:
        render.json_out({"schema": 1, "fields": entries})
        return 0
    if output is Format.csv:
        render.csv_out([{name: _flat(value) for name, value in entry.items()} for entry in entries])
        return 0
    page = render.Page(markdown=output is Format.markdown)
    for name in [record] if record else fields.nomenclature():
        page.heading(name)
        rows = [
            [entry["name"], entry["unit"] or entry["kind"], _bounds(entry), _meaning(entry)]
            for entry in entries
            if entry["record"] == name
        ]
        page.table(["field", "unit or kind", "allowed", "meaning"], rows)
    page.show()
    return 0


def _entry(one: Field) -> dict[str, Any]:
    return {
        "record": one.record,
        "name": one.name,
        "kind": one.kind,
        "unit": one.unit,
        "low": one.low,
        "high": one.high,
        "choices": list(one.choices),
        "key": one.key,
        "required": one.required,
        "spellings": list(one.spellings),
        "meaning": one.meaning,
    }


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
    headed = f" (also headed: {', '.join(entry['spellings'])})" if entry["spellings"] else ""
    return f"{entry['meaning']}{headed}"


def _flat(value: Any) -> Any:
    return "; ".join(map(str, value)) if isinstance(value, list) else value
