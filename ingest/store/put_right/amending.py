"""A machine's figure corrected or doubted by hand: an ingest of its own, remembered against the owner's next list.

The list's own word is kept beside it. While the next lists say the same, the correction holds; when one says another
thing, the list's word stands and the correction is asked.
"""

from __future__ import annotations

import csv
import dataclasses
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from evener.ingest import findings
from evener.ingest.columns import headers
from evener.ingest.columns.mappings import FileMapping
from evener.ingest.files import readers
from evener.ingest.rows import marks
from evener.ingest.rows.correction import Correction, own_number, same, shown
from evener.ingest.rows.estimates import is_ours
from evener.ingest.rows.known import Known, known_in
from evener.ingest.rows.preparing import prepare
from evener.ingest.rows.rows import OWN_FIELDS, Rows
from evener.ingest.store import batches
from evener.ingest.store.batches import After
from evener.ingest.store.export import cell
from evener.ingest.store.put_right.by_hand import BY_HAND
from evener.ingest.text.held_values import Words
from evener.schema import certainty, fields, identity
from evener.schema.certainty import Certainty
from evener.schema.store import aliases, copies, corrections
from evener.schema.store import connection as store

if TYPE_CHECKING:
    from evener.ingest.findings import Finding
    from evener.schema.store.engine import Connection

RECORDS = ("tractor", "implement")
# What names a machine or says whose and what it is; another list says that.
_KEPT = ("tractor_id", "implement_id", "owner", "kind", "family", "estimated", "source_id", "status", *OWN_FIELDS)
_AS_TYPED = FileMapping(decimal=".")


class CannotAmend(Exception):
    """A correction that says nothing, cannot be read, or speaks of nothing there; the text says what to type."""

    exit_status: ClassVar[int] = 2


@dataclass(frozen=True)
class Change:
    """One figure before and after, as a person reads them."""

    field: str
    was: str
    now: str


@dataclass(frozen=True)
class Amended:
    """What was corrected.

    Attributes
    ----------
    record, name : the machine
    batch_id : the ingest that holds it
    changes : its figures before and after
    findings : what is odd about it all the same
    """

    record: str
    name: str
    batch_id: str
    changes: tuple[Change, ...]
    findings: tuple[Finding, ...] = ()


