"""Fitting the model of a family: start, form, pooling, spreads, and what was left out."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings import mixed
from evener.scoring.ratings.columns import FIELDS, FamilyColumns, Quantity
from evener.scoring.ratings.factor import Factor
from evener.scoring.ratings.family_model import NARROWEST, WIDEST, Aside, FamilyModel, QuantityModel
from evener.scoring.ratings.growth import Choice, Growth, choose
from evener.scoring.ratings.least_squares import NotDetermined, t_quantile
from evener.scoring.ratings.robust import least_trimmed
from evener.scoring.ratings.weighted import solve, weigh

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SPARE_RECORDS = 3
# The first line is drawn through the closer half of at most so many records.
FIRST_SAMPLE = 300
# From here on the form is chosen on an even share of the records.
CHOICE_SAMPLE = 4000
# Below, the median of the residuals of an ordinary line is as good a start as any.
TRIMMED_FROM = 12
FIRST_TOLERANCE = 0.02
# Of ln|z| of a normal sample.
SD_LN_Z = 1.1107
SURE, SPREAD_FROM, GROUP_FROM = 0.99, 20, 8
CORRELATION_RECORDS = 5
LEAST_LN_Z = 0.05


@lru_cache(maxsize=1)
def policy() -> Mapping[str, float]:
    """Return the values of `pooling.csv` by name."""
    text = resources.files("evener.scoring.ratings").joinpath("pooling.csv").read_text(encoding="utf-8")
    return {row["name"]: float(row["value"]) for row in csv.DictReader(text.splitlines())}


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
    fit: mixed.Fit
    spread: Array
    kept: Mask


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
    return FamilyFit(FamilyModel(columns.family, models, _correlations(measured), missing), measured)


def _fit_quantity(columns: FamilyColumns, quantity: Quantity, count: float) -> tuple[QuantityModel, Measured]:
    value = columns.values[quantity]
    out = np.array([one in columns.left_out for one in columns.ids]) if columns.left_out else np.zeros(columns.n, bool)
    usable = np.isfinite(value)
    if columns.variables:
        usable &= np.isfinite(columns.sizes[0])
    rows = np.flatnonzero(usable & ~out)
    sized = _second_size(columns, rows)
    least = 1 + sized + SPARE_RECORDS
    if rows.size < least:
        raise NotDetermined(f"{rows.size} records state it and a size; a line with its scatter needs {least}")
    data = _Data(columns, quantity, rows, sized, count)
    choice, fit = _robust(data)
    ratio, slope, group_spreads = _spreads(data, fit)
    if (ratio != 1).any():
        fit = mixed.fit(fit.growth, fit.records, fit.pooling, ratio=ratio, before=fit)
    kept = fit.weights > 0
    back = np.flatnonzero(usable & out)
    moved = 1.0
    if back.size:
        whole = _Data(replace(columns, left_out={}), quantity, np.flatnonzero(usable), sized, count, data.centres)
        moved = _over(_robust(whole, choice)[1], fit)
    model = QuantityModel(
        quantity=quantity,
        variables=columns.variables[:sized],
        form=choice.form,
        centres=data.centres,
        coefficients=tuple(fit.coefficients.tolist()),
        covariance=tuple(fit.covariance.ravel().tolist()),
        builds=data.build.names,
        duties=data.duty.names,
        build_shares=_shares(data.build, kept),
        duty_shares=_shares(data.duty, kept),
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


def _second_size(columns: FamilyColumns, rows: NDArray[np.intp]) -> int:
    """Return how many sizes the line can go by: the second where enough records state both, and not all the same."""
    if len(columns.variables) < 2:
        return len(columns.variables)
    second = columns.sizes[1][rows]
    stated = second[np.isfinite(second)]
    return 2 if stated.size >= 3 + SPARE_RECORDS and np.ptp(np.log(stated)) > 1e-6 else 1


class _Data:
    """The records of one quantity as a mixed model reads them, second sizes filled in where they are not stated."""

    def __init__(
        self,
        columns: FamilyColumns,
        quantity: Quantity,
        rows: NDArray[np.intp],
        sized: int,
        count: float,
        centres: tuple[float, ...] | None = None,
    ) -> None:
        self.columns, self.quantity, self.rows = columns, quantity, rows
        logs = [np.log(size[rows]) for size in columns.sizes[:sized]]
        middles = [float(np.nanmedian(one)) for one in logs] if centres is None else np.log(centres)
        self.centres = tuple(float(math.exp(middle)) for middle in middles)
        logs = [one - middle for one, middle in zip(logs, middles, strict=True)]
        self.second: tuple[float, float, float] | None = None
        self.filled = np.zeros(rows.size, dtype=bool)
        if sized > 1:
            self.filled = np.isnan(logs[1])
            self.second = _line(logs[0][~self.filled], logs[1][~self.filled])
            logs[1] = np.where(self.filled, self.second[0] + self.second[1] * logs[0], logs[1])
        self.logs = np.column_stack(logs) if logs else np.empty((rows.size, 0))
        self.response = np.log(columns.values[quantity][rows])
        shipped = columns.library[rows]
        many = int(np.count_nonzero(shipped))
        self.weights = np.where(shipped, min(1.0, count / many) if many else 1.0, 1.0)
        self.build, self.duty, self.group = (one[rows] for one in (columns.build, columns.duty, columns.group))
        self.build, self.duty = (one if len(one.names) > 1 else _alike(one) for one in (self.build, self.duty))
        self.sound = columns.sound[rows] if columns.sound.any() else None

    def records(self, weights: Array | None = None) -> mixed.Records:
        """Return the records with some weights of their own."""
        counts = self.weights if weights is None else weights
        return mixed.Records(self.logs, self.response, counts, (self.build, self.duty), self.group, self.sound)

    def pooling(self, freedom: float) -> mixed.Pooling:
        """Return the priors, and how far a residual reaches: further where there are few records."""
        value = policy()
        kind = "power" if self.quantity == "tractor" else self.quantity
        far = t_quantile(0.975, max(freedom, 1.0)) / t_quantile(0.975, math.inf)
        return mixed.Pooling(
            between=(value["build_sd"], value["duty_sd"], value["group_sd"]),
            prior_levels=value["prior_levels"],
            group_freedom=value["group_freedom"],
            grain=value[f"{kind}_grain"],
            reach=mixed.BISQUARE * far,
        )


def _alike(factor: Factor) -> Factor:
    """Return a factor of no levels: one that all records share is the line's own."""
    return Factor((), np.full(factor.codes.size, -1, dtype=np.intp))


