"""What a task's machine weighs, empty and full, and how far back its mass lies."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.setting import CannotSize
from evener.scoring.core.unknowns import of_machine, of_task
from evener.scoring.mechanics.engine import level
from evener.scoring.mechanics.stance import machine_mass
from evener.scoring.place.loads import least_share, payload
from evener.scoring.place.machines import TO_CHOOSE, modelled
from evener.scoring.place.materials import Load, stated
from evener.scoring.place.sizes import need, unit_of

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.trace import Trace


def machine(setting: Setting, task: Task) -> Load:
    """Return the empty machine's mass [kg]: said, recorded, or what its family's records give at its size."""
    record = setting.record(task)
    if task.machine_mass_kg is not None or (record is not None and record.mass_kg is not None):
        return stated(setting, "mass of the empty machine", need(setting, task, "mass_kg"))
    return setting.once(task, _unweighed)


def full(setting: Setting, task: Task, trace: Trace) -> Array:
    """Return the mass of the machine with its load [kg], with what it came from."""
    empty, load = machine(setting, task), payload(setting, task)
    trace.follow(empty.steps)
    if load is None:
        return empty.mass_kg
    trace.follow(load.steps)
    return np.asarray(trace.call(machine_mass.full_mass)(empty.mass_kg, m_load=load.mass_kg))


def partly_full(setting: Setting, task: Task) -> tuple[Array | None, float]:
    """Return the machine's mass with the least load worth a journey [kg], and its share; None where it can't be parted.

    Parameters
    ----------
    setting, task : the job and the task
    """
    load, least = payload(setting, task), least_share(setting, task)
    if load is None or least >= 1.0:
        return None, 1.0
    part = np.asarray(level.part_way(0.0, P_1=load.mass_kg, x=least))
    return np.asarray(machine_mass.full_mass(machine(setting, task).mass_kg, m_load=part)), least


def _unweighed(setting: Setting, task: Task) -> Load:
    """Return a machine's mass by the model of its family, else the middle of records that no size tells apart."""
    trace, found = setting.trace(), modelled(setting, task, "mass")
    if found is not None and found.sizes:
        told = {
            name: (one.values, unit_of(name))
            for name, one in zip(found.model.variables, found.sizes, strict=True)
            if one is not None
        }
        what = f"mass of such a machine over {found.n} records, {found.model.formula}"
        trace.given(what, found.values, "kg", source="PRACTICE", status="practice", inputs=told)
        return Load(found.values, trace.steps, found.text)
    peers = [one for one in setting.peers(task) if one.mass_kg is not None]
    if not peers:
        raise CannotSize(
            task.name, "the machine's own mass is not known", "Say machine_mass, or name an implement record"
        )
    masses = sorted(one.mass_kg for one in peers if one.mass_kg is not None)
    low, high = (float(np.quantile(masses, p, method="nearest")) for p in (0.25, 0.75))
    text = f"{len(masses)} records"
    asked = {"asks": "mass_kg"} if task.have else {"stays": TO_CHOOSE}
    own = of_task(task.name, "machine_mass", text=text, unit="kg", **asked)
    fact = of_machine(setting.job, task, "machine_mass_kg", own)
    mass = setting.unknowns.uniform(fact, low, high)
    what = f"mass of such a tool, middle half of {len(masses)} records"
    trace.given(what, mass, "kg", source="PRACTICE", status="practice")
    if task.have:
        setting.unknowns.would_tell(fact, mass)
    return Load(mass, trace.steps, text)
