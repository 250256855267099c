"""PTO power where only the engine's is known: by transmission and kind of engine power, from `power_ratios`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evener.ingest.text.held_values import Values, Words
from evener.schema.certainty import Certainty

Row = Mapping[str, Any]


_OURS = " engine power, "


@dataclass(frozen=True)
class Ratio:
    """PTO power over engine power [1], with its band and where it comes from."""

    middle: float
    low: float
    high: float
    engine: str
    source: str

    @property
    def certainty(self) -> Certainty:
        """How sure a value made with it is; the band, in whole per cent, is two standard deviations."""
        spread = 100 * max(self.high - self.middle, self.middle - self.low) / self.middle
        basis = f"{self.middle:.3g} x {self.engine}{_OURS}{self.low:.2f} to {self.high:.2f} ({self.source})"
        return Certainty("estimated", spread_pct=float(round(spread)), basis=basis)


def is_ours(sure: Certainty) -> bool:
    """Tell whether a value was worked out here from an engine power, and not stated by a list."""
    return sure.kind == "estimated" and _OURS in sure.basis


def pto_ratios(table: Sequence[Row]) -> dict[tuple[bool, str | None], Ratio]:
    """Return the ratio by whether the transmission is hydrostatic and by the kind of engine power.

    Parameters
    ----------
    table : rows of `power_ratios`

    Raises
    ------
    LookupError
        The table lacks a row the estimate rests on.
    """

    def row(tractor: str, start: str, end: str) -> Row:
        for one in table:
            if (one["tractor_type"], one["from_point"], one["to_point"]) == (tractor, start, end):
                return one
        raise LookupError(f"power_ratios has no row {tractor} from {start} to {end}")

    flywheel = row("all", "engine flywheel", "PTO")
    band = row("all", "net flywheel", "PTO")
    gross = row("all", "gross flywheel (advertised)", "PTO")
    accessories = row("all", "gross flywheel", "net flywheel")["ratio"]
    hydrostatic = row("hydrostatic compact", "engine gross", "PTO")
    net_one = Ratio(
        flywheel["ratio"],
        band["ratio_low"],
        band["ratio_high"],
        "net",
        f"{flywheel['source_id']}, {flywheel['status']}",
    )
    gross_one = Ratio(
        gross["ratio"],
        accessories * band["ratio_low"],
        accessories * band["ratio_high"],
        "gross",
        f"{gross['source_id']}, {gross['status']}",
    )
    low, high = gross_one.low, net_one.high
    unsaid = Ratio((low + high) / 2, low, high, "gross or net", f"{gross_one.source}; {net_one.source}")
    low, high = hydrostatic["ratio_low"], hydrostatic["ratio_high"]
    pump = Ratio(
        (low + high) / 2, low, high, "hydrostatic tractor's", f"{hydrostatic['source_id']}, {hydrostatic['status']}"
    )
    return {
        (False, "net"): net_one,
        (False, "gross"): gross_one,
        (False, None): unsaid,
        (True, "net"): pump,
        (True, "gross"): pump,
        (True, None): pump,
    }


def pto_power(
    columns: Mapping[str, Values], ratios: Mapping[tuple[bool, str | None], Ratio]
) -> tuple[NDArray[np.float64], list[tuple[NDArray[np.bool_], Certainty]]]:
    """Return PTO power [kW] with the blanks estimated, and the rows estimated in each way.

    Parameters
    ----------
    columns : `engine_power_kw`, `pto_power_kw`, `engine_power_kind`, `transmission`, one value per row
    ratios : from `pto_ratios`
    """
    engine, given = columns["engine_power_kw"], columns["pto_power_kw"]
    kinds, transmissions = columns["engine_power_kind"], columns["transmission"]
    if isinstance(engine, Words) or isinstance(given, Words):
        raise TypeError("powers are numbers")
    if not (isinstance(kinds, Words) and isinstance(transmissions, Words)):
        raise TypeError("the kind of engine power and the transmission are words")
    power = given.copy()
    sure: list[tuple[NDArray[np.bool_], Certainty]] = []
    blank = np.isnan(given) & ~np.isnan(engine)
    if not blank.any():
        return power, sure
    hydrostatic = transmissions.is_word("hydrostatic")
    for (pumped, kind), ratio in ratios.items():
        rows = blank & (hydrostatic == pumped) & kinds.is_word(kind)
        if rows.any():
            power[rows] = engine[rows] * ratio.middle
            sure.append((rows, ratio.certainty))
    return power, sure
