"""What is said of the records of a family that move its line or do not belong with their peers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evener.scoring.audit.draft import Draft, FamilyRecords
from evener.scoring.audit.flags import EngineGivenAsPto, FarFromPeers, Flag, Influential, OtherFamily, UnitSlip
from evener.scoring.audit.peers import Peers
from evener.scoring.audit.published import Reference
from evener.scoring.audit.slips import Expectation, Explanation, Suspects, explain, hypotheses, student
from evener.scoring.ratings.columns import Quantity
from evener.scoring.ratings.lines.least_squares import t_quantile
from evener.scoring.ratings.quantity_model import QuantityModel

Array = NDArray[np.float64]

# A slip is named once it is likelier than everything else together.
NAMED_FROM = 0.5
# Cook's own reading: leaving the record out moves the coefficients to the edge of their 50 % confidence region.
INFLUENCE = 0.5
# In a large family that edge is so near that reaching it moves no rating: the line must move by a rating's rounding.
MOVED = 0.05


@dataclass(frozen=True)
class Tests:
    """What records are tested by.

    Attributes
    ----------
    false_share : share of false alarms that is accepted [1]
    ratios : PTO power over engine power, with the name of the engine rating [1]
    families : every family's model, for records that may be of another
    """

    false_share: float
    ratios: Sequence[tuple[str, float]]
    families: Mapping[str, Draft]


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


def influence(drafted: Draft) -> Iterator[Flag]:
    """Yield a flag for every record that moves the line by itself.

    Parameters
    ----------
    drafted : the family with its model
    """
    from scipy.special import fdtr

    power, lines = drafted.power, len(drafted.model.growth.names)
    level = fdtr(lines, np.nan_to_num(power.freedom, nan=1.0), np.nan_to_num(power.line_shift))
    usual = drafted.model.level([drafted.data.sizes.first, drafted.data.sizes.second]).mean_ln
    for i in np.flatnonzero((level >= INFLUENCE) & (np.abs(power.moved) >= np.log1p(MOVED))).tolist():
        yield Influential(
            drafted.data.records[i].implement_id,
            float(level[i]),
            distance=float(power.line_shift[i]),
            fitted_kw=float(np.exp(usual[i])),
            without_kw=float(np.exp(usual[i] - power.moved[i])),
        )


def suspicions(drafted: Draft, share: Array, tests: Tests) -> Iterator[Flag]:
    """Yield what is said of the records that do not belong: how far they are, and what explains them.

    Parameters
    ----------
    drafted : the family with its model
    share : per test, powers first and then masses, the share of false alarms at which it is reported [1]
    tests : what they are tested by
    """
    data = drafted.data
    of_power, of_mass = share[: data.n], share[data.n :] if drafted.mass is not None else np.ones(data.n)
    odd_power, odd_mass = of_power <= tests.false_share, of_mass <= tests.false_share
    # What an analyst has vouched for is not asked again.
    odd_power, odd_mass = odd_power & ~data.columns.sound, odd_mass & ~data.columns.sound
    odd = np.flatnonzero(odd_power | odd_mass)
    if not odd.size:
        return
    yield from _far(data, "rated_pto_power_kw", drafted.power, np.flatnonzero(odd_power), of_power)
    if drafted.mass is not None:
        yield from _far(data, "mass_kg", drafted.mass, np.flatnonzero(odd_mass), of_mass)
    power = _expectation(drafted.model, drafted.power, odd)
    if power is None:
        return
    mass = None
    if drafted.mass is not None:
        mass = _expectation(drafted.fit.model.quantities["mass"], drafted.mass, odd)
    suspects = Suspects(data.power_kw[odd], data.mass_kg[odd], data.sizes.of(odd))
    sound = np.setdiff1d(np.arange(data.n), odd)
    told = explain(
        suspects,
        hypotheses(data.variables, tests.ratios),
        data.variables,
        power,
        mass,
        data.sizes.of(sound if sound.size else odd),
        _as_others(suspects, drafted, tests.families),
    )
    for i, found in zip(odd.tolist(), told, strict=True):
        if found.chance >= NAMED_FROM:
            yield _named(data, i, found)
        elif found.family is not None and found.family_chance >= NAMED_FROM:
            other = tests.families[found.family]
            expected = float(np.exp(other.model.level([size[[i]] for size in data.columns.sizes]).mean_ln[0]))
            yield OtherFamily(
                data.records[i].implement_id, found.family_chance, float(data.power_kw[i]), found.family, expected
            )


def _far(data: FamilyRecords, column: str, peers: Peers, which: NDArray[np.intp], share: Array) -> Iterator[Flag]:
    value = data.mass_kg if column == "mass_kg" else data.power_kw
    for i in which.tolist():
        half = t_quantile(0.975, float(peers.freedom[i])) * peers.error[i]
        middle = peers.expected[i]
        yield FarFromPeers(
            data.records[i].implement_id,
            float(1 - share[i]),
            column=column,
            value=float(value[i]),
            expected=float(np.exp(middle)),
            low=float(np.exp(middle - half)),
            high=float(np.exp(middle + half)),
            peers=peers.n - int(peers.kept[i]),
            chance=float(peers.p[i]),
        )


def _expectation(model: QuantityModel, peers: Peers, odd: NDArray[np.intp]) -> Expectation | None:
    """Return what is expected of some records; of those that were not measured, with the usual error of the others."""
    measured = np.isfinite(peers.error)
    usual = float(np.median(peers.error[measured]))
    offset = np.where(measured, peers.offset, 0.0)[odd]
    error = np.where(measured, peers.error, usual)[odd]
    return Expectation(model, offset, error, np.where(measured, peers.freedom, model.freedom)[odd])


def _as_others(suspects: Suspects, drafted: Draft, families: Mapping[str, Draft]) -> dict[str, Array]:
    """Return the log density of suspects as machines of each other family of the same sizes, power and mass."""
    found = {}
    for name, other in families.items():
        if other is drafted or other.model.variables[:1] != drafted.model.variables[:1]:
            continue
        density = _as_other(suspects, other, "power", suspects.power_kw)
        stated = np.isfinite(suspects.mass_kg)
        if other.mass is not None and stated.any():
            density = density + np.where(stated, _as_other(suspects, other, "mass", suspects.mass_kg), 0.0)
        found[name] = density
    return found


def _as_other(suspects: Suspects, other: Draft, quantity: Quantity, value: Array) -> Array:
    level = other.fit.model.quantities[quantity].level([suspects.sizes.first, suspects.sizes.second])
    stated = np.where(np.isfinite(value), value, level.middle)
    density = student(np.log(stated) - level.mean_ln, level.deviation, level.freedom)
    return np.asarray(np.where(level.inside, density, -np.inf))


def _named(data: FamilyRecords, i: int, found: Explanation) -> Flag:
    record, slip = data.records[i], found.slip
    if slip.read_as == "PTO power":
        reason = f"it fits its peers as {slip.meant}"
        return EngineGivenAsPto(record.implement_id, found.chance, float(data.power_kw[i]), reason, slip.factor)
    stated = {"rated_pto_power_kw": data.power_kw, "mass_kg": data.mass_kg}
    stated |= dict(zip(data.variables, data.columns.sizes, strict=True))
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
