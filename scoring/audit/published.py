"""Ratings against published figures: the average shaft power they cannot be below, and the power per width of practice.

Published averages are what the shaft takes; makers ask two to three times that of the tractor, and up to six (common
practice, no source). Bands of practice are makers' and owners' ratings per metre. Figures for tractor or engine power
are another quantity and are not compared.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from importlib import resources
from typing import Any, NamedTuple

from evener.schema.records import Family, Implement
from evener.scoring.audit.flags import AbovePublished, BelowShaftPower, Flag, PowerPerWidth
from evener.scoring.mechanics.engine.rotary_power import rotary_power

Reference = Mapping[str, Sequence[Mapping[str, Any]]]

# Common practice, no source: makers ask two to six times the average shaft power, of sickle mowers the most.
FAR_ABOVE_AVERAGE = 8.0
# Published bands are rounded figures for common builds: beyond by a quarter is outside, by half as much again is far.
OUTSIDE, FAR_OUTSIDE = 1.25, 1.5


class Band(NamedTuple):
    """Published power per metre of width for some stem sizes of a family [kW/m, m]."""

    low: float
    high: float
    stem_low: float
    stem_high: float
    basis: str


@lru_cache(maxsize=1)
def _band_rows() -> tuple[Mapping[str, str], ...]:
    text = resources.files("evener.scoring.audit").joinpath("bands.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def bands_of(family: Family, reference: Reference) -> tuple[Band, ...]:
    """Return the published bands of a family, from the rows of `rotary_power` that `audit_bands.csv` names.

    Parameters
    ----------
    family : the family
    reference : the store's published tables, by name
    """
    published = {(row["machine"], row["variant"] or ""): row for row in reference["rotary_power"]}
    bands = []
    for named in _band_rows():
        row = published.get((named["machine"], named["variant"]))
        if named["family"] != family.family or row is None:
            continue
        low, high = row["b_low_kw_per_m"], row["b_high_kw_per_m"]
        if low is not None and high is not None and row["power_point"] == "PTO":
            stem_low, stem_high = float(named["stem_low_m"] or 0), float(named["stem_high_m"] or math.inf)
            bands.append(Band(low, high, stem_low, stem_high, f"{row['source_id']}, {row['status']}"))
    return tuple(bands)


def average_row(family: Family, reference: Reference) -> Mapping[str, Any] | None:
    """Return the row of `rotary_power` with the family's average shaft power; None where only a band is published."""
    machine, _, variant = (family.rotary_row or "").partition("|")
    for row in reference["rotary_power"]:
        if (row["machine"], row["variant"] or "") == (machine, variant) and row["b_kw_per_m"] is not None:
            return row
    return None


def against_published(family: Family, records: Iterable[Implement], reference: Reference) -> Iterator[Flag]:
    """Yield the flags of one family's ratings against published figures.

    Parameters
    ----------
    family : the family
    records : its records; those without a rated PTO power or a working width are passed over
    reference : the store's published tables, by name
    """
    bands, row = bands_of(family, reference), average_row(family, reference)
    for record in records:
        width, rated = record.working_width_m, record.rated_pto_power_kw
        if width is None or rated is None:
            continue
        stem = record.max_stem_m
        fitting = [one for one in bands if one.stem_high == math.inf or _holds(one, stem)]
        if fitting:
            yield from _against_band(record.implement_id, rated, width, fitting)
        if row is not None:
            yield from _against_average(record.implement_id, rated, width, row, banded=bool(fitting))


def _holds(band: Band, stem_m: float | None) -> bool:
    return stem_m is not None and band.stem_low < stem_m <= band.stem_high


def _against_band(implement_id: str, rated_kw: float, width_m: float, bands: Sequence[Band]) -> Iterator[Flag]:
    low, high = min(one.low for one in bands), max(one.high for one in bands)
    basis = "; ".join(dict.fromkeys(one.basis for one in bands))
    per_width = rated_kw / width_m
    if per_width > high * FAR_OUTSIDE:
        top = high * width_m
        yield AbovePublished(implement_id, 1 - top / rated_kw, rated_kw, top, f"the published band ({basis})")
    elif not low / OUTSIDE <= per_width <= high * OUTSIDE:
        beyond = 1 - min(per_width / low, high / per_width)
        yield PowerPerWidth(implement_id, beyond, per_width, low, high, f"the published band ({basis})")


def _against_average(
    implement_id: str, rated_kw: float, width_m: float, row: Mapping[str, Any], *, banded: bool
) -> Iterator[Flag]:
    # Crop flow is left out: it only adds to the shaft's power, so a rating below this is impossible with any crop.
    average = float(rotary_power(row["a_kw"] or 0.0, b=row["b_kw_per_m"], w=width_m, c=0.0, F=0.0))
    spread = average * (row["range_pct"] or 0.0) / 200
    if average <= 0:
        return
    if rated_kw < average:
        z = (average - rated_kw) / spread if spread else math.inf
        chance = 0.5 * (1 + math.erf(z / math.sqrt(2)))
        source, status = row["source_id"], row["status"]
        yield BelowShaftPower(implement_id, chance, rated_kw, average, row["range_pct"] or 0.0, source, status)
    elif not banded and row["b_kw_per_m"] and rated_kw > average * FAR_ABOVE_AVERAGE:
        top = average * FAR_ABOVE_AVERAGE
        named = f"{row['source_id']}, {row['status']}"
        basis = f"what makers ask at most, {FAR_ABOVE_AVERAGE:.0f} times the average shaft power ({named}),"
        yield AbovePublished(implement_id, 1 - top / rated_kw, rated_kw, top, basis)
