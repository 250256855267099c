"""Whether the place and its tasks add up: what is probably done there although no task names it.

The rules are rows of `reconcile.csv`. Each that applies becomes a question with a stated prior chance, never a task;
the pick it would lead to is worked out with the implement the rule names.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING, Any

from evener.schema.records import Choice, Quantity, Task

if TYPE_CHECKING:
    from evener.schema.records import JobSheet
    from evener.scoring.core.setting import Library, Row

LISTS = ("land", "animals", "tasks", "without")


@dataclass(frozen=True)
class Gap:
    """One rule that applies, with what its question is about.

    Attributes
    ----------
    rule : row of `reconcile.csv`
    question : as it is put to the customer
    uses : the land it is about
    """

    rule: Row
    question: str
    uses: tuple[str, ...] = ()


def reconcile(
    job: JobSheet, library: Library, *, pick_if_so: Callable[[Gap], str | None] | None = None
) -> list[dict[str, Any]]:
    """Return what to ask about the place as a whole.

    Parameters
    ----------
    job : the customer's job sheet
    library : families and the rules
    pick_if_so : gives the pick if there is such work; without it no pick is worked out

    Returns
    -------
    list of dict
        `rule`, `question`, `chance` that there is such work, `status` of that chance and, with picks, `family` of the
        implement it would take and `pick_if_so`; None where the rule names none.
    """
    return [
        {
            "rule": gap.rule["rule"],
            "question": gap.question,
            "chance": gap.rule["chance"],
            "status": gap.rule["status"],
            "family": gap.rule["family"],
            "pick_if_so": pick_if_so(gap) if pick_if_so is not None else None,
        }
        for gap in gaps(job, library)
    ]


def gaps(job: JobSheet, library: Library) -> list[Gap]:
    """Return every rule that applies to a job, in the order of their file."""
    finders: Mapping[str, Callable[[JobSheet, Library, Row], Iterator[Gap]]] = {
        "place": _of_place,
        "machine": _of_machines,
        "twice": _of_names,
    }
    rules = [{**rule, **{name: rule[name] or () for name in LISTS}} for rule in library.tables["reconcile"]]
    found = [gap for rule in rules if rule["about"] in finders for gap in finders[rule["about"]](job, library, rule)]
    told = {use for gap in found for use in gap.uses}
    for rule in rules:
        if rule["about"] == "land":
            found += [gap for gap in _of_land(job, rule) if not told.issuperset(gap.uses)]
    return [gap for gap in found if gap.rule["rule"] not in job.place.others_do]


def stand_in(rule: Row) -> Task | None:
    """Return the task a rule asks about, as its row describes it, or None where it names no implement."""
    if not rule["family"]:
        return None
    width = None
    if rule["width_low_m"] is not None and rule["width_high_m"] is not None:
        width = Quantity(rule["width_low_m"], rule["width_high_m"], "range")
    return Task(rule["rule"].replace("_", " "), rule["family"], width_m=width)


def work_of(gap: Gap) -> Task | None:
    """Return the work a gap asks about, on the land it is about; None where it names no machine."""
    task = stand_in(gap.rule)
    return replace(task, land=gap.uses[0]) if task is not None and gap.uses else task


def _of_place(job: JobSheet, library: Library, rule: Row) -> Iterator[Gap]:
    uses = tuple(one.use for one in job.place.land if one.use in rule["land"])
    days, steep = job.place.snow_days, _steepest(job)
    if (
        (rule["land"] and not uses)
        or (rule["animals"] and not any(job.place.animals.get(kind) for kind in rule["animals"]))
        or (rule["tasks"] and not any(_is(task, library, rule["tasks"]) for task in job.tasks))
        or (rule["snow_days_min"] and (days is None or (days.high or 0.0) < rule["snow_days_min"]))
        or (rule["slope_min"] and steep < rule["slope_min"])
    ):
        return
    if not uses:
        if not any(_is(task, library, rule["without"]) for task in job.tasks):
            yield Gap(rule, rule["question"])
        return
    bare = tuple(
        use
        for use in uses
        if not any(task.land in {None, use} and _is(task, library, rule["without"]) for task in job.tasks)
    )
    if bare and (rule["snow_days_min"] is None or bare == uses):
        yield Gap(rule, rule["question"].replace("{land}", in_words(bare)), bare)


def _of_land(job: JobSheet, rule: Row) -> Iterator[Gap]:
    named = {task.land for task in job.tasks}
    for one in job.place.land:
        if one.use not in named:
            yield Gap(rule, rule["question"].replace("{land}", in_words((one.use,))), (one.use,))


def _of_machines(job: JobSheet, library: Library, rule: Row) -> Iterator[Gap]:
    used = {task.implement_id for task in job.tasks}
    families = {task.family for task in job.tasks}
    for machine in job.machines:
        own = library.implements.get(machine.implement_id) if machine.implement_id else None
        idle = own is not None and own.implement_id not in used and own.family not in families
        nothing = own is None and not machine.takes
        if (idle or nothing) and not machine.takes:
            yield Gap(rule, rule["question"].replace("{machine}", machine.label))


def _of_names(job: JobSheet, _library: Library, rule: Row) -> Iterator[Gap]:
    for one, other in combinations(job.tasks, 2):
        if one.family == other.family and one.land == other.land and (one.land is not None or _alike(one, other)):
            yield Gap(rule, rule["question"].replace("{tasks}", f'"{one.name}" and "{other.name}"'))


def _alike(one: Task, other: Task) -> bool:
    sizes = (
        "implement_id",
        "width_m",
        "stem_m",
        "tank_l",
        "load_kg",
        "stack_high",
        "lift_height_m",
        "material",
        "crop",
    )
    return all(getattr(one, name) == getattr(other, name) for name in sizes)


def _steepest(job: JobSheet) -> float:
    slopes = [job.place.slope, *(task.slope for task in job.tasks if task.slope is not None)]
    return max((one.high for one in slopes if one.high is not None), default=0.0)


def _is(task: Task, library: Library, words: Sequence[str]) -> bool:
    """Return whether a task is one of a rule's words: its family, its group, or a key and how its value begins."""
    group = library.families[task.family].group
    return any(_says(task, *word.split(":", 1)) if ":" in word else word in (task.family, group) for word in words)


def _says(task: Task, name: str, beginning: str) -> bool:
    said = getattr(task, name, None)
    values = said.among if isinstance(said, Choice) else () if said is None else (str(said),)
    return any(value.startswith(beginning) for value in values)


def in_words(uses: Sequence[str]) -> str:
    """Return uses of the land as they stand in a sentence after "the"."""
    plain = [use.replace("_", " ") + (" ground" if use in {"hay", "silage"} else "") for use in uses]
    return " and the ".join(plain)
