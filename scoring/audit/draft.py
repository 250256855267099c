"""A family under audit: its records as columns, its fitted model, and every record against the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evener.schema.records import Family, Implement
from evener.scoring.audit.peers import Peers, against_peers
from evener.scoring.audit.slips import Sizes
from evener.scoring.ratings.columns import FamilyColumns, from_records
from evener.scoring.ratings.fitting import SPARE_RECORDS, FamilyFit, fit_with_records
from evener.scoring.ratings.lines.least_squares import NotDetermined
from evener.scoring.ratings.quantity_model import QuantityModel
from evener.scoring.ratings.sizes import is_rated
from evener.scoring.ratings.verdicts import Verdicts

Array = NDArray[np.float64]


@dataclass(frozen=True)
class FamilyRecords:
    """The rated records of one family, as columns in the same order.

    Attributes
    ----------
    family : the family
    rated : every record with a rated PTO power of its own
    records : those of them that state the first size
    columns : of these records
    """

    family: Family
    rated: Sequence[Implement]
    records: Sequence[Implement]
    columns: FamilyColumns

    @property
    def variables(self) -> tuple[str, ...]:
        """Sizes of the family."""
        return self.columns.variables

    @property
    def sizes(self) -> Sizes:
        """Sizes of the records; NaN where a second one is not stated."""
        sizes = self.columns.sizes
        return Sizes(sizes[0], sizes[1] if len(sizes) > 1 else None)

    @property
    def power_kw(self) -> Array:
        """Their rated PTO power [kW]."""
        return self.columns.values["power"]

    @property
    def mass_kg(self) -> Array:
        """Their mass, NaN where not stated [kg]."""
        return self.columns.values["mass"]

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
        least = 2 + SPARE_RECORDS
        if self.n < least:
            return f"{self.n} records state a rated PTO power and a size; a line with its scatter needs {least}"
        return None


def collect(family: Family, records: Sequence[Implement], verdicts: Verdicts | None = None) -> FamilyRecords:
    """Return the rated records of a family as columns.

    Parameters
    ----------
    family : the family
    records : its records
    verdicts : what analysts hold of them
    """
    rated = [one for one in records if is_rated(one)]
    columns = _columns(family, rated, verdicts)
    sized = np.isfinite(columns.sizes[0]) if columns.sizes else np.zeros(len(rated), dtype=bool)
    kept = [one for one, whole in zip(rated, sized, strict=True) if whole]
    return FamilyRecords(family, rated, kept, columns if len(kept) == len(rated) else _columns(family, kept, verdicts))


def _columns(family: Family, records: Sequence[Implement], verdicts: Verdicts | None) -> FamilyColumns:
    if verdicts is None:
        return from_records(family, records)
    return from_records(family, records, left_out=verdicts.left_out, sound=verdicts.sound)


@dataclass(frozen=True)
class Draft:
    """A family with its model, before the tests of all families are taken together.

    Attributes
    ----------
    data : the family's records
    fit : its model, and what that says of the records
    power : each record's rated power against the others
    mass : each stated mass against the others, None where too few are stated or mass is the family's size
    """

    data: FamilyRecords
    fit: FamilyFit
    power: Peers
    mass: Peers | None

    @property
    def model(self) -> QuantityModel:
        """The line of rated power."""
        return self.fit.model.quantities["power"]

    @property
    def p(self) -> Array:
        """Probability of each test by chance, powers first and then masses; NaN where there is none."""
        return self.power.p if self.mass is None else np.concatenate([self.power.p, self.mass.p])


def draft(data: FamilyRecords) -> Draft:
    """Fit a family's model, and measure each record's power and mass against the others.

    Parameters
    ----------
    data : the family's records, enough of them for a line

    Raises
    ------
    NotDetermined
        If they determine no line.
    """
    fit = fit_with_records(data.columns)
    if "power" not in fit.measured:
        raise NotDetermined(fit.model.missing.get("power", "no line"))
    power = against_peers(fit.measured["power"], data.n)
    mass = against_peers(fit.measured["mass"], data.n) if "mass" in fit.measured else None
    return Draft(data, fit, power, mass)
