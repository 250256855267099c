"""`--whole-list`: a list that is all its owner has. What it does not name is gone, unless something is in doubt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from evener.ingest import findings
from evener.ingest.findings import Finding
from evener.ingest.rows.rows import Rows
from evener.schema import fields, identity
from evener.schema.store import snapshot
from evener.schema.store.snapshot import Change, Unit

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

RECORDS = ("tractor", "implement")
_MOST_GONE = 0.5  # of the owner's records; more is most often the wrong list
_FEW = 4  # so many may go at once whatever their share


@dataclass(frozen=True)
class Difference:
    """What a whole list says beside the records held.

    Attributes
    ----------
    new : units that were not held
    changed : units of which it says something else
    gone : units it does not name any more
    in_doubt : units it does not name, and that stay because the list may not be whole
    """

    new: tuple[Unit, ...] = ()
    changed: tuple[Change, ...] = ()
    gone: tuple[Unit, ...] = ()
    in_doubt: tuple[Unit, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract."""
        return {
            "new": [one._asdict() for one in self.new],
            "changed": [{**one._asdict(), "fields": list(one.fields)} for one in self.changed],
            "gone": [one._asdict() for one in self.gone],
            "in_doubt": [one._asdict() for one in self.in_doubt],
        }


def difference(con: Connection, rows: Rows, *, most_gone: bool = False) -> tuple[Difference, list[Finding]]:
    """Return what a whole list says beside the records held, and what is in doubt.

    Parameters
    ----------
    con : a store with the list's good rows staged
    rows : prepared rows
    most_gone : whether it is known that most of the owner's units are gone
    """
    names = _refused_names(rows)
    whose = [(name, value) for name, value in _whose(rows) if name in fields.of(rows.record)]
    absent = snapshot.absent(con, rows.record, whose, [name for name in names if name])
    told = Difference(
        new=tuple(snapshot.new(con, rows.record)), changed=tuple(snapshot.changed(con, rows.record)), gone=tuple(absent)
    )
    held = len(absent) + len(rows.good()) - len(told.new)
    shown = ", ".join(one.name for one in absent[:8])
    if absent and "" in names:
        values = {"number": len(absent), "names": shown, "because": "a row of the list has no name that can be read"}
    elif len(absent) > max(_FEW, _MOST_GONE * held) and not most_gone:
        values = {"number": len(absent), "names": shown, "because": f"they are more than half of the {held} held"}
    else:
        return told, []
    kept = Difference(new=told.new, changed=told.changed, in_doubt=told.gone)
    return kept, [findings.GoneInDoubt(values=values)]


def _whose(rows: Rows) -> Sequence[tuple[str, str | None]]:
    return ("owner", rows.owner), ("kind", rows.kind)


def _refused_names(rows: Rows) -> set[str]:
    """Return what the refused rows say names them; an empty text where one does not say it."""
    key = fields.keys(rows.record)[0]
    column = next((one for one in rows.matches if one.field is not None and one.field.name == key), None)
    named = {rows.table.columns[column.position][place].strip() for place in rows.refused} if column else set()
    with_owner = {identity.qualified(name, rows.owner) for name in named if name and rows.owner}
    return named | with_owner | ({""} if rows.table.refused else set())
