"""Rows that name the same record."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from evener.ingest.text.held_values import Values, Words
from evener.schema import fields, identity


def doubles(record: str, values: Mapping[str, Values]) -> list[tuple[int, list[int]]]:
    """Return, for each name that several rows have, the last of them and the others.

    Parameters
    ----------
    record : kind of record
    values : by field, the values of all rows; a blank part of a name equals another blank
    """
    names = fields.keys(record)
    named = _codes(values[names[0]])
    together = named
    for name in names[1:]:
        further = _codes(values[name])
        _, together = np.unique(
            together.astype(np.int64) * (int(further.max(initial=0)) + 2) + further + 1, return_inverse=True
        )
    stated = np.flatnonzero(named >= 0)
    counts = np.bincount(together[stated]) if len(stated) else np.zeros(0, np.int64)
    places: dict[int, list[int]] = {}
    for position in stated[counts[together[stated]] > 1].tolist():
        places.setdefault(int(together[position]), []).append(position)
    return [(positions[-1], positions[:-1]) for positions in places.values()]


def tell_owners_apart(record: str, values: dict[str, Values]) -> None:
    """Write the owner behind numbers that several owners of one list use; the first of them has his bare.

    Parameters
    ----------
    record : kind of record
    values : by field, the values of all rows; the names are changed
    """
    owners, key = values.get("owner"), fields.keys(record)[0]
    held = values[key]
    if not isinstance(owners, Words) or not isinstance(held, Words):
        return
    codes, words = held.codes.copy(), list(held.words)
    for last, others in doubles(record, values):
        places = [*others, last]
        whose = [owners[place] for place in places]
        if None in whose:
            continue
        for place, owner in zip(places, whose, strict=True):
            if identity.plain_owner(owner) != identity.plain_owner(whose[0]):
                words.append(identity.qualified(str(held[place]), owner))
                codes[place] = len(words) - 1
    if len(words) > len(held.words):
        values[key] = Words.coded(codes, words)


def _codes(values: Values) -> NDArray[np.int64]:
    """Return a number for each row that is the same where the values are; -1 for a blank."""
    if isinstance(values, Words):
        return values.codes.astype(np.int64)
    _, codes = np.unique(values, return_inverse=True)
    return np.where(np.isnan(values), -1, codes)
