"""The audit from a data frame of records to data frames of what it says: for a notebook, or a study of one's own."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.schema.records import Family, Implement
from evener.scoring.audit.auditing import BY, AuditReport, audit
from evener.scoring.audit.published import Reference
from evener.scoring.ratings.verdicts import Verdicts

if TYPE_CHECKING:
    import pandas as pd

NOTHING_PUBLISHED: Reference = {"rotary_power": (), "power_ratios": ()}
NEEDED = ("family", "rated_pto_power_kw")


@dataclass(frozen=True)
class AuditFrames:
    """An audit as data frames.

    Attributes
    ----------
    flags : one row per flag: family, implement_id, kind, strength, evidence
    lines : one row per family and coefficient of its line, with standard error, n, spread and range
    groups : one row per group that stands off as a whole
    records : one row per record with what is measured of it
    report : the audit itself
    """

    flags: pd.DataFrame
    lines: pd.DataFrame
    groups: pd.DataFrame
    records: pd.DataFrame
    report: AuditReport = field(repr=False)

    def _repr_html_(self) -> str:
        """Return the tables as a notebook shows them."""
        tables = {"flags": self.flags, "groups": self.groups, "lines": self.lines}
        return "".join(f"<h4>{name}</h4>{frame.to_html(max_rows=20, index=False)}" for name, frame in tables.items())


def audit_frame(
    frame: pd.DataFrame,
    families: Mapping[str, Family],
    *,
    by: Sequence[str] = BY,
    reference: Reference = NOTHING_PUBLISHED,
    verdicts: Verdicts | None = None,
) -> AuditFrames:
    """Audit records in a data frame.

    Parameters
    ----------
    frame : one row per record; columns by the nomenclature's names, in its units; `family` and `rated_pto_power_kw` at
        least. A column that is none of its fields can be named in `by`. Without `implement_id` the index names records
    families : families by name, as a store holds them
    by : what whole groups of records are compared by: any column
    reference : published tables by name, to hold ratings against; none when left out
    verdicts : what analysts hold of the records

    Raises
    ------
    ValueError
        A column is missing, a name stands twice, or a family is not known.
    NoSuchGroup
        Records cannot be grouped so.
    """
    import pandas as pd

    records = records_of(frame, families)
    ids = [one.implement_id for one in records]
    labels = {
        name: {one: str(value) for one, value in zip(ids, frame[name], strict=True) if not _blank(value)}
        for name in by
        if name in frame.columns
    }
    used = [families[name] for name in dict.fromkeys(one.family for one in records)]
    report = audit(records, used, reference, by=by, labels=labels, verdicts=verdicts)
    flags = [{"family": one.family, **flag.as_dict()} for one in report.families for flag in one.flags]
    measured = [{"family": one.family, **row.as_dict()} for one in report.families for row in one.records()]
    return AuditFrames(
        flags=pd.DataFrame(flags, columns=["family", "implement_id", "kind", "strength", "evidence"]),
        lines=pd.DataFrame(_lines(report)),
        groups=pd.DataFrame([one.as_dict() for one in report.groups]),
        records=pd.DataFrame(measured),
        report=report,
    )


def records_of(frame: pd.DataFrame, families: Mapping[str, Family]) -> list[Implement]:
    """Return the implement records that a data frame states, one per row.

    Parameters
    ----------
    frame, families : as `audit_frame`

    Raises
    ------
    ValueError
        A column is missing, a name stands twice, or a family is not known.
    """
    missing = [name for name in NEEDED if name not in frame.columns]
    if missing:
        raise ValueError(f"the frame has no column {' or '.join(missing)}: name it as `evener fields implement` does")
    ids = [str(one) for one in (frame["implement_id"] if "implement_id" in frame.columns else frame.index)]
    if len(set(ids)) < len(ids):
        raise ValueError("two rows have one name: give each record its own implement_id")
    strange = sorted({str(name) for name in frame["family"]} - set(families))
    if strange:
        raise ValueError(f"no such family: {', '.join(strange[:5])}. See: evener list families")
    known = {one.name: one for one in dataclasses.fields(Implement)}
    held = [str(name) for name in frame.columns if name in known and name not in ("implement_id", "estimated")]
    columns = [frame[name].tolist() for name in held]
    records = []
    for name, *row in zip(ids, *columns, strict=True):
        stated = {field: value for field, value in zip(held, row, strict=True) if not _blank(value)}
        records.append(Implement(**{"implement_id": name, "label": name, **stated}))
    return records


def _blank(value: Any) -> bool:
    return value is None or value == "" or (isinstance(value, float) and math.isnan(value))


def _lines(report: AuditReport) -> list[dict[str, Any]]:
    rows = []
    for one in report.families:
        if one.fitted is None:
            continue
        model = one.fitted.model
        shared = {"n": model.n, "set_aside": len(model.aside), "spread": model.spread}
        for name, value, error in zip(model.names, model.coefficients, model.standard_errors, strict=True):
            rows.append(
                {
                    "family": one.family,
                    "form": model.form,
                    "name": name,
                    "value": value,
                    "standard_error": error,
                    **shared,
                }
            )
    return rows
