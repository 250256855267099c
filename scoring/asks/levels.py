"""The level of the power a machine asks: its plate, its record, or what such machines are rated; for tools the draft.

Where two sources measure the same thing the nearer one leads, and the other moves it by how sure each of them is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.schema.records import Choice, Quantity
from evener.scoring.asks.tools import printed_spread
from evener.scoring.core.draws import Draws, median
from evener.scoring.core.setting import CannotSize, Setting
from evener.scoring.mechanics.engine import level, rating
from evener.scoring.place.machines import modelled
from evener.scoring.place.sizes import need, unit_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.trace import Trace
    from evener.scoring.ratings.columns import Quantity as Rated

RATING = "rated_pto_power_kw"
LEVEL_GROUND = Quantity(0.0, 0.0, "exact", "level")
RATED_SPREAD, TRADE_SPREAD, PUBLISHED_SPREAD = 0.12, 0.18, 0.25
# How far apart, in ln, another source may be: of a rating, to count at all; of a draft, to count in full.
APART, FAR_APART = 0.5, 1.3


@dataclass(frozen=True)
class Level:
    """The rating of a task's machine.

    Attributes
    ----------
    values : draws [kW]
    basis : rated, by plate or record, or fitted, by what such machines are rated
    notes : what a reader should know of it
    """

    values: Array
    basis: str
    notes: tuple[str, ...] = ()


def plate_is_read(task: Task) -> bool:
    """Return whether the sheet says the rating on the machine's plate."""
    return task.rated_pto_power_kw is not None and task.rated_pto_power_kw.low is not None


def rated(setting: Setting, task: Task, trace: Trace) -> Level | None:
    """Return the rating on the machine's plate, else in its record, else what such machines are rated; None without.

    Parameters
    ----------
    setting, task : the job and the task
    trace : where its steps go
    """
    record = setting.record(task)
    if plate_is_read(task):
        plate = need(setting, task, RATING)
        trace.given(f"rating ({plate.text})", plate.values, "kW", source=plate.source, status=plate.status)
        return Level(plate.values, "rated")
    if record is not None and record.rated_pto_power_kw is not None:
        base = np.full(setting.draws.n, record.rated_pto_power_kw)
        text = f"least PTO power its record gives for {record.label}"
        trace.given(text, base, "kW", source=record.source_id, status=record.status)
        return Level(base, "rated")
    return _of_family(setting, task, "power", trace)


def _of_family(setting: Setting, task: Task, quantity: Rated, trace: Trace) -> Level | None:
    found = modelled(setting, task, quantity)
    if found is None:
        return None
    notes = () if found.inside else (f"a size outside the family's {found.n} records: their line is stretched",)
    if found.model.aside:
        notes = (*notes, _aside(found.model.aside, found.model.moved_by_verdicts))
    told = {
        name: (one.values, unit_of(name))
        for name, one in zip(found.model.variables, found.sizes, strict=True)
        if one is not None
    }
    what = f"{found.model.formula}, its build and duty, over {found.n} records, spread {found.model.spread:.3f} of ln P"
    trace.given(what, found.values, "kW", source="PRACTICE", status="practice", inputs=told)
    return Level(found.values, "fitted", notes)


def _aside(aside: tuple[object, ...], moved: float) -> str:
    records = "1 record is" if len(aside) == 1 else f"{len(aside)} records are"
    verdicts = f"; an analyst's verdicts move it by {1 - 1 / moved:+.0%}" if abs(moved - 1) > 0.001 else ""
    return f"{records} left out of its family's line{verdicts}"


def trade(setting: Setting, task: Task) -> float | None:
    """Return the PTO power of the tractor the trade puts before such a tool, in the middle case [kW]; None without one.

    Parameters
    ----------
    setting : in the middle case
    task : the task
    """
    record = setting.record(task)
    if record is not None:
        of_tractor = record.rated_tractor_power_kw
    else:
        found = modelled(setting, task, "tractor")
        of_tractor = float(found.values[0]) if found is not None and found.sizes else None
    return None if of_tractor is None else float(of_tractor * setting.allowance("engine_to_pto")[0])


def in_usual_work(setting: Setting, task: Task) -> tuple[Setting, Task]:
    """Return the middle case of a task in the work ratings are for: level medium ground, usual speed, depth and crop.

    Parameters
    ----------
    setting, task : the job and the task
    """
    place = replace(
        setting.job.place, slope=LEVEL_GROUND, steepest=None, soil=Choice(("firm",)), texture=Choice(("medium",))
    )
    usual = replace(
        task,
        slope=LEVEL_GROUND,
        steepest=None,
        soil=None,
        speed_km_h=None,
        depth_m=None,
        machine_mass_kg=None,
        yield_t_ha=None,
        throughput_t_h=None,
        crop=None,
        have=False,
        growth=Choice(("normal",)),
        pace=Choice(("normal",)),
    )
    return Setting(replace(setting.job, place=place), setting.library, Draws(1)), usual


def moved_by(
    setting: Setting,
    task: Task,
    worked_out: Callable[[Setting, Task], float | None],
    trace: Trace,
    *,
    rated_leads: bool,
) -> tuple[float, tuple[str, ...]]:
    """Return the factor by which another source moves the one that leads, and what to say where they are far apart.

    Parameters
    ----------
    setting, task : the job and the task
    worked_out : what gives the power worked out by published figures, in the middle case [kW]
    trace : where its step goes
    rated_leads : whether the rating leads, rather than what is worked out
    """
    middle, usual = in_usual_work(setting, task)
    try:
        published = worked_out(middle, usual)
        if rated_leads:
            found = rated(middle, usual, middle.trace())
            listed = None if found is None else median(found.values)
        else:
            listed = trade(middle, usual)
    except CannotSize:
        return 1.0, ()
    if not published or not listed:
        return 1.0, ()
    if rated_leads:
        lead, other, sure, less = listed, published, RATED_SPREAD, PUBLISHED_SPREAD
        what, others = "the rating", "published shaft power and rolling"
    else:
        sure = printed_spread(middle, usual) or PUBLISHED_SPREAD
        lead, other, less = published, listed, TRADE_SPREAD
        what, others = "the published draft", "the tractor the trade puts to such tools"
    said = f"what {others} moves {what} by, in usual work"
    if rated_leads:
        factor = float(trace.call(level.supported, said)(lead, P_b=other, s_a=sure, s_b=less, c=APART))
    else:
        factor = float(trace.call(level.combined, said)(lead, P_b=other, s_a=sure, s_b=less, c=FAR_APART))
    ratio = float(rating.times(other, P_ref=lead))
    if abs(np.log(ratio)) < APART:
        return factor, ()
    return factor, (f"{others} would be {ratio:.1f} times {what}: the two are not of one opinion",)