def amend(
    store_path: Path,
    name: str,
    given: Mapping[str, str | None],
    *,
    why: str,
    doubt_pct: float | None = None,
    as_listed: Sequence[str] = (),
    record: str | None = None,
    after: After | None = None,
) -> Amended:
    """Correct or doubt figures of a machine.

    Parameters
    ----------
    store_path : the store
    name : the machine, with its owner where the number alone is not unique
    given : by heading, as a list would have it, the text of the cell: "4200 lb"; None doubts the figure as it is
    why : what it rests on
    doubt_pct : how far the figures may be off either way [%]
    as_listed : headings whose corrections are taken back
    record : tractor or implement, where both have the name
    after : called inside the transaction when implement records changed

    Raises
    ------
    CannotAmend
        No such machine or field, nothing to change, or a value the field cannot hold; nothing was changed.
    evener.schema.store.connection.StoreError
        The store cannot be used; nothing was changed.
    """
    if not given and not as_listed:
        raise CannotAmend("say what holds: evener amend MACHINE FIELD=VALUE --why TEXT.")
    if given and not why.strip():
        raise CannotAmend("a correction needs what it rests on: --why TEXT.")
    if doubt_pct is None and any(value is None for value in given.values()):
        raise CannotAmend("a figure without a value is doubted: add --doubt PERCENT, or write FIELD=VALUE.")
    store.check_writable(store_path)
    with store.open_read(store_path) as con:
        known = dataclasses.replace(known_in(con), corrections={})
        kind, held = _machine(con, name, record)
        key = held[fields.keys(kind)[0]]
        owner = held["owner"]
        before = {
            one.field: Correction.read(one)
            for one in corrections.holding(con, kind)
            if (one.owner, one.number) == (owner, own_number(key, owner))
        }
        beside = corrections.text_beside(con, kind, key)
    meant = {_field(kind, heading).name: heading for heading in (*given, *as_listed)}
    back = {_field(kind, heading).name for heading in as_listed}
    lacking = sorted(back - set(before))
    if lacking:
        raise CannotAmend(f"{lacking[0]} of {key} was not corrected by hand. See: evener ingest --show-memory.")
    row = _row(kind, held, {name: given.get(heading) for name, heading in meant.items()})
    for one in back:
        row[one] = _listed(kind, one, before[one].was_value)
    typed = {one: heading for one, heading in meant.items() if given.get(heading) is not None}
    rows = _prepared(kind, row, typed, known)
    sure = _sure(rows, [one for one in meant if one not in back], why, doubt_pct)
    now = {one: _value(rows, one) for one in fields.of(kind) if one not in OWN_FIELDS}
    changed = [one for one in now if one in meant or not (one in _KEPT or same(now[one], held[one]))]
    worked_out = _worked_out(rows)
    told = tuple(
        Change(one, shown(kind, one, held[one]), _with(shown(kind, one, now[one]), sure.get(one))) for one in changed
    )
    copies.keep_previous(store_path)
    with store.open_write(store_path) as con:
        report = batches.load(con, rows, after=after)
        if report.batch_id is None or not report.superseded:
            raise CannotAmend(f"{key} says so already; nothing was changed.")
        corrections.carry_text(con, kind, key, report.batch_id)
        made = [
            corrections.Correction(
                owner,
                kind,
                own_number(key, owner),
                None,
                one,
                json.dumps(_was(one, held, before, beside, _own(kind, held, one)), ensure_ascii=False),
                None if one in back else _said(one, now[one], sure.get(one)),
                why.strip() or "as the list says",
                report.batch_id,
            )
            for one in changed
            if one in meant or one not in worked_out
        ]
        corrections.keep(con, made)
    odd = tuple(one for one in rows.told if not isinstance(one, findings.RemarkOnFigure))  # it was answered just now
    return Amended(kind, key, report.batch_id, told, odd)


def _machine(con: Connection, name: str, record: str | None) -> tuple[str, dict[str, Any]]:
    """Return the kind and the record of the machine that is meant."""
    found: list[tuple[str, dict[str, Any]]] = []
    also = aliases.aliases(con)
    for kind in (record,) if record else RECORDS:
        key = fields.keys(kind)[0]
        every = {row[key]: row for row in store.read_rows(con, kind)}
        meant = identity.found(name, {one: row["owner"] for one, row in every.items()}, also)
        if meant in every:
            found.append((kind, every[meant]))
    if not found:
        raise CannotAmend(
            f"there is no machine {name!r} in the store. See: evener list tractors; evener list implements."
        )
    if len(found) > 1:
        raise CannotAmend(f"{name!r} names a tractor and an implement: add --as tractors, or --as implements.")
    kind, held = found[0]
    if held.get("kind") == "class" or (held["owner"] is None and kind == "implement"):
        raise CannotAmend(f"{name!r} is a record of the library, and no machine in a list. See: evener judge --help.")
    return kind, held


def _field(kind: str, heading: str) -> fields.Field:
    ((match,), noticed) = headers.match([heading], kind)
    if match.field is None or match.field.name in _KEPT:
        reason = noticed[0].message if noticed else f"{heading!r} is no figure of a machine"
        raise CannotAmend(f"{heading!r} cannot be corrected: {reason}. See: evener fields {kind}.")
    return match.field


def _own(kind: str, held: Mapping[str, Any], name: str) -> Any:
    """Return what the list itself says of a field: what was worked out from its other figures it does not say."""
    sure = certainty.read(held["estimated"] or {}).get(name)
    return None if kind == "tractor" and sure is not None and is_ours(sure) else held[name]