def _shares(factor: Factor, kept: Mask) -> tuple[float, ...]:
    codes = factor.codes[kept]
    counts = np.bincount(codes[codes >= 0], minlength=len(factor.names)).astype(float)
    return tuple((counts / max(counts.sum(), 1.0)).tolist())


def _line(x: Array, y: Array) -> tuple[float, float, float]:
    """Return intercept, slope and scatter of a second size on the first, both logs about their centres."""
    across = x - x.mean()
    square = float((across**2).sum())
    slope = float((across * y).sum()) / square if square > 0 else 0.0
    intercept = float(y.mean()) - slope * float(x.mean())
    left = y - intercept - slope * x
    return intercept, slope, math.sqrt(float((left**2).sum()) / max(x.size - 2, 1))


def _robust(data: _Data, choice: Choice | None = None) -> tuple[Choice, mixed.Fit]:
    """Fit a power, choose the form on what that keeps, and fit the form."""
    sizes = data.logs.shape[1]
    pooling = data.pooling(data.rows.size - 1.0 - sizes)
    first = Growth("power", sizes)
    start, tried = _start(first, data), None
    some = slice(None, None, max(1, data.rows.size // CHOICE_SAMPLE))
    if choice is None:
        choice = Choice("power", {})
        if sizes:
            sample = _part(data, some)
            tried = mixed.fit(first, sample, replace(pooling, tolerance=FIRST_TOLERANCE), start=start)
            choice = choose(sample.logs, sample.response - tried.of_factors(), tried.weights)
            start = tried.coefficients[: len(first.names)]
    growth = Growth(choice.form, sizes)
    begin = _recast(start, first, growth)
    if tried is not None:
        levels = tried.coefficients[len(first.names) :]
        tried = replace(tried, growth=growth, coefficients=np.concatenate([begin, levels]))
    fit = mixed.fit(growth, data.records(), pooling, start=begin, before=tried)
    if data.filled.any() and data.second is not None:
        # What a filled-in size may be off by is scatter that only these records have.
        off = (fit.coefficients[len(growth.names) - 1] * data.second[2]) ** 2
        weights = data.weights * np.where(data.filled, fit.spread**2 / (fit.spread**2 + off), 1.0)
        fit = mixed.fit(growth, data.records(weights), pooling, before=fit)
    return choice, fit


def _part(data: _Data, some: slice) -> mixed.Records:
    if some.step == 1:
        return data.records()
    return mixed.Records(
        data.logs[some],
        data.response[some],
        data.weights[some],
        tuple(replace(factor, codes=factor.codes[some]) for factor in (data.build, data.duty)),
        replace(data.group, codes=data.group.codes[some]),
        None if data.sound is None else data.sound[some],
    )


def _start(growth: Growth, data: _Data) -> Array:
    """Return a first power line that wrong records have not pulled: through the half that lie closest to one line."""
    some = slice(None, None, max(1, data.rows.size // FIRST_SAMPLE))
    design, response = growth.columns(data.logs[some], growth.start()), data.response[some]
    if response.size < TRIMMED_FROM:
        step = solve(weigh(design, response, np.ones(response.size)), nonnegative=growth.nonnegative)
        return step.change
    start = least_trimmed(design, response)
    return np.where(growth.nonnegative, np.maximum(start, 0.0), start)


def _recast(power: Array, first: Growth, growth: Growth) -> Array:
    """Return the coefficients of a power in another form, alike at the centre."""
    said = dict(zip(first.names, power.tolist(), strict=True))
    if "b" in said:
        said["s"] = max(1 / max(said["b"], 0.05) - 1, 0.0)
    return np.array([said[name] for name in growth.names])


def _over(other: mixed.Fit, fit: mixed.Fit) -> float:
    """Return what another fit gives at the centre over what this one does."""
    return math.exp(float(other.coefficients[0] - fit.coefficients[0]))


def _counted_in_full(fit: mixed.Fit, kept: Mask) -> float:
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


def _set_aside(data: _Data, fit: mixed.Fit, kept: Mask) -> Iterator[Aside]:
    for place in np.flatnonzero(~kept).tolist():
        factor = math.exp(float(np.clip(fit.residual[place], -20, 20)))
        yield Aside(data.columns.ids[int(data.rows[place])], "too far off its line to belong", factor)


def _spreads(data: _Data, fit: mixed.Fit) -> tuple[Array, float, dict[str, float]]:
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


def _correlations(measured: Mapping[Quantity, Measured]) -> dict[tuple[Quantity, Quantity], float]:
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
