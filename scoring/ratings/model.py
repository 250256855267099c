"""The fitted rating: what makers ask of the tractor for an implement of a family and a size.

Per family ln P = b0 + b1 ln x1 [+ b2 ln x2] is fitted to the records that state a rated PTO power, and kept in the
store, so that ranking only evaluates it. Power that a record states for the whole tractor is another quantity and is
never pooled with it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evener.schema.records import Family, Implement, RatingFit
from evener.scoring.ratings.least_squares import NotDetermined, least_squares, t_quantile

Array = NDArray[np.float64]

SPARE_RECORDS = 3
T_LEVEL = 0.975


def bale_volume_m3(bale_width_m: ArrayLike, bale_diameter_m: ArrayLike) -> Array:
    """Volume of a round bale, a cylinder of its width and diameter [m3].

    Parameters
    ----------
    bale_width_m : length of the cylinder [m]
    bale_diameter_m : diameter of the cylinder [m]
    """
    return np.asarray(math.pi / 4 * np.asarray(bale_diameter_m, float) ** 2 * np.asarray(bale_width_m, float))


def bale_section_m2(bale_height_m: ArrayLike, bale_width_m: ArrayLike) -> Array:
    """Cross-section of a square bale, which is the mouth of the chamber it is pressed in [m2].

    Parameters
    ----------
    bale_height_m : height of the section [m]
    bale_width_m : width of the section [m]
    """
    return np.asarray(np.asarray(bale_height_m, float) * np.asarray(bale_width_m, float))


DERIVED = {
    "bale_volume_m3": (bale_volume_m3, ("bale_width_m", "bale_diameter_m")),
    "bale_section_m2": (bale_section_m2, ("bale_height_m", "bale_width_m")),
}


def size_of(implement: Implement, variable: str) -> float | None:
    """Return the size of an implement on a fit variable, or None where the record does not state it.

    Parameters
    ----------
    implement : the record
    variable : a column of the record, or `bale_volume_m3` [m3] or `bale_section_m2` [m2]
    """
    if variable not in DERIVED:
        value: float | None = getattr(implement, variable)
        return value
    derive, columns = DERIVED[variable]
    measures = [getattr(implement, column) for column in columns]
    return None if None in measures else float(derive(*measures))


def is_rated(implement: Implement) -> bool:
    """Whether a record states a maker's PTO power of its own, rather than one estimated from something else."""
    return implement.rated_pto_power_kw is not None and "rated_pto_power_kw" not in implement.estimated


def variables_of(family: Family) -> tuple[str, ...]:
    """Return the names of the sizes a family's rating is fitted on, in the order of the coefficients."""
    return tuple(name for name in (family.first_variable, family.second_variable) if name)


def fit_rating(family: Family, size: ArrayLike, second: ArrayLike | None, rated_kw: ArrayLike) -> RatingFit | None:
    """Fit ln P = b0 + b1 ln size [+ b2 ln second] to the rated PTO powers of one family.

    Parameters
    ----------
    family : names the family and its variables
    size : first size of each record [SI unit of the family's first variable]
    second : second size of each record, or None to fit on the first alone [SI unit of the second variable]
    rated_kw : rated PTO power of each record [kW]

    Returns
    -------
    RatingFit or None
        None where there are fewer than three records more than coefficients, or all are of one size.

    Raises
    ------
    ValueError
        If a size or a power is not a positive finite number.
    """
    columns = [np.asarray(size, float)] + ([] if second is None else [np.asarray(second, float)])
    power = np.asarray(rated_kw, float)
    if any(not (np.isfinite(values).all() and (values > 0).all()) for values in (*columns, power)):
        raise ValueError(f"{family.family}: sizes and powers must be positive numbers; leave incomplete records out")
    names = variables_of(family)[: len(columns)]
    if len(names) < len(columns):
        raise ValueError(f"{family.family} has no second variable: name one in families.csv or fit on the first")
    n, p = power.size, len(columns) + 1
    if n < p + SPARE_RECORDS:
        return None
    try:
        fit = least_squares(np.column_stack([np.ones(n), *map(np.log, columns)]), np.log(power))
    except NotDetermined:
        return None
    return RatingFit(
        family=family.family,
        n=n,
        variables=names,
        coefficients=tuple(map(float, fit.coefficients)),
        covariance=tuple(map(float, fit.unscaled_covariance.ravel())),
        spread=fit.spread,
        t_factor=t_quantile(T_LEVEL, fit.degrees_of_freedom) / t_quantile(T_LEVEL, math.inf),
        lows=tuple(float(values.min()) for values in columns),
        highs=tuple(float(values.max()) for values in columns),
    )


