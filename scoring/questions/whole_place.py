"""The decision on a whole place: what tractors there do, what they are said to do and do not, and work nobody named."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.scoring.decision.cheapest import Decision, decide
from evener.scoring.decision.owned import owned
from evener.scoring.questions.reconcile import gaps, work_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.schema.records import Tractor
    from evener.scoring.decision.sizing import Sizing

SHORT = "short"


def decide_place(sizing: Sizing, tractors: Sequence[Tractor]) -> Decision:
    """Return the decision on a place, with all that is there and all that may be missing.

    Parameters
    ----------
    sizing : the job
    tractors : all tractor records: those that tractors there are named by, and the classes

    Raises
    ------
    NoMoney
        No money can be reckoned in the sheet's currency.
    """
    job, library = sizing.setting.job, sizing.setting.library
    failing = [one["task"] for one in owned(sizing, tractors) if one["verdict"] == SHORT]
    missing = [(task, float(gap.rule["chance"])) for gap in gaps(job, library) if (task := work_of(gap)) is not None]
    return decide(
        sizing,
        [one for one in tractors if one.kind == "class"],
        gaps=missing,
        put_back=failing,
        there=there(sizing, tractors),
    )


def there(sizing: Sizing, tractors: Sequence[Tractor]) -> list[Tractor]:
    """Return the tractors that are there and of which figures are known."""
    known = {one.tractor_id: one for one in tractors}
    found = (one.tractor or known.get(one.tractor_id or "") for one in sizing.setting.job.machines)
    return [one for one in found if one is not None]
