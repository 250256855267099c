"""`evener export`: records as CSV that reads back to the same records."""

from __future__ import annotations

import sys
from pathlib import Path

from evener.cli.output import exports, render
from evener.cli.store import stores
from evener.ingest.store.batches import record_named
from evener.ingest.store.export import export
from evener.schema import fields


def run(records: str, *, kind: str | None, owner: str | None, out: Path | None, store: Path | None) -> int:
    """Write the records; return 0, 1 when there are none, or 2 for a filter they do not have."""
    record = record_named(records)
    only = {name: value for name, value in (("kind", kind), ("owner", owner)) if value is not None}
    strange = [name for name in only if name not in fields.of(record)]
    if strange:
        render.complain(f"{records} have no {' or '.join(strange)} to go by")
        return 2
    path = stores.ensure_library_store(store)
    text = export(path, record, only)
    content = text.encode()
    if out is not None:
        with exports.written(out, path) as unfinished:
            unfinished.write_bytes(content)
    else:
        # The same bytes everywhere, whatever the terminal's own encoding is.
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
    return 0 if text.count("\n") > 1 else 1
