"""One fitted quantity of a family: its coefficients with their covariance, its spreads, and what it gives at a size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evener.scoring.ratings.columns import Quantity
from evener.scoring.ratings.lines.growth import FORMULAS, Form, Growth
from evener.scoring.ratings.lines.level import Aside, Level

Array = NDArray[np.float64]

# The spread of a size is not followed further than this from the spread at the centre.
NARROWEST, WIDEST = 0.4, 2.5
ROUNDED = 1e-9


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
    errors: Mapping[Form, float]
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

    def level(self, sizes: Sequence[ArrayLike | None], *, build: str | None = None, duty: str | None = None) -> Level:
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

    def grown(self, sizes: Sequence[ArrayLike | None]) -> Array:
        """Return what size alone gives, before build, duty and group [ln of the unit].

        Parameters
        ----------
        sizes : the first size, and the second, None or NaN where it is not said [SI unit of each variable]
        """
        logs, _ = self._logs(sizes)
        return self.growth.value(logs, np.asarray(self.coefficients[: len(self.growth.names)]))

    def effects(self, of: Literal["build", "duty"]) -> dict[str, float]:
        """Return the effect of each build or duty [ln of the unit].

        Parameters
        ----------
        of : build or duty
        """
        after = len(self.growth.names) + (len(self.builds) if of == "duty" else 0)
        names = self.duties if of == "duty" else self.builds
        return dict(zip(names, self.coefficients[after : after + len(names)], strict=True))

    def elasticity(self, sizes: Sequence[ArrayLike | None]) -> Array:
        """Return by how many per cent the level grows when the first size does by one [1].

        Parameters
        ----------
        sizes : as for `grown`
        """
        logs, _ = self._logs(sizes)
        first = logs[:, 0] if self.variables else np.zeros(logs.shape[0])
        return self.growth.elasticity(first, np.asarray(self.coefficients))

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
        first = np.atleast_1d(np.asarray(sizes[0], float))
        second = sizes[1] if len(sizes) > 1 and len(self.variables) > 1 and sizes[1] is not None else np.nan
        first, second = (np.asarray(size, float) for size in np.broadcast_arrays(first, np.asarray(second, float)))
        if not ((first > 0) & np.isfinite(first)).all() or not (np.isnan(second) | (second > 0)).all():
            raise ValueError(f"{' and '.join(self.variables)} must be positive: leave a second size out as None")
        logs = [np.log(first / self.centres[0])]
        filled = np.zeros(first.size)
        if len(self.variables) > 1:
            intercept, slope, spread = self.second or (0.0, 0.0, 0.0)
            unsaid = np.isnan(second)
            logs.append(np.where(unsaid, intercept + slope * logs[0], np.log(second / self.centres[1])))
            filled = np.where(unsaid, self.coefficients[len(self.growth.names) - 1] * spread, 0.0)
        return np.column_stack(logs), filled

    def _inside(self, sizes: Sequence[ArrayLike | None], n: int) -> NDArray[np.bool_]:
        inside = np.ones(n, dtype=bool)
        for size, low, high in zip(sizes, self.lows, self.highs, strict=False):
            if size is not None:
                values = np.asarray(size, float)
                inside &= np.isnan(values) | (values >= low * (1 - ROUNDED)) & (values <= high * (1 + ROUNDED))
        return inside
