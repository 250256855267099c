"""What a job sheet says of money; what it leaves out is taken from the tables of custom, and the answer says so."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Rate:
    """What hired work is charged at, machine and driver, in the sheet's currency.

    Attributes
    ----------
    amount : money per unit
    unit : ha, h, bale, hole or day
    """

    amount: float
    unit: str


@dataclass(frozen=True, slots=True)
class Money:
    """Prices, rates and terms that the sheet states.

    Attributes
    ----------
    currency : of all money in the sheet; None where it names none
    exchange : what one US dollar is in that currency; None where the sheet does not say
    terms : value by name of a row of `policy.csv`, such as years, interest or wage
    tractors : prices of new tractors by PTO power [kW]
    machines : price by family of implement
    hire : rate by family of implement
    budget : what the tractor may cost; None where nobody said
    """

    currency: str | None = None
    exchange: float | None = None
    terms: dict[str, float] = field(default_factory=dict)
    tractors: tuple[tuple[float, float], ...] = ()
    machines: dict[str, float] = field(default_factory=dict)
    hire: dict[str, Rate] = field(default_factory=dict)
    budget: float | None = None
