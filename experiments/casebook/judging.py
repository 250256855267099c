"""One case run from its sheet to its pick, and the verdict on it."""

from __future__ import annotations

import csv
import math
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from evener import JobRefused
from experiments.casebook.cases import HERE, UNDER, Case, Telling, read_rows, rung

if TYPE_CHECKING:
    from evener import Store
    from evener.ranking.ranking import Ranking
    from evener.schema.records import JobSheet

HP = 0.745699872
ASKED_UNDER = 0.85
ALL = 100
Verdict = Literal["met", "large", "small", "short", "no plan"]


@dataclass(frozen=True)
class Judged:
    """How one sheet of one case came out.

    Attributes
    ----------
    case_id, telling : which sheet
    asked_hp : asked at the PTO, in the middle; None where that is not judged or nothing was sized
    pick, pick_hp : the tractor picked, and its power at the PTO; None where none is
    verdict : met; large; small, by one size; short, by more than one; or no plan at all
    """

    case_id: str
    telling: Telling
    asked_hp: float | None
    pick: str | None
    pick_hp: float | None
    verdict: Verdict

    def asked_met(self, case: Case) -> bool:
        """Whether what is asked lies where the case has it."""
        return self.asked_hp is not None and ASKED_UNDER * case.low_hp <= self.asked_hp <= case.high_hp


def judge(store: Store, case: Case, telling: Telling, policy: str = "") -> Judged:
    """Run one sheet of a case and judge what comes out.

    Parameters
    ----------
    store : the library
    case, telling : which sheet
    policy : lines to add to its [policy], such as 'rule = "sure"'
    """
    try:
        job = _job(store, case, telling, policy)
    except JobRefused:
        return Judged(case.case_id, telling, None, None, None, "no plan")
    ranking = store.rank(job, top=ALL)
    picked = next((one for one in ranking.tractors if one.tractor_id == ranking.pick), None)
    pick_hp = None if picked is None or picked.pto_power is None else picked.pto_power / HP
    asked = _asked(ranking, case) if case.by_power else None
    return Judged(case.case_id, telling, asked, ranking.pick, pick_hp, verdict(case, pick_hp))


def _job(store: Store, case: Case, telling: Telling, policy: str) -> JobSheet:
    path = case.sheet(telling)
    if not policy:
        return store.read_job(path)
    with tempfile.TemporaryDirectory() as folder:
        changed = Path(folder) / path.name
        changed.write_text(f"{path.read_text(encoding='utf-8').rstrip()}\n{policy}\n", encoding="utf-8")
        return store.read_job(changed)


def verdict(case: Case, pick_hp: float | None) -> Verdict:
    """Return the verdict on a pick."""
    if pick_hp is None:
        return "no plan"
    least, largest = case.rungs
    if UNDER * case.low_hp <= pick_hp <= case.high_hp or least <= rung(pick_hp) <= largest:
        return "met"
    if rung(pick_hp) > largest:
        return "large"
    return "small" if rung(pick_hp) == least - 1 else "short"


def _asked(ranking: Ranking, case: Case) -> float | None:
    """Return what is asked at the PTO of the class nearest the middle of the band, by the task that asks most [hp]."""
    known = [one for one in ranking.tractors if one.pto_power]
    if not known:
        return None
    middle = min(known, key=lambda one: abs(math.log((one.pto_power or 1.0) / HP / case.centre_hp)))
    asked = [axis.demand.median for task in middle.tasks for axis in task.axes if axis.axis == "pto_power"]
    return max(asked) / HP if asked else None


def kept() -> list[Judged]:
    """Return the results that were written down last."""
    return [
        Judged(
            row["case_id"],
            "told" if row["telling"] == "told" else "said",
            float(row["asked_hp"]) if row["asked_hp"] else None,
            row["pick"] or None,
            float(row["pick_hp"]) if row["pick_hp"] else None,
            row["verdict"],  # type: ignore[arg-type]
        )
        for row in read_rows("results.csv")
    ]


def keep(results: Iterable[Judged]) -> None:
    """Write results down beside the cases."""
    with (HERE / "results.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([one.name for one in fields(Judged)])
        for one in results:
            writer.writerow([_cell(value) for value in asdict(one).values()])


def _cell(value: str | float | None) -> str:
    if value is None:
        return ""
    return f"{value:.1f}" if isinstance(value, float) else str(value)


@dataclass(frozen=True)
class Tally:
    """How one telling of all cases came out.

    Attributes
    ----------
    sheets, by_power : how many were run, and how many of them are judged by what is asked too
    asked_met, ratio : share whose asked power is where the case has it; geometric mean of asked over the band's middle
    met, short, no_plan : shares of picks met, more than one size under, and of sheets without a pick
    """

    sheets: int
    by_power: int
    asked_met: float
    ratio: float
    met: float
    short: float
    no_plan: float


def tally(of: Sequence[Case], results: Sequence[Judged]) -> Tally:
    """Count how some sheets came out."""
    case_of = {case.case_id: case for case in of}
    by_power = [one for one in results if case_of[one.case_id].by_power]
    ratios = [math.log(one.asked_hp / case_of[one.case_id].centre_hp) for one in by_power if one.asked_hp]
    share = 1 / max(1, len(results))
    return Tally(
        len(results),
        len(by_power),
        sum(one.asked_met(case_of[one.case_id]) for one in by_power) / max(1, len(by_power)),
        math.exp(sum(ratios) / len(ratios)) if ratios else math.nan,
        share * sum(one.verdict == "met" for one in results),
        share * sum(one.verdict == "short" for one in results),
        share * sum(one.verdict == "no plan" for one in results),
    )
