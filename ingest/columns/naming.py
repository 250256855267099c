"""Which column names the machines, where a heading alone does not settle it: its cells do.

A column headed Stock, Unit or No may hold the number of each machine, or yes, or a count. It names the rows where its
cells tell them apart; else it is kept as text. `loose_headings.csv` has the headings that are looked at so.
"""

from __future__ import annotations

import csv
import dataclasses
from collections.abc import Collection, Mapping, Sequence
from functools import lru_cache
from importlib import resources

import numpy as np

from evener.ingest import findings
from evener.ingest.columns.headers import Match
from evener.ingest.findings import Finding
from evener.ingest.text import cells
from evener.ingest.text.texts import Texts
from evener.schema import fields
from evener.schema.fields import Field

LABEL = "label"
FAMILY = "family"
_FEWEST_ROWS = 5  # of fewer, one number that stands twice is more likely a slip
_LEAST_APART = 0.5  # of the rows, so many must differ from all others for the column to be a name
_ANSWERS = frozenset({"yes", "no", "y", "n", "true", "false", "x", "in", "out", "sold", "available"})


@lru_cache(maxsize=1)
def loose_headings() -> Mapping[tuple[str, str], str]:
    """Return the field that a heading fills where it does not name the rows, if any, by field and folded heading."""
    text = resources.files("evener.ingest.columns").joinpath("loose_headings.csv").read_text(encoding="utf-8")
    return {(row["field"], row["heading"]): row["otherwise"] for row in csv.DictReader(text.splitlines())}


def settled(
    matches: Sequence[Match], columns: Sequence[Texts], record: str, chosen: Collection[str] = ()
) -> tuple[list[Match], list[Finding]]:
    """Return what each column means with at most one of them as the name of the rows, and what was noticed.

    Parameters
    ----------
    matches : what the headings say
    columns : the cells of each column
    record : kind of record
    chosen : headings that a person settled
    """
    name = fields.keys(record)[0]
    taken = [one for one in matches if one.field is not None and one.field.name == name]
    loose = [one for one in taken if one.header not in chosen and (name, _plain(one.header)) in loose_headings()]
    noticed: list[Finding] = []
    strong = [one for one in taken if one not in loose]
    dropped: list[Match] = []
    instead: dict[int, Field] = {}
    held = {one.field.name for one in matches if one.field is not None}
    for one in loose:
        other = loose_headings()[name, _plain(one.header)]
        because = _no_name(columns[one.position])
        if because is None and strong:
            because = f"{strong[0].header!r} is"
        if because is None and other and other not in held and _in_several_words(columns[one.position]):
            because = "its cells say what they are called"
        if because is not None:
            dropped.append(one)
            if other and other not in held and _in_words(columns[one.position]):
                instead[one.position] = fields.of(record)[other]
                held.add(other)
                continue
            noticed.append(findings.NoName(column=one.header, values={"field": name, "because": because}))
    kept = [
        dataclasses.replace(one, field=instead.get(one.position), unit=None) if one in dropped else one
        for one in matches
    ]
    return _named_by_label(kept, columns, record, noticed)


def is_loose(one: Match) -> bool:
    """Tell whether a column has a heading of two uses, and is not what names the rows."""
    meant = one.field
    return meant is not None and not meant.key and (meant.name, _plain(one.header)) in loose_headings()


def without_weaker(matches: Sequence[Match], chosen: Collection[str] = ()) -> list[Match]:
    """Return the matches in which no heading of two uses stands beside a plain one of the same field: Cost and Price.

    Parameters
    ----------
    matches : what each column means
    chosen : headings that a person settled
    """
    weaker = [one for one in matches if is_loose(one) and one.header not in chosen]
    plain = {one.field.name for one in matches if one.field is not None and one not in weaker}
    return [
        dataclasses.replace(one, field=None, unit=None)
        if one in weaker and one.field is not None and one.field.name in plain
        else one
        for one in matches
    ]


def doubles(matches: Sequence[Match]) -> list[Finding]:
    """Return the columns that mean the same field as another.

    Parameters
    ----------
    matches : what each column means
    """
    first: dict[str, str] = {}
    found: list[Finding] = []
    for one in matches:
        if one.field is None:
            continue
        other = first.setdefault(one.field.name, one.header)
        if other is not one.header or [m.header for m in matches].count(one.header) > 1:
            found.append(findings.DoubleColumn(column=one.header, values={"field": one.field.name, "other": other}))
    return found


def _plain(header: str) -> str:
    # "Stock #" is the number of a machine; "Stock" may be anything.
    return " ".join(header.split()).casefold().rstrip(".:")


def _named_by_label(
    matches: list[Match], columns: Sequence[Texts], record: str, noticed: list[Finding]
) -> tuple[list[Match], list[Finding]]:
    """Return the matches with the description as the name too, where it alone tells the rows apart."""
    known = fields.of(record)
    name = fields.keys(record)[0]
    held = {one.field.name for one in matches if one.field is not None}
    if record not in ("tractor", "implement"):
        return matches, noticed
    label = next((one for one in matches if one.field is not None and one.field.name == LABEL), None)
    kind = next((one for one in matches if one.field is not None and one.field.name == FAMILY), None)
    if label is None and kind is not None:
        # What a machine is also says what it is called, where nothing else does.
        label = Match(kind.header, kind.position, known[LABEL])
        matches = [*matches, label]
    if name in held or label is None:
        return matches, noticed
    if _apart(columns[label.position]) < 1:
        return matches, noticed
    named = Match(label.header, label.position, known[name])
    return [*matches, named], [*noticed, findings.NamedByLabel(column=label.header)]


def _in_words(column: Texts) -> bool:
    """Tell whether the cells of a column that say anything have letters."""
    said = [text for text in column.distinct if not cells.is_missing(text)]
    return bool(said) and all(any(sign.isalpha() for sign in text) for text in said)


def _in_several_words(column: Texts) -> bool:
    """Tell whether most cells that say anything have two words or more, as no number of a machine does."""
    said = [text for text in column.distinct if not cells.is_missing(text)]
    return _in_words(column) and 2 * sum(len(text.split()) > 1 for text in said) > len(said)


def _no_name(column: Texts) -> str | None:
    """Say why the cells of a column cannot name the rows, or None where they can."""
    said = {text.strip().casefold() for text in column.distinct} - {""}
    if said and said <= _ANSWERS:
        return "its cells answer yes or no"
    if len(column) >= _FEWEST_ROWS and _apart(column) < _LEAST_APART:
        return f"its {len(column):,} rows hold {len(said):,} different texts"
    return None


def _apart(column: Texts) -> float:
    """Return the share of the rows with a text that no other row has; 1 for a column without rows."""
    if not len(column):
        return 1.0
    counts = np.bincount(column.codes, minlength=column.distinct_count)
    missing = np.fromiter((cells.is_missing(text) for text in column.distinct), bool, column.distinct_count)
    return float((counts[~missing] == 1).sum()) / len(column)
