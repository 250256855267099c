"""The audit of a store's implement ratings, and its rows for a spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.results.answer import Answer
from evener.schema.store import asking, connection
from evener.scoring.audit.auditing import AuditReport, audit

if TYPE_CHECKING:
    from evener.schema.records import Family
    from evener.scoring.audit.family import FamilyAudit
    from evener.scoring.core.printing import Units

FLAG_COLUMNS = ("family", "implement_id", "kind", "strength", "evidence", "label", "batch_id", "file_row")


class UnknownFamily(connection.StoreError):
    """A family that is not in the store; the text names the nearest."""

    exit_status = 2


class NothingToAudit(connection.StoreError):
    """A condition that no implement record meets."""

    exit_status = 2


@dataclass(frozen=True)
class Audit(Answer):
    """An audit of rated PTO powers.

    Attributes
    ----------
    report : lines, flags and shifted batches, family by family
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
        """Return one row per flag, then one per batch that stands off as a whole.

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
                "kind": "shifted_batch",
                "strength": round(1 - one.share, 3),
                "evidence": one.evidence(),
                "batch_id": one.batch_id,
            }
            for one in self.report.batches
        ]
        return [{name: row.get(name) for name in FLAG_COLUMNS} for row in rows]

    def record_rows(self) -> list[dict[str, Any]]:
        """Return what is measured of every record, one row each, in SI."""
        return [_flat(one, row.as_dict()) for one in self.report.families for row in one.records()]


def audited(path: Path, families: Sequence[str] = (), where: str | None = None) -> Audit:
    """Audit the rated PTO powers of a store's implement records.

    Parameters
    ----------
    path : the store
    families : families to audit, by name; all when left out
    where : one SQL expression that chooses implement records; each is then measured against the others chosen

    Raises
    ------
    UnknownFamily
        A name that is no family's; the nearest are in the text.
    NothingToAudit
        No implement record meets the condition.
    evener.StoreError
        The condition is refused, or the path holds no store that can be read.
    """
    with connection.open_read(path) as con:
        known = connection.read_families(con)
        implements = connection.read_implements(con)
        reference = connection.read_reference(con)
        files = {row["batch_id"]: row["file_name"] for row in connection.read_rows(con, "batch")}
    wanted = [_family(name, known) for name in dict.fromkeys(families)] or list(known.values())
    if where is not None:
        chosen = asking.keys_where(path, "implement", where)
        implements = [one for one in implements if one.implement_id in chosen]
        if not implements:
            raise NothingToAudit("no implement record meets --where. See: evener list implements --where ...")
    return Audit(audit(implements, wanted, reference), files)


def _family(name: str, known: dict[str, Family]) -> Family:
    """Return the family a user means: its name, its label, or another word for it."""
    said = {
        _folded(spelling): family
        for family in reversed(known.values())
        for spelling in (*family.names, family.label, family.family)
    }
    if _folded(name) in said:
        return said[_folded(name)]
    from difflib import get_close_matches

    near = list(dict.fromkeys(said[match].family for match in get_close_matches(_folded(name), said, n=4)))
    hint = f" Did you mean {' or '.join(near)}?" if near else ""
    raise UnknownFamily(f"there is no family {name!r}.{hint} See: evener list families")


def _folded(name: str) -> str:
    return " ".join(name.casefold().replace("_", " ").replace("-", " ").split())


def _flat(family: FamilyAudit, row: dict[str, Any]) -> dict[str, Any]:
    """Return what is measured of a record with its sizes, and what they are sizes of, in columns of their own."""
    names, sizes = [*family.data.variables, None], [*row.pop("sizes"), None]
    said = {"variable": names[0], "size": sizes[0], "second_variable": names[1], "second_size": sizes[1]}
    return {"family": family.family, "implement_id": row.pop("implement_id"), **said, **row}
