"""A customer's answer put into a job sheet, read by the sheet's own grammar."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

from evener.ingest.findings import Finding
from evener.ingest.jobsheet import values
from evener.ingest.jobsheet.bales import fields_of, is_bale
from evener.ingest.jobsheet.keys import Key, keys_of
from evener.ingest.jobsheet.lines import Lines
from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.ingest.jobsheet.text import BALE_FIELDS, write_jobsheet
from evener.ingest.jobsheet.values import Reading, suggestion
from evener.ingest.jobsheet.words import Vocabulary, keys_meant
from evener.schema.records import Choice, JobSheet, Quantity, Task, Tractor
from evener.schema.shared import machine_of, with_machine

PLAN = "plan"
YES = frozenset({"yes", "y", "true", "sure"})
NO = frozenset({"no", "n", "false", "never"})


class AnswerRefused(ValueError):
    """An answer the sheet cannot hold.

    Attributes
    ----------
    message : what is wrong
    remedy : what to write instead
    """

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(f"{message}. {remedy}")
        self.message = message
        self.remedy = remedy


def answer_place(job: JobSheet, key: str, said: str, vocabulary: Vocabulary) -> JobSheet:
    """Return the sheet with a key of its place answered.

    Parameters
    ----------
    job : the sheet as it stands
    key : a key of [place]
    said : the answer as typed
    vocabulary : the words a sheet may use

    Raises
    ------
    AnswerRefused
        No such key, or a value it cannot hold.
    """
    changed = replace(job.place, **_written(_key("place", key), said))
    return _read(replace(job, place=changed), key, vocabulary)


def answer_land(job: JobSheet, use: str, key: str, said: str, vocabulary: Vocabulary) -> JobSheet:
    """Return the sheet with a key of one use of its land answered, as `answer_place` does.

    Parameters
    ----------
    job : the sheet as it stands
    use : the use of the land
    key : a key of [[place.land]]
    said, vocabulary : as `answer_place` takes them
    """
    written = _written(_key("land", key), said)
    land = tuple(replace(one, **written) if one.use == use else one for one in job.place.land)
    return _read(replace(job, place=replace(job.place, land=land)), key, vocabulary)


def answer_task(job: JobSheet, task: str, key: str, said: str, vocabulary: Vocabulary) -> JobSheet:
    """Return the sheet with a key of one task answered, or with a plan settled.

    Parameters
    ----------
    job : the sheet as it stands
    task : name of the task
    key : a key of [[task]], or "plan" with yes or no
    said : the answer as typed
    vocabulary : the words a sheet may use

    Raises
    ------
    AnswerRefused
        No such key, a value it cannot hold, or a plan that is none.
    """
    own = next(one for one in job.tasks if one.name == task)
    if key == PLAN:
        return _plan_settled(job, own, said)
    known = keys_of("task").get(key)
    if known is not None and machine_of(job, own, known.field) is not None:
        return answer_machine(job, own.machine or "", key, said, vocabulary)
    if key == "bale":
        changes = _bale(own.family, said)
    else:
        written = _written(_key("task", key), said)
        changes = (_bale_apart(own) if written.keys() & set(BALE_FIELDS) else {}) | written
    tasks = tuple(replace(one, **changes) if one is own else one for one in job.tasks)
    return _read(replace(job, tasks=tasks), key, vocabulary)


def answer_machine(job: JobSheet, machine: str, key: str, said: str, vocabulary: Vocabulary) -> JobSheet:
    """Return the sheet with a key of one of its machines answered, for all tasks that name it.

    Parameters
    ----------
    job : the sheet as it stands
    machine : name of the machine
    key : a key of [[machine]]
    said, vocabulary : as `answer_task` takes them

    Raises
    ------
    AnswerRefused
        No such key, or a value it cannot hold.
    """
    own = next(one for one in job.implements if one.name == machine)
    changes = _bale(own.family, said) if key == "bale" else _written(_key("machine", key), said)
    return _read(with_machine(job, machine, **changes), key, vocabulary)


def answer_tractor(tractor: Tractor, key: str, said: str, vocabulary: Vocabulary) -> Tractor:
    """Return a tractor record with one of its numbers answered.

    Parameters
    ----------
    tractor : the record as it stands
    key : a key of [[tractor]] that holds a measure, such as hitch_lift
    said : the answer as typed
    vocabulary : the words a sheet may use

    Raises
    ------
    AnswerRefused
        No such key, or a value it cannot hold.
    """
    known = _key("tractor", key)
    if known.kind != "quantity":
        raise AnswerRefused(f"{key} is not a number to measure", "Correct the record and ingest it again")
    reading = Reading(vocabulary, Lines(""))
    found = values.quantity(reading, ("tractor", key), known, said)
    if found is None or found.middle is None:
        raise _refusal(reading.findings, key)
    estimated = {name: sure for name, sure in tractor.estimated.items() if name != known.field}
    if found.given != "exact":
        estimated[known.field] = found.certainty
    return replace(tractor, **{known.field: found.middle, "estimated": estimated})  # type: ignore[arg-type]


def _key(section: str, name: str) -> Key:
    known = keys_of(section)
    if name not in known:
        raise AnswerRefused(f"there is no key {name!r}", suggestion(keys_meant(name, known), known).capitalize())
    return known[name]


def _written(key: Key, said: str) -> dict[str, Any]:
    """Return a field with the answer as typed, for the reader to make of it what the sheet's words mean."""
    if key.kind in {"quantity", "slope"}:
        return {key.field: Quantity(None, None, "unknown", said)}
    if key.kind == "words":
        return {key.field: Choice((), said)}
    if key.kind == "count":
        if not said.strip().isdigit():
            raise AnswerRefused(f"{said!r} is no whole number", f"Write {key.allowed()}")
        return {key.field: int(said)}
    if key.kind in {"word", "number", "text", "yes_no"}:
        return {key.field: said}
    if key.kind == "build":
        return {"attachment": None, "build": said, "duty": None}
    raise AnswerRefused(f"{key.name} is not asked about", "Write it in the sheet itself")


