"""Ids that library records had before: an old one still finds the record, and a new one finds it in an old store.

The pairs are rows of `former_ids.csv`; an id that changed twice has two rows.
"""

from __future__ import annotations

import csv
from collections.abc import Collection
from functools import cache
from importlib import resources


@cache
def pairs() -> dict[str, tuple[str, ...]]:
    """Return the other ids of each id, in both directions, the nearest in time first."""
    text = resources.files("evener.schema").joinpath("former_ids.csv").read_text(encoding="utf-8")
    others: dict[str, tuple[str, ...]] = {}
    for row in csv.DictReader(text.splitlines()):
        former, now = row["former_id"], row["now_id"]
        others[former.casefold()] = (*others.get(former.casefold(), ()), now)
        others[now.casefold()] = (*others.get(now.casefold(), ()), former)
    return others


def found(said: str, ids: Collection[str]) -> str:
    """Return the id among some that is meant: the one that was said, else another one of the same record.

    Parameters
    ----------
    said : an id as a sheet or a command has it
    ids : the ids there are
    """
    seen, waiting = {said.casefold()}, [said]
    while waiting:
        one = waiting.pop(0)
        if one in ids:
            return one
        fresh = [other for other in pairs().get(one.casefold(), ()) if other.casefold() not in seen]
        seen.update(other.casefold() for other in fresh)
        waiting += fresh
    return said
