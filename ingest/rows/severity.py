"""How much a fault costs: what names a record or would make it lie refuses the row, all else leaves one field unknown.

A fault that is softened so is told all the same, and the text of the cell stays with the record.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from evener.ingest import findings
from evener.ingest.columns.headers import Match
from evener.ingest.findings import Finding
from evener.schema import fields

_LISTED = ("tractor", "implement")  # parameters and sources are taken whole or not at all
_WHOSE = ("owner", "kind", "source_id", "status", "estimated")
_POWERS = ("engine_power_kw", "pto_power_kw", "rated_pto_power_kw", "rated_tractor_power_kw")
_OF_HEADINGS = (findings.WrongHeaderUnit, findings.UnitsDiffer, findings.NoUnit, findings.DoubleColumn)


def essential(record: str, name: str) -> bool:
    """Tell whether a field names a record or says what it is, so that a row without it is no record."""
    known = fields.of(record)[name]
    return record not in _LISTED or known.required or known.key or name in _WHOSE


def of_cell(record: str, name: str, finding: Finding) -> Finding:
    """Return a cell's finding as severe as its field makes it."""
    return finding if essential(record, name) else dataclasses.replace(finding, unread=True)


def of_heading(record: str, finding: Finding, matches: Sequence[Match]) -> Finding:
    """Return a heading's finding as severe as what the file says beside it makes it.

    Parameters
    ----------
    record : kind of record
    finding : the finding
    matches : what all headings mean
    """
    name = finding.values.get("field", "")
    if isinstance(finding, findings.BarePower):
        held = {one.field.name for one in matches if one.field is not None}
        # A tractor without a power is nothing; an implement's is told by its size until it is said.
        unread = record == "implement" or (record in _LISTED and bool(held & set(_POWERS)))
    else:
        unread = isinstance(finding, _OF_HEADINGS) and bool(name) and not essential(record, name)
    return dataclasses.replace(finding, unread=True) if unread else finding
