"""Fitting one quantity of a family: a start that wrong records do not pull, then the form by what that keeps."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings.columns import FamilyColumns, Quantity
from evener.scoring.ratings.lines import mixed
from evener.scoring.ratings.lines.factor import Factor
from evener.scoring.ratings.lines.growth import FORMS, Choice, Form, Growth, choose
from evener.scoring.ratings.lines.least_squares import NotDetermined, t_quantile
from evener.scoring.ratings.lines.mixed_records import BISQUARE, Fit, Pooling, Records
from evener.scoring.ratings.lines.trimmed import least_trimmed
from evener.scoring.ratings.lines.weighted import solve, weigh
from evener.scoring.ratings.policy import policy

Array = NDArray[np.float64]

# The first line is drawn through the closer half of at most so many records.
FIRST_SAMPLE = 300
# From here on the form is chosen on an even share of the records.
CHOICE_SAMPLE = 4000
# Below, the median of the residuals of an ordinary line is as good a start as any.
TRIMMED_FROM = 12
FIRST_TOLERANCE = 0.02
# Machines that differ by less are of one size, which says nothing of how power grows.
ONE_SIZE = 1e-6
LEAST_PENALTY = 1e-8


class Data:
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
        self.build, self.duty, self.group = (_alike(one[rows]) for one in (columns.build, columns.duty, columns.group))
        self.sound = columns.sound[rows] if columns.sound.any() else None

    def records(self, weights: Array | None = None) -> Records:
        """Return the records with some weights of their own."""
        counts = self.weights if weights is None else weights
        return Records(self.logs, self.response, counts, (self.build, self.duty), self.group, self.sound)

    def pooling(self, freedom: float) -> Pooling:
        """Return the priors, and how far a residual reaches: further where there are few records."""
        value = policy()
        kind = "power" if self.quantity == "tractor" else self.quantity
        far = t_quantile(0.975, max(freedom, 1.0)) / t_quantile(0.975, math.inf)
        return Pooling(
            between=(value["build_sd"], value["duty_sd"], value["group_sd"]),
            prior_levels=value["prior_levels"],
            group_freedom=value["group_freedom"],
            grain=value[f"{kind}_grain"],
            reach=BISQUARE * far,
        )


def _alike(factor: Factor) -> Factor:
    """Return a factor, with no levels where it has but one: what all records share is the line's own."""
    if len(factor.names) > 1:
        return factor
    return Factor((), np.full(factor.codes.size, -1, dtype=np.intp))


def _line(x: Array, y: Array) -> tuple[float, float, float]:
    """Return intercept, slope and scatter of a second size on the first, both logs about their centres."""
    across = x - x.mean()
    square = float((across**2).sum())
    slope = float((across * y).sum()) / square if square > 0 else 0.0
    intercept = float(y.mean()) - slope * float(x.mean())
    left = y - intercept - slope * x
    return intercept, slope, math.sqrt(float((left**2).sum()) / max(x.size - 2, 1))


def robust(data: Data, choice: Choice | None = None) -> tuple[Choice, Fit]:
    """Fit a power, choose the form on what that keeps, and fit the form."""
    sizes = data.logs.shape[1]
    pooling = data.pooling(data.rows.size - 1.0 - sizes)
    first, tried = Growth("power", sizes), None
    start = _start(first, data)
    some = slice(None, None, max(1, data.rows.size // CHOICE_SAMPLE))
    if choice is None:
        choice = Choice("power", {})
        if sizes and not np.ptp(data.logs[:, 0]) > ONE_SIZE:
            choice, first = Choice("proportional", {}), Growth("proportional", sizes)
            start = np.where(first.nonnegative, 0.0, float(np.median(data.response - data.logs[:, 0])))
        elif sizes:
            sample = _part(data, some)
            tried = mixed.fit(first, sample, replace(pooling, tolerance=FIRST_TOLERANCE), start=start)
            forms = _forms(tried)
            choice = choose({form: np.abs(one.left_out()) for form, one in forms.items()}, tried.weights)
            tried = forms[choice.form]
    growth = Growth(choice.form, sizes)
    fit = mixed.fit(growth, data.records(), pooling, start=_recast(start, first, growth), before=tried)
    if data.filled.any() and data.second is not None:
        # What a filled-in size may be off by is scatter that only these records have.
        off = (fit.coefficients[len(growth.names) - 1] * data.second[2]) ** 2
        weights = data.weights * np.where(data.filled, fit.spread**2 / (fit.spread**2 + off), 1.0)
        fit = mixed.fit(growth, data.records(weights), pooling, before=fit)
    return choice, fit


def _forms(tried: Fit) -> dict[Form, Fit]:
    """Return each form fitted to what a power keeps, by the weights it gives it."""
    found = {}
    records = replace(tried.records, weights=tried.weights)
    pooling = replace(tried.pooling, reach=math.inf)
    fixed = len(tried.growth.names)
    for form in FORMS:
        growth = Growth(form, tried.growth.sizes)
        begin = np.concatenate([_recast(tried.coefficients[:fixed], tried.growth, growth), tried.coefficients[fixed:]])
        try:
            found[form] = mixed.fit(growth, records, pooling, before=replace(tried, growth=growth, coefficients=begin))
        except NotDetermined:
            continue
    return found


def _part(data: Data, some: slice) -> Records:
    if some.step == 1:
        return data.records()
    return Records(
        data.logs[some],
        data.response[some],
        data.weights[some],
        tuple(replace(factor, codes=factor.codes[some]) for factor in (data.build, data.duty)),
        replace(data.group, codes=data.group.codes[some]),
        None if data.sound is None else data.sound[some],
    )


def _start(growth: Growth, data: Data) -> Array:
    """Return a first power line that wrong records have not pulled: through the half that lie closest to one line."""
    some = slice(None, None, max(1, data.rows.size // FIRST_SAMPLE))
    design, response = growth.columns(data.logs[some], growth.start()), data.response[some]
    if response.size < TRIMMED_FROM:
        # The least penalty settles what records of one size leave open.
        sums, least = weigh(design, response, np.ones(response.size)), np.full(design.shape[1], LEAST_PENALTY)
        return solve(sums, least, nonnegative=growth.nonnegative).change
    start = least_trimmed(design, response)
    return np.where(growth.nonnegative, np.maximum(start, 0.0), start)


def _recast(power: Array, first: Growth, growth: Growth) -> Array:
    """Return the coefficients of a power in another form, alike at the centre."""
    said = dict(zip(first.names, power.tolist(), strict=True))
    if "b" in said:
        said["s"] = max(1 / max(said["b"], 0.05) - 1, 0.0)
    return np.array([said[name] for name in growth.names])
