"""Working a figure out for those tractors of a block for which it can be, and leaving it unknown for the others."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.gives.known import Known, unknown
from evener.scoring.mechanics.validity import OutOfRange

if TYPE_CHECKING:
    from evener.scoring.core.draws import Mask
    from evener.scoring.gives.block import Block

Work = Callable[["Block"], Known]


def where_known(block: Block, names: Sequence[str], work: Work) -> Known:
    """Return a figure worked out of tractors whose fields are known or assumed; it is unknown for the others.

    A tractor that lies outside the range of a formula is left out alone, with the reason.

    Parameters
    ----------
    block : the tractors
    names : the fields it takes
    work : gives the figure of a block in which every one of them is known
    """
    known = np.logical_and.reduce([block.take(name).known for name in names])
    return joined(len(block), [(known, in_range(block.part(known), work))] if known.any() else [])


def in_range(block: Block, work: Work) -> Known:
    """Return a figure of tractors; unknown for those that lie outside the range of a formula."""
    try:
        return work(block)
    except OutOfRange as reason:
        if len(block) == 1:
            return unknown(1, str(reason))
    half = np.arange(len(block)) < len(block) // 2
    return joined(len(block), [(rows, in_range(block.part(rows), work)) for rows in (half, ~half)])


def joined(tractors: int, parts: Iterable[tuple[Mask, Known]]) -> Known:
    """Return the figures of several groups of a block as one; unknown for who is in none.

    Parameters
    ----------
    tractors : how many there are
    parts : which tractors, and their figure
    """
    held = list(parts)
    if len(held) == 1 and held[0][0].all():
        return held[0][1]
    whole = unknown(tractors)
    values = np.full((tractors, max((one.values.shape[1] for _, one in held), default=1)), np.nan)
    assumed = whole.assumed.copy()
    for rows, one in held:
        values[rows] = one.values
        assumed[rows] = one.assumed
    return Known(values, assumed)
