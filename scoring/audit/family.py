"""One family under audit: its records as columns, the line through them, and what is said of each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from evener.schema import units as unit_table
from evener.schema.records import Family, Implement
from evener.scoring.audit.flags import Flag
from evener.scoring.audit.peers import Peers
from evener.scoring.core.printing import Units
from evener.scoring.ratings.forms import Choice, Sizes
from evener.scoring.ratings.least_squares import LeastSquares, t_quantile
from evener.scoring.ratings.model import SPARE_RECORDS, size_of, variables_of

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

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


@dataclass(frozen=True)
class FamilyRecords:
    """The rated records of one family, as columns in the same order.

    Attributes
    ----------
    family : the family
    variables : sizes the line goes by
    rated : every record with a rated PTO power of its own
    records : those of them that state the sizes
    sizes : of these records
    power_kw : their rated PTO power [kW]
    mass_kg : their mass, NaN where not stated [kg]
    """

    family: Family
    variables: tuple[str, ...]
    rated: Sequence[Implement]
    records: Sequence[Implement]
    sizes: Sizes
    power_kw: Array
    mass_kg: Array

    @property
    def n(self) -> int:
        """Number of records the line can rest on [1]."""
        return len(self.records)

    def too_few(self) -> str | None:
        """Return why no line can be drawn, or None."""
        if not self.rated:
            return "no record states a PTO power of its own"
        if not self.variables:
            return "the family has no size that its power is held against"
        least = len(self.variables) + 1 + SPARE_RECORDS
        if self.n < least:
            return f"{self.n} records state a rated PTO power and a size; a line with its scatter needs {least}"
        return None


def collect(family: Family, rated: Sequence[Implement]) -> FamilyRecords:
    """Return the rated records of a family as columns, on both its sizes where enough records state both.

    Parameters
    ----------
    family : the family
    rated : its records with a rated PTO power of their own
    """
    names = variables_of(family)
    while True:
        columns = [np.array([size_of(one, name) for one in rated], float) for name in names]
        complete = np.all([column > 0 for column in columns], axis=0) if columns else np.zeros(len(rated), dtype=bool)
        if len(names) < 2 or np.count_nonzero(complete) >= len(names) + 1 + SPARE_RECORDS:
            break
        names = names[:1]
    kept = [one for one, whole in zip(rated, complete, strict=True) if whole]
    first = columns[0][complete] if columns else np.empty(0)
    return FamilyRecords(
        family=family,
        variables=names,
        rated=rated,
        records=kept,
        sizes=Sizes(first, columns[1][complete] if len(columns) > 1 else None),
        power_kw=np.array([one.rated_pto_power_kw for one in kept], float),
        mass_kg=np.array([one.mass_kg for one in kept], float),
    )


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

    `studentised`, `leverage` and `cooks_distance` belong to the fit through all records; `t` and `p` to the deviation
    from the peers that were not set aside; `low_kw` to `high_kw` holds 95 of 100 machines of its size.
    """

    implement_id: str
    sizes: tuple[float, ...]
    rated_kw: float
    fitted_kw: float
    low_kw: float
    high_kw: float
    studentised: float
    leverage: float
    cooks_distance: float
    t: float
    p: float
    set_aside: bool

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract; None where a record alone determines the line, or fits it exactly."""
        return {
            name: None if isinstance(value, float) and not np.isfinite(value) else value
            for name, value in self._asdict().items()
        } | {"sizes": list(self.sizes)}


@dataclass(frozen=True)
class Fitted:
    """The line of a family and what each record is measured against.

    Attributes
    ----------
    choice : the form, and how each form did
    whole : least squares through all records
    peers : the records measured against each other, those that stand out set aside
    ordinary : the ordinary straight line through all records, None where they are of one size
    robust : Huber's line in the chosen form, at the middle size
    robust_coefficients : of that form [response per column]
    spread_kw : scatter of single machines about the peers' line at the middle size [kW]
    """

    choice: Choice
    whole: LeastSquares
    peers: Peers
    ordinary: OrdinaryLine | None
    robust: Line
    robust_coefficients: Array
    line: Line
    spread_kw: float


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
        sizes, form, fit = Sizes(first, second), self.fitted.choice.form, self.fitted.peers.fit
        design = form.design(sizes)
        expected = fit.predict(design)
        half = t_quantile(0.5 + level / 2, fit.degrees_of_freedom) * fit.standard_error_at(design, of_one=of_one)
        low, high = (form.deviated(expected, end) for end in (-half, half))
        return form.power(expected, sizes), form.power(low, sizes), form.power(high, sizes)

    def robust_kw(self, first: Array, second: Array | None = None) -> Array:
        """Return Huber's line at some sizes [kW].

        Parameters
        ----------
        first, second : sizes on the family's variables [their SI units]

        Raises
        ------
        ValueError
            If the family has no line.
        """
        if self.fitted is None:
            raise ValueError(f"{self.family} has no line: {self.reason}")
        sizes, form = Sizes(first, second), self.fitted.choice.form
        return form.power(form.design(sizes) @ self.fitted.robust_coefficients, sizes)

    def records(self) -> Iterator[RecordAudit]:
        """Yield what is measured of each record, in their order; nothing where the family has no line."""
        if self.fitted is None:
            return
        sizes, whole, peers = self.data.sizes, self.fitted.whole, self.fitted.peers
        fitted, low, high = self.interval(sizes.first, sizes.second)
        columns = (sizes.first,) if sizes.second is None else (sizes.first, sizes.second)
        for i, record in enumerate(self.data.records):
            yield RecordAudit(
                record.implement_id,
                tuple(float(column[i]) for column in columns),
                float(self.data.power_kw[i]),
                float(fitted[i]),
                float(low[i]),
                float(high[i]),
                float(whole.studentised[i]),
                float(whole.leverage[i]),
                float(whole.cooks_distance[i]),
                float(peers.t[i]),
                float(peers.p[i]),
                not peers.kept[i],
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
            "robust": None,
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
                "model": self.fitted.choice.form.name,
                "slope_kw_per_m": line.slope if self.data.variables[0] == "working_width_m" else None,
                "intercept_kw": line.intercept_kw,
                "spread_kw": self.fitted.spread_kw,
                "slope": line.slope,
                "choice": _finite(self.fitted.choice.errors),
                "ordinary": self.fitted.ordinary and self.fitted.ordinary._asdict(),
                "robust": self.fitted.robust._asdict(),
                "set_aside": int(np.count_nonzero(~self.fitted.peers.kept)),
            }
        return answer


def _finite(errors: Mapping[str, float]) -> dict[str, float | None]:
    """Return the errors with None for a form that cannot be drawn: JSON has no infinity."""
    return {name: error if np.isfinite(error) else None for name, error in errors.items()}
