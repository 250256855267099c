"""What the customer can tell of how heavy a task's machine is with its load: a size, a load, the mass of one he has."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable

    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.unknowns import Fact


def part_told(setting: Setting, facts: Iterable[Fact], mass_kg: Array) -> Array | None:
    """Return what the answers to a task's open questions make of a mass, ln of it; None where none is open.

    Parameters
    ----------
    setting : the job
    facts : what the mass was drawn from
    mass_kg : draws of it
    """
    answers = {id(one): one for one in setting.unknowns.answers(facts) if np.ptp(one) > 0}
    if not answers or setting.draws.n <= len(answers) + 1:
        return None
    design = np.column_stack([np.ones(setting.draws.n), *map(np.log, answers.values())])
    coefficients = np.linalg.lstsq(design, np.log(mass_kg), rcond=None)[0]
    return np.asarray(design @ coefficients)
