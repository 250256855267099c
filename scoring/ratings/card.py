"""The card of a family's model: what a report needs to print it, and another to work with it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings.columns import UNITS, FamilyColumns, Quantity
from evener.scoring.ratings.fitting import fit_with_records
from evener.scoring.ratings.lines.level import Level
from evener.scoring.ratings.quantity_model import QuantityModel
from evener.scoring.ratings.spreads import SD_LN_Z, Measured

Array = NDArray[np.float64]

MOST_INFLUENTIAL = 5
# Of ln|z| of a normal sample, below which a residual is counted as this.
LEAST_Z = 0.05
BAND_POINTS = 7


@dataclass(frozen=True)
class Check:
    """A test of what the model takes for granted.

    Attributes
    ----------
    name : what is tested
    value : of the statistic [1]
    p : probability of one as large by chance [1]
    says : what it says, in words
    """

    name: str
    value: float
    p: float
    says: str


@dataclass(frozen=True)
class Card:
    """One quantity of a family's model, with its bands, checks and influential records.

    Attributes
    ----------
    family : its name
    model : the model
    band_sizes : first sizes of the bands, the others at their centres [SI unit of the variable]
    band : what the model gives there
    checks : tests of spread, of tails and of skew
    influence : the records that move the line most: name, Cook's distance, factor on the line at the record's size
    logs, residuals : ln of the first size over its centre, and residuals in spreads, of the records kept [1]
    """

    family: str
    model: QuantityModel
    band_sizes: tuple[float, ...]
    band: Level
    checks: tuple[Check, ...]
    influence: tuple[tuple[str, float, float], ...]
    logs: Array
    residuals: Array

    def coefficients(self) -> list[dict[str, Any]]:
        """Return each coefficient with its standard error and its number of records' own."""
        return [
            {"name": name, "value": value, "standard_error": error}
            for name, value, error in zip(
                self.model.names, self.model.coefficients, self.model.standard_errors, strict=True
            )
        ]

    def to_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract."""
        model = self.model
        size = len(model.coefficients)
        mean_low, mean_high = self.band.interval(of_one=False)
        low, high = self.band.interval()
        return {
            "schema": 1,
            "family": self.family,
            "quantity": model.quantity,
            "unit": UNITS[model.quantity],
            "form": model.form,
            "formula": model.formula,
            "variables": list(model.variables),
            "centres": list(model.centres),
            "coefficients": self.coefficients(),
            "covariance": np.reshape(model.covariance, (size, size)).tolist(),
            "n": model.n,
            "n_library": model.library,
            "set_aside": [
                {"implement_id": one.record, "reason": one.reason, "factor": _finite(one.factor)} for one in model.aside
            ],
            "moved_by_set_aside": model.moved_by_aside,
            "moved_by_verdicts": model.moved_by_verdicts,
            "ranges": [list(ends) for ends in zip(model.lows, model.highs, strict=True)],
            "spread": model.spread,
            "spread_slope": model.spread_slope,
            "between": {
                "builds": model.between_builds,
                "duties": model.between_duties,
                "groups": model.between_groups,
            },
            "groups": [
                {
                    "group": name,
                    "effect": value,
                    "standard_error": model.group_errors[name],
                    "spread_ratio": model.group_spreads.get(name, 1.0),
                }
                for name, value in model.groups.items()
            ],
            "errors": dict(model.errors),
            "bands": [
                {
                    "size": size,
                    "middle": float(self.band.middle[k]),
                    "mean_low": float(mean_low[k]),
                    "mean_high": float(mean_high[k]),
                    "low": float(low[k]),
                    "high": float(high[k]),
                }
                for k, size in enumerate(self.band_sizes)
            ],
            "checks": [{"name": one.name, "value": one.value, "p": one.p, "says": one.says} for one in self.checks],
            "influence": [
                {"implement_id": record, "line_shift": distance, "factor": factor}
                for record, distance, factor in self.influence
            ],
        }


def card(columns: FamilyColumns, quantity: Quantity = "power") -> Card | str:
    """Return the card of one quantity of a family, or why there is none.

    Parameters
    ----------
    columns : the family's records
    quantity : power, tractor, mass or reach
    """
    fit = fit_with_records(columns)
    if quantity not in fit.measured:
        return fit.model.missing[quantity]
    model, measured = fit.model.quantities[quantity], fit.measured[quantity]
    sizes = np.geomspace(model.lows[0], model.highs[0], BAND_POINTS) if model.variables else np.ones(1)
    band = model.level([sizes, *model.centres[1:]])
    kept = measured.kept
    logs = measured.fit.records.logs
    first = logs[kept, 0] if logs.shape[1] else np.zeros(int(kept.sum()))
    residuals = (measured.fit.residual / measured.spread)[kept]
    return Card(
        columns.family,
        model,
        tuple(sizes.tolist()),
        band,
        tuple(_checks(first, residuals)),
        tuple(_influence(columns.ids, measured)),
        first,
        residuals,
    )


def _influence(ids: Sequence[str], measured: Measured) -> list[tuple[str, float, float]]:
    moved, distance = measured.fit.moves()
    most = np.argsort(-distance, kind="stable")[:MOST_INFLUENTIAL]
    return [
        (ids[int(measured.rows[k])], float(distance[k]), math.exp(float(moved[k]))) for k in most if distance[k] > 0
    ]


def _checks(logs: Array, residuals: Array) -> list[Check]:
    """Test whether the spread changes with size, and whether residuals are as skew or as long-tailed as a normal's.

    Spread: the slope of ln|residual| on ln size over its error. Skew and tails: the moments of D'Agostino's tests.
    """
    found = []
    across = logs - logs.mean()
    square = float((across**2).sum())
    if square > 0 and residuals.size >= 5:
        z = np.log(np.maximum(np.abs(residuals), LEAST_Z))
        slope = float((across * z).sum()) / square
        value = slope * math.sqrt(square) / SD_LN_Z
        p = math.erfc(abs(value) / math.sqrt(2))
        grows = "grows" if slope > 0 else "shrinks"
        says = f"the spread {grows} with size" if p < 0.01 else "no sign that the spread changes with size"
        found.append(Check("spread by size", value, p, says))
    if residuals.size >= 20:
        from scipy.stats import kurtosistest, skewtest

        for name, test, word in (("skew", skewtest, "lean to one side"), ("tails", kurtosistest, "have other tails")):
            value, p = (float(one) for one in test(residuals))
            says = f"residuals {word}" if p < 0.01 else f"no sign that residuals {word}"
            found.append(Check(name, value, p, says))
    return found


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def card_rows(one: Card) -> list[Mapping[str, Any]]:
    """Return the coefficients of a card as rows for a table, with n and spread beside each.

    Parameters
    ----------
    one : the card
    """
    return [
        {
            "family": one.family,
            "quantity": one.model.quantity,
            "form": one.model.form,
            **row,
            "n": one.model.n,
            "spread": one.model.spread,
        }
        for row in one.coefficients()
    ]
