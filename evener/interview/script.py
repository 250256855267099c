"""The interview as one conversation, as a good salesperson leads it.

The place and its land; what is run now, and what that stalls at, tips with or takes too long over; the work of today
and in years to come; sizes; what the place still asks; what goes on as it is, what machines are there, what may be
hired; budget, gate and shed. Every question can be passed over: what is usual is taken, and shown.

It is a generator that is given each answer as it is kept. Begun anew with the same answers it asks the same, so going
back is to begin anew with one answer less, and a draft is a list of answers.
"""

from __future__ import annotations

import re
from collections.abc import Generator
from dataclasses import dataclass
from typing import Any

from evener.ingest.jobsheet.answers import AnswerRefused, check_value
from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.ingest.jobsheet.words import Vocabulary
from evener.interview import prompts
from evener.interview.draft import Draft
from evener.interview.most_worth import Worth, most_worth
from evener.interview.named_work import Named, work_of
from evener.interview.prompts import Prompt, key, numbered, one_of, several_of
from evener.interview.said import NOT_KNOWN
from evener.interview.sizes_asked import BALE, columns, question, sized_by, usual, usual_slope
from evener.schema.records import JobSheet
from evener.scoring.core.printing import Units
from evener.scoring.core.setting import Library
from evener.scoring.questions.reconcile import Gap, gaps
from evener.scoring.questions.reconcile import work_of as work_of_gap

Talk = Generator[Prompt, str, Any]
STANDING = frozenset({"handling", "holes", "wood", "stationary", "feeding", "hauling"})
METRIC = re.compile(r"\d\s*(?:ha|hectares?|m2|km2)\b", re.IGNORECASE)
POWER = re.compile(r"(?:about\s+|~)?\d[\d.,]*(?:\s*(?:to|-)\s*\d[\d.,]*)?\s*(?:hp|kw|ps|cv)\b", re.IGNORECASE)
UNSAID_CHANCE = "50 %"
NO_WORK = "there is nothing to size without any work"


@dataclass(frozen=True)
class Held:
    """What an interview asks with.

    Attributes
    ----------
    words : the words a sheet may use
    library : families, priors and the wording of questions
    worth : what the last questions are put with
    """

    words: Vocabulary
    library: Library
    worth: Worth


def script(draft: Draft, held: Held) -> Generator[Prompt, str, JobSheet]:
    """Ask everything; the generator fills the draft, and returns the job sheet.

    Parameters
    ----------
    draft : where answers go
    held : what is asked with
    """
    yield from _place(draft, held.words, held.library)
    now = yield from _run_now(held.words)
    beyond = yield from _work(draft, held, now)
    yield from _left_out(draft, held)
    yield from _as_it_is(draft, held, now, beyond)
    yield from _limits(draft, held.words)
    return (yield from most_worth(draft, read(draft, held.words), held.worth))


def read(draft: Draft, words: Vocabulary) -> JobSheet:
    """Return the job sheet of a draft.

    Raises
    ------
    AnswerRefused
        It is none yet, or something in it does not agree.
    """
    job, findings = read_jobsheet_text(draft.text(), words)
    if job is None:
        raise AnswerRefused(findings[0].message.rstrip("."), findings[0].what_to_do)
    return job


def _place(draft: Draft, words: Vocabulary, library: Library) -> Talk:
    draft.place["name"] = yield key(words, "place", "name", "What is the place called?", "My place")
    said = yield Prompt(
        'What land is there, and how much? Such as "pasture 40 ac, hay 12 ac, orchard 3 ac"',
        "",
        lambda said: prompts.land_of(said, words),
    )
    draft.land = prompts.land_of(said, words)
    draft.policy["units"] = "si" if METRIC.search(said) else "us"
    known = usual_slope(library, draft.land[0][0] if draft.land else None)
    text = f'How steep is the ground you work? Level, rolling, hilly, steep, or such as "5 to 8 %" (usual: {known})'
    draft.place["slope"] = yield key(words, "place", "slope", text, NOT_KNOWN)
    said = yield Prompt(
        'Which animals are there, and how many? Such as "cattle 40, sheep 20"',
        "",
        lambda said: prompts.herd_of(said, words),
    )
    draft.animals = prompts.herd_of(said, words)
    days = yield key(words, "place", "snow_days", "On how many days a year is there snow to clear?", "0")
    if days != "0":
        draft.place["snow_days"] = days


