"""The audit of a store's implement ratings, and its rows for a spreadsheet."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.results.answer import Answer
from evener.results.choosing import keys_meeting
from evener.results.families import UnknownFamily, folded, meant
from evener.schema import fields
from evener.schema.records import Implement
from evener.schema.store import connection
from evener.scoring.audit.auditing import BY, AuditReport, audit
from evener.scoring.ratings import verdicts

if TYPE_CHECKING:
    from evener.scoring.audit.family import FamilyAudit
    from evener.scoring.core.printing import Units

__all__ = ["Audit", "NothingToAudit", "UnknownFamily", "audited"]

FLAG_COLUMNS = ("family", "implement_id", "kind", "strength", "evidence", "label", "group", "batch_id", "file_row")


class NothingToAudit(connection.StoreError):
    """A condition that no implement record meets."""

    exit_status = 2


@dataclass(frozen=True)
class Audit(Answer):
    """An audit of rated PTO powers.

    Attributes
    ----------
    report : lines, flags and shifted groups, family by family
    files : name of the file each batch came from
    """

    report: AuditReport
    files: Mapping[str, str]

    def to_dict(self, units: Units = "si", *, records: bool = False) -> dict[str, Any]:
        """Return the keys of the JSON contract.

        Parameters
        ----------
        units : of the words of the evidence; numbers are SI, as their names say
        records : with what is measured of each record
        """
        return self.report.as_dict(units, records=records)

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per flag, then one per group that stands off as a whole.

        Parameters
        ----------
        units : of the words of the evidence
        """
        rows = [
            {"family": family["family"], **flag}
            for family in self.report.as_dict(units)["families"]
            for flag in family["flags"]
        ]
        rows += [
            {
                "kind": "shifted_group",
                "strength": round(1 - one.share, 3),
                "evidence": one.evidence(),
                "group": f"{one.by} {one.group}",
                "batch_id": one.group if one.by == "batch" else None,
            }
            for one in self.report.groups
        ]
        return [{name: row.get(name) for name in FLAG_COLUMNS} for row in rows]

    def record_rows(self) -> list[dict[str, Any]]:
        """Return what is measured of every record, one row each, in SI."""
        return [_flat(one, row.as_dict()) for one in self.report.families for row in one.records()]


def audited(
    path: Path,
    families: Sequence[str] = (),
    where: str | Sequence[str] | None = None,
    by: Sequence[str] = BY,
    *,
    every: bool = False,
) -> Audit:
    """Audit the rated PTO powers of a store's implement records.

    Parameters
    ----------
    path : the store
    families : families to audit, by name; all when left out
    where : one SQL expression that chooses implement records; each is then measured against the others chosen
    by : what whole groups of records are compared by: a field that holds words or a year, batch, build, or the heading
        of a column that was kept though no field takes it
    every : with the families of which no record states a rating

    Raises
    ------
    evener.UnknownFamily
        A name that is no family's; the nearest are in the text.
    NothingToAudit
        No implement record meets the condition.
    NoSuchGroup
        Records cannot be grouped so.
    evener.StoreError
        The condition is refused, or the path holds no store that can be read.
    """
    with connection.open_read(path) as con:
        known = connection.read_families(con)
        implements = connection.read_implements(con)
        reference = connection.read_reference(con)
        judged = verdicts.read(connection.read_verdicts(con))
        kept = {name: _kept(con, implements, name) for name in by}
        files = {row["batch_id"]: row["file_name"] for row in connection.read_rows(con, "batch")}
    wanted = [meant(name, known) for name in dict.fromkeys(families)] or list(known.values())
    chosen = keys_meeting(path, "implement", where)
    if chosen is not None:
        implements = [one for one in implements if one.implement_id in chosen]
        if not implements:
            raise NothingToAudit("no implement record meets --where. See: evener list implements --where ...")
    labels = {name: of for name, of in kept.items() if of}
    report = audit(implements, wanted, reference, by=by, labels=labels, verdicts=judged)
    if every or families:
        return Audit(report, files)
    rated = tuple(one for one in report.families if one.data.rated)
    return Audit(replace(report, families=rated), files)


def _kept(con: Any, implements: Sequence[Implement], heading: str) -> dict[str, str]:
    """Return each record's text in a column that no field took, empty where there is no such column."""
    if heading in fields.of("implement") or heading in ("batch", "build"):
        return {}
    texts = {}
    for row in connection.read_rows(con, "unplaced"):
        if row["record"] == "implement":
            raw = {folded(name): text for name, text in json.loads(row["raw"]).items()}
            texts[row["batch_id"], row["file_row"]] = raw.get(folded(heading), "")
    said = {one.implement_id: texts.get((one.batch_id, one.file_row), "") for one in implements}
    return {record: text for record, text in said.items() if text}


def _flat(family: FamilyAudit, row: dict[str, Any]) -> dict[str, Any]:
    """Return what is measured of a record with its sizes, and what they are sizes of, in columns of their own."""
    names, sizes = [*family.data.variables, None], [*row.pop("sizes"), None]
    said = {"variable": names[0], "size": sizes[0], "second_variable": names[1], "second_size": sizes[1]}
    return {"family": family.family, "implement_id": row.pop("implement_id"), **said, **row}