def _row(kind: str, held: Mapping[str, Any], given: Mapping[str, str | None]) -> dict[str, str]:
    """Return the machine as a row of a list under the fields' own names, with what was typed in its place."""
    known = fields.of(kind)
    sure = certainty.read(held["estimated"] or {})
    stated = {name: one for name, one in sure.items() if name not in given and not is_ours(one)}
    row = {name: _listed(kind, name, _own(kind, held, name)) for name in known if name not in OWN_FIELDS}
    row["estimated"] = certainty.text(stated) or ""
    for name, text in given.items():
        if text is not None:
            row[name] = text
            upper = known[name].upper
            if upper:
                row[upper] = ""
    return row


def _listed(kind: str, name: str, value: Any) -> str:
    return cell(fields.of(kind)[name], value)


def _prepared(kind: str, row: Mapping[str, str], typed: Mapping[str, str], known: Known) -> Rows:
    # A figure that was typed stands under the heading it was typed with, which may give its unit.
    text = io.StringIO()
    csv.writer(text).writerows([[typed.get(name, name) for name in row], list(row.values())])
    rows = prepare(readers.read_bytes(text.getvalue().encode(), BY_HAND), kind, known, mapping=_AS_TYPED)
    headings = set(typed.values())
    wrong = next((one for one in rows.findings if one.stops or (one.unread and one.column in headings)), None)
    if wrong is not None:
        raise CannotAmend(f"this cannot be kept: {wrong.message}; {wrong.what_to_do}.")
    return rows


def _sure(rows: Rows, names: Sequence[str], why: str, doubt_pct: float | None) -> dict[str, Certainty]:
    """Mark how sure the corrected figures are, and return it by field."""
    said = rows.values["estimated"]
    text = said[0] if isinstance(said, Words) else None
    read = certainty.read(json.loads(text)) if text else {}
    sure: dict[str, Certainty] = {}
    for name in names:
        if fields.of(rows.record)[name].kind not in ("number", "integer"):
            continue
        if doubt_pct is not None:
            sure[name] = Certainty("about", spread_pct=doubt_pct, basis=why.strip())
        elif name in read and read[name].kind == "about":
            sure[name] = dataclasses.replace(read[name], basis=why.strip())
        else:
            sure[name] = Certainty("corrected", basis=why.strip())
    noted = [marks.Mark(np.ones(1, bool), name, one) for name, one in sure.items()]
    rows.values["estimated"] = marks.marked(said, noted)
    return sure


def _worked_out(rows: Rows) -> set[str]:
    """Return the fields that were worked out from the others, and that follow when those are corrected again."""
    said = rows.values["estimated"]
    text = said[0] if isinstance(said, Words) else None
    return {name for name, one in certainty.read(json.loads(text)).items() if is_ours(one)} if text else set()


def _value(rows: Rows, name: str) -> Any:
    values = rows.values[name]
    if isinstance(values, Words):
        return values[0]
    return None if np.isnan(values[0]) else float(values[0])


def _was(
    name: str, held: Mapping[str, Any], before: Mapping[str, Correction], beside: tuple[str, str], own: Any
) -> dict[str, Any]:
    """Return what the list says of a field: what it said when it was first corrected, where that holds still."""
    earlier = before.get(name)
    if earlier is not None and same(held[name], earlier.value):
        return {"text": earlier.was_text} if earlier.was_text is not None else {"value": earlier.was_value}
    unread, mapping = (json.loads(one) for one in beside)
    for heading, text in unread.items():
        if (mapping.get(heading) or [None])[0] == name:
            return {"text": text}
    return {"value": own}


def _said(name: str, value: Any, sure: Certainty | None) -> str:
    typed = json.loads(certainty.text({name: sure}) or "{}").get(name) if sure is not None else None
    return json.dumps({"value": value, **({"sure": typed} if typed else {})}, ensure_ascii=False)


def _with(value: str, sure: Certainty | None) -> str:
    return f"{value}, give or take {sure.spread_pct:g} %" if sure is not None and sure.spread_pct else value
