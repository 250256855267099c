"""One question as it is put, with what its answers lead to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from evener.scoring.place.called import called
from evener.scoring.questions.bands import Opened, Outcome, by_pick, in_order, one_of
from evener.scoring.questions.open_answers import LAND, MACHINE, PLACE, machine_slugs, slugs

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.setting import Row
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.decision.turning import Settled
    from evener.scoring.questions.choosing import Chooser
    from evener.scoring.questions.open_answers import OpenAnswer
    from evener.scoring.questions.open_capacities import OpenCapacity
    from evener.scoring.questions.open_work import OpenWork

EFFORT = ("yes or no", "ask", "look", "plate", "tape", "scale")
OF_TRACTORS = "tractor"
OF_WISHES = "wish"
HERE = ": is this tractor to do it?"


@dataclass(frozen=True)
class Question:
    """One question with what its answers lead to.

    Attributes
    ----------
    id : what `--answer` takes
    task : name of the task, of the machine or of the tractor; None for the place
    quantity : size, choice or capacity that is open
    text : as it is put to the customer
    how : what it takes to answer
    now : what the sheet says, or what stands in for it
    said : whether the sheet says something of it
    chance : that knowing the answer changes the pick
    worth : money a year that knowing it is expected to save; None where no money is reckoned
    worth_asking : whether it can change the pick and is worth the trouble
    outcomes : pick by answer; neighbouring answers with the same pick are one
    opened : what is open, and what each part of it leads to
    """

    id: str
    task: str | None
    quantity: str
    text: str
    how: str
    now: str
    said: bool
    chance: float
    worth: float | None
    worth_asking: bool
    outcomes: tuple[Outcome, ...]
    opened: Opened = field(repr=False, compare=False)
    settled: Settled = field(repr=False, compare=False)


def asked(sizing: Sizing, chooser: Chooser, one: OpenAnswer) -> Question:
    """Return an open answer as it is asked, with the picks it leads to."""
    settled = chooser.answer(one)
    task = _task_of(sizing, one.task, one.machine)
    row = _row(sizing.setting.library.tables["question"], one.quantity, task)
    words = [part.text for part in one.parts if part.ends is None]
    return _question(
        chooser,
        settled,
        name=f"{_where(sizing, task, one.land, one.machine)}.{row['key']}",
        task=one.machine or one.task,
        quantity=one.quantity,
        text=_put(sizing, row, task, words, land=one.land, machine=one.machine),
        how=row["how"],
        said=one.said,
        opened=one,
    )


def about_work(sizing: Sizing, chooser: Chooser, one: OpenWork) -> Question:
    """Return what is open about the work itself as it is asked, with the picks it leads to."""
    task = _task_of(sizing, one.task, one.machine)
    words = [part.called or part.text for part in one.parts]
    if one.gap is None:
        row = _row(sizing.setting.library.tables["question"], one.quantity, task)
        name = f"{_where(sizing, task, None, one.machine)}.{row['key']}"
        text = _put(sizing, row, task, words, machine=one.machine)
        how = row["how"]
    else:
        name, text, how = f"{PLACE}.{one.gap.rule['rule']}", f"{one.gap.question.rstrip('?')}{HERE}", "yes or no"
    return _question(
        chooser,
        chooser.work(one),
        name=name,
        task=None if one.gap is not None else one.machine or one.task,
        quantity=one.quantity,
        text=text,
        how=how,
        said=False,
        opened=one,
    )


def looked_up(sizing: Sizing, chooser: Chooser, one: OpenCapacity) -> Question:
    """Return what a record does not state as it is asked, with the picks it leads to."""
    rows = sizing.setting.library.tables["question"]
    row = next((row for row in rows if (row["quantity"], row["family"]) == (one.field, OF_TRACTORS)), _plain(one.field))
    return _question(
        chooser,
        chooser.capacity(one),
        name=f"{one.tractor.tractor_id}.{row['key']}",
        task=one.tractor.tractor_id,
        quantity=one.field,
        text=row["question"].replace("{task}", f"{one.tractor.tractor_id} ({one.tractor.label})"),
        how=row["how"],
        said=False,
        opened=one,
    )


def _question(
    chooser: Chooser,
    settled: Settled,
    *,
    name: str,
    task: str | None,
    quantity: str,
    text: str,
    how: str,
    said: bool,
    opened: Opened,
) -> Question:
    changed = [part.share for part, pick in zip(opened.parts, settled.picks, strict=True) if pick.changed]
    chance = min(1.0, round(sum(changed, 0.0), 6))
    return Question(
        id=name,
        task=task,
        quantity=quantity,
        text=text,
        how=how,
        now=opened.now,
        said=said,
        chance=chance,
        worth=settled.worth,
        worth_asking=chooser.worth_asking(settled),
        outcomes=told(opened, settled),
        opened=opened,
        settled=settled,
    )


def told(opened: Opened, settled: Settled) -> tuple[Outcome, ...]:
    """Return what an answer leads to as it is told: neighbouring parts of a measure, or words, with one pick as one.

    Parameters
    ----------
    opened : what is open, in the units it is to be told in
    settled : what its parts lead to
    """
    found = [
        Outcome(part.text, part.share, pick, ends=part.ends)
        for part, pick in zip(opened.parts, settled.picks, strict=True)
    ]
    return tuple(in_order(found) if opened.ordered else by_pick(found))


def _task_of(sizing: Sizing, name: str | None, machine: str | None) -> Task | None:
    """Return the task a question is about; of a machine, the first that it is for."""
    tasks = sizing.setting.job.tasks
    return next((one for one in tasks if one.name == name or (machine is not None and one.machine == machine)), None)


def _where(sizing: Sizing, task: Task | None, land: str | None, machine: str | None) -> str:
    if machine is not None:
        return f"{MACHINE}{machine_slugs(sizing.setting.job)[machine]}"
    if task is not None:
        return slugs(sizing.setting.job)[task.name]
    return f"{LAND}{land}" if land is not None else PLACE


def _put(
    sizing: Sizing,
    row: Row,
    task: Task | None,
    words: Sequence[str],
    *,
    land: str | None = None,
    machine: str | None = None,
) -> str:
    place = f"The {land.replace('_', ' ')} ground" if land is not None else "The place"
    label = called(sizing.setting.family(task), task).replace("pto", "PTO") if task else "place"
    named = machine or (task.name if task else place)
    text = str(row["question"]).replace("{task}", named).replace("{implement}", label)
    return f"{text[:1].upper()}{text[1:]}".replace("{words}", one_of(words))


def _row(rows: Sequence[Row], quantity: str, task: Task | None) -> Row:
    """Return how a thing is asked: of this family, of a machine still to be bought, of any, or plainly by name."""
    fitting = {row["family"]: row for row in rows if row["quantity"] == quantity}
    wished = fitting.get(OF_WISHES) if task is not None and not task.have and task.implement_id is None else None
    return (fitting.get(task.family) if task else None) or wished or fitting.get(None) or _plain(quantity)


def _plain(quantity: str) -> Row:
    plain = quantity.rsplit("_", 1)[0]
    return {"key": plain, "how": "ask", "question": f"{{task}}: what is the {plain.replace('_', ' ')}?"}
