"""Remarks that bear on a figure of the same machine: the figure stays as stated, and the remark is pointed out."""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import lru_cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

from evener.ingest import findings
from evener.ingest.columns.headers import fold
from evener.ingest.findings import Finding
from evener.ingest.text.held_values import Values, Words, is_blank

REMARK = "note"


@lru_cache(maxsize=1)
def _figures() -> tuple[tuple[str, tuple[str, ...], str], ...]:
    text = resources.files("evener.ingest.rows.checks").joinpath("remarks.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return tuple((row["record"], tuple(map(fold, row["words"].split(";"))), row["field"]) for row in rows)


def on_figures(
    record: str,
    values: Mapping[str, Values],
    lines: Sequence[int] | NDArray[np.int64],
    settled: Collection[tuple[int, str]] = (),
) -> Iterator[tuple[int, Finding]]:
    """Yield the rows whose remark bears on a figure they state, by position.

    Parameters
    ----------
    record : kind of record
    values : by field, the values of all rows
    lines : line of the file of each row
    settled : rows and fields on which a person has settled what holds
    """
    held = values.get(REMARK)
    if not isinstance(held, Words):
        return
    for said in held.words:
        folded = f" {fold(str(said))} "
        named = [
            name for kind, words, name in _figures() if kind == record and any(f" {word} " in folded for word in words)
        ]
        for position in held.is_word(said).nonzero()[0].tolist() if named else ():
            stated = [
                name for name in named if not is_blank(values[name])[position] and (position, name) not in settled
            ]
            if stated:
                told = {"figure": " and ".join(stated)}
                line = int(lines[position])
                yield position, findings.RemarkOnFigure(row=line, column=REMARK, raw=str(said), values=told)
