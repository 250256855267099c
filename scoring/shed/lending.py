"""What may not be lent does no work elsewhere: a thing kept at home all of a task's days, or without its driver."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING

from evener.scoring.shed.cells import DOES_NOT, NOT_LENT
from evener.scoring.shed.jobs import tools_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.schema.shed import Kept, Shed, Window
    from evener.scoring.shed.cells import Cell
    from evener.scoring.shed.jobs import Wanted
    from evener.scoring.shed.matrix import Matrix


def lent(shed: Shed, found: Matrix) -> Matrix:
    """Return what combinations do, of those that can be had at the member's place at all.

    Parameters
    ----------
    shed : the shed, with what is kept at home and what goes out with its driver only
    found : what every combination does
    """
    if not shed.kept and not shed.with_driver:
        return found
    limits = _Limits(shed)
    cells = list(found.cells)
    met = dict(found.met)
    for place, cell in enumerate(found.cells):
        because = limits.against(found.wanted[cell.task], cell)
        if because:
            cells[place] = replace(
                cell, verdict=DOES_NOT, chance=0.0, axis=NOT_LENT, has=because, remedies=(), plates=(), need=None
            )
            met.pop(place, None)
    return replace(found, cells=tuple(cells), met=met)


class _Limits:
    def __init__(self, shed: Shed) -> None:
        self.late = dt.timedelta(days=shed.late_days)
        self.last = shed.last
        self.tractors = [(one.tractor_id, one.owner or "") for one in shed.tractors]
        self.tools = {tool.number: (tool.name, tool.owner) for tool in tools_of(shed) if tool.number is not None}
        self.kept: dict[str, list[Kept]] = {}
        for one in shed.kept:
            self.kept.setdefault(one.thing, []).append(one)
        self.driven = {one.thing: one.words for one in shed.with_driver}

    def against(self, wanted: Wanted, cell: Cell) -> str:
        """Return why a combination cannot be had for a task; nothing where it can."""
        member = wanted.member.name
        name, owner = self.tractors[cell.tractor]
        tool = self.tools.get(cell.machine) if cell.machine is not None else None
        for thing, whose in filter(None, ((name, owner), tool)):
            spans = self.kept.get(thing, [])
            if whose != member and spans and self._all_kept(spans, wanted.windows):
                return f"{thing} is not lent{_said(spans[0].words)}"
        if tool is not None and tool[0] in self.driven and tool[1] not in (member, owner):
            return f"{tool[0]} goes out with its owner's tractor and driver only{_said(self.driven[tool[0]])}"
        return ""

    def _all_kept(self, spans: Sequence[Kept], windows: Sequence[Window]) -> bool:
        if any(one.first is None and one.last is None for one in spans):
            return True
        return bool(windows) and all(self._no_day_free(spans, window) for window in windows)

    def _no_day_free(self, spans: Sequence[Kept], window: Window) -> bool:
        day, last = window.first, min(window.last + self.late, self.last)
        while day <= last:
            if not any((one.first or day) <= day <= (one.last or day) for one in spans):
                return False
            day += dt.timedelta(days=1)
        return True


def _said(words: str) -> str:
    return f": {words!r}, its remark says" if words else ""