def _run_now(words: Vocabulary) -> Talk:
    """Ask for the tractor that is there, and return it; it stands in the sheet once its work is known."""
    text = 'What tractor do you run now, and of what power at the PTO? Such as "the old loader tractor, 30 hp"'

    def check(said: str) -> None:
        for name, value in _tractor(said).items():
            check_value("tractor", name, value, words)

    said = yield Prompt(text, "", check)
    return _tractor(said) or None


def _tractor(said: str) -> dict[str, str]:
    """Return what a tractor is called and its power, in whichever order they were said."""
    if not said:
        return {}
    found = POWER.search(said)
    if found is None:
        return {"label": said}
    label = " ".join(f"{said[: found.start()]} {said[found.end() :]}".strip(" ,:").split())
    return {"label": label or "the tractor", "pto_power": found[0]}


def _work(draft: Draft, held: Held, now: dict[str, Any] | None) -> Talk:
    """Ask for the work; the names of what is beyond the tractor that is there are returned."""
    of_size, land = sized_by(held.library), [use for use, _ in draft.land]

    def named(text: str, needed: str = "") -> Prompt:
        return Prompt(text, "", lambda said: work_of(said, held.words, of_size, land), needed=needed)

    found: list[Named] = []
    if now is not None:
        text = f'What does {now["label"]} stall at, tip with, or take too long over? Such as "rotary cutter 6 ft"'
        said = yield named(text)
        found += work_of(said, held.words, of_size, land)
    beyond = len(found)
    more = "What other work is there today?" if found else "What work is there today?"
    said = yield named(
        f'{more} Such as "mow pasture, bale, move bales" or "rotary cutter 6 ft"', "" if found else NO_WORK
    )
    found += work_of(said, held.words, of_size, land)
    said = yield named('What work may come in later years? Such as "round baler 30 % in 2029"')
    later = work_of(said, held.words, of_size, land)
    for one in found:
        yield from _task(draft, held, one)
    for one in later:
        yield from _task(draft, held, one, planned=True)
    return {one["name"] for one in draft.tasks[:beyond]}


def _task(draft: Draft, held: Held, named: Named, *, planned: bool = False) -> Talk:
    """Ask what one task's demands come from and was not said with its name."""
    words, family = held.words, held.library.families[named.family]
    taken = {one["name"].casefold() for one in draft.tasks}
    called = named.chore or family.label
    every = (called if number == 1 else f"{called} {number}" for number in range(1, len(taken) + 2))
    name = next(one for one in every if one.casefold() not in taken)
    task: dict[str, Any] = {"name": name}
    task |= {"implement": named.implement} if named.implement else {"family": named.family}
    task |= {"build": named.build} if named.build else {}
    if planned or named.chance or named.year:
        task |= {"when": "planned", "chance": named.chance or UNSAID_CHANCE}
        task |= {"year": named.year} if named.year else {}
    draft.tasks.append(task)
    yield from _on_which_land(draft, task, named.land, family.group)
    of_size = sized_by(held.library)
    if named.size is not None:
        task[of_size[named.family]] = named.size
    units: Units = "si" if draft.policy.get("units") == "si" else "us"
    record = held.library.implements.get(named.implement) if named.implement else None
    for column in columns(named.family, held.library):
        row = question(held.library, column, named.family)
        name_of_key = "bale" if column in BALE else row["key"]
        if name_of_key in task or (record and (column in BALE or getattr(record, column, None) is not None)):
            continue
        text = row["question"].replace("{task}", name).replace("{implement}", family.label.lower())
        if column in BALE:
            text = f'{name}: how big are the bales? Such as "{_bale_like(named.family)}"'
        known = usual(held.library, named.family, column, task.get("land"), units)
        text += f" (usual: {known})" if known else ""
        task[name_of_key] = yield key(words, "task", name_of_key, text, NOT_KNOWN, family=named.family)
        if task[name_of_key] == NOT_KNOWN and column in BALE:
            del task[name_of_key]


