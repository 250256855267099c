"""`evener verify`: whether the store is what it should be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.cli.options import Format, Output, Store
from evener.cli.output import render
from evener.opening import location

if TYPE_CHECKING:
    from evener.schema.store.keeping.verifying import Verified


def run(output: Output = Format.table, store: Store = None) -> int:
    """Verify the store: every byte read, tables in shape, records in bounds, counts that add up, log and copy whole."""
    from evener.store import Store as Held

    found = Held(location(store)).verify()
    if output is Format.json:
        render.json_out(found.to_dict())
    elif output is Format.csv:
        render.csv_out(found.rows(), ["store", "finding"])
    else:
        page = render.Page(markdown=output is Format.markdown)
        count = len(found.findings)
        page.title(f"{found.store}: " + (f"{count} finding{'s' if count > 1 else ''}" if count else "all is well"))
        page.facts(facts(found))
        page.lead(f"SHA-256 {found.sha256}")
        if found.findings:
            page.heading("Findings")
            page.bullets(found.findings)
            page.lead(
                "Nothing was changed. Bring back a backup with evener restore, or the copy from before the last "
                "ingest with evener recover --previous."
            )
        page.show()
    return 1 if found.findings else 0


def facts(found: Verified) -> list[tuple[str, str]]:
    """Return what a store holds, for a page.

    Parameters
    ----------
    found : the store, as it was verified
    """
    own = {kind: count for kind, count in found.records.items() if kind in ("tractor", "implement", "batch")}
    last = found.last_batch
    told = {True: "the one of this version", False: "an earlier one", None: "not told"}[found.library_current]
    log = f"{found.log_bytes:,} bytes that are not yet in the file" if found.log_bytes else "empty"
    return [
        ("holds", ", ".join(f"{count:,} {kind}{'es' if kind == 'batch' else 's'}" for kind, count in own.items())),
        ("last ingest", "none" if last is None else f"{last[0]} ({last[1]}, {last[2]:%Y-%m-%d %H:%M} UTC)"),
        ("library", told),
        ("log", log),
        ("copy", found.previous or "none from before an ingest"),
    ]
