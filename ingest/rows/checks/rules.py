"""What two values of one row say about each other: the rules of `plausibility.csv`, over whole columns.

A rule looks only at rows that hold both values; a blank is no contradiction.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any, Literal, cast

import numpy as np
from numpy.typing import NDArray

from evener.ingest import findings
from evener.ingest.findings import Finding
from evener.ingest.text.held_values import Values, Words
from evener.schema import fields

Kind = Literal["at most", "carries", "ratio"]
CARRIED = "max_mass_kg"
_SLACK = 1e-9  # two figures converted from the same print may differ in the last bit


@dataclass(frozen=True)
class Rule:
    """One line of `plausibility.csv`.

    Attributes
    ----------
    record : kind of record it holds for
    rule : `at most` (first is no more than second), `carries` (both together carry the permitted mass), `ratio`
    first, second : fields
    low, high : bounds of first over second
    reason : why
    """

    record: str
    rule: Kind
    first: str
    second: str
    low: float
    high: float
    reason: str


@lru_cache(maxsize=1)
def rules() -> tuple[Rule, ...]:
    """Return all rules, in the order of their file."""
    text = resources.files("evener.schema").joinpath("plausibility.csv").read_text(encoding="utf-8")
    return tuple(
        Rule(
            record=row["record"],
            rule=cast("Kind", row["rule"]),
            first=row["first"],
            second=row["second"],
            low=float(row["low"] or "-inf"),
            high=float(row["high"] or "inf"),
            reason=row["reason"],
        )
        for row in csv.DictReader(text.splitlines())
    )


def check(
    record: str, columns: Mapping[str, Values], lines: Sequence[int] | NDArray[np.int64]
) -> Iterator[tuple[int, Finding]]:
    """Yield what contradicts itself, by row; a field is blamed once in a row, so that one slip is one finding.

    Parameters
    ----------
    record : kind of record the rows are
    columns : values by field, blank where nothing is said
    lines : line of the file of each row
    """
    blamed: set[tuple[int, str]] = set()
    for rule in rules():
        if rule.record != record or rule.first not in columns or rule.second not in columns:
            continue
        for row in _broken(rule, columns):
            pair = {(row, rule.first), (row, rule.second)}
            if not pair & blamed:
                blamed |= pair
                yield row, _finding(rule, columns, row, int(lines[row]))


def _number(record: str, name: str, values: Values) -> NDArray[np.float64]:
    if not isinstance(values, Words):
        return values
    # The choices of an ordered field stand in their order.
    order = {choice: float(place) for place, choice in enumerate(fields.of(record)[name].choices)}
    return np.array([*(order.get(word, np.nan) for word in values.words), np.nan])[values.codes]


def _broken(rule: Rule, columns: Mapping[str, Values]) -> list[int]:
    first = _number(rule.record, rule.first, columns[rule.first])
    second = _number(rule.record, rule.second, columns[rule.second])
    with np.errstate(divide="ignore", invalid="ignore"):
        if rule.rule == "at most":
            broken = first > second * (1 + _SLACK)
        elif rule.rule == "carries":
            if CARRIED not in columns:
                return []
            broken = (first + second) * (1 + _SLACK) < _number(rule.record, CARRIED, columns[CARRIED])
        else:
            ratio = first / second
            broken = (ratio < rule.low * (1 - _SLACK)) | (ratio > rule.high * (1 + _SLACK))
    return [int(row) for row in np.flatnonzero(broken)]


def _finding(rule: Rule, columns: Mapping[str, Values], row: int, line: int) -> Finding:
    first, second = columns[rule.first][row], columns[rule.second][row]
    known = fields.of(rule.record)
    if rule.rule == "carries":
        values = {"axles": first + second, "mass": columns[CARRIED][row]}
        return findings.AxleLoadsShort(row=line, column=CARRIED, values=values)
    unit = known[rule.first].unit
    if rule.rule == "at most":
        values = {
            "small": rule.first,
            "small_value": _shown(first, unit),
            "large": rule.second,
            "large_value": _shown(second, unit),
            "reason": rule.reason,
        }
        return findings.OrderReversed(row=line, column=rule.first, values=values)
    values = {
        "first": rule.first,
        "second": rule.second,
        "ratio": first / second,
        "usual": f"{rule.low:g} to {rule.high:g}" if np.isfinite(rule.high) else f"at least {rule.low:g}",
        "reason": rule.reason,
    }
    return findings.OddRatio(row=line, column=rule.first, values=values)


def _shown(value: Any, unit: str) -> str:
    return value if isinstance(value, str) else f"{value:.4g} {unit}".strip()
