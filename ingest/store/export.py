"""Records as a list that reads back to the same records: every field under its own name, in the store's units.

Ingesting the list into a fresh store and exporting again gives the same bytes.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from evener.ingest.rows.rows import OWN_FIELDS
from evener.ingest.text.typed_cells import number_text
from evener.schema import certainty, fields, printable
from evener.schema.fields import Field
from evener.schema.store import connection as store


def export(store_path: Path, record: str, only: Mapping[str, str] | None = None) -> str:
    """Return the records of one kind as comma-separated values, by name.

    Parameters
    ----------
    store_path : the store
    record : kind of record
    only : by field, the value wanted

    Raises
    ------
    evener.schema.store.connection.StoreError
        The path holds no store that can be read.
    """
    known = [one for one in fields.of(record).values() if one.name not in OWN_FIELDS]
    with store.open_read(store_path) as con:
        rows = store.read_rows(con, record)
    wanted = (only or {}).items()
    rows = [row for row in rows if all(row[name] == value for name, value in wanted)]
    rows.sort(key=lambda row: [(row[name] is not None, row[name]) for name in fields.keys(record)])
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([one.name for one in known])
    writer.writerows([[cell(one, row[one.name]) for one in known] for row in rows])
    return text.getvalue()


def cell(known: Field, value: Any) -> str:
    """Return a value of a record as the cell that reads back to it."""
    if value is None:
        return ""
    if isinstance(value, list):
        return ";".join(cell(known, one) for one in value)
    if isinstance(value, int | float):
        return number_text(value)
    text = (certainty.text(certainty.read(value)) or "") if isinstance(value, dict) else str(value)
    # A spreadsheet program would run it as a formula; reading takes the apostrophe off again.
    return f"'{text}" if known.kind == "text" and printable.runs_as_formula(text) else text
