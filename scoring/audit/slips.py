"""Which slip, or which other family, if any, explains a record that does not belong with its peers.

Each explanation is a hypothesis about one number of the record: the rating, a size or the mass was read in another
unit, or the rating is engine power. For each, the corrected record is held against what the peers lead one to expect of
its power *and* its mass, so that a wrong width (which moves both) is told from a wrong power (which moves one). Against
them all stands a machine of another build, whose power or mass lies off the line for good reason: a slip is named only
when it is likelier than that.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from evener.schema import units as unit_table
from evener.scoring.ratings.quantity_model import QuantityModel

Array = NDArray[np.float64]

# Another build: ln(stated / expected) is 0.35 off on average, a factor of 1.4 either way, and falls off exponentially
# (practice: builds of one size differ by a third to a half).
BUILD_SPREAD = 0.35
# Sizes this far beyond the peers' own are not believed as corrections: the line says nothing there.
BEYOND_PEERS = 1.5
# Slips closer than this cannot be told apart and count as one.
ALIKE = 0.05
DIMENSION = {"kg": ("mass", 1), "l": ("volume", 1), "m": ("length", 1), "m2": ("length", 2), "m3": ("length", 3)}


class Slip(NamedTuple):
    """One hypothesis: a column's value times `factor` is what was meant."""

    column: str
    read_as: str
    meant: str
    factor: float


class Sizes(NamedTuple):
    """The sizes of some records of one family; a second one not stated is NaN, None where the family has none."""

    first: Array
    second: Array | None = None

    def of(self, which: NDArray[np.bool_] | NDArray[np.intp]) -> Sizes:
        """Return the sizes of some of the records."""
        return Sizes(self.first[which], None if self.second is None else self.second[which])

    def middle(self) -> Sizes:
        """Return the median size, as one record."""
        middle = None if self.second is None else np.atleast_1d(np.nanmedian(self.second))
        return Sizes(np.atleast_1d(np.median(self.first)), middle)


class Expectation(NamedTuple):
    """What the peers lead one to expect of some records' power or mass, at whatever size they really are.

    Attributes
    ----------
    model : the line through the peers
    offset : what build, duty and group of each record add to it [ln of the unit]
    error : standard error of one machine [ln of the unit]
    freedom : degrees of freedom of the error [1]
    """

    model: QuantityModel
    offset: Array
    error: Array
    freedom: Array

    def expected(self, sizes: Sizes) -> Array:
        """Return ln of the value that machines of these sizes are expected to have [ln of the unit]."""
        return self.model.grown(sizes) + self.offset

    def log_density(self, value: Array, sizes: Sizes) -> Array:
        """Return the log density of ln value, Student's t about what is expected [1]."""
        return student(np.log(value) - self.expected(sizes), self.error, self.freedom)

    def log_density_of_build(self, value: Array, sizes: Sizes) -> Array:
        """Return the log density of ln value for a machine of another build than its peers [1]."""
        off = np.abs(np.log(value) - self.expected(sizes))
        return np.asarray(-off / BUILD_SPREAD - np.log(2 * BUILD_SPREAD))


def student(deviation: Array, error: Array, freedom: Array | float) -> Array:
    """Return the log density of Student's t [1].

    Parameters
    ----------
    deviation : from the middle [any]
    error : standard error [as the deviation]
    freedom : degrees of freedom [1]
    """
    from scipy.special import gammaln

    constant = gammaln((freedom + 1) / 2) - gammaln(freedom / 2) - 0.5 * np.log(freedom * np.pi)
    return np.asarray(constant - (freedom + 1) / 2 * np.log1p((deviation / error) ** 2 / freedom) - np.log(error))


class Suspects(NamedTuple):
    """The records to explain: their values, and NaN where a mass is not stated."""

    power_kw: Array
    mass_kg: Array
    sizes: Sizes


@dataclass(frozen=True)
class Explanation:
    """What explains one record best.

    Attributes
    ----------
    slip : the likeliest slip
    chance : its chance against the other slips, another family and another build; slips that cannot be told apart
        count as one [1]
    times_better : how many times likelier the record is once corrected [1]
    family : the other family that it fits best, if any
    family_chance : chance that it belongs to another family [1]
    """

    slip: Slip
    chance: float
    times_better: float
    family: str | None = None
    family_chance: float = 0.0


@lru_cache(maxsize=1)
def _table() -> tuple[tuple[str, str, str], ...]:
    text = resources.files("evener.scoring.audit").joinpath("slips.csv").read_text(encoding="utf-8")
    return tuple((row["quantity"], row["read_as"], row["meant"]) for row in csv.DictReader(text.splitlines()))


def hypotheses(variables: Sequence[str], engine_ratios: Sequence[tuple[str, float]]) -> tuple[Slip, ...]:
    """Return every slip that is tested on records with these sizes.

    Parameters
    ----------
    variables : the family's sizes, first and second
    engine_ratios : PTO power over engine power, with the name of the engine rating [1]
    """
    columns = [("rated_pto_power_kw", "power", 1)] + ([] if "mass_kg" in variables else [("mass_kg", "mass", 1)])
    columns += [(name, *DIMENSION[name.rsplit("_", 1)[1]]) for name in variables]
    slips = [
        Slip(column, read_as, meant, unit_table.factor(meant, read_as) ** power)
        for column, quantity, power in columns
        for kind, read_as, meant in _table()
        if kind == quantity
    ]
    return (*slips, *(Slip("rated_pto_power_kw", "PTO power", name, ratio) for name, ratio in engine_ratios))


