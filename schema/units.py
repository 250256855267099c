"""Units: every spelling the trade writes, and the exact factor to the unit the records keep.

The factors stand in `units.csv` with their source. Reading them needs no library; `checked_factor` asks pint as well
and refuses a factor the two do not agree on. A gallon, a ton, a hundredweight and a bushel differ between the US and
the imperial system: those spellings follow the `measures` of the file they stand in.
"""

from __future__ import annotations

import csv
import hashlib
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any, Literal

Measures = Literal["us", "imperial"]

US_SYMBOLS = {
    "m": "ft",
    "ha": "ac",
    "kg": "lb",
    "kW": "hp",
    "km/h": "mph",
    "L": "gal",
    "m3": "ft3",
    "L/min": "gpm",
    "kPa": "psi",
    "t/h": "ton/h",
    "t/ha": "ton/ac",
    "kN": "lbf",
    "kg m": "lb ft",
    "ha/h": "ac/h",
}
# Lengths the trade speaks of in inches even where they exceed a foot.
INCH_FIELDS = frozenset(
    {
        "stem_m",
        "max_stem_m",
        "auger_diameter_m",
        "snow_depth_m",
        "depth_m",
        "tool_spacing_m",
        "centre_of_mass_m",
        "loader_height_m",
        "wheelbase_m",
        "rear_tyre_width_m",
        "rear_tyre_diameter_m",
        "track_width_m",
        "overall_width_m",
        "overall_height_m",
    }
)
AGREEMENT = 1e-9
# The table whose every unit the tests have held against pint.
HELD_AGAINST_PINT = "9e7fce4406d0b0961d306cd89f3b64d85abf6759281fb5858ccf81c8afd11021"


class UnitError(ValueError):
    """A unit that cannot be used where it stands.

    Attributes
    ----------
    message : what is wrong
    remedy : what can be used
    """

    def __init__(self, message: str, remedy: str = "") -> None:
        super().__init__(f"{message}; {remedy}" if remedy else message)
        self.message = message
        self.remedy = remedy


class UnknownUnit(UnitError):
    """A spelling the unit table does not hold."""


class WrongDimension(UnitError):
    """A known unit of another kind of quantity than the one asked for."""


class UnitDisagreement(UnitError):
    """The unit table and pint give different factors."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of the table.

    Attributes
    ----------
    symbol : how it is printed
    dimension : the kind of quantity: length, area, mass ...
    si_unit : the unit records keep for that kind
    factor : how many `si_unit` one of it is
    pint_unit : the same unit as an expression pint reads
    """

    symbol: str
    dimension: str
    si_unit: str
    factor: float
    pint_unit: str


def fold(spelling: str) -> str:
    """Return a spelling without case, dots, and spacing that carry no meaning."""
    words = spelling.casefold().replace(".", " ").replace(" per ", "/").split()
    return "/".join(part.strip() for part in " ".join(words).split("/"))


@lru_cache(maxsize=2)
def _table(measures: Measures) -> dict[str, Unit]:
    text = resources.files("evener.schema").joinpath("units.csv").read_text(encoding="utf-8")
    table: dict[str, Unit] = {}
    for row in csv.DictReader(text.splitlines()):
        if row["measures"] not in ("", measures):
            continue
        unit = Unit(row["unit"], row["dimension"], row["si_unit"], float(row["factor"]), row["pint_unit"])
        for spelling in row["spellings"].split(";"):
            if spelling in table:
                raise ValueError(f"units.csv: {spelling!r} is both {table[spelling].symbol} and {unit.symbol}")
            table[spelling] = unit
    return table


def find(spelling: str, *, measures: Measures = "us") -> Unit:
    """Return the unit a spelling stands for.

    Parameters
    ----------
    spelling : as written; case, dots and spaces are folded
    measures : what a bare gallon, ton, hundredweight or bushel means

    Raises
    ------
    UnknownUnit
        The table does not hold it; near misses are named.
    """
    table = _table(measures)
    folded = fold(spelling)
    if folded in table:
        return table[folded]
    from difflib import get_close_matches

    near = list(dict.fromkeys(table[match].symbol for match in get_close_matches(folded, table, n=3, cutoff=0.6)))
    raise UnknownUnit(f"unit {spelling!r} is not known", f"did you mean {' or '.join(near)}?" if near else "")