def _bale(family: str, said: str) -> dict[str, Any]:
    """Return the lengths of a bale that are said in one text."""
    if not is_bale(said):
        raise AnswerRefused(f"{said!r} is no size of a bale", 'Write both lengths, such as "4x5 ft"')
    whole = Quantity(None, None, "unknown", said)
    return dict.fromkeys(BALE_FIELDS) | dict.fromkeys(fields_of(said, family), whole)


def _bale_apart(task: Task) -> dict[str, Any]:
    """Return the lengths of a bale that one text said together, each without that text."""
    said = {name: getattr(task, name) for name in BALE_FIELDS if getattr(task, name) is not None}
    if len({one.text for one in said.values()}) != 1 or not all(is_bale(one.text) for one in said.values()):
        return {}
    return {name: replace(one, text="") for name, one in said.items()}


def _plan_settled(job: JobSheet, task: Task, said: str) -> JobSheet:
    word = said.strip().casefold()
    if not task.planned:
        raise AnswerRefused(f"{task.name} is not planned, it is there", "Leave this answer out")
    if word in YES:
        sure = replace(task, planned=False, chance=1.0, year=None)
        return replace(job, tasks=tuple(sure if one is task else one for one in job.tasks))
    if word not in NO:
        raise AnswerRefused(f"{said!r} is neither yes nor no", "Write yes or no; or answer its chance")
    if len(job.tasks) == 1:
        raise AnswerRefused("without this plan there is no task left", "Write what the tractor is to do")
    machines = tuple(replace(one, takes=tuple(name for name in one.takes if name != task.name)) for one in job.machines)
    return replace(job, tasks=tuple(one for one in job.tasks if one is not task), machines=machines)


def _read(job: JobSheet, key: str, vocabulary: Vocabulary) -> JobSheet:
    found, findings = read_jobsheet_text(write_jobsheet(job), vocabulary, path=job.path)
    if found is None:
        raise _refusal(findings, key)
    return found


def _refusal(findings: list[Finding], key: str) -> AnswerRefused:
    if not findings:
        return AnswerRefused(f"{key} stays unknown", "Write a number with its unit")
    first = findings[0]
    return AnswerRefused(first.message.rstrip("."), first.what_to_do)


def check_value(section: str, key: str, said: str, vocabulary: Vocabulary, *, family: str = "loader_bucket") -> None:
    """Refuse a value that a key of a sheet cannot hold, before there is a sheet.

    Parameters
    ----------
    section : place, land, task, machine, tractor or policy
    key : a key of that section
    said : the value as typed
    vocabulary : the words a sheet may use
    family : for a task's key, the family of its implement

    Raises
    ------
    AnswerRefused
        With what is wrong and what to write instead.
    """
    pair = f"{key} = {json.dumps(said, ensure_ascii=False)}\n"
    header = {"place": "", "land": "[[place.land]]\n", "task": f'[[task]]\nfamily = "{family}"\n'}
    before = header.get(section, f"[[{section}]]\n" if section in {"machine", "tractor"} else f"[{section}]\n")
    text = f"[place]\n{pair}" if section == "place" else f"{before}{pair}"
    _, findings = read_jobsheet_text(text, vocabulary)
    own = [
        one for one in findings if one.column is not None and one.column.split(".")[-1] == key and one.raw is not None
    ]
    if own:
        raise _refusal(own, key)
