"""An analyst's verdict on an implement record, kept as an ingest of its own: exported, undone and read back as any.

The record itself stays as its file has it. A later verdict on the same record, or on the same field of it, takes the
place of the earlier one, which the history keeps.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from evener.ingest.files import readers
from evener.ingest.rows.known import Known, known_in
from evener.ingest.rows.preparing import prepare
from evener.ingest.rows.rows import Rows
from evener.ingest.rows.single import CannotRead, read_figures
from evener.ingest.store import batches
from evener.ingest.store.batches import After
from evener.ingest.store.report import IngestReport
from evener.ingest.text.typed_cells import number_text
from evener.schema import fields, former_ids
from evener.schema.store import connection as store
from evener.schema.store import copies

if TYPE_CHECKING:
    from evener.schema.records import Implement
    from evener.schema.store.engine import Connection

OWNER = "the store's owner"
# What a verdict cannot change: what names a record, and what the tool keeps itself.
KEPT = ("implement_id", "family", "owner", "estimated", "source_id", "status", "batch_id", "file_row")


class CannotJudge(Exception):
    """A verdict that says nothing, or speaks of nothing there; the text says what to type."""

    exit_status: ClassVar[int] = 2


def judge(
    store_path: Path,
    implement_id: str,
    verdict: str,
    *,
    why: str,
    corrections: Mapping[str, str] | None = None,
    by_whom: str = OWNER,
    on: str | None = None,
    after: After | None = None,
) -> IngestReport:
    """Keep a verdict on an implement record.

    Parameters
    ----------
    store_path : the store
    implement_id : the record
    verdict : sound, corrected or left_out
    why : the reason
    corrections : for `corrected`, by field as a list heads it, the value as a list writes it: "45 kW"
    by_whom : who judges
    on : day of the verdict, today (UTC) when left out
    after : called inside the transaction

    Raises
    ------
    CannotJudge
        No such record or field, no reason, a value that the field cannot hold, or corrections without `corrected`.
    evener.schema.store.connection.StoreError
        The store cannot be used; nothing was changed.
    """
    given = dict(corrections or {})
    if not why.strip():
        raise CannotJudge("a verdict needs its reason: --why TEXT.")
    if bool(given) != (verdict == "corrected"):
        raise CannotJudge("--set FIELD=VALUE says what a corrected record should hold; only `corrected` takes it.")
    store.check_writable(store_path)
    with store.open_read(store_path) as con:
        known, judged = known_in(con), _record_of(con, implement_id)
    names = [name for name in given if name in KEPT]
    if names:
        raise CannotJudge(f"{names[0]!r} is no field that a verdict can correct. See: evener fields implement.")
    pairs = [_settled(judged.family, name, value, known) for name, value in given.items()] or [("", "")]
    day = on or datetime.now(UTC).date().isoformat()
    rows = _verdicts([(judged.implement_id, name, verdict, value, why, by_whom, day) for name, value in pairs], known)
    copies.keep_previous(store_path)
    with store.open_write(store_path) as con:
        return batches.load(con, rows, after=after)


def _record_of(con: Connection, implement_id: str) -> Implement:
    every = {one.implement_id: one for one in store.read_implements(con)}
    meant = former_ids.found(implement_id, every)
    if meant not in every:
        raise CannotJudge(f"there is no implement {implement_id!r} in the store. See: evener list implements.")
    return every[meant]


def _settled(family: str, heading: str, value: str, known: Known) -> tuple[str, str]:
    """Return the field a heading means and its value as the store writes it, read as a cell of a list is read."""
    try:
        ((name, figure),) = read_figures(family, {heading: value}, known).items()
    except CannotRead as error:
        raise CannotJudge(str(error)) from None
    if name in KEPT:
        raise CannotJudge(f"{heading!r} is no field that a verdict can correct. See: evener fields implement.")
    return name, figure if isinstance(figure, str) else number_text(figure)


def _verdicts(lines: list[tuple[str, ...]], known: Known) -> Rows:
    names = [name for name in fields.of("verdict") if name in _WRITTEN]
    text = io.StringIO()
    csv.writer(text).writerows([names, *lines])
    rows = prepare(readers.read_bytes(text.getvalue().encode(), "verdict"), "verdict", known)
    wrong = next((finding for finding in rows.findings if finding.refuses), None)
    if wrong is not None:
        raise CannotJudge(f"the verdict cannot be kept: {wrong.message}; {wrong.what_to_do}.")
    return rows


_WRITTEN = ("implement_id", "set_field", "verdict", "set_value", "why", "by_whom", "judged_on")
