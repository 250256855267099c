"""The entry of one ingest: its file, how it was read, what became of its rows, and the sources they cite."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from evener.ingest.rows.rows import STATED, Rows
from evener.ingest.text.held_values import Words
from evener.schema.store import batches as entries

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection


def cite(con: Connection, rows: Rows, batch_id: str) -> None:
    """Enter the files that loaded rows cite as sources, the file itself among them."""
    cited = rows.values.get("source_id")
    if rows.record == "source" or not isinstance(cited, Words):
        return
    for source_id in cited.words:
        if source_id.startswith(entries.FILE_SOURCE):
            citation = f"{source_id.removeprefix(entries.FILE_SOURCE)}, as its owner states it"
            entries.cite(con, rows.record, batch_id, source_id, citation=citation, status=STATED)


def earlier_batch(con: Connection, rows: Rows) -> str | None:
    """Return the ingest that loaded the same bytes in the same way."""
    mapping = json.dumps(rows.settled, ensure_ascii=False)
    said = {"record": rows.record, "owner": rows.owner, "kind": rows.kind, "mapping": mapping}
    return entries.earlier_batch(con, {"file_sha256": rows.table.sha256, **said})


def enter(con: Connection, rows: Rows, counts: Mapping[str, int], batch_id: str) -> None:
    """Enter an ingest with what became of its rows."""
    values = {
        "batch_id": batch_id,
        "record": rows.record,
        "file_name": rows.table.name,
        "file_sha256": rows.table.sha256,
        "loaded_at": datetime.now(UTC).replace(tzinfo=None, microsecond=0),
        "owner": rows.owner,
        "kind": rows.kind,
        "encoding": rows.table.encoding,
        "decimal": rows.setting.decimal or None,
        "measures": rows.setting.measures,
        "mapping": json.dumps(rows.settled, ensure_ascii=False),
        **counts,
    }
    entries.enter(con, values)
