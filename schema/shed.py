"""What a shed is: members with their homes, what of theirs may not be lent and when, and the dates of their work.

Distances in km, hours in h, speeds in km/h, dates by the calendar. `None` always means "not stated".
"""

from __future__ import annotations

import csv
import datetime as dt
from dataclasses import dataclass, field
from functools import lru_cache, partial
from importlib import resources

from evener.schema.records import Implement, JobSheet, Tractor


@lru_cache(maxsize=1)
def _usual() -> dict[str, float]:
    text = resources.files("evener.schema").joinpath("shed_usual.csv").read_text(encoding="utf-8")
    return {row["name"]: float(row["value"]) for row in csv.DictReader(text.splitlines())}


def usual(name: str) -> float:
    """Return what is taken where nothing is said, in the unit of its row in `shed_usual.csv`."""
    return _usual()[name]


def _days() -> int:
    return int(usual("late_days"))


@dataclass(frozen=True, slots=True)
class Window:
    """The dates one task of one member has to be done in.

    Attributes
    ----------
    task : name of the task in the member's job sheet
    first, last : first and last day
    hours_a_day_h : hours a day there are for it, where they are its own [h]
    workable_days : days of the window on which it can be done; None takes the table's share
    after : name of the task that goes before it: no more of this is done than of that
    line : line of the shed file
    """

    task: str
    first: dt.date
    last: dt.date
    hours_a_day_h: float | None = None
    workable_days: float | None = None
    after: str | None = None
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Member:
    """One owner in the shed.

    Attributes
    ----------
    name : as the records of his tractors and machines spell their owner
    job : his job sheet, or None where he only lends
    at_km : home, east and north of any one point [km]
    drivers : how many can drive at once; his tractors go out with them
    hours_owed_h : hours of tractor work the others owe him from earlier seasons [h]; negative where he owes
    windows : dates of his tasks
    line : line of the shed file
    """

    name: str
    job: JobSheet | None = None
    at_km: tuple[float, float] | None = None
    drivers: int = 1
    hours_owed_h: float = 0.0
    windows: tuple[Window, ...] = ()
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Kept:
    """A tractor or machine that is not lent: for good, or between two dates.

    Attributes
    ----------
    thing : id of the tractor or machine
    first, last : the days it stays at home; None for the whole season
    line : line of the shed file
    words : the remark on it that says so, where the shed file does not
    """

    thing: str
    first: dt.date | None = None
    last: dt.date | None = None
    line: int | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Driven:
    """A tractor or machine that goes out with its owner's driver only, by the words of its remark.

    A tractor always does; a machine goes out with a tractor of its owner then.
    """

    thing: str
    words: str


@dataclass(frozen=True, slots=True)
class Veto:
    """What a member does not want: a tractor or a machine at his work, or an owner's."""

    member: str
    refuses: str
    task: str | None = None
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Shed:
    """Everything the members own and have to do, in the order of the shed file.

    Attributes
    ----------
    members : in the order of the file, which breaks ties
    tractors, machines : theirs, by their owners
    road_km : road between two homes, by both names [km]
    kept, vetoes, with_driver : what is not lent and when, not wanted, or lent with its owner's driver only
    first, last : first and last day of the season
    hours_a_day_h : hours a day for field work [h]
    road_factor : road over straight line, where only coordinates are given [1]
    road_speed_km_h : pace on the road [km/h]
    late_days : days after its window within which a task may still be done late
    confidence : share of the draws a combination has to meet
    workable : name of the region in the table of workable days; None counts every day
    sundays : whether Sundays are worked
    turn : members in the order of their turn, where rotation is asked for
    """

    name: str
    members: tuple[Member, ...]
    tractors: tuple[Tractor, ...] = ()
    machines: tuple[Implement, ...] = ()
    road_km: tuple[tuple[str, str, float], ...] = ()
    kept: tuple[Kept, ...] = ()
    vetoes: tuple[Veto, ...] = ()
    with_driver: tuple[Driven, ...] = ()
    first: dt.date = dt.date.min
    last: dt.date = dt.date.max
    hours_a_day_h: float = field(default_factory=partial(usual, "hours_a_day"))
    road_factor: float = field(default_factory=partial(usual, "road_factor"))
    road_speed_km_h: float = field(default_factory=partial(usual, "road_speed"))
    late_days: int = field(default_factory=_days)
    confidence: float = field(default_factory=partial(usual, "confidence"))
    workable: str | None = None
    sundays: bool = False
    turn: tuple[str, ...] = ()
    units: str = "us"
