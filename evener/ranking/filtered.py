"""What filters took out of the tractors to pick among, each with the best it took."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.enquiry.filters import Filter
    from evener.schema.records import Tractor


@dataclass(frozen=True)
class Filtered:
    """What one filter did by itself.

    Attributes
    ----------
    filter : what it asked for
    removed : how many it took out
    by_estimate : how many of those by what such a tractor is estimated to cost, because no price is stated
    not_stated : how many were kept whose record does not say
    best_removed, label : the first of those it took out, in the order of the answer; None where it took none
    """

    filter: str
    removed: int
    by_estimate: int
    not_stated: int
    best_removed: str | None
    label: str | None


def filtered(filters: Sequence[Filter], in_order: Sequence[Tractor]) -> tuple[Filtered, ...]:
    """Return what each filter did among tractors in their order."""
    found = []
    for one in filters:
        verdicts = [(tractor, one.keeps(tractor)) for tractor in in_order]
        out = [tractor for tractor, keeps in verdicts if keeps is False]
        silent = sum(keeps is None for _, keeps in verdicts)
        first = out[0] if out else None
        found.append(
            Filtered(
                one.words,
                len(out),
                sum(map(one.estimates, out)),
                silent,
                None if first is None else first.tractor_id,
                None if first is None else first.label,
            )
        )
    return tuple(found)