def predict(fit: RatingFit, x1: ArrayLike, x2: ArrayLike | None = None, z: ArrayLike = 0.0) -> Array:
    """Rated PTO power of one implement of a size, with the prediction interval's spread about the line [kW].

    z = 0 gives the line itself (the median); standard normal draws give the scatter of single machines about it, the
    uncertainty of the line included, widened to Student's t at 95 %.

    Parameters
    ----------
    fit : a family's fit
    x1 : size on `fit.variables[0]` [its SI unit]
    x2 : size on `fit.variables[1]`, where the fit has two [its SI unit]
    z : standard normal draws, cut at three by whoever draws them [1]

    Raises
    ------
    ValueError
        If the fit has two variables and one is missing, or the other way round.
    """
    sizes = [x1] if x2 is None else [x1, x2]
    if len(sizes) != len(fit.variables):
        raise ValueError(f"the fit of {fit.family} is on {' and '.join(fit.variables)}: give exactly those")
    logs = np.broadcast_arrays(1.0, *(np.log(np.asarray(values, float)) for values in sizes))
    row = np.stack(logs, axis=-1)
    p = len(fit.coefficients)
    covariance = np.reshape(fit.covariance, (p, p))
    scatter = fit.spread * fit.t_factor * np.sqrt(1.0 + np.einsum("...j,jk,...k->...", row, covariance, row))
    return np.asarray(np.exp(row @ np.asarray(fit.coefficients) + scatter * np.asarray(z, float)))


def outside_range(fit: RatingFit, *sizes: float) -> tuple[str, ...]:
    """Return the names of the variables on which a size lies outside the records the fit rests on."""
    checked = zip(fit.variables, sizes, fit.lows, fit.highs, strict=True)
    return tuple(name for name, size, low, high in checked if not low * (1 - 1e-9) <= size <= high * (1 + 1e-9))


def fit_families(implements: Iterable[Implement], families: Iterable[Family]) -> tuple[RatingFit, ...]:
    """Fit every family that has enough rated records, on both its variables where enough records state both.

    Invented records are for trying the tool: they take no part.

    Parameters
    ----------
    implements : records, in any order
    families : families, each with the names of its variables
    """
    rated: dict[str, list[Implement]] = {}
    for implement in implements:
        if is_rated(implement) and implement.status != "invented":
            rated.setdefault(implement.family, []).append(implement)
    fits = []
    for family in families:
        records = rated.get(family.family, [])
        sizes = [np.array([size_of(one, name) for one in records], float) for name in variables_of(family)]
        fits.append(_fit_best(family, sizes, np.array([one.rated_pto_power_kw for one in records], float)))
    return tuple(fit for fit in fits if fit is not None)


def _fit_best(family: Family, sizes: list[Array], power: Array) -> RatingFit | None:
    """Fit on all variables, else on the first alone; a record without one of the sizes (NaN) is left out."""
    while sizes:
        complete = np.isfinite(sizes).all(axis=0)
        used = [size[complete] for size in sizes]
        fit = fit_rating(family, used[0], used[1] if len(used) > 1 else None, power[complete])
        if fit is not None:
            return fit
        sizes = sizes[:-1]
    return None


def refresh(con: Any) -> int:
    """Fit all families again from the store's implement records and rewrite its table `rating_fit`.

    Parameters
    ----------
    con : an open, writable connection to a store, inside the transaction that changed the records

    Returns
    -------
    int
        How many families have a fit [1].
    """
    from evener.schema.store import rating_fits, reading

    families = reading.read_families(con).values()
    fits = [fit for family in families if (fit := _fit_best(family, *_rated(con, family))) is not None]
    rating_fits.replace_rating_fits(con, fits)
    return len(fits)


def _rated(con: Any, family: Family) -> tuple[list[Array], Array]:
    """Return the sizes and the rated powers of a family."""
    from evener.schema.store import rating_fits

    names = variables_of(family)
    columns = sorted({column for name in names for column in DERIVED.get(name, (None, (name,)))[1]})
    values = rating_fits.read_rated(con, family.family, columns)
    power = values.pop("rated_pto_power_kw")
    sizes = []
    for name in names:
        derive, inputs = DERIVED.get(name, (None, ()))
        sizes.append(derive(*(values[one] for one in inputs)) if derive else values[name])
    return sizes, power
