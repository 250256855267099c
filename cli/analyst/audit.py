"""`evener audit`: which rated powers an analyst should look at, on what evidence, and how strong it is."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from evener.cli.analyst import audit_page, guarded
from evener.cli.analyst.families import folded, meant
from evener.cli.options import Format, UnitSystem
from evener.cli.output import exports, render
from evener.cli.store import stores
from evener.schema import fields
from evener.schema.records import Implement
from evener.schema.store import connection as store_module
from evener.scoring.audit.auditing import BY, AuditReport, audit
from evener.scoring.audit.family import FamilyAudit
from evener.scoring.core.printing import Units
from evener.scoring.ratings import verdicts

FLAG_COLUMNS = ("family", "implement_id", "kind", "strength", "evidence", "label", "group", "batch_id", "file_row")


class NothingToAudit(store_module.StoreError):
    """A condition that no implement record meets."""

    exit_status = 2


def audited(
    path: Path,
    families: Sequence[str] = (),
    where: str | None = None,
    by: Sequence[str] = BY,
    *,
    every: bool = False,
) -> AuditReport:
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
    evener.cli.analyst.families.UnknownFamily
        A name that is no family's; the nearest are in the text.
    NothingToAudit
        No implement record meets the condition.
    NoSuchGroup
        Records cannot be grouped so.
    evener.schema.store.connection.StoreError
        The condition is refused, or the path holds no store that can be read.
    """
    with store_module.open_read(path) as con:
        known = store_module.read_families(con)
        implements = store_module.read_implements(con)
        reference = store_module.read_reference(con)
        judged = verdicts.read(store_module.read_verdicts(con))
        kept = {name: _kept(con, implements, name) for name in by}
    wanted = [meant(name, known) for name in dict.fromkeys(families)] or list(known.values())
    if where is not None:
        chosen = guarded.keys_where(path, "implement", where)
        implements = [one for one in implements if one.implement_id in chosen]
        if not implements:
            raise NothingToAudit("no implement record meets --where. See: evener list implements --where ...")
    labels = {name: of for name, of in kept.items() if of}
    report = audit(implements, wanted, reference, by=by, labels=labels, verdicts=judged)
    if every or families:
        return report
    return replace(report, families=tuple(one for one in report.families if one.data.rated))


def _kept(con: Any, implements: Sequence[Implement], heading: str) -> dict[str, str]:
    """Return each record's text in a column that no field took, empty where there is no such column."""
    if heading in fields.of("implement") or heading in ("batch", "build"):
        return {}
    texts = {}
    for row in store_module.read_rows(con, "unplaced"):
        if row["record"] == "implement":
            raw = {folded(name): text for name, text in json.loads(row["raw"]).items()}
            texts[row["batch_id"], row["file_row"]] = raw.get(folded(heading), "")
    said = {one.implement_id: texts.get((one.batch_id, one.file_row), "") for one in implements}
    return {record: text for record, text in said.items() if text}


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
    by: Sequence[str] = BY,
    every: bool = False,
) -> int:
    """Print the audit; return 0, or 1 when something was flagged."""
    data = output in (Format.json, Format.csv)
    shown: Units = units.value if units is not None else "si" if data else "us"
    path = stores.ensure_library_store(store)
    report = audited(path, families, where, by, every=every)
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
    return 1 if report.flags or report.groups else 0


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
            "kind": "shifted_group",
            "strength": round(1 - one.share, 3),
            "evidence": one.evidence(),
            "group": f"{one.by} {one.group}",
            "batch_id": one.group if one.by == "batch" else None,
        }
        for one in report.groups
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
