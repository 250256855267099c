"""`evener list`: the store's records, one kind at a time."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Literal

from evener.cli.analyst import choosing
from evener.cli.options import Format, UnitSystem
from evener.cli.output import render
from evener.cli.store import stores
from evener.schema import fields, units
from evener.schema.fields import Field
from evener.schema.us_columns import us_column
from evener.scoring.core.printing import rounded

Kind = Literal["tractors", "implements", "families", "sources", "batches"]
RECORDS: dict[str, str] = {
    "tractors": "tractor",
    "implements": "implement",
    "families": "family",
    "sources": "source",
    "batches": "batch",
}
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


def listing(
    path: Path,
    kind: Kind,
    *,
    only: dict[str, str] | None = None,
    where: str | None = None,
    columns: Sequence[str] = (),
    sort: Sequence[str] = (),
    system: Literal["si", "us"] = "si",
) -> list[dict[str, Any]]:
    """Return the records of one kind, field by name, numbers in the units the names end in.

    Parameters
    ----------
    path : the store
    kind : tractors, implements, families, sources or batches
    only : by field, the value wanted
    where : one SQL expression on the fields, asked of a locked store; stored names, or their names in US units
    columns : fields wanted, in this order; all when left out
    sort : fields to order by, a minus before those that fall; what is not stated comes last
    system : si as stored, or us

    Raises
    ------
    evener.cli.analyst.choosing.UnknownColumn
        A field the records do not have.
    evener.schema.store.connection.StoreError
        The condition is refused, or the path holds no store that can be read.
    """
    record = RECORDS[kind]
    known = fields.of(record)
    wanted = [choosing.field_named(record, name).name for name in columns] or list(known)
    rows = choosing.rows(path, record, only=only or {}, where=where, sort=sort)
    return [dict(_turned(known[name], _held(known[name], row[name]), system) for name in wanted) for row in rows]


def run(
    kind: Kind,
    *,
    only: dict[str, str] | None = None,
    where: str | None = None,
    columns: str | None = None,
    sort: str | None = None,
    output: Format,
    units: UnitSystem | None,
    store: Path | None,
) -> int:
    """Print the records of one kind; return 0, 1 when there are none, or 2 for a filter they do not have."""
    strange = set(only or {}) - set(fields.of(RECORDS[kind]))
    if strange:
        render.complain(f"{kind} have no {' or '.join(sorted(strange))} to go by")
        return 2
    path = stores.ensure_library_store(store)
    data = output in (Format.json, Format.csv)
    system: Literal["si", "us"] = units.value if units is not None else "si" if data else "us"
    record = RECORDS[kind]
    named, order = _split(columns), _split(sort)
    if not data:
        shown = [choosing.field_named(record, name).name for name in named]
        rows = choosing.rows(path, record, only=only or {}, where=where, sort=order)
        page = render.Page(markdown=output is Format.markdown)
        _table(page, record, rows, system, shown)
        page.show()
        return 0 if rows else 1
    rows = listing(path, kind, only=only, where=where, columns=named, sort=order, system=system)
    if output is Format.json:
        render.json_out({"schema": 1, "units": system, kind: [_plain(row) for row in rows]})
    else:
        render.csv_out([{name: _flat(value) for name, value in row.items()} for row in rows])
    return 0 if rows else 1


def _split(names: str | None) -> list[str]:
    return [name.strip() for name in (names or "").split(",") if name.strip()]


def _held(known: Field, value: Any) -> Any:
    return json.loads(value) if known.kind == "json" and value is not None else value


def _turned(known: Field, value: Any, system: Literal["si", "us"]) -> tuple[str, Any]:
    """Return a field's name and value in the units asked; the name ends in its unit."""
    turned = None if system == "si" else us_column(known)
    if turned is None:
        return known.name, value
    name, factor = turned
    # Twelve figures keep all that was measured and drop what the conversion added.
    return name, None if value is None else float(f"{value * factor:.12g}")


def _plain(row: dict[str, Any]) -> dict[str, Any]:
    return {name: value.isoformat() if hasattr(value, "isoformat") else value for name, value in row.items()}


def _flat(value: Any) -> Any:
    if isinstance(value, dict):
        return json.dumps(value, ensure_ascii=False)
    return ";".join(map(str, value)) if isinstance(value, list) else value


def _table(
    page: render.Page,
    record: str,
    rows: Sequence[dict[str, Any]],
    system: Literal["si", "us"],
    named: Sequence[str] = (),
) -> None:
    known, titles = fields.of(record), dict(_SHOWN[record])
    shown = [(name, titles.get(name, known[name].plain_name.replace("_", " "))) for name in named] or [
        (name, title) for name, title in _SHOWN[record] if name != "owner" or any(row["owner"] for row in rows)
    ]
    header = []
    for name, title in shown:
        symbol, _ = _unit(known[name], system)
        header.append(f"{title}, {symbol}" if symbol else title)
    cells = [[_cell(known[name], row, system) for name, _ in shown] for row in rows]
    right = {place for place, (name, _) in enumerate(shown) if known[name].kind in ("number", "integer")}
    page.table(header, cells, right)
    if any(row.get("estimated") for row in rows):
        page.bullets(["~ estimated at ingest, not stated"])
    if not rows:
        page.lead("None in the store.")


def _unit(known: Field, system: Literal["si", "us"]) -> tuple[str, float]:
    if not known.is_measured or not units.known(known.unit):
        return "", 1.0
    return units.us(known.unit, field=known.name) if system == "us" else (known.unit, 1.0)


def _cell(known: Field, row: dict[str, Any], system: Literal["si", "us"]) -> str:
    value = row[known.name]
    if value is None or value == []:
        return ""
    if isinstance(value, list):
        return ", ".join(map(str, value))
    if known.kind == "number":
        mark = "~" if known.name in (row.get("estimated") or "") else ""
        return mark + rounded(value * _unit(known, system)[1])
    return str(value)