def _bale_like(family: str) -> str:
    return "14x18 in square" if family.endswith("square_baler") else "4x5 ft"


def _on_which_land(draft: Draft, task: dict[str, Any], said: str | None, group: str) -> Talk:
    """Settle the land of a task: said with it, the only one there is, or asked."""
    uses = [use for use, _ in draft.land]
    if said is None and uses and group not in STANDING:
        said = uses[0] if len(uses) == 1 else (yield _which(f"{task['name']}: on which land?", uses))
        said = one_of(said, uses) if said else None
    if said:
        task["land"] = said


def _which(text: str, names: list[str]) -> Prompt:
    return Prompt(f"{text} {numbered(names)}", "", lambda said: one_of(said, names) if said else None)


def _some(text: str, names: list[str]) -> Prompt:
    return Prompt(f"{text} {numbered(names)}", "none", lambda said: several_of(said, names))


def _left_out(draft: Draft, held: Held) -> Talk:
    """Ask what the place probably needs and nobody named: some becomes work of this tractor, the rest is others'."""
    put: set[str] = set()
    while open_gaps := [
        gap for gap in gaps(read(draft, held.words), held.library) if gap.rule["family"] and gap.rule["rule"] not in put
    ]:
        names = [gap.question for gap in open_gaps]
        said = yield _some("Which of this is this tractor to do? Others do the rest.", names)
        here = several_of(said, names)
        put |= {gap.rule["rule"] for gap in open_gaps}
        others = [gap.rule["rule"] for gap, name in zip(open_gaps, names, strict=True) if name not in here]
        if others:
            draft.place["others_do"] = [*draft.place.get("others_do", []), *others]
        for gap, name in zip(open_gaps, names, strict=True):
            if name in here:
                yield from _task(draft, held, _of_gap(gap))


def _of_gap(gap: Gap) -> Named:
    work = work_of_gap(gap)
    return Named(gap.rule["family"], land=work.land if work else None)


def _as_it_is(draft: Draft, held: Held, now: dict[str, Any] | None, beyond: set[str]) -> Talk:
    """Ask what the tractor that is there goes on doing, which machines are there, and what may be hired."""
    today = [one["name"] for one in draft.tasks if "when" not in one]
    if now is not None:
        able = [name for name in today if name not in beyond]
        said = (yield _some(f"Which of it does {now['label']} go on doing?", able)) if able else ""
        now["takes"] = several_of(said, able)
        loader = {one.family for one in held.library.families.values() if one.power == "loader"}
        if any(one["name"] in now["takes"] and one.get("family") in loader for one in draft.tasks):
            text = f"{now['label']}: what does its loader lift at full height?"
            lift = yield key(held.words, "tractor", "loader_lift", text, "")
            now |= {"loader_lift": lift} if lift else {}
        draft.tractors.append(now)
    there = [one["name"] for one in draft.tasks if "implement" not in one]
    if there:
        said = yield _some("Which of these machines are there already? The others are still to be bought.", there)
        has = several_of(said, there)
        for one in draft.tasks:
            if one["name"] in there:
                one["have"] = one["name"] in has
    left = [name for name in today if now is None or name not in now["takes"]]
    if left:
        said = yield _some("Which of this work may just as well be hired out?", left)
        hired = several_of(said, left)
        for one in draft.tasks:
            if one["name"] in left:
                one["hire"] = one["name"] in hired


def _limits(draft: Draft, words: Vocabulary) -> Talk:
    text = 'What may the tractor cost? Such as "$35,000"; empty when that is open'
    budget = yield key(words, "prices", "budget", text, "")
    if budget:
        draft.prices["budget"] = budget
    for name, text in (
        ("gate", "How wide is the narrowest gate or lane it has to pass? Empty when none is narrow"),
        ("shed", "How high is the door of its shed? Empty when that is open"),
    ):
        said = yield key(words, "place", name, text, "")
        if said:
            draft.place[name] = said