def explain(
    suspects: Suspects,
    slips: Sequence[Slip],
    variables: Sequence[str],
    power: Expectation,
    mass: Expectation | None,
    peers: Sizes,
    others: Mapping[str, Array] | None = None,
) -> list[Explanation]:
    """Return the likeliest slip of each suspect; its chance is near 0 where none explains it.

    Parameters
    ----------
    suspects : the records to explain
    slips : the hypotheses, each as likely beforehand; another build is as likely as all of them together
    variables : the family's sizes, first and second
    power, mass : what the peers lead one to expect; mass is None where too few of them state it
    peers : sizes of the peers
    others : by other family, the log density of each suspect if it were one; all together as likely as one slip [1]
    """
    as_stated = _fits(suspects, power, mass)
    fits = np.stack([_fits(_corrected(suspects, slip, variables, peers), power, mass) for slip in slips])
    unknown = _another_build(suspects, power, mass) + np.log(len(slips))
    names = list(others or {})
    strange = np.stack([(others or {})[name] for name in names]) if names else np.empty((0, unknown.size))
    strange = strange - np.log(max(len(names), 1))
    top = np.maximum(np.vstack([fits, strange]).max(axis=0), unknown)
    weights = np.exp(fits - top)
    of_others = np.exp(strange - top)
    total = weights.sum(axis=0) + np.exp(unknown - top) + of_others.sum(axis=0)
    found = []
    for i, best in enumerate(fits.argmax(axis=0)):
        likeliest = slips[int(best)]
        alike = [
            k
            for k, other in enumerate(slips)
            if other.column == likeliest.column and abs(np.log(other.factor / likeliest.factor)) <= ALIKE
        ]
        chance = float(weights[alike, i].sum() / total[i])
        better = float(np.exp(min(fits[best, i] - as_stated[i], 700.0)))
        family = names[int(of_others[:, i].argmax())] if names else None
        # Of those that cannot be told apart the first is named: they are listed commonest first.
        found.append(Explanation(slips[alike[0]], chance, better, family, float(of_others[:, i].sum() / total[i])))
    return found


def _fits(records: Suspects, power: Expectation, mass: Expectation | None) -> Array:
    """Return the log density of each record's power and mass; minus infinity where its sizes are not believed."""
    believed = np.isfinite(records.sizes.first)
    sizes = records.sizes if believed.all() else _filled(records.sizes, believed)
    log_density = power.log_density(records.power_kw, sizes) + _mass_term(records._replace(sizes=sizes), mass)
    return np.where(believed, log_density, -np.inf)


def _mass_term(records: Suspects, mass: Expectation | None) -> Array:
    stated = np.isfinite(records.mass_kg)
    if mass is None or not stated.any():
        return np.zeros(records.power_kw.size)
    return np.where(stated, mass.log_density(np.where(stated, records.mass_kg, 1.0), records.sizes), 0.0)


def _another_build(records: Suspects, power: Expectation, mass: Expectation | None) -> Array:
    """Return the log density where the power, the mass, or both are off as another build is, each as likely."""
    own, other = power.log_density, power.log_density_of_build
    if mass is None:
        return other(records.power_kw, records.sizes)
    stated = np.isfinite(records.mass_kg)
    mass_kg = np.where(stated, records.mass_kg, 1.0)
    of_power, off_power = own(records.power_kw, records.sizes), other(records.power_kw, records.sizes)
    of_mass, off_mass = mass.log_density(mass_kg, records.sizes), mass.log_density_of_build(mass_kg, records.sizes)
    causes = np.stack([off_power + of_mass, of_power + off_mass, off_power + off_mass])
    top = causes.max(axis=0)
    either = top + np.log(np.exp(causes - top).mean(axis=0))
    return np.asarray(np.where(stated, either, off_power))


def _corrected(suspects: Suspects, slip: Slip, variables: Sequence[str], peers: Sizes) -> Suspects:
    """Return the suspects as they would stand without the slip; NaN for a size the peers do not reach."""
    if slip.column == "rated_pto_power_kw":
        return suspects._replace(power_kw=suspects.power_kw * slip.factor)
    sizes = suspects.sizes
    if slip.column == variables[0]:
        return suspects._replace(sizes=sizes._replace(first=_within(sizes.first * slip.factor, peers.first)))
    if slip.column not in variables or sizes.second is None or peers.second is None:
        return suspects._replace(mass_kg=suspects.mass_kg * slip.factor)
    second = _within(sizes.second * slip.factor, peers.second)
    first = np.where(np.isfinite(second), sizes.first, np.nan)
    return suspects._replace(sizes=Sizes(first, second))


def _within(sizes: Array, peers: Array) -> Array:
    believed = (sizes >= np.nanmin(peers) / BEYOND_PEERS) & (sizes <= np.nanmax(peers) * BEYOND_PEERS)
    return np.where(believed, sizes, np.nan)


def _filled(sizes: Sizes, believed: NDArray[np.bool_]) -> Sizes:
    """Return the sizes with 1 in place of those not believed, so that the arithmetic stays finite."""
    second = None if sizes.second is None else np.where(believed, sizes.second, 1.0)
    return Sizes(np.where(believed, sizes.first, 1.0), second)
