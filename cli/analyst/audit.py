"""`evener audit`: which rated powers an analyst should look at, on what evidence, and how strong it is."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from evener.cli.analyst import audit_page, guarded
from evener.cli.options import Format, UnitSystem
from evener.cli.output import exports, render
from evener.cli.store import stores
from evener.schema.records import Family
from evener.schema.store import connection as store_module
from evener.scoring.audit.auditing import AuditReport, audit
from evener.scoring.audit.family import FamilyAudit
from evener.scoring.core.printing import Units

FLAG_COLUMNS = ("family", "implement_id", "kind", "strength", "evidence", "label", "batch_id", "file_row")


class UnknownFamily(store_module.StoreError):
    """A family that is not in the store; the text names the nearest."""

    exit_status = 2


class NothingToAudit(store_module.StoreError):
    """A condition that no implement record meets."""

    exit_status = 2


def audited(path: Path, families: Sequence[str] = (), where: str | None = None) -> AuditReport:
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
    evener.schema.store.connection.StoreError
        The condition is refused, or the path holds no store that can be read.
    """
    with store_module.open_read(path) as con:
        known = store_module.read_families(con)
        implements = store_module.read_implements(con)
        reference = store_module.read_reference(con)
    wanted = [_family(name, known) for name in dict.fromkeys(families)] or list(known.values())
    if where is not None:
        chosen = guarded.keys_where(path, "implement", where)
        implements = [one for one in implements if one.implement_id in chosen]
        if not implements:
            raise NothingToAudit("no implement record meets --where. See: evener list implements --where ...")
    return audit(implements, wanted, reference)


def run(
    families: Sequence[str],
    *,
    where: str | None,
    plots: Path | None,
    records: bool,
    top: int,
    output: Format,
    units: UnitSystem | None,
    store: Path | None,
) -> int:
    """Print the audit; return 0, or 1 when something was flagged."""
    data = output in (Format.json, Format.csv)
    shown: Units = units.value if units is not None else "si" if data else "us"
    path = stores.ensure_library_store(store)
    report = audited(path, families, where)
    if plots is not None:
        _draw(report, plots, shown)
    if output is Format.json:
        render.json_out(report.as_dict(shown, records=records))
    elif output is Format.csv and records:
        rows = [_flat(one, row.as_dict()) for one in report.families for row in one.records()]
        render.csv_out(rows)
    elif output is Format.csv:
        render.csv_out(_flag_rows(report, shown), FLAG_COLUMNS)
    else:
        page = render.Page(markdown=output is Format.markdown)
        audit_page.fill(page, report, _files(path), shown, top=top, records=records, closely=bool(families))
        page.show()
    return 1 if report.flags or report.batches else 0


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


def _draw(report: AuditReport, folder: Path, units: Units) -> None:
    from evener.scoring.audit.plots import plots

    try:
        drawn = plots(report, folder, units=units)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise exports.CannotWrite(f"{folder} cannot be drawn into: {reason}. Name another folder.") from None
    sys.stderr.write(f"evener: {len(drawn)} plot{'' if len(drawn) == 1 else 's'} in {folder}\n")


def _flag_rows(report: AuditReport, units: Units) -> list[dict[str, Any]]:
    rows = [
        {"family": family["family"], **flag} for family in report.as_dict(units)["families"] for flag in family["flags"]
    ]
    rows += [
        {
            "kind": "shifted_batch",
            "strength": round(1 - one.share, 3),
            "evidence": one.evidence(),
            "batch_id": one.batch_id,
        }
        for one in report.batches
    ]
    return [{name: row.get(name) for name in FLAG_COLUMNS} for row in rows]


def _flat(family: FamilyAudit, row: dict[str, Any]) -> dict[str, Any]:
    """Return what is measured of a record with its sizes, and what they are sizes of, in columns of their own."""
    names, sizes = [*family.data.variables, None], [*row.pop("sizes"), None]
    said = {"variable": names[0], "size": sizes[0], "second_variable": names[1], "second_size": sizes[1]}
    return {"family": family.family, "implement_id": row.pop("implement_id"), **said, **row}


def _files(path: Path) -> dict[str, str]:
    """Return the name of the file each batch came from."""
    with store_module.open_read(path) as con:
        return {row["batch_id"]: row["file_name"] for row in store_module.read_rows(con, "batch")}
