"""How much single machines scatter about their line: by size, by group, and two quantities together."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings.columns import Quantity
from evener.scoring.ratings.lines.least_squares import t_quantile
from evener.scoring.ratings.lines.mixed_records import Fit
from evener.scoring.ratings.quantity_model import NARROWEST, WIDEST
from evener.scoring.ratings.robust_fit import Data

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

# Of ln|z| of a normal sample.
SD_LN_Z = 1.1107
SURE, SPREAD_FROM, GROUP_FROM = 0.99, 20, 8
CORRELATION_RECORDS = 5
LEAST_LN_Z = 0.05


@dataclass(frozen=True)
class Measured:
    """What a fit says of the records of a family that state a quantity.

    Attributes
    ----------
    rows : their places among the family's records [1]
    fit : the mixed model
    spread : of each record about its line, by its size and group [ln of the unit]
    kept : which records the line rests on
    """

    rows: NDArray[np.intp]
    fit: Fit
    spread: Array
    kept: Mask


def spreads(data: Data, fit: Fit) -> tuple[Array, float, dict[str, float]]:
    """Return each record's spread over that of all, how it goes with size, and which groups differ, if they do."""
    kept = fit.weights > 0
    z = np.log(np.maximum(np.abs(fit.residual) / fit.spread, LEAST_LN_Z))
    ratio, slope, groups = np.ones(z.size), 0.0, {}
    sure = t_quantile(0.5 + SURE / 2, math.inf)
    if data.logs.shape[1] and np.count_nonzero(kept) >= SPREAD_FROM:
        x = data.logs[kept, 0] - data.logs[kept, 0].mean()
        square = float((x**2).sum())
        found = float((x * z[kept]).sum()) / square if square > 0 else 0.0
        if abs(found) * math.sqrt(square) > sure * SD_LN_Z:
            slope = float(np.clip(found, -1.0, 1.0))
            ratio = np.clip(np.exp(slope * data.logs[:, 0]), NARROWEST, WIDEST)
            z = z - np.log(ratio)
    within = kept & (data.group.codes >= 0)
    many = np.bincount(data.group.codes[within], minlength=len(data.group.names))
    if np.count_nonzero(many >= GROUP_FROM) >= 2:
        from scipy.special import chdtrc

        mean = np.bincount(data.group.codes[within], z[within], many.size) / np.maximum(many, 1)
        off = mean - float(z[kept].mean())
        large = many >= GROUP_FROM
        square = float((many[large] * off[large] ** 2).sum()) / SD_LN_Z**2
        if chdtrc(float(np.count_nonzero(large) - 1), square) < 1 - SURE:
            factor = np.where(large, np.exp(off * many / (many + GROUP_FROM)), 1.0)
            factor = np.clip(factor, NARROWEST, WIDEST)
            ratio = ratio * data.group.of(factor - 1) + ratio
            groups = {data.group.names[k]: float(factor[k]) for k in np.flatnonzero(large).tolist()}
    return ratio, slope, groups


def correlations(measured: Mapping[Quantity, Measured]) -> dict[tuple[Quantity, Quantity], float]:
    """Return the correlation of residuals of the records that both lines keep, drawn to zero where there are few."""
    names: Sequence[Quantity] = tuple(measured)
    found: dict[tuple[Quantity, Quantity], float] = {}
    for place, one in enumerate(names):
        for other in names[place + 1 :]:
            left, right = measured[one], measured[other]
            both, at, to = np.intersect1d(left.rows[left.kept], right.rows[right.kept], return_indices=True)
            if both.size < 2:
                continue
            x = (left.fit.residual / left.spread)[left.kept][at]
            y = (right.fit.residual / right.spread)[right.kept][to]
            length = math.sqrt(float((x**2).sum()) * float((y**2).sum()))
            share = both.size / (both.size + CORRELATION_RECORDS)
            found[one, other] = share * float((x * y).sum()) / length if length > 0 else 0.0
    return found
