"""What a file holds beside its records: lines above the headings, a row of units, headings again, sums at the end.

Each is recognised by its form, reported with its lines, and not loaded. A row that could be a record stays one.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from evener.ingest import findings
from evener.ingest.files import sections
from evener.ingest.files.grids import Grid, is_blank
from evener.ingest.files.stacked import Row
from evener.ingest.finding import Finding, listed
from evener.ingest.text import cells
from evener.ingest.text.places import headed
from evener.ingest.text.texts import Texts
from evener.schema import units

CURRENCIES = frozenset({"$", "€", "£", "usd", "eur", "gbp", "cad", "aud", "nzd", "chf", "dollars", "euro", "euros"})
_SUM = re.compile(
    r"(?:(?:grand |sub[ -]?)?totals?|sum|(?:total )?(?:count|number)|average|mean"
    r"|\d+ (?:units|rows|records|items|tractors|implements))\b.*",
    re.IGNORECASE,
)
_SUM_ALONE = re.compile(r"(?:(?:grand |sub[ -]?)?totals?|sum|average|mean) ?:?", re.IGNORECASE)
_REMARK = re.compile(
    r"[*†].*|(?:notes?|source|printed|page|prices?|end of|subject to|valid|all (?:prices|figures|data|units))\b.*",
    re.IGNORECASE,
)
_SENTENCE_WORDS = 3
_MOST_LOOKED_AT = 100_000  # texts of a column; a file of more was made by a program, which writes no page headings
_BEYOND_ASCII = 0x80
_FEWEST_HEADINGS = 2  # that a row must repeat to be the headings again


@dataclass(frozen=True)
class Layout:
    """A grid without what is not a record.

    Attributes
    ----------
    headings : column headings, none of them blank, each once
    units : the unit a row of units gives each column, or None
    columns : the cells of each column
    lines : line of the file of each row
    refused : text of the rows that have no place in the columns, by line
    findings : what was left out, and the rows refused
    places : place of each column in the file, counted from 1; 0 for that of the sections
    """

    headings: tuple[str, ...]
    units: tuple[str | None, ...]
    columns: tuple[Texts, ...]
    lines: NDArray[np.int64]
    places: tuple[int, ...] = ()
    refused: dict[int, tuple[str, ...]] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()


def laid_out(grid: Grid) -> Layout:
    """Return the records of a grid, and what was set apart.

    Parameters
    ----------
    grid : rows under their headings
    """
    noticed: list[Finding] = _above(grid)
    if grid.is_turned:
        noticed.append(findings.OnItsSide())
    blank = _blank_rows(grid.columns)
    keep = ~blank
    unit_row = _units_row(grid, keep)
    given: list[str | None] = [None] * len(grid.headings)
    if unit_row is not None:
        row = [column[unit_row] for column in grid.columns]
        given = [_unit(text) or (_bare(text) if _bare(text) in CURRENCIES else None) for text in row]
        keep[unit_row] = False
        noticed.append(findings.UnitsRow(row=int(grid.lines[unit_row]), raw=_shown(row)))
    repeated = _repeated(grid, keep)
    if repeated.any():
        keep &= ~repeated
        lines = grid.lines[repeated].tolist()
        noticed.append(findings.RepeatedHeadings(row=lines[0], values={"lines": _listed(lines)}))
    odd = [row for row in grid.odd if not is_blank(row[1])]
    foot = _footer(grid, keep, odd)
    if foot:
        lines = [line for line, _ in foot]
        keep &= ~np.isin(grid.lines, lines)
        odd = [row for row in odd if row[0] not in lines]
        raw = " / ".join(_shown(cells_of) for _, cells_of in foot)
        noticed.append(findings.Footer(row=lines[0], raw=raw, values={"lines": _listed(lines)}))
    found = _sections(grid, keep, odd)
    keep &= ~np.isin(grid.lines, found.lines)
    odd = [row for row in odd if row[0] not in found.lines]
    noticed += found.findings()
    last = max([*grid.lines[keep][-1:].tolist(), *(line for line, _ in odd[-1:])], default=0)
    empty = sorted({*grid.lines[blank].tolist(), *(line for line, found in grid.odd if is_blank(found))})
    empty = [line for line in empty if line < last]
    if empty:
        noticed.append(findings.BlankRows(row=empty[0], values={"lines": _listed(empty)}))
    width = len(grid.headings)
    noticed += [
        findings.RaggedRow(row=line, raw=_shown(found), values={"cells": len(found), "columns": width})
        for line, found in odd
    ]
    held = grid.columns if keep.all() else [column.take(keep) for column in grid.columns]
    named = [place for place, heading in enumerate(grid.headings) if heading.strip() or not _is_empty(held[place])]
    headings = _headings([" ".join(grid.headings[place].split()) for place in named], named)
    noticed += [
        findings.NoHeading(column=heading)
        for heading, place in zip(headings, named, strict=True)
        if not grid.headings[place].strip()
    ]
    section = (found.column(grid.lines[keep]),) if found.titles else ()
    return Layout(
        headings=(*headings, *([sections.HEADING] if section else [])),
        units=(*(given[place] for place in named), *([None] if section else [])),
        columns=(*(held[place] for place in named), *section),
        lines=grid.lines[keep],
        places=(*(place + 1 for place in named), *([0] if section else [])),
        refused={line: tuple(found) for line, found in odd},
        findings=tuple(noticed),
    )


def _headings(said: Sequence[str], places: Sequence[int]) -> tuple[str, ...]:
    """Return headings that each stand once: one that is blank, or that others bear too, gets its place in the file."""
    counts = Counter(said)
    return tuple(
        heading if heading and counts[heading] == 1 else headed(heading, place + 1)
        for heading, place in zip(said, places, strict=True)
    )


def _sections(grid: Grid, keep: NDArray[np.bool_], odd: Sequence[Row]) -> sections.Parted:
    """Return the titles and notes among the rows, whether they have a cell for each column or not."""
    filled = np.zeros(len(keep), np.int64)
    for column in grid.columns:
        filled += ~_blanks(column)
    sums = np.zeros(len(keep), bool)
    for column in grid.columns:
        if column.distinct_count <= _MOST_LOOKED_AT:
            said = (sections.is_sum(text) for text in column.distinct)
            sums |= column.rows_of(np.fromiter(said, bool, column.distinct_count))
    rows = [
        (int(grid.lines[position]), [column[position] for column in grid.columns])
        for position in np.flatnonzero(keep & ((filled == 1) | sums)).tolist()
    ]
    rows += [row for row in odd if sections.is_candidate(row[1])]
    lines = grid.lines[keep & (filled > 1) & ~sums]
    if not len(lines):
        return sections.Parted({}, {})
    starts_at = min([int(grid.lines[keep][0]), *(line for line, _ in odd)])
    blank = {line for line, cells in grid.odd if is_blank(cells)} | set(grid.lines[filled == 0].tolist())
    return sections.parted(sorted(rows), len(grid.headings), starts_at, blank, frozenset(lines.tolist()))


def _above(grid: Grid) -> list[Finding]:
    rows = [row for row in grid.above if not is_blank(row[1])]
    if not rows:
        return []
    lines = [line for line, _ in rows]
    raw = " / ".join(_shown(found) for _, found in rows)
    return [findings.Preamble(row=lines[0], raw=raw, values={"lines": _listed(lines)})]


def _shown(row: Sequence[str]) -> str:
    return " | ".join(cell.strip() for cell in row if cell.strip())


def _listed(lines: Sequence[int]) -> str:
    return f"{'line' if len(lines) == 1 else 'lines'} {listed(lines)}"


def _blanks(column: Texts) -> NDArray[np.bool_]:
    """Return which rows of a column are blank."""
    if not len(column):
        return np.zeros(0, bool)
    # Only what begins with a blank, or with a sign beyond ASCII, may be nothing but blanks.
    first = column.signs[:, 0]
    blank = np.zeros(column.distinct_count, bool)
    for place in np.flatnonzero((first <= ord(" ")) | (first >= _BEYOND_ASCII)).tolist():
        blank[place] = not column.distinct[place].strip()
    return column.rows_of(blank)


def _is_empty(column: Texts) -> bool:
    return bool(_blanks(column).all())


def _blank_rows(columns: Sequence[Texts]) -> NDArray[np.bool_]:
    blank = np.ones(len(columns[0]) if columns else 0, bool)
    for column in sorted(columns, key=lambda one: one.distinct_count):
        if not blank.any():
            break
        blank &= _blanks(column)
    return blank


def _units_row(grid: Grid, keep: NDArray[np.bool_]) -> int | None:
    """Return the row under the headings that holds units and nothing else."""
    if not keep.any():
        return None
    first = int(keep.argmax())
    if any(line < grid.lines[first] and not is_blank(found) for line, found in grid.odd):
        return None
    row = [column[first] for column in grid.columns]
    said = [text for text in row if not cells.is_missing(text)]
    known = sum(_unit(text) is not None for text in said)
    # One unit alone in the first column may be a record's name.
    enough = known > 1 or (known == 1 and cells.is_missing(row[0]))
    return first if enough and all(_unit(text) or _bare(text) in CURRENCIES for text in said) else None


def _bare(text: str) -> str:
    return text.strip().strip("()[]").strip().casefold()


def _unit(text: str) -> str | None:
    bare = text.strip().strip("()[]").strip()
    return bare if units.known(bare) and not bare.isdigit() else None


def _repeated(grid: Grid, keep: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the rows that are the headings once more, the lower ones alone among them, or most of them."""
    alike = np.zeros(len(keep), np.int64)
    for heading, column in zip(grid.headings, grid.columns, strict=True):
        wanted = f" {' '.join(heading.split()).casefold()}"
        if column.distinct_count > _MOST_LOOKED_AT or not wanted.strip():
            continue
        held = (
            bool(text.strip()) and wanted.endswith(f" {' '.join(text.split()).casefold()}") for text in column.distinct
        )
        alike += column.rows_of(np.fromiter(held, bool, column.distinct_count))
    same = keep & (alike >= _FEWEST_HEADINGS)
    for row in np.flatnonzero(same).tolist():
        same[row] = 2 * alike[row] >= sum(bool(column[row].strip()) for column in grid.columns)
    return same


