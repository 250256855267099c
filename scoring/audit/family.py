"""One family under audit: its records as columns, the line through them, and what is said of each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from evener.schema import units as unit_table
from evener.scoring.audit.draft import Draft, FamilyRecords
from evener.scoring.audit.flags import Flag
from evener.scoring.core.printing import Units
from evener.scoring.ratings.lines.least_squares import NotDetermined, least_squares, t_quantile
from evener.scoring.ratings.quantity_model import QuantityModel

Array = NDArray[np.float64]

SIZE_UNITS = {"m": "m", "m2": "m2", "m3": "m3", "kg": "kg", "kw": "kW", "l": "L"}
# How a slope is said, by the unit of the size: unit, and how many sizes in SI one of it is.
SLOPES: Mapping[str, Mapping[Units, tuple[str, float]]] = {
    "m": {"si": ("kW/m", 1.0), "us": ("hp/ft", unit_table.factor("ft", "m"))},
    "m2": {"si": ("kW/m2", 1.0), "us": ("hp/ft2", unit_table.factor("ft", "m") ** 2)},
    "m3": {"si": ("kW/m3", 1.0), "us": ("hp/ft3", unit_table.factor("ft", "m") ** 3)},
    "kg": {"si": ("kW per 1,000 kg", 1000.0), "us": ("hp per 1,000 lb", 1000 * unit_table.factor("lb", "kg"))},
    "kw": {"si": ("kW/kW", 1.0), "us": ("hp/kW", 1.0)},
    "l": {"si": ("kW per 1,000 L", 1000.0), "us": ("hp per 100 gal", 100 * unit_table.factor("gal", "L"))},
}


class Line(NamedTuple):
    """A line at the middle of the records: its slope there, and where its tangent meets size 0 [kW per unit, kW]."""

    slope: float
    intercept_kw: float


class OrdinaryLine(NamedTuple):
    """The ordinary straight line of rated power on size, every kilowatt counting the same, with 95 % intervals."""

    slope: float
    slope_low: float
    slope_high: float
    intercept_kw: float
    intercept_low_kw: float
    intercept_high_kw: float
    spread_kw: float
    r_squared: float


class RecordAudit(NamedTuple):
    """What is measured of one record.

    `fitted_kw` is what the others lead one to expect of it, build, duty and group known; 95 of 100 such machines lie
    from `low_kw` to `high_kw`; `t` and `p` are its deviation in standard errors and how often chance alone goes as far.
    """

    implement_id: str
    sizes: tuple[float, ...]
    rated_kw: float
    fitted_kw: float
    low_kw: float
    high_kw: float
    leverage: float
    line_shift: float
    t: float
    p: float
    set_aside: bool

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract; None where a record was left out of the measuring."""
        return {
            name: None if isinstance(value, float) and not np.isfinite(value) else value
            for name, value in self._asdict().items()
        } | {"sizes": list(self.sizes)}


@dataclass(frozen=True)
class Fitted:
    """The line of a family and what each record is measured against.

    Attributes
    ----------
    draft : the family's model, and its records against each other
    ordinary : the ordinary straight line through all records, None where they are of one size
    line : the model's line at the middle size
    spread_kw : scatter of single machines about it there, build, duty and group known [kW]
    """

    draft: Draft
    ordinary: OrdinaryLine | None
    line: Line
    spread_kw: float

    @property
    def model(self) -> QuantityModel:
        """The line of rated power."""
        return self.draft.model

    @property
    def errors(self) -> dict[str, float]:
        """Per form the typical miss of a record by the line fitted without it, as a share of its rating [1]."""
        return {name: float(np.expm1(error)) for name, error in self.model.errors.items()}


def fitted(drafted: Draft) -> Fitted:
    """Return the lines of a family.

    Parameters
    ----------
    drafted : the family with its model
    """
    model, middle = drafted.model, drafted.data.sizes.middle()
    power = float(model.level(middle).middle[0])
    slope = power * float(model.elasticity(middle)[0]) / float(middle.first[0])
    # The tangent of a line through the origin meets size 0 at nothing, not at a rounding error.
    intercept = 0.0 if model.form == "proportional" else power - slope * float(middle.first[0])
    spread_kw = power * model.spread
    return Fitted(drafted, _ordinary(drafted.data), Line(slope, intercept), spread_kw)


def _ordinary(data: FamilyRecords) -> OrdinaryLine | None:
    """Fit the straight line; with a second size its intercept is read at that size's median."""
    sizes, power = data.sizes, data.power_kw
    columns = [np.ones_like(sizes.first), sizes.first]
    if sizes.second is not None and (stated := np.isfinite(sizes.second)).sum() > len(columns) + 1:
        columns = [column[stated] for column in (*columns, sizes.second - np.nanmedian(sizes.second))]
        power = power[stated]
    try:
        fit = least_squares(np.column_stack(columns), power)
    except NotDetermined:
        return None
    low, high = fit.coefficient_interval()
    return OrdinaryLine(
        slope=float(fit.coefficients[1]),
        slope_low=float(low[1]),
        slope_high=float(high[1]),
        intercept_kw=float(fit.coefficients[0]),
        intercept_low_kw=float(low[0]),
        intercept_high_kw=float(high[0]),
        spread_kw=fit.spread,
        r_squared=fit.r_squared(about_mean=True),
    )


