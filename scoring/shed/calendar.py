"""The season's days: how long each is, how much of such days can be worked, and which are not worked at all."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

SUNDAY = 6
USUAL = "usual"
Kind = str


@dataclass(frozen=True)
class Workable:
    """How much of the days of a month can be worked.

    Attributes
    ----------
    low, share, high : in a poor year, the usual and a good one [1]
    source_id, status, note : where the numbers come from
    """

    low: float
    share: float
    high: float
    source_id: str
    status: str
    note: str


@lru_cache(maxsize=1)
def table() -> Mapping[tuple[str, int], Workable]:
    """Return `workable_days.csv` by region and month; what a row leaves out is as in the usual region."""
    text = resources.files("evener.scoring.shed").joinpath("workable_days.csv").read_text(encoding="utf-8")
    rows = {(row["region"], int(row["month"])): row for row in csv.DictReader(text.splitlines())}
    found = {}
    for (region, month), row in rows.items():
        usual = rows[USUAL, month]
        share = float(row["share"])
        low, high = (float(row[name] or usual[name]) for name in ("low", "high"))
        found[region, month] = Workable(
            min(low, share), share, max(high, share), row["source_id"], row["status"], row["note"]
        )
    return found


def regions() -> tuple[str, ...]:
    """Return the regions there are rows for."""
    return tuple(dict.fromkeys(region for region, _ in table()))


def workable(region: str, month: int) -> Workable:
    """Return how much of the days of a month can be worked; the usual row where the region has none."""
    rows = table()
    return rows.get((region, month)) or rows[USUAL, month]


@dataclass(frozen=True)
class Days:
    """The days of a season.

    Attributes
    ----------
    first, last : its first and last day
    hours_a_day_h : hours a day for field work [h]
    region : whose workable days count; None counts every day
    sundays : whether Sundays are worked
    """

    first: dt.date
    last: dt.date
    hours_a_day_h: float
    region: str | None = USUAL
    sundays: bool = False

    def __len__(self) -> int:
        """Return how many there are."""
        return (self.last - self.first).days + 1

    def number(self, day: dt.date) -> int:
        """Return the number of a day, counted from the first; before and after the season it lies outside."""
        return (day - self.first).days

    def date(self, number: int) -> dt.date:
        """Return the date of a day by its number."""
        return self.first + dt.timedelta(days=number)

    def lengths(self) -> tuple[float, ...]:
        """Return the hours of each day; none on a Sunday that is kept [h]."""
        return tuple(
            0.0 if not self.sundays and self.date(number).weekday() == SUNDAY else self.hours_a_day_h
            for number in range(len(self))
        )

    def shares(self, year: Kind = "share") -> tuple[float, ...]:
        """Return how much of such a day can be worked, in a `low`, usual (`share`) or `high` year [1]."""
        if self.region is None:
            return (1.0,) * len(self)
        return tuple(
            float(getattr(workable(self.region, self.date(number).month), year)) for number in range(len(self))
        )

    def worked_between(self, first: int, last: int) -> int:
        """Return how many days of a window are worked at all."""
        lengths = self.lengths()
        return sum(1 for number in range(max(first, 0), min(last, len(self) - 1) + 1) if lengths[number] > 0)