def _footer(grid: Grid, keep: NDArray[np.bool_], odd: Sequence[Row]) -> list[Row]:
    """Return the rows at the end that are sums or remarks, in their order.

    A sentence alone is a remark only below a blank row or another such row; else it may be a record cut short.
    """
    blank_lines = {line for line, found in grid.odd if is_blank(found)} | set(
        grid.lines[_blank_rows(grid.columns)].tolist()
    )
    foot: list[Row] = []
    sure = 0
    for line, found, misshapen in _from_the_end(grid, keep, odd):
        form = _form(found, len(grid.headings), misshapen=misshapen)
        if form is None:
            break
        foot.append((line, found))
        if form == "sure" or line - 1 in blank_lines:
            sure = len(foot)
    return foot[:sure][::-1]


def _from_the_end(grid: Grid, keep: NDArray[np.bool_], odd: Sequence[Row]) -> Iterator[tuple[int, list[str], bool]]:
    rest = sorted(odd)
    for position in np.flatnonzero(keep)[::-1].tolist():
        line = int(grid.lines[position])
        while rest and rest[-1][0] > line:
            yield (*rest.pop(), True)
        yield line, [column[position] for column in grid.columns], False
    while rest:
        yield (*rest.pop(), True)


def _form(row: Sequence[str], width: int, *, misshapen: bool) -> Literal["sure", "maybe"] | None:
    """Tell whether a row at the end is a sum or a remark by its words, may be one by its form, or is neither."""
    said = [cell.strip() for cell in row if cell.strip()]
    if not said:
        return None
    if _SUM_ALONE.fullmatch(said[0]):
        return "sure"
    few = misshapen or 2 * len(said) <= max(width, 2)
    if few and (_SUM.fullmatch(said[0]) or _REMARK.fullmatch(said[0])):
        return "sure"
    alone = len(said) == 1 or misshapen
    return "maybe" if alone and width > 2 and len(said[0].split()) >= _SENTENCE_WORDS else None
