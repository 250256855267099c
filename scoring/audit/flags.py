"""What an audit can say against a rating: one class per kind of flag, with its evidence in words and its strength.

Strength runs from 0 to 1 and is said per kind: a chance where the evidence gives one, else how far beyond the limit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from evener.schema import units as unit_table
from evener.scoring.core.printing import Units, rounded, show

KINDS: dict[str, type[Flag]] = {}


@dataclass(frozen=True)
class Flag:
    """One thing that speaks against a record's rating.

    Attributes
    ----------
    implement_id : the record
    strength : 0 to 1; what it measures is said by each kind [1]
    """

    kind: ClassVar[str] = ""
    title: ClassVar[str] = ""
    why: ClassVar[str] = ""
    measure: ClassVar[str] = ""

    implement_id: str
    strength: float

    def __init_subclass__(cls, **kwargs: Any) -> None:
        """Enter the kind in the list that the documentation is written from."""
        super().__init_subclass__(**kwargs)
        KINDS[cls.kind] = cls

    def evidence(self, units: Units = "si") -> str:
        """Return what speaks against the rating, in the reader's units."""
        raise NotImplementedError

    def as_dict(self, units: Units = "si") -> dict[str, Any]:
        """Return the keys of the JSON contract: implement_id, kind, evidence, strength."""
        return {
            "implement_id": self.implement_id,
            "kind": self.kind,
            "evidence": self.evidence(units),
            "strength": round(self.strength, 3),
        }


@dataclass(frozen=True)
class FarFromPeers(Flag):
    """A rated power, or a mass, that the other records of the family do not lead one to expect."""

    kind: ClassVar[str] = "far_from_peers"
    title: ClassVar[str] = "Far from its peers"
    why: ClassVar[str] = "machines of one kind and size are rated alike; one that is not is a slip or another machine"
    measure: ClassVar[str] = "1 less the share of false alarms at which it would just be reported"

    column: str
    value: float
    expected: float
    low: float
    high: float
    peers: int
    chance: float

    def evidence(self, units: Units = "si") -> str:
        """Return the value, what the peers put it at, and how often chance alone goes as far."""
        unit = "kg" if self.column == "mass_kg" else "kW"
        say = [show(value, unit, units) for value in (self.value, self.expected, self.low, self.high)]
        what = "mass" if self.column == "mass_kg" else "rated"
        return (
            f"{what} {say[0]}; its {self.peers} peers put this size at {say[1]} ({say[2]} to {say[3]} in 95 of 100); "
            f"chance alone goes as far {_once_in(self.chance)}"
        )


@dataclass(frozen=True)
class Influential(Flag):
    """A record that moves the family's line by itself."""

    kind: ClassVar[str] = "influential"
    title: ClassVar[str] = "Moves the line by itself"
    why: ClassVar[str] = "an answer that rests on one record is as good as that record"
    measure: ClassVar[str] = "level of the confidence region of the coefficients that leaving it out reaches"

    distance: float
    fitted_kw: float
    without_kw: float

    def evidence(self, units: Units = "si") -> str:
        """Return the fitted rating at its size with the record and without it."""
        with_it, without = show(self.fitted_kw, "kW", units), show(self.without_kw, "kW", units)
        return f"this one record moves the line: at its size {with_it} with it, {without} without it"


@dataclass(frozen=True)
class UnitSlip(Flag):
    """A value that fits its peers once it is read in another unit."""

    kind: ClassVar[str] = "unit_slip"
    title: ClassVar[str] = "Likely in another unit"
    why: ClassVar[str] = "a number typed under the wrong unit looks like any other number"
    measure: ClassVar[str] = "chance of this slip against the other slips and against a deviation of unknown cause"

    column: str
    read_as: str
    meant: str
    stated: float
    corrected: float
    times_better: float

    def evidence(self, units: Units = "si") -> str:
        """Return the number as read and as probably meant."""
        unit = _unit_of(self.column)
        value = self.stated / unit_table.factor(self.read_as, unit) if unit else self.stated
        number = f"{rounded(value)} {self.meant}" if unit else f"sizes in {self.meant}"
        reads = (
            f"{show(self.stated, unit, units, self.column)} was probably meant as {number}"
            if unit
            else (f"{number} read as {self.read_as}")
        )
        return f"{_plain(self.column)} {reads}, which fits its peers; as it stands it hardly does"


@dataclass(frozen=True)
class EngineGivenAsPto(Flag):
    """A rating that is probably the tractor's engine power."""

    kind: ClassVar[str] = "engine_given_as_pto"
    title: ClassVar[str] = "Engine power given as PTO power"
    why: ClassVar[str] = "the PTO gives about 0.83 to 0.92 of the engine's power, so the implement looks more demanding"
    measure: ClassVar[str] = "0.9 where the record itself shows it, else the chance against other causes"

    stated_kw: float
    reason: str
    ratio: float | None = None

    def evidence(self, units: Units = "si") -> str:
        """Return why the rating is taken for engine power, and the PTO power it would then be."""
        text = f"rated {show(self.stated_kw, 'kW', units)} PTO, but {self.reason}"
        if self.ratio is None:
            return text
        return f"{text}; at {self.ratio:.2f} of the engine that is {show(self.stated_kw * self.ratio, 'kW', units)} PTO"


