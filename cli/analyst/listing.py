"""`evener list`: the store's records, one kind at a time."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Annotated, Any, cast

import typer

from evener.cli.options import Format, Kind, Output, Store, UnitChoice, Where
from evener.cli.output import render
from evener.cli.store import quarantine
from evener.cli.store.opened import opened
from evener.schema import fields, units
from evener.scoring.core.printing import Units, rounded

if TYPE_CHECKING:
    from evener.results.record_list import ListKind, RecordList
    from evener.schema.fields import Field

_OF_UNITS = ("owner", "price", "location", "stock_status", "note")
LISTED = "tractors, implements, families, sources, batches or quarantine."
# What a screen has room for; JSON and CSV give every field.
_SHOWN: dict[str, tuple[tuple[str, str], ...]] = {
    "tractor": (
        ("tractor_id", "id"),
        ("kind", "kind"),
        ("label", "label"),
        ("owner", "owner"),
        ("engine_power_kw", "engine"),
        ("pto_power_kw", "PTO"),
        ("mass_kg", "mass"),
        ("hitch_lift_610_kg", "lift at 24 in"),
        ("loader_lift_kg", "loader lift"),
        ("hitch_category", "hitch"),
        ("price", "price"),
        ("location", "stands at"),
        ("stock_status", "for sale"),
        ("note", "remark"),
        ("status", "status"),
    ),
    "implement": (
        ("implement_id", "id"),
        ("label", "label"),
        ("owner", "owner"),
        ("working_width_m", "width"),
        ("rated_pto_power_kw", "PTO asked"),
        ("rated_tractor_power_kw", "tractor asked"),
        ("mass_kg", "mass"),
        ("payload_kg", "payload"),
        ("attachment", "attachment"),
        ("location", "stands at"),
        ("stock_status", "for sale"),
        ("note", "remark"),
        ("status", "status"),
    ),
    "family": (
        ("family", "family"),
        ("names", "also called"),
        ("group", "group"),
        ("power", "power"),
        ("first_variable", "sized by"),
        ("source_id", "source"),
        ("status", "status"),
    ),
    "source": (("source_id", "id"), ("citation", "citation"), ("edition", "edition"), ("status", "status")),
    "batch": (
        ("batch_id", "batch"),
        ("loaded_at", "when (UTC)"),
        ("file_name", "file"),
        ("record", "record"),
        ("read", "read"),
        ("loaded", "loaded"),
        ("unchanged", "unchanged"),
        ("superseded", "superseded"),
        ("quarantined", "quarantined"),
    ),
}
_MARKS = {"~": "~ estimated at ingest, not stated", "*": "* corrected by hand: evener amend"}


def run(
    kind: Annotated[Kind, typer.Argument(metavar="KIND", help=LISTED)],
    family: Annotated[str | None, typer.Option(help="Only implements of this family.", show_default=False)] = None,
    among: Annotated[str | None, typer.Option(help="Only tractors of this kind.", show_default=False)] = None,
    batch: Annotated[
        str | None, typer.Option(help="Quarantine only: rows this ingest refused.", show_default=False)
    ] = None,
    where: Where = None,
    columns: Annotated[
        str | None, typer.Option(help="Fields to show, with commas; see: evener fields.", show_default=False)
    ] = None,
    sort: Annotated[
        str | None,
        typer.Option(help="Fields to order by, with commas; -field for falling.", show_default=False),
    ] = None,
    output: Output = Format.table,
    unit_choice: UnitChoice = None,
    store: Store = None,
) -> int:
    """List the store's records of one kind."""
    from evener.lists import own_batches

    held = opened(store)
    if kind is Kind.quarantine:
        return quarantine.show(held.quarantine(batch), output=output)
    only = {"family": family, "kind": among}
    answer = held.list(cast("ListKind", kind.value), only=only, where=where, columns=_split(columns), sort=_split(sort))
    data = output in (Format.json, Format.csv)
    system: Units = unit_choice.value if unit_choice is not None else "si" if data else "us"
    if output is Format.json:
        render.json_out(answer.to_dict(system))
    elif output is Format.csv:
        render.csv_out([{name: _flat(value) for name, value in row.items()} for row in answer.rows(system)])
    else:
        page = render.Page(markdown=output is Format.markdown)
        own = own_batches(held.path) if kind is Kind.batches and not where else None
        _table(page, answer, system, own)
        page.show()
    return 0 if answer.stored else 1


def _split(names: str | None) -> list[str]:
    return [name.strip() for name in (names or "").split(",") if name.strip()]


def _flat(value: Any) -> Any:
    if isinstance(value, dict):
        return json.dumps(value, ensure_ascii=False)
    return ";".join(map(str, value)) if isinstance(value, list) else value


def _table(page: render.Page, answer: RecordList, system: Units, own: frozenset[str] | None = None) -> None:
    record, rows = answer.record, answer.stored
    brought = [row for row in rows if own is not None and row["batch_id"] not in own]
    rows = tuple(row for row in rows if row not in brought)
    known, titles = fields.of(record), dict(_SHOWN[record])
    shown = [(name, titles.get(name, known[name].plain_name.replace("_", " "))) for name in answer.columns] or [
        (name, title) for name, title in _SHOWN[record] if name not in _OF_UNITS or _is_said(name, rows)
    ]
    header = []
    for name, title in shown:
        symbol, _ = _unit(known[name], system)
        header.append(f"{title}, {symbol}" if symbol else title)
    cells = [[_cell(known[name], row, system) for name, _ in shown] for row in rows]
    right = {place for place, (name, _) in enumerate(shown) if known[name].kind in ("number", "integer")}
    page.table(header, cells, right)
    marks = {_mark(row, name) for row in rows for name in row.get("estimated") or {}}
    page.bullets(said for mark, said in _MARKS.items() if mark in marks)
    if brought:
        page.bullets([f"{len(brought)} ingests of the library are not shown: --where true, or --format csv"])
    elif not rows:
        page.lead("None in the store.")


def _mark(row: Mapping[str, Any], name: str) -> str:
    sure = (row.get("estimated") or {}).get(name)
    return "" if sure is None else "*" if sure["kind"] == "corrected" else "~"


def _is_said(name: str, rows: Sequence[Mapping[str, Any]]) -> bool:
    """Tell whether any unit of a dealer or a member says it; a generic class has remarks of another kind."""
    units = [row for row in rows if row.get("kind") != "class"]
    return any(row[name] for row in units if name == "owner" or row["status"] == "stated")


def _unit(known: Field, system: Units) -> tuple[str, float]:
    if not known.is_measured or not units.known(known.unit):
        return "", 1.0
    return units.us(known.unit, field=known.name) if system == "us" else (known.unit, 1.0)


def _cell(known: Field, row: Mapping[str, Any], system: Units) -> str:
    value = row[known.name]
    if value is None or value == []:
        return ""
    if isinstance(value, list):
        return ", ".join(map(str, value))
    if known.kind == "number":
        return _mark(row, known.name) + rounded(value * _unit(known, system)[1])
    return str(value)
