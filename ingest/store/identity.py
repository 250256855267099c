"""Rows beside what other owners have: a number that two owners use, and a machine that stands under two names."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.ingest import findings
from evener.ingest.rows.rows import Rows, as_written
from evener.ingest.text.held_values import Words
from evener.schema import fields, identity
from evener.schema.store import owners

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

RECORDS = ("tractor", "implement")


def with_owners(con: Connection, rows: Rows) -> bool:
    """Write the owner behind numbers that another owner uses too, not where the store has them bare; tell whether any.

    Parameters
    ----------
    con : a store with the good rows staged
    rows : prepared rows
    """
    if rows.record not in RECORDS:
        return False
    shared, bare = owners.shared_numbers(con, rows.record), owners.bare_numbers(con, rows.record)
    key = fields.keys(rows.record)[0]
    held = rows.values[key]
    if not (shared or bare) or not isinstance(held, Words):
        return False
    positions = {line: position for position, line in enumerate(rows.table.lines.tolist())}
    codes, words = held.codes.copy(), list(held.words)
    named = [(line, identity.qualified(str(held[positions[line]]), owner)) for line, owner in shared]
    for line, name in (*named, *bare):
        words.append(name)
        codes[positions[line]] = len(words) - 1
    rows.values[key] = Words.coded(np.asarray(codes, np.int32), words)
    return True


def ask_of_copies(con: Connection, rows: Rows) -> None:
    """Ask of rows that are alike a machine of another name or owner whether they are the same.

    Parameters
    ----------
    con : a store with the good rows staged
    rows : prepared rows
    """
    if rows.record not in RECORDS:
        return
    positions = {line: position for position, line in enumerate(rows.table.lines.tolist())}
    for copy in owners.near_copies(con, rows.record):
        other = (
            identity.qualified(copy.other, copy.owner) if copy.owner and identity.AT not in copy.other else copy.other
        )
        asked = findings.NearCopy(row=copy.line, column=fields.keys(rows.record)[0], values={"other": other})
        rows.refuse(positions[copy.line], as_written(rows, positions[copy.line], asked))
    rows.findings.sort(key=lambda finding: finding.row or 0)
