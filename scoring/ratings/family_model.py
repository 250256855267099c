"""What the records of a family say of a machine of a size: its rating, its mass, its reach, and how sure that is."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evener.scoring.ratings.columns import Quantity
from evener.scoring.ratings.growth import FORMULAS, Form, Growth
from evener.scoring.ratings.least_squares import t_quantile

Array = NDArray[np.float64]

# The spread of a size is not followed further than this from the spread at the centre.
NARROWEST, WIDEST = 0.4, 2.5
ROUNDED = 1e-9


@dataclass(frozen=True)
class Aside:
    """A record that the line is drawn without.

    Attributes
    ----------
    record : its name
    reason : why
    factor : its value over what the line gives at its size; NaN where that cannot be said [1]
    """

    record: str
    reason: str
    factor: float


@dataclass(frozen=True)
class Level:
    """What a line gives at some sizes.

    Attributes
    ----------
    mean_ln : ln of the middle machine, over all groups [ln of the unit]
    se : standard error of `mean_ln`; of a build or duty that is not said, the spread between them too [ln of the unit]
    spread : of single machines about it, builds or duties that are not said included [ln of the unit]
    between : spread between groups, which comes on top of `spread` for a machine of a group not known [ln of the unit]
    freedom : degrees of freedom of `spread` [1]
    inside : whether the size lies within the records' own
    unknown : a build or duty that no record has
    """

    mean_ln: Array
    se: Array
    spread: Array
    between: float
    freedom: float
    inside: NDArray[np.bool_]
    unknown: tuple[str, ...] = ()

    @property
    def middle(self) -> Array:
        """The middle machine [the quantity's unit]."""
        return np.asarray(np.exp(self.mean_ln))

    @property
    def deviation(self) -> Array:
        """Standard deviation of one machine of a group not known [ln of the unit]."""
        return np.asarray(np.sqrt(self.se**2 + self.spread**2 + self.between**2))

    def interval(self, level: float = 0.95, *, of_one: bool = True) -> tuple[Array, Array]:
        """Return the ends that hold a share of single machines, or the mean with so much confidence [the unit].

        Parameters
        ----------
        level : between 0 and 1 [1]
        of_one : single machines, rather than their mean
        """
        half = t_quantile(0.5 + level / 2, self.freedom) * (self.deviation if of_one else self.se)
        return np.asarray(np.exp(self.mean_ln - half)), np.asarray(np.exp(self.mean_ln + half))


@dataclass(frozen=True)
class QuantityModel:
    """One quantity of a family: ln of power, mass or reach on its sizes, builds and duties.

    Attributes
    ----------
    quantity : power, tractor, mass or reach
    variables : sizes the line goes by
    form : how it grows with the first size
    centres : size that the coefficient `a` belongs to [SI unit of each variable]
    coefficients : of the growth, by `Growth.names`, then of each build and each duty [ln of the unit]
    covariance : of these, row by row [ln of the unit, squared]
    builds, duties : names of the levels, in the order of their coefficients; none where all records are of one
    build_shares, duty_shares : how common each is among the records [1]
    groups : effect of each maker, owner or file [ln of the unit]
    group_errors : their standard errors [ln of the unit]
    group_spreads : spread of a group's records over that of all, where the records say it differs [1]
    between_builds, between_duties, between_groups : spreads between them [ln of the unit]
    spread : of single machines at the centre, build, duty and group known [ln of the unit]
    spread_slope : how ln of the spread changes with ln of the first size [1]
    freedom : degrees of freedom of the spread [1]
    second : intercept, slope and spread of ln of the second size on the first, both over their centres; for machines
        whose second size is not said [1]
    n : records the line rests on [1]
    library : how many of them came with the tool [1]
    aside : records set aside or left out
    lows, highs : least and greatest size of the records that count [SI unit of each variable]
    errors : per form the mean miss of a record left out of it [ln of the unit]
    moved_by_aside : what the line would be over what it is at the centre, were all set aside counted in full [1]
    moved_by_verdicts : the same, had the analyst left nothing out [1]
    """

    quantity: Quantity
    variables: tuple[str, ...]
    form: Form
    centres: tuple[float, ...]
    coefficients: tuple[float, ...]
    covariance: tuple[float, ...]
    builds: tuple[str, ...]
    duties: tuple[str, ...]
    build_shares: tuple[float, ...]
    duty_shares: tuple[float, ...]
    groups: Mapping[str, float]
    group_errors: Mapping[str, float]
    group_spreads: Mapping[str, float]
    between_builds: float
    between_duties: float
    between_groups: float
    spread: float
    spread_slope: float
    freedom: float
    second: tuple[float, float, float] | None
    n: int
    library: int
    aside: tuple[Aside, ...]
    lows: tuple[float, ...]
    highs: tuple[float, ...]
    errors: Mapping[str, float]
    moved_by_aside: float
    moved_by_verdicts: float

    @property
    def growth(self) -> Growth:
        """How the quantity grows with size."""
        return Growth(self.form, len(self.variables))

    @property
    def formula(self) -> str:
        """The form in symbols, with the second size where there is one."""
        if not self.variables:
            return "ln P = a"
        return FORMULAS[self.form] + (" + c ln z" if len(self.variables) > 1 else "")

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the coefficients, in their order."""
        return (
            *self.growth.names,
            *(f"build {name}" for name in self.builds),
            *(f"duty {name}" for name in self.duties),
        )

    @property
    def standard_errors(self) -> tuple[float, ...]:
        """Standard errors of the coefficients [ln of the unit]."""
        return tuple(np.sqrt(np.diag(self._covariance())).tolist())

    def level(
        self, sizes: Sequence[ArrayLike | None], *, build: str | None = None, duty: str | None = None
    ) -> Level:
        """Return what the line gives at some sizes, over all groups.

        Parameters
        ----------
        sizes : the first size, and the second or None where it is not said [SI unit of each variable]
        build, duty : as records say them; None for their usual mix, with the spread between them

        Raises
        ------
        ValueError
            The first size is missing, or a size is not positive.
        """
        logs, filled = self._logs(sizes)
        growth, fixed = self.growth, len(self.growth.names)
        coefficients = np.asarray(self.coefficients)
        row = np.zeros((logs.shape[0], coefficients.size))
        row[:, :fixed] = growth.columns(logs, coefficients[:fixed])
        variance = filled**2
        unknown = []
        at = fixed
        for said, names, shares, between in (
            (build, self.builds, self.build_shares, self.between_builds),
            (duty, self.duties, self.duty_shares, self.between_duties),
        ):
            effects = coefficients[at : at + len(names)]
            if said in names:
                row[:, at + names.index(said)] = 1.0
            elif names and said is None:
                row[:, at : at + len(names)] = shares
                variance = variance + np.dot(shares, (effects - np.dot(shares, effects)) ** 2)
            elif names:
                variance = variance + between**2
            if said is not None and names and said not in names:
                unknown.append(said)
            at += len(names)
        mean = growth.value(logs, coefficients[:fixed]) + row[:, fixed:] @ coefficients[fixed:]
        return Level(
            mean_ln=mean,
            se=np.sqrt(np.einsum("ij,jk,ik->i", row, self._covariance(), row)),
            spread=np.sqrt(self.spread_at(logs) ** 2 + variance),
            between=self.between_groups,
            freedom=self.freedom,
            inside=self._inside(sizes, logs.shape[0]),
            unknown=tuple(unknown),
        )

    def spread_at(self, logs: Array) -> Array:
        """Return the spread of single machines of known build, duty and group [ln of the unit].

        Parameters
        ----------
        logs : one row per machine: ln of each size over its centre [1]
        """
        if not self.variables:
            return np.full(logs.shape[0], self.spread)
        return np.asarray(self.spread * np.clip(np.exp(self.spread_slope * logs[:, 0]), NARROWEST, WIDEST))

    def _covariance(self) -> Array:
        p = len(self.coefficients)
        return np.reshape(self.covariance, (p, p))

    def _logs(self, sizes: Sequence[ArrayLike | None]) -> tuple[Array, Array]:
        """Return ln of the sizes over their centres, and the spread that filling in the second one brings."""
        if not self.variables:
            return np.zeros((1, 0)), np.zeros(1)
        if not sizes or sizes[0] is None:
            raise ValueError(f"the {self.quantity} goes by {' and '.join(self.variables)}: say at least the first")
        said = [np.atleast_1d(np.asarray(size, float)) for size in sizes[: len(self.variables)] if size is not None]
        said = [np.asarray(size, float) for size in np.broadcast_arrays(*said)]
        if any(not ((size > 0) & np.isfinite(size)).all() for size in said):
            raise ValueError(f"{' and '.join(self.variables)} must be positive: leave a second size out as None")
        logs = [np.log(size / centre) for size, centre in zip(said, self.centres, strict=False)]
        filled = np.zeros(logs[0].size)
        if len(logs) < len(self.variables):
            intercept, slope, spread = self.second or (0.0, 0.0, 0.0)
            logs.append(intercept + slope * logs[0])
            filled = np.full(logs[0].size, self.coefficients[len(self.growth.names) - 1] * spread)
        return np.column_stack(logs), filled

    def _inside(self, sizes: Sequence[ArrayLike | None], n: int) -> NDArray[np.bool_]:
        inside = np.ones(n, dtype=bool)
        for size, low, high in zip(sizes, self.lows, self.highs, strict=False):
            if size is not None:
                values = np.asarray(size, float)
                inside &= (values >= low * (1 - ROUNDED)) & (values <= high * (1 + ROUNDED))
        return inside


@dataclass(frozen=True)
class FamilyModel:
    """Rating, mass and reach of one family, fitted together.

    Attributes
    ----------
    family : its name
    quantities : the model of each quantity that enough records state
    correlation : of what two quantities of one machine deviate by, by their names in one order [1]
    missing : per quantity without a model, why
    """

    family: str
    quantities: Mapping[Quantity, QuantityModel]
    correlation: Mapping[tuple[Quantity, Quantity], float]
    missing: Mapping[Quantity, str]

    def to_rows(self) -> list[dict[str, Any]]:
        """Return one plain row per quantity, nested values as JSON text; `from_rows` reads them back."""
        rows = []
        for quantity, model in self.quantities.items():
            row: dict[str, Any] = {"family": self.family, "quantity": quantity}
            told = asdict(model)
            told["correlation"] = {
                other: value for pair, value in self.correlation.items() for other in pair if quantity == pair[0] != other
            }
            for name, value in told.items():
                plain = isinstance(value, str | int | float)
                row[name] = value if plain else json.dumps(_without_nan(value))
            rows.append(row)
        return rows

    @staticmethod
    def from_rows(rows: Sequence[Mapping[str, Any]]) -> FamilyModel:
        """Return the model of one family from its rows.

        Parameters
        ----------
        rows : from `to_rows`, one per quantity

        Raises
        ------
        ValueError
            There is no row, or the rows are of several families.
        """
        if len({row["family"] for row in rows}) != 1:
            raise ValueError("a family's model is read from the rows of exactly one family")
        models: dict[Quantity, QuantityModel] = {}
        correlation: dict[tuple[Quantity, Quantity], float] = {}
        for row in rows:
            told = {name: _read(name, row[name]) for name in _FIELDS}
            told["aside"] = tuple(
                Aside(one["record"], one["reason"], math.nan if one["factor"] is None else one["factor"])
                for one in told["aside"]
            )
            models[row["quantity"]] = QuantityModel(**told)
            correlation |= {(row["quantity"], other): value for other, value in json.loads(row["correlation"]).items()}
        return FamilyModel(rows[0]["family"], models, correlation, {})


_FIELDS = tuple(field.name for field in fields(QuantityModel))
_LISTS = {"variables", "centres", "coefficients", "covariance", "builds", "duties", "build_shares", "duty_shares", "second", "lows", "highs", "aside"}
_MAPS = {"groups", "group_errors", "group_spreads", "errors"}


def _read(name: str, value: Any) -> Any:
    if name in _MAPS:
        return json.loads(value)
    if name in _LISTS:
        read = json.loads(value)
        return tuple(read) if isinstance(read, list) else read
    return value


def _without_nan(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _without_nan(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_without_nan(one) for one in value]
    return None if isinstance(value, float) and math.isnan(value) else value


def predict(
    model: FamilyModel,
    sizes: Sequence[ArrayLike | None],
    build: str | None = None,
    duty: str | None = None,
    *,
    quantity: Quantity = "power",
) -> Level | None:
    """Return the rating of a machine of a size, or None where too few records state one.

    Parameters
    ----------
    model : of the family
    sizes : the first size, and the second or None [SI unit of each variable]
    build, duty : as records say them; None where not said
    quantity : power, tractor, mass or reach
    """
    found = model.quantities.get(quantity)
    return None if found is None else found.level(sizes, build=build, duty=duty)


def predict_mass(
    model: FamilyModel, sizes: Sequence[ArrayLike | None], build: str | None = None, duty: str | None = None
) -> Level | None:
    """Return the mass of a machine of a size, or None where too few records state one [ln kg]."""
    return predict(model, sizes, build, duty, quantity="mass")


def predict_reach(
    model: FamilyModel, sizes: Sequence[ArrayLike | None], build: str | None = None, duty: str | None = None
) -> Level | None:
    """Return how far behind the hitch the centre of mass lies, or None where too few records state it [ln m]."""
    return predict(model, sizes, build, duty, quantity="reach")
