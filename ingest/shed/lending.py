"""Limits on lending that the remarks on members' tractors and machines state, as the shed keeps them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from evener.schema.lending import limits
from evener.schema.shed import Driven, Kept


def limited(
    things: Iterable[tuple[str, str | None]], first: dt.date, last: dt.date
) -> tuple[tuple[Kept, ...], tuple[Driven, ...]]:
    """Return what stays at home in a season, and what goes out with its driver only, by the remarks.

    Parameters
    ----------
    things : id and remark of each tractor and machine
    first, last : the season
    """
    kept: list[Kept] = []
    driven: list[Driven] = []
    for thing, remark in things:
        for one in limits(remark):
            if one.rule == "with_driver":
                driven.append(Driven(thing, one.words))
            elif one.first_month is None:
                kept.append(Kept(thing, words=one.words))
            else:
                kept += [Kept(thing, begins, ends, words=one.words) for begins, ends in one.days(first, last)]
    return tuple(kept), tuple(driven)
