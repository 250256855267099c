"""The lines of a family under audit: in the chosen form through its peers, robust, and ordinary."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evener.scoring.audit.family import FamilyRecords, Fitted, Line, OrdinaryLine
from evener.scoring.audit.peers import Peers, against_peers
from evener.scoring.ratings.forms import FORMS, Choice, Form, Sizes, choose
from evener.scoring.ratings.least_squares import NotDetermined, least_squares
from evener.scoring.ratings.model import SPARE_RECORDS
from evener.scoring.ratings.robust import huber, huber_grouped

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

# Ratings are printed in steps of 5 hp or so, and masses go with the build: a family that happens to lie closer to its
# line is not believed to (practice).
POWER_GRAIN, MASS_GRAIN = 0.02, 0.10
# From this many records on all families' robust lines are fitted in one go: the same lines, ten times sooner.
MANY_RECORDS = 2_000


@dataclass(frozen=True)
class Draft:
    """A family with its lines, before the tests of all families are taken together.

    Attributes
    ----------
    data : the family's records
    choice : the form of its line, and how each form did
    power : each record's rated power against the peers
    mass : each stated mass against the peers, None where too few are stated or mass is the family's size
    weighed : which records state a mass
    """

    data: FamilyRecords
    choice: Choice
    power: Peers
    mass: Peers | None
    weighed: Mask

    @property
    def p(self) -> Array:
        """Probability of each test by chance, power first and then mass."""
        return self.power.p if self.mass is None else np.concatenate([self.power.p, self.mass.p])


def draft(data: FamilyRecords, false_share: float) -> Draft:
    """Choose the form of a family's line, and measure each record's power and mass against its peers.

    Parameters
    ----------
    data : the family's records, enough of them for a line
    false_share : expected share of false alarms among the records set aside [1]

    Raises
    ------
    NotDetermined
        If all records are of one size.
    """
    choice = choose(data.power_kw, data.sizes)
    power = _measured(choice.form, data.power_kw, data.sizes, POWER_GRAIN, false_share)
    weighed = np.isfinite(data.mass_kg) & (data.mass_kg > 0)
    mass = None
    if "mass_kg" not in data.variables and np.count_nonzero(weighed) >= len(data.variables) + 1 + SPARE_RECORDS:
        try:
            mass = _measured(FORMS["power"], data.mass_kg[weighed], data.sizes[weighed], MASS_GRAIN, false_share)
        except NotDetermined:
            mass = None
    return Draft(data, choice, power, mass, weighed)


def _measured(form: Form, value: Array, sizes: Sizes, grain: float, false_share: float) -> Peers:
    response = form.response(value, sizes)
    least = grain * form.per_log_power(response)
    return against_peers(form.design(sizes), response, deviation=form.deviation, grain=least, false_share=false_share)


def robust_lines(drafts: Mapping[str, Draft]) -> dict[str, Array]:
    """Return Huber's coefficients of each family in its chosen form [response per column].

    Parameters
    ----------
    drafts : the families, by name
    """
    problems = {
        name: (
            draft.choice.form.design(draft.data.sizes),
            draft.choice.form.response(draft.data.power_kw, draft.data.sizes),
        )
        for name, draft in drafts.items()
    }
    if sum(response.size for _, response in problems.values()) < MANY_RECORDS:
        return {name: huber(*problem) for name, problem in problems.items()}
    lines: dict[str, Array] = {}
    for columns in {design.shape[1] for design, _ in problems.values()}:
        names = [name for name, (design, _) in problems.items() if design.shape[1] == columns]
        group = np.repeat(np.arange(len(names)), [problems[name][1].size for name in names])
        design, response = (np.concatenate([problems[name][part] for name in names]) for part in (0, 1))
        lines |= dict(zip(names, huber_grouped(design, response, group).coefficients, strict=True))
    return lines


def fitted_lines(drafted: Draft, robust: Array) -> Fitted:
    """Return the lines of a family with the diagnostics of the one through all its records.

    Parameters
    ----------
    drafted : the family with its form and peers
    robust : Huber's coefficients in that form
    """
    data, form = drafted.data, drafted.choice.form
    middle = data.sizes.middle()
    peers = drafted.power.fit
    response = peers.predict(form.design(middle))
    spread_kw = float(peers.spread * form.power(response, middle)[0] / form.per_log_power(response)[0])
    return Fitted(
        choice=drafted.choice,
        whole=form.fit(data.power_kw, data.sizes),
        peers=drafted.power,
        ordinary=_ordinary(data),
        robust=_line(form, robust, middle),
        robust_coefficients=robust,
        line=_line(form, peers.coefficients, middle),
        spread_kw=spread_kw,
    )


def _line(form: Form, coefficients: Array, middle: Sizes) -> Line:
    power = float(form.power(form.design(middle) @ coefficients, middle)[0])
    slope = float(form.slope(coefficients, middle)[0])
    # The tangent of a line through the origin meets size 0 at nothing, not at a rounding error.
    intercept = 0.0 if form.name == "through_origin" else power - slope * float(middle.first[0])
    return Line(slope, intercept)


def _ordinary(data: FamilyRecords) -> OrdinaryLine | None:
    """Fit the straight line; with a second size its intercept is read at that size's median."""
    sizes = data.sizes
    columns = [np.ones_like(sizes.first), sizes.first]
    if sizes.second is not None:
        columns.append(sizes.second - np.median(sizes.second))
    try:
        fit = least_squares(np.column_stack(columns), data.power_kw)
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
