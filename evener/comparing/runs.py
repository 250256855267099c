"""What a tractor can run: the largest machine of each family that it works on stated ground, and what holds it."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.enquiry.refused import WrongUse
from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.results.answer import KEPT, Answer
from evener.results.margins import Limit
from evener.scoring.combinations.margins import limiting
from evener.scoring.core.draws import Draws, median
from evener.scoring.core.setting import CannotSize
from evener.scoring.decision.amounts import amounts
from evener.scoring.decision.doing import ways
from evener.scoring.decision.sizing import size_job
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.money.terms import terms
from evener.scoring.place.going import speed_of
from evener.scoring.place.sizes import unit_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from evener.enquiry.holdings import Holdings
    from evener.schema.records import Family, Implement, JobSheet, Task, Tractor
    from evener.scoring.core.printing import Units
    from evener.scoring.decision.sizing import Sizing

DRAWS = 512
ENOUGH = 0.7
GROUND = "the ground"


@dataclass(frozen=True)
class Measure:
    """A measure of a machine or of its work; `size` names it."""

    size: str
    middle: float
    unit: str


@dataclass(frozen=True)
class Largest:
    """The largest machine of a family that a tractor works.

    Attributes
    ----------
    family, label : the family in the trade's words
    implement_id, machine : the record, or None where it works none
    size : what its family goes by
    speed : at which it is worked, where it moves
    does : share of the draws in which it is worked
    tightest : where there is least to spare, or what keeps the smallest machine out where none is worked
    tried : how many records of the family were tried
    """

    family: str
    label: str
    implement_id: str | None
    machine: str | None
    size: Measure | None
    speed: Measure | None
    does: float
    tightest: Limit | None
    tried: int


@dataclass(frozen=True)
class Runs(Answer):
    """What a tractor can run on stated ground.

    Attributes
    ----------
    tractor_id, label : the tractor
    slope, soil : the ground
    families : the largest machine of each family, in the order of their table
    """

    tractor_id: str
    label: str
    slope: str
    soil: str
    families: tuple[Largest, ...]
    holdings: Holdings = field(repr=False, compare=False, metadata=KEPT)

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per family.

        Parameters
        ----------
        units : "si" or "us"
        """
        return [
            {
                "family": one["family"],
                "implement_id": one["implement_id"],
                "size": one["size"] and one["size"]["middle"],
                "size_unit": one["size"] and one["size"]["unit"],
                "speed": one["speed"] and one["speed"]["middle"],
                "speed_unit": one["speed"] and one["speed"]["unit"],
                "does": one["does"],
                "tightest": one["tightest"] and one["tightest"]["axis"],
            }
            for one in self.to_dict(units)["families"]
        ]


def runs(holdings: Holdings, tractor: Tractor, *, slope: str = "5 %", soil: str = "firm") -> Runs:
    """Return what a tractor can run.

    Parameters
    ----------
    holdings : the records
    tractor : the tractor
    slope, soil : the ground, in the words of a job sheet

    Raises
    ------
    evener.WrongUse
        The ground is said in words that a sheet does not know.
    """
    library = holdings.library
    machines = [one for one in library.implements.values() if one.family in library.families]
    sizing = size_job(_job(holdings, machines, slope, soil), library, Draws(DRAWS))
    taken = terms(sizing.setting.job.money, library)
    classes = [one for one in holdings.tractors if one.kind == "class"]
    by_name = {task.name: task for task in sizing.setting.job.tasks}
    much = {one.task: amounts(sizing.setting, by_name[one.task], taken)[0] for one in sizing.tasks}
    way = ways(sizing.tasks, much, [tractor], classes, draws=sizing.setting.draws, terms=taken)[0]
    shares = {name: float(done.does.mean()) for name, done in way.items()}
    details = {one.task: one for one in sizing.detail(sizing.score([tractor], classes)[0].offer)}
    found = []
    for family in library.families.values():
        own = sorted((one for one in machines if one.family == family.family), key=lambda one: _size(one, family))
        own = [one for one in own if one.implement_id in shares]
        if not own:
            continue
        worked = [one for one in own if shares[one.implement_id] >= ENOUGH]
        one = worked[-1] if worked else own[0]
        limit = limiting((details[one.implement_id],))
        found.append(
            Largest(
                family=family.family,
                label=family.label,
                implement_id=one.implement_id if worked else None,
                machine=one.label if worked else None,
                size=_measure(one, family) if worked else None,
                speed=_speed(sizing, by_name[one.implement_id]) if worked else None,
                does=shares[one.implement_id],
                tightest=None if limit is None else Limit.of(limit),
                tried=len(own),
            )
        )
    return Runs(tractor.tractor_id, tractor.label, slope, soil, tuple(found), holdings)


def _job(holdings: Holdings, machines: Iterable[Implement], slope: str, soil: str) -> JobSheet:
    """Return a sheet in which every machine has a task on the ground."""
    place = {"name": GROUND, "slope": slope, "soil": soil}
    text = "".join(["[place]\n", *(f"{key} = {json.dumps(value)}\n" for key, value in place.items())])
    ids = [json.dumps(one.implement_id) for one in machines]
    text += "".join(f"[[task]]\nname = {one}\nimplement = {one}\n" for one in ids)
    job, findings = read_jobsheet_text(text, holdings.words)
    if job is None:
        wrong = findings[0]
        raise WrongUse(f"{wrong.message.removeprefix('place.').replace(' = ', ': ', 1)}; {wrong.what_to_do}")
    return job


def _size(one: Implement, family: Family) -> float:
    value = getattr(one, family.first_variable, None) if family.first_variable else None
    return float(value or one.rated_pto_power_kw or one.mass_kg or 0.0)


def _measure(one: Implement, family: Family) -> Measure | None:
    name = family.first_variable
    value = getattr(one, name, None) if name else None
    return None if name is None or value is None else Measure(name, float(value), unit_of(name))


def _speed(sizing: Sizing, task: Task) -> Measure | None:
    try:
        speed = speed_of(sizing.setting, task)
    except (CannotSize, OutOfRange):
        return None
    return None if speed is None else Measure("speed_km_h", median(speed.values), "km/h")
