"""The pick if the sheet read otherwise, on the same draws."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.scoring.asks.tasks import demands_of
from evener.scoring.core.otherwise import changed_tasks
from evener.scoring.core.setting import CannotSize, Setting
from evener.scoring.decision.contenders import Contenders, Pick

if TYPE_CHECKING:
    from evener.schema.records import JobSheet
    from evener.scoring.combinations.scores import Score
    from evener.scoring.decision.sizing import Sizing


class WhatIf:
    """Picks of one job under other sheets.

    Parameters
    ----------
    sizing : the job as it stands
    scores : tractors in their order for it
    """

    def __init__(self, sizing: Sizing, scores: list[Score]) -> None:
        self.sizing = sizing
        self.contenders = Contenders(sizing, scores)
        self.now = self.contenders.now

    def pick(self, job: JobSheet) -> Pick:
        """Return the pick for another sheet of the same place; none also where a task of it cannot be sized."""
        setting = Setting(job, self.sizing.setting.library, self.sizing.setting.draws)
        left_out = {*self.sizing.owned, *(one.task for one in self.sizing.not_sized)}
        tasks, gone = changed_tasks(self.sizing.setting.job, job)
        try:
            anew = [demands_of(setting, task) for task in tasks if task.name not in left_out]
        except CannotSize:
            return Pick(None, changed=self.now is not None)
        return self.contenders.pick(anew, without=gone)
