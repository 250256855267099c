"""Fitting the model of a family, with what was left out of it and how much that moved it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings.columns import FIELDS, FamilyColumns, Quantity
from evener.scoring.ratings.family_model import FamilyModel
from evener.scoring.ratings.lines import mixed
from evener.scoring.ratings.lines.least_squares import NotDetermined
from evener.scoring.ratings.lines.level import Aside
from evener.scoring.ratings.lines.mixed_records import Fit
from evener.scoring.ratings.lines.weighted import solve, weigh
from evener.scoring.ratings.policy import policy
from evener.scoring.ratings.quantity_model import QuantityModel
from evener.scoring.ratings.robust_fit import Data, robust
from evener.scoring.ratings.spreads import Measured, correlations, spreads

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SPARE_RECORDS = 3


@dataclass(frozen=True)
class FamilyFit:
    """The model of a family with what it says of each record."""

    model: FamilyModel
    measured: Mapping[Quantity, Measured]


def fit_family(columns: FamilyColumns, *, library_records: float | None = None) -> FamilyModel:
    """Fit the model of one family.

    Parameters
    ----------
    columns : its records
    library_records : as how many records all library rows together count; by `pooling.csv` when left out [1]
    """
    return fit_with_records(columns, library_records=library_records).model


def fit_with_records(columns: FamilyColumns, *, library_records: float | None = None) -> FamilyFit:
    """Fit the model of one family, and keep what it says of each record.

    Parameters
    ----------
    columns : its records
    library_records : as how many records all library rows together count; by `pooling.csv` when left out [1]
    """
    count = policy()["library_records"] if library_records is None else library_records
    models: dict[Quantity, QuantityModel] = {}
    measured: dict[Quantity, Measured] = {}
    missing: dict[Quantity, str] = {}
    for quantity in FIELDS:
        if quantity not in columns.values or FIELDS[quantity] in columns.variables:
            missing[quantity] = "not asked of this family"
            continue
        try:
            models[quantity], measured[quantity] = _fit_quantity(columns, quantity, count)
        except NotDetermined as error:
            missing[quantity] = str(error)
    return FamilyFit(FamilyModel(columns.family, models, correlations(measured), missing), measured)


def _fit_quantity(columns: FamilyColumns, quantity: Quantity, count: float) -> tuple[QuantityModel, Measured]:
    value = columns.values[quantity]
    out = np.array([one in columns.left_out for one in columns.ids]) if columns.left_out else np.zeros(columns.n, bool)
    usable = np.isfinite(value)
    if columns.variables:
        usable &= np.isfinite(columns.sizes[0])
    rows = _ordered(columns, value, np.flatnonzero(usable & ~out))
    sized = _second_size(columns, rows)
    least = 1 + sized + SPARE_RECORDS
    if rows.size < least:
        raise NotDetermined(f"{rows.size} records state it and a size; a line with its scatter needs {least}")
    data = Data(columns, quantity, rows, sized, count)
    try:
        choice, fit = robust(data)
    except NotDetermined:
        if sized < 2:
            raise
        # Two sizes that go together in every record say no more than one.
        sized = 1
        data = Data(columns, quantity, rows, sized, count)
        choice, fit = robust(data)
    ratio, slope, group_spreads = spreads(data, fit)
    if (ratio != 1).any():
        fit = mixed.fit(fit.growth, fit.records, fit.pooling, ratio=ratio, before=fit)
    kept = fit.weights > 0
    back = np.flatnonzero(usable & out)
    moved = 1.0
    if back.size:
        whole = Data(
            replace(columns, left_out={}),
            quantity,
            _ordered(columns, value, np.flatnonzero(usable)),
            sized,
            count,
            data.centres,
        )
        moved = _over(robust(whole, choice)[1], fit)
    model = QuantityModel(
        quantity=quantity,
        variables=columns.variables[:sized],
        form=choice.form,
        centres=data.centres,
        coefficients=tuple(fit.coefficients.tolist()),
        covariance=tuple(fit.covariance.ravel().tolist()),
        builds=data.build.names,
        duties=data.duty.names,
        build_shares=data.build.shares(kept),
        duty_shares=data.duty.shares(kept),
        groups=dict(zip(data.group.names, fit.group_effects.tolist(), strict=True)),
        group_errors=dict(zip(data.group.names, fit.group_errors.tolist(), strict=True)),
        group_spreads=group_spreads,
        between_builds=float(fit.between[0]) if data.build.names else 0.0,
        between_duties=float(fit.between[1]) if data.duty.names else 0.0,
        between_groups=float(fit.between[2]) if data.group.names else policy()["group_sd"],
        spread=fit.spread,
        spread_slope=slope,
        freedom=max(int(np.count_nonzero(kept)) - fit.step.degrees, 1.0),
        second=data.second,
        n=int(np.count_nonzero(kept)),
        library=int(np.count_nonzero(columns.library[rows[kept]])),
        aside=(*_left_out(columns, back), *_set_aside(data, fit, kept)),
        lows=tuple(float(np.nanmin(size[rows][kept])) for size in columns.sizes[:sized]),
        highs=tuple(float(np.nanmax(size[rows][kept])) for size in columns.sizes[:sized]),
        errors=dict(choice.errors),
        moved_by_aside=_counted_in_full(fit, kept),
        moved_by_verdicts=moved,
    )
    return model, Measured(rows, fit, fit.spread * fit.ratio, kept)


def _ordered(columns: FamilyColumns, value: Array, rows: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return records by value and size: sums are then the same to the last digit however a file is sorted."""
    return rows[np.lexsort((*(size[rows] for size in reversed(columns.sizes)), value[rows]))]


def _second_size(columns: FamilyColumns, rows: NDArray[np.intp]) -> int:
    """Return how many sizes the line can go by: the second where enough records state both, and not all the same."""
    if len(columns.variables) < 2:
        return len(columns.variables)
    second = columns.sizes[1][rows]
    stated = second[np.isfinite(second)]
    return 2 if stated.size >= 3 + SPARE_RECORDS and np.ptp(np.log(stated)) > 1e-6 else 1


def _over(other: Fit, fit: Fit) -> float:
    """Return what another fit gives at the centre over what this one does."""
    return math.exp(float(other.coefficients[0] - fit.coefficients[0]))


def _counted_in_full(fit: Fit, kept: Mask) -> float:
    """Return what plain least squares through all records gives at the centre over what the fit does."""
    if kept.all():
        return 1.0
    records = fit.records
    columns = fit.growth.columns(records.logs, fit.coefficients[: len(fit.growth.names)])
    try:
        step = solve(weigh(columns, fit.residual, records.weights))
    except NotDetermined:
        return 1.0
    return math.exp(float(step.change[0]))


def _left_out(columns: FamilyColumns, rows: NDArray[np.intp]) -> Iterator[Aside]:
    for row in rows.tolist():
        record = columns.ids[row]
        yield Aside(record, f"left out: {columns.left_out[record]}", math.nan)


def _set_aside(data: Data, fit: Fit, kept: Mask) -> Iterator[Aside]:
    for place in np.flatnonzero(~kept).tolist():
        factor = math.exp(float(np.clip(fit.residual[place], -20, 20)))
        yield Aside(data.columns.ids[int(data.rows[place])], "too far off its line to belong", factor)