def known(spelling: str, *, measures: Measures = "us") -> bool:
    """Tell whether a spelling stands for a unit."""
    return fold(spelling) in _table(measures)


def symbols(unit: str) -> tuple[str, ...]:
    """Return the symbols that measure the same kind of quantity as `unit`, in the order of the table."""
    dimension = find(unit).dimension
    return tuple(dict.fromkeys(one.symbol for one in _table("us").values() if one.dimension == dimension))


def factor(spelling: str, to: str, *, measures: Measures = "us") -> float:
    """Return how many `to` one `spelling` is [to per spelling].

    Parameters
    ----------
    spelling : the unit as written
    to : the unit wanted, one of the nomenclature's or any other spelling
    measures : what a bare gallon, ton, hundredweight or bushel means

    Raises
    ------
    UnknownUnit
        A spelling the table does not hold.
    WrongDimension
        Both are known, but measure different things.

    References
    ----------
    NIST SP 811 appendix B and NIST Handbook 44 appendix C (from memory), by way of `units.csv`.
    """
    given, wanted = find(spelling, measures=measures), find(to, measures=measures)
    if given.dimension != wanted.dimension:
        message = f"{given.symbol} measures {given.dimension}, not {wanted.dimension}"
        raise WrongDimension(message, f"use {', '.join(symbols(to)[:6])}")
    return 1.0 if given == wanted else given.factor / wanted.factor


@lru_cache(maxsize=1)
def is_held_against_pint() -> bool:
    """Tell whether the unit table is the one that the tests have held against pint."""
    content = resources.files("evener.schema").joinpath("units.csv").read_bytes()
    return hashlib.sha256(content.replace(b"\r\n", b"\n")).hexdigest() == HELD_AGAINST_PINT


def settled_factor(spelling: str, to: str, *, measures: Measures = "us") -> float:
    """Return `factor`, after asking pint too where the table was edited since the tests held it against pint.

    Parameters
    ----------
    spelling : the unit as written
    to : the unit wanted
    measures : what a bare gallon, ton, hundredweight or bushel means

    Raises
    ------
    UnitError
        As `checked_factor`.
    """
    return (factor if is_held_against_pint() else checked_factor)(spelling, to, measures=measures)


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()


def checked_factor(spelling: str, to: str, *, measures: Measures = "us") -> float:
    """Return `factor` after pint has derived the same number with its own check of dimensions.

    Parameters
    ----------
    spelling : the unit as written
    to : the unit wanted
    measures : what a bare gallon, ton, hundredweight or bushel means

    Raises
    ------
    UnitError
        As `factor`.
    UnitDisagreement
        pint finds other dimensions, or a factor that differs by more than 1e-9 of itself.
    """
    ours = factor(spelling, to, measures=measures)
    given, wanted = find(spelling, measures=measures), find(to, measures=measures)
    import pint

    registry = _registry()
    try:
        theirs = float(
            (registry.parse_expression(given.pint_unit) / registry.parse_expression(wanted.pint_unit))
            .to("dimensionless")
            .magnitude
        )
    except pint.DimensionalityError:
        raise UnitDisagreement(f"{given.symbol} is no {wanted.dimension} to pint ({given.pint_unit})") from None
    if abs(theirs / ours - 1.0) > AGREEMENT:
        raise UnitDisagreement(f"one {given.symbol} is {ours!r} {wanted.symbol} here and {theirs!r} to pint")
    return ours


def us(unit: str, *, field: str = "") -> tuple[str, float]:
    """Return the symbol a US reader expects for a nomenclature unit, and the factor to it.

    Parameters
    ----------
    unit : nomenclature unit: m, ha, kg, kW, km/h, L, m3, L/min, kPa, h, rpm, t/h, t/ha, kN, kg m, ha/h, 1
    field : name of the field printed; some lengths are spoken of in inches

    Returns
    -------
    tuple
        Symbol, and how many of it one `unit` is. Units common to both systems come back with 1.0.
    """
    symbol = "in" if unit == "m" and field in INCH_FIELDS else US_SYMBOLS.get(unit, unit)
    return symbol, factor(unit, symbol)
