"""What must agree between the keys of a job sheet once each is read by itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from evener.ingest.jobsheet import findings as found
from evener.ingest.jobsheet import values
from evener.ingest.jobsheet.chores import usual_machine
from evener.ingest.jobsheet.keys import keys_of
from evener.ingest.jobsheet.lines import Path
from evener.ingest.jobsheet.values import Named, Reading, suggestion
from evener.ingest.jobsheet.words import fold, near, told_builds
from evener.schema.records import Quantity

DESCRIBING = frozenset(
    {
        "pto_power",
        "engine_power",
        "mass",
        "hitch_lift",
        "loader_lift",
        "loader_height",
        "hitch_category",
        "remotes",
        "drive",
        "pto_speed",
    }
)
OF_TRACTORS = frozenset(
    {"takes", "tractor", "label", "pto_power", "engine_power", "hitch_lift", "loader_lift", "loader_height"}
)
UNSAID_CHANCE = 0.5  # plan_chance of policy.csv
OF_MACHINES = frozenset({"name", "family", "width", "build", "attachment", "have", "rating"})


@dataclass
class Section:
    """One table of the sheet.

    Attributes
    ----------
    path : where it stands
    fields : what could be read of it, by the record's fields
    said : every key that is written, or that a misspelt one stands for, with its value as written
    broken : it is no table at all
    """

    path: Path
    fields: dict[str, Any] = field(default_factory=dict)
    said: dict[str, object] = field(default_factory=dict)
    broken: bool = False

    def at(self, key: str) -> Path:
        """Return the path of one of its keys, or of the table when the key is not written."""
        return (*self.path, key)


def check_place(reading: Reading, land: Sequence[Section]) -> None:
    """Report pieces of land without use or area, and a use named twice."""
    for one in land:
        require(reading, one, "use", "area", hint='write use = "pasture" and area = "12 ha", one [[place.land]] a use')
    no_name_twice(reading, land, "use", hint="say each use once, with its whole area")


def is_tractor(table: Mapping[str, object]) -> bool:
    """Tell whether a table says what only a tractor that is there has, and nothing that only an implement has."""
    return bool(OF_TRACTORS & table.keys()) and not OF_MACHINES & table.keys()


def check_machines(reading: Reading, machines: Sequence[Section]) -> None:
    """Report what cannot be of each implement of the place, and a name used twice."""
    for machine in machines:
        if machine.broken:
            continue
        require(reading, machine, "name", hint="add a short name, which tasks then give as their machine")
        settle_family(reading, machine)
        check_bale(reading, machine)
    no_name_twice(reading, machines, "name", hint="give each machine a name of its own")


def check_tasks(
    reading: Reading, tasks: Sequence[Section], machines: Sequence[Section], land: Sequence[Section] | None
) -> None:
    """Report what cannot be of each task, by itself and on the land of the place where that could be read."""
    named = {fold(one.fields["name"]): one for one in machines if one.fields.get("name") is not None}
    areas = {one.fields["use"]: one.fields.get("area_ha") for one in land or () if "use" in one.fields}
    whole = land is not None and all("use" in one.fields for one in land)
    for task in tasks:
        if task.broken:
            continue
        require(reading, task, "name", hint="add a short name of the work")
        if "machine" in task.said:
            check_machine(reading, task, named)
        else:
            settle_family(reading, task)
            check_size(reading, task)
        check_bale(reading, task)
        check_plan(reading, task)
        if whole:
            check_land(reading, task, areas)
    no_name_twice(reading, tasks, "name", hint="give each task a name of its own")


def check_tractors(reading: Reading, tractors: Sequence[Section], tasks: Sequence[Section]) -> None:
    """Report tractors without a name, described twice, or said to take a task that is not there."""
    for tractor in tractors:
        if tractor.broken:
            continue
        check_identity(reading, tractor)
        check_takes(reading, tractor, tasks)


def require(reading: Reading, section: Section, *keys: str, hint: str) -> None:
    """Report every key of these that is not written."""
    for key in keys:
        if key not in section.said and not section.broken:
            reading.report(found.SheetMissingKey, section.at(key), hint=hint)


def no_name_twice(reading: Reading, sections: Sequence[Section], key: str, *, hint: str) -> None:
    """Report a name that an earlier section has."""
    first: dict[str, int] = {}
    for section in sections:
        name = section.fields.get(key)
        if name is None:
            continue
        line = reading.lines.of(section.at(key))
        if fold(name) in first:
            reading.report(
                found.SheetDuplicateName, section.at(key), section.said[key], first=first[fold(name)], hint=hint
            )
        first.setdefault(fold(name), line)


def settle_family(reading: Reading, task: Section) -> None:
    """Fill the family in from the implement, or report that the two disagree or that both are missing."""
    family = task.fields.get("family")
    if isinstance(family, Named):
        task.fields["family"] = family.family
        carried = values.build(reading, task.at("family"), keys_of("task")["build"], family.build)
        task.fields["build"] = values.both(task.fields.get("build"), carried)
    for (named, key), word in told_builds().items():
        if task.fields.get("family") == named and key in task.said and "implement_id" not in task.fields:
            told = values.build(reading, task.at(key), keys_of("task")["build"], word)
            task.fields["build"] = values.both(task.fields.get("build"), told)
    implement = task.fields.get("implement_id")
    if implement is not None:
        own = reading.vocabulary.implements[implement]
        said = task.fields.setdefault("family", own)
        if said != own:
            path = task.at("implement")
            reading.report(found.SheetOtherFamily, path, task.said["implement"], own=own, family=said)
    elif not {"implement", "family"} & task.said.keys():
        usual = usual_machine(str(task.said.get("name", "")))
        hint = 'name an implement record, or a family with its size: family = "rotary_cutter", width = "8 ft"'
        if usual in reading.vocabulary.families:
            hint = f'for such work the usual machine is written family = "{usual}"; or name an implement record'
        reading.report(found.SheetMissingKey, task.at("family"), hint=hint)


def check_size(reading: Reading, task: Section, beside: Section | None = None) -> None:
    """Report a family without the size its power comes from; an implement record has its own.

    Parameters
    ----------
    reading, task : the sheet and the task
    beside : the machine the task names, which may say the size
    """
    family = task.fields.get("family")
    said = task.said.keys() | (beside.said.keys() if beside is not None else set())
    if family is None or "implement" in said:
        return
    for key in reading.vocabulary.needs.get(family, ()):
        if key not in said:
            reading.report(found.SheetSize, task.at(key), family=family.replace("_", " "))


def check_bale(reading: Reading, task: Section) -> None:
    """Report a bale said in one text and by its lengths as well."""
    for key in ("bale_width", "bale_diameter", "bale_height"):
        if key in task.said and "bale" in task.said:
            reading.report(found.SheetTwoWays, task.at(key), task.said[key], other="task.bale")


def check_machine(reading: Reading, task: Section, machines: Mapping[str, Section]) -> None:
    """Report a machine that the sheet does not have, and a family or an implement said beside it."""
    said = task.fields.get("machine")
    machine = machines.get(fold(said)) if said is not None else None
    if said is not None and machine is None:
        names = [one.fields["name"] for one in machines.values()]
        reading.report(found.SheetMachine, task.at("machine"), said, hint=suggestion(near(said, names), names))
    for key in ("family", "implement"):
        if key in task.said:
            reading.report(found.SheetTwoWays, task.at(key), task.said[key], other="task.machine")
    if machine is not None:
        task.fields["machine"] = machine.fields["name"]
        task.fields["family"] = machine.fields.get("family")
        check_size(reading, task, beside=machine)


def check_plan(reading: Reading, task: Section) -> None:
    """Take work with a chance or a year for a plan, remark one without its chance, and report what is of today too."""
    said = [key for key in ("chance", "year") if key in task.said]
    if "when" not in task.said and said:
        task.fields["when"] = "planned"
    if task.fields.get("when") == "planned":
        if "chance" not in task.said:
            reading.report(found.SheetPlanUnsaid, task.at("when" if "when" in task.said else "year"))
            task.fields["chance"] = UNSAID_CHANCE
        return
    for key in said:
        if "when" in task.fields:
            hint = 'write when = "planned", or leave it out'
            reading.report(found.SheetPlan, task.at(key), reason=f"a task of today has no {key}", hint=hint)


def check_land(reading: Reading, task: Section, land: Mapping[str, Quantity | None]) -> None:
    """Report a task on land the place does not have, or on more of it than there is."""
    use = task.fields.get("land")
    if use is None:
        return
    if use not in land:
        reading.report(found.SheetLand, task.at("land"), task.said["land"], hint=suggestion((), land))
        return
    there, worked = land[use], task.fields.get("area_ha")
    if there is None or there.high is None or worked is None or worked.low is None:
        return
    if worked.low > there.high * (1 + 1e-9):
        reading.report(found.SheetArea, task.at("area"), task.said["area"], land=use, there=there.text)


def check_takes(reading: Reading, machine: Section, tasks: Sequence[Section]) -> None:
    """Report tasks a machine is said to take and that the sheet does not have; spell the others as the sheet does."""
    names = {fold(name): name for task in tasks if (name := task.fields.get("name")) is not None}
    taken = machine.fields.get("takes", ())
    for index, name in enumerate(taken):
        if fold(name) not in names:
            hint = suggestion(near(name, names.values()), names.values())
            reading.report(found.SheetTask, (*machine.at("takes"), index), name, hint=hint)
    machine.fields["takes"] = tuple(names.get(fold(name), name) for name in taken)


def check_identity(reading: Reading, machine: Section) -> None:
    """Report a machine with no name of any kind, and one both named by a record and described."""
    if not {"label", "tractor", "implement"} & machine.said.keys():
        reading.report(found.SheetMissingKey, machine.at("label"), hint="add a label, or the id of a record")
    described = [key for key in machine.said if key in DESCRIBING]
    if "tractor" in machine.said and described:
        path = machine.at(described[0])
        reading.report(found.SheetTwoWays, path, machine.said[described[0]], other="tractor.tractor")