@dataclass(frozen=True)
class FamilyAudit:
    """The audit of one family: its line, and the flags on its records.

    Attributes
    ----------
    data : its records
    reason : why there is no line, or None
    fitted : the line and its diagnostics, or None
    flags : what speaks against single records, strongest first
    """

    data: FamilyRecords
    reason: str | None
    fitted: Fitted | None
    flags: tuple[Flag, ...]

    @property
    def family(self) -> str:
        """Name of the family."""
        return self.data.family.family

    @property
    def n(self) -> int:
        """Number of records the line rests on, or could have [1]."""
        return self.data.n

    @cached_property
    def batch_of(self) -> dict[str, str | None]:
        """The batch of each rated record."""
        return {one.implement_id: one.batch_id for one in self.data.rated}

    @property
    def slope_unit(self) -> str | None:
        """Unit of the slope, by the family's first size."""
        if not self.data.variables:
            return None
        return f"kW/{SIZE_UNITS[self.data.variables[0].rsplit('_', 1)[1]]}"

    def slope_said(self, units: Units) -> tuple[float, str] | None:
        """Return the slope at the middle size for reading, with its unit; None where there is no line."""
        if self.fitted is None:
            return None
        said, per = SLOPES[self.data.variables[0].rsplit("_", 1)[1]][units]
        power = 1.0 if units == "si" else unit_table.factor("kW", "hp")
        return self.fitted.line.slope * per * power, said

    def interval(
        self, first: Array, second: Array | None = None, *, of_one: bool = True, level: float = 0.95
    ) -> tuple[Array, Array, Array]:
        """Return the peers' line and its interval at some sizes: fitted, low and high [kW].

        Parameters
        ----------
        first, second : sizes on the family's variables [their SI units]
        of_one : True for the interval of single machines, False for that of the line itself [1]
        level : coverage, between 0 and 1 [1]

        Raises
        ------
        ValueError
            If the family has no line.
        """
        if self.fitted is None:
            raise ValueError(f"{self.family} has no line: {self.reason}")
        found = self.fitted.model.level([first, second])
        low, high = found.interval(level, of_one=of_one)
        return found.middle, low, high

    def records(self) -> Iterator[RecordAudit]:
        """Yield what is measured of each record, in their order; nothing where the family has no line."""
        if self.fitted is None:
            return
        power = self.fitted.draft.power
        half = power.error * np.array([t_quantile(0.975, one) for one in np.nan_to_num(power.freedom, nan=1.0)])
        for i, record in enumerate(self.data.records):
            yield RecordAudit(
                record.implement_id,
                tuple(float(size[i]) for size in self.data.columns.sizes if np.isfinite(size[i])),
                float(self.data.power_kw[i]),
                float(np.exp(power.expected[i])),
                float(np.exp(power.expected[i] - half[i])),
                float(np.exp(power.expected[i] + half[i])),
                float(power.pull[i]),
                float(power.line_shift[i]),
                float(power.t[i]),
                float(power.p[i]),
                not power.kept[i],
            )

    def as_dict(self, units: Units = "si", *, records: bool = False) -> dict[str, Any]:
        """Return the keys of the JSON contract; numbers in SI, the words of the evidence in the reader's units."""
        stands = {one.implement_id: one for one in self.data.rated}
        answer: dict[str, Any] = {
            "family": self.family,
            "label": self.data.family.label,
            "n": self.n,
            "rated_without_size": len(self.data.rated) - self.n,
            "variables": list(self.data.variables),
            "reason": self.reason,
            "model": None,
            "slope_kw_per_m": None,
            "intercept_kw": None,
            "spread_kw": None,
            "slope": None,
            "slope_unit": self.slope_unit,
            "choice": {},
            "ordinary": None,
            "set_aside": 0,
            "flags": [
                {
                    **flag.as_dict(units),
                    "label": stands[flag.implement_id].label,
                    "batch_id": stands[flag.implement_id].batch_id,
                    "file_row": stands[flag.implement_id].file_row,
                }
                for flag in self.flags
            ],
        }
        if records:
            answer["records"] = [one.as_dict() for one in self.records()]
        if self.fitted is not None:
            line = self.fitted.line
            answer |= {
                "model": self.fitted.model.form,
                "slope_kw_per_m": line.slope if self.data.variables[0] == "working_width_m" else None,
                "intercept_kw": line.intercept_kw,
                "spread_kw": self.fitted.spread_kw,
                "slope": line.slope,
                "choice": _finite(self.fitted.errors),
                "ordinary": self.fitted.ordinary and self.fitted.ordinary._asdict(),
                "set_aside": self.n - self.fitted.model.n,
            }
        return answer


def _finite(errors: Mapping[str, float]) -> dict[str, float | None]:
    """Return the errors with None for a form that cannot be drawn: JSON has no infinity."""
    return {name: error if np.isfinite(error) else None for name, error in errors.items()}
