"""What is said of the records of a family that move its line or do not belong with their peers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from evener.scoring.audit.family import FamilyRecords, Fitted
from evener.scoring.audit.flags import EngineGivenAsPto, FarFromPeers, Flag, Influential, UnitSlip
from evener.scoring.audit.lines import MASS_GRAIN, POWER_GRAIN, Draft
from evener.scoring.audit.peers import Peers
from evener.scoring.audit.published import Reference
from evener.scoring.audit.slips import Expectation, Explanation, Suspects, explain, hypotheses
from evener.scoring.ratings.forms import FORMS, Form, Sizes
from evener.scoring.ratings.least_squares import NotDetermined

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

# A slip is named once it is likelier than everything else together.
NAMED_FROM = 0.5
# Cook's own reading: leaving the record out moves the coefficients to the edge of their 50 % confidence region.
INFLUENCE = 0.5
# In a large family that edge is so near that reaching it moves no rating: the line must move by a rating's rounding.
MOVED = 0.05


def engine_ratios(reference: Reference) -> tuple[tuple[str, float], ...]:
    """Return the published ratios of PTO power to engine power, with the engine rating each belongs to [1].

    Parameters
    ----------
    reference : the store's published tables by name
    """
    ratios = []
    for row in reference["power_ratios"]:
        if row["to_point"] == "PTO" and row["tractor_type"] == "all":
            known = [value for value in (row["ratio"], row["ratio_low"], row["ratio_high"]) if value is not None]
            ratios.append((f"{row['from_point']} power", sum(known) / len(known)))
    return tuple(ratios)


def influence(data: FamilyRecords, fitted: Fitted) -> Iterator[Flag]:
    """Yield a flag for every record that moves the line through all records by itself.

    Parameters
    ----------
    data : the family's records
    fitted : its lines
    """
    from scipy.special import fdtr

    whole, form = fitted.whole, fitted.choice.form
    level = fdtr(whole.coefficients.size, whole.degrees_of_freedom, np.nan_to_num(whole.cooks_distance))
    for i in np.flatnonzero(level >= INFLUENCE).tolist():
        size = data.sizes[np.array([i])]
        with_it = form.power(whole.response[[i]] - whole.residuals[[i]], size)
        without = form.power(whole.response[[i]] - whole.deleted_residuals[[i]], size)
        if abs(float(without[0] / with_it[0]) - 1) < MOVED:
            continue
        yield Influential(
            data.records[i].implement_id,
            float(level[i]),
            distance=float(whole.cooks_distance[i]),
            fitted_kw=float(with_it[0]),
            without_kw=float(without[0]),
        )


def suspicions(drafted: Draft, share: Array, false_share: float, ratios: Sequence[tuple[str, float]]) -> Iterator[Flag]:
    """Yield what is said of the records that do not belong: how far they are, and the slip that explains them.

    Parameters
    ----------
    drafted : the family with its lines
    share : per test, powers first and then masses, the share of false alarms at which it is reported [1]
    false_share : share of false alarms that is accepted [1]
    ratios : PTO power over engine power, with the name of the engine rating [1]
    """
    data, form, weighed = drafted.data, drafted.choice.form, drafted.weighed
    of_power, of_mass = share[: data.n], np.ones(data.n)
    if drafted.mass is not None:
        of_mass[weighed] = share[data.n :]
    odd_power, odd_mass = of_power <= false_share, of_mass <= false_share
    odd = odd_power | odd_mass
    if not odd.any():
        return
    power = _expectation(form, drafted.power, data.power_kw, data.sizes, odd_power, POWER_GRAIN)
    yield from _far(data, "rated_pto_power_kw", power, np.flatnonzero(odd_power), drafted.power.p, of_power)
    mass = None
    if drafted.mass is not None:
        masses, sizes = data.mass_kg[weighed], data.sizes[weighed]
        mass = _expectation(FORMS["power"], drafted.mass, masses, sizes, odd_mass[weighed], MASS_GRAIN)
        p = np.ones(data.n)
        p[weighed] = drafted.mass.p
        yield from _far(data, "mass_kg", mass, np.flatnonzero(odd_mass), p, of_mass)
    told = explain(
        Suspects(data.power_kw[odd], data.mass_kg[odd], data.sizes[odd]),
        hypotheses(data.variables, ratios),
        data.variables,
        power,
        mass,
        data.sizes[~odd],
    )
    for i, found in zip(np.flatnonzero(odd).tolist(), told, strict=True):
        if found.chance >= NAMED_FROM:
            yield _named(data, i, found)


def _far(
    data: FamilyRecords, column: str, expected: Expectation, which: NDArray[np.intp], p: Array, share: Array
) -> Iterator[Flag]:
    if not which.size:
        return
    value = data.mass_kg if column == "mass_kg" else data.power_kw
    sizes = data.sizes[which]
    middle, (low, high) = expected.middle(sizes), expected.interval(sizes)
    for k, i in enumerate(which.tolist()):
        yield FarFromPeers(
            data.records[i].implement_id,
            float(1 - share[i]),
            column=column,
            value=float(value[i]),
            expected=float(middle[k]),
            low=float(low[k]),
            high=float(high[k]),
            peers=expected.fit.n,
            chance=float(p[i]),
        )


def _expectation(form: Form, peers: Peers, value: Array, sizes: Sizes, odd: Mask, grain: float) -> Expectation:
    """Return the line through the records that neither stood out in their family nor in all families together."""
    if not (peers.kept & odd).any():
        return Expectation(form, peers.fit, grain)
    sound = peers.kept & ~odd
    try:
        return Expectation(form, form.fit(value[sound], sizes[sound]), grain)
    except NotDetermined:
        return Expectation(form, peers.fit, grain)


def _named(data: FamilyRecords, i: int, found: Explanation) -> Flag:
    record, slip = data.records[i], found.slip
    if slip.read_as == "PTO power":
        reason = f"it fits its peers as {slip.meant}"
        return EngineGivenAsPto(record.implement_id, found.chance, float(data.power_kw[i]), reason, slip.factor)
    stated = {"rated_pto_power_kw": data.power_kw, "mass_kg": data.mass_kg}
    if data.sizes.second is not None:
        stated[data.variables[1]] = data.sizes.second
    stated[data.variables[0]] = data.sizes.first
    value = float(stated[slip.column][i])
    return UnitSlip(
        record.implement_id,
        found.chance,
        column=slip.column,
        read_as=slip.read_as,
        meant=slip.meant,
        stated=value,
        corrected=value * slip.factor,
        times_better=found.times_better,
    )