@dataclass(frozen=True)
class OtherFamily(Flag):
    """A record that fits the machines of another family better than those of its own."""

    kind: ClassVar[str] = "other_family"
    title: ClassVar[str] = "Likely of another family"
    why: ClassVar[str] = "a machine under the wrong family misleads both"
    measure: ClassVar[str] = "chance of another family against slips and against a deviation of unknown cause"

    rated_kw: float
    family: str
    expected_kw: float

    def evidence(self, units: Units = "si") -> str:
        """Return the family it fits, and what that asks at its size."""
        rated, expected = show(self.rated_kw, "kW", units), show(self.expected_kw, "kW", units)
        return f"rated {rated}; it fits the {self.family.replace('_', ' ')} machines, {expected} at its size"


@dataclass(frozen=True)
class BelowShaftPower(Flag):
    """A rating below what the machine's shaft takes on average, which no tractor of that power can give."""

    kind: ClassVar[str] = "below_shaft_power"
    title: ClassVar[str] = "Below the published average shaft power"
    why: ClassVar[str] = "a tractor cannot be rated for less than the shaft takes on average"
    measure: ClassVar[str] = (
        "chance that the average is above the rating, its printed range being two standard deviations"
    )

    rated_kw: float
    average_kw: float
    range_pct: float
    source_id: str
    status: str

    def evidence(self, units: Units = "si") -> str:
        """Return the rating and the published average with its range."""
        rated, average = show(self.rated_kw, "kW", units), show(self.average_kw, "kW", units)
        return (
            f"rated {rated}; its shaft takes {average} on average "
            f"(+-{self.range_pct:.0f} %; {self.source_id}, {self.status})"
        )


@dataclass(frozen=True)
class AbovePublished(Flag):
    """A rating far above the top of what is published for the machine."""

    kind: ClassVar[str] = "far_above_published"
    title: ClassVar[str] = "Far above the published band"
    why: ClassVar[str] = "a rating that high is a slip, or a machine for other work than the published one"
    measure: ClassVar[str] = "share of the rating that lies above the top of the band"

    rated_kw: float
    top_kw: float
    basis: str

    def evidence(self, units: Units = "si") -> str:
        """Return the rating and the top of the published band at its width."""
        rated, top = show(self.rated_kw, "kW", units), show(self.top_kw, "kW", units)
        return f"rated {rated}; {self.basis} ends at {top} for its width"


@dataclass(frozen=True)
class PowerPerWidth(Flag):
    """A power per metre of width outside the published figures, though not far."""

    kind: ClassVar[str] = "power_per_width"
    title: ClassVar[str] = "Power per width outside the published figures"
    why: ClassVar[str] = "worth a look: published figures are for common builds"
    measure: ClassVar[str] = "share by which it lies outside the nearer end of the band"

    per_width_kw_m: float
    low_kw_m: float
    high_kw_m: float
    basis: str

    def evidence(self, units: Units = "si") -> str:
        """Return the power per width and the published band."""
        values = (self.per_width_kw_m, self.low_kw_m, self.high_kw_m)
        unit, factor = "kW per m", 1.0
        if units == "us":
            unit, factor = "hp per ft", unit_table.factor("kW", "hp") / unit_table.factor("m", "ft")
        one, low, high = (rounded(value * factor) for value in values)
        return (
            f"{one} {unit}; {self.basis} says {low} to {high}"
            if low != high
            else f"{one} {unit}; {self.basis} says {low}"
        )


@dataclass(frozen=True)
class TwoRatings(Flag):
    """The same machine under two records with different ratings."""

    kind: ClassVar[str] = "two_ratings"
    title: ClassVar[str] = "Same machine, two ratings"
    why: ClassVar[str] = "at most one of them is right"
    measure: ClassVar[str] = "0.95 from 5 % apart, in proportion below: ratings are rounded"

    rated_kw: float
    others: tuple[tuple[str, float], ...]

    def evidence(self, units: Units = "si") -> str:
        """Return the rating here and in the other records of the machine."""
        named = ", ".join(f"{show(power, 'kW', units)} in {one}" for one, power in self.others[:3])
        more = f" and {len(self.others) - 3} more" if len(self.others) > 3 else ""
        return f"rated {show(self.rated_kw, 'kW', units)} here, {named}{more}: same label, size and build"


COLUMN_UNITS: Mapping[str, str] = {"kw": "kW", "kg": "kg", "m": "m", "l": "L"}


def _unit_of(column: str) -> str:
    """Return the unit a column is kept in; none for sizes derived from several columns."""
    return COLUMN_UNITS.get(column.rsplit("_", 1)[1], "")


def _plain(column: str) -> str:
    return column.rsplit("_", 1)[0].replace("_", " ").replace("pto", "PTO")


def _once_in(chance: float) -> str:
    times = 1 / max(chance, 1e-12)
    return "less than once in a million records" if times > 1e6 else f"once in {rounded(times)} records"
