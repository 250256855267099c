"""The interview as one conversation: place, land, animals, work, what the place still asks, machines.

It is a generator that is given each answer as it is kept. Begun anew with the same answers it asks the same, so going
back is to begin anew with one answer less, and a draft is a list of answers.
"""

from __future__ import annotations

import json
from collections.abc import Generator, Iterator
from dataclasses import dataclass, field
from typing import Any

from evener.ingest.jobsheet.answers import AnswerRefused
from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.ingest.jobsheet.words import Vocabulary, match, near_words
from evener.interview import prompts
from evener.interview.prompts import Prompt, is_yes, key, yes_or_no
from evener.interview.said import NOT_KNOWN
from evener.schema.records import JobSheet
from evener.scoring.core.setting import Library
from evener.scoring.questions.reconcile import gaps

Talk = Generator[Prompt, str, Any]
BALE = frozenset({"bale_width_m", "bale_diameter_m", "bale_height_m", "bale_volume_m3", "bale_section_m2"})
STANDING = frozenset({"handling", "holes", "wood", "stationary", "feeding", "hauling"})


@dataclass
class Draft:
    """What was said so far, section by section, as it will be written."""

    place: dict[str, str] = field(default_factory=dict)
    animals: dict[str, int] = field(default_factory=dict)
    land: list[tuple[str, str]] = field(default_factory=list)
    tasks: list[dict[str, str]] = field(default_factory=list)
    machines: list[dict[str, Any]] = field(default_factory=list)
    policy: dict[str, str] = field(default_factory=dict)

    def text(self) -> str:
        """Return the sheet as TOML."""
        place = _pairs(self.place)
        if self.animals:
            place += f"animals = {{ {', '.join(f'{kind} = {head}' for kind, head in self.animals.items())} }}\n"
        blocks = [f"[place]\n{place}"]
        blocks += [f"[[place.land]]\n{_pairs({'use': use, 'area': area})}" for use, area in self.land]
        blocks += [f"[[task]]\n{_pairs(task)}" for task in self.tasks]
        blocks += [f"[[tractor]]\n{_pairs(machine)}" for machine in self.machines]
        blocks += [f"[policy]\n{_pairs(self.policy)}"] if self.policy else []
        return "\n".join(blocks)


def _pairs(values: dict[str, Any]) -> str:
    return "".join(f"{name} = {json.dumps(value, ensure_ascii=False)}\n" for name, value in values.items())


def script(vocabulary: Vocabulary, library: Library) -> Generator[Prompt, str, JobSheet]:
    """Ask everything; the generator returns the job sheet.

    Parameters
    ----------
    vocabulary : the words a sheet may use
    library : families, priors and the wording of questions
    """
    draft = Draft()
    yield from _place(draft, vocabulary)
    yield from _work(draft, vocabulary, library)
    yield from _left_out(draft, vocabulary, library)
    yield from _machines(draft, vocabulary)
    return _read(draft, vocabulary)


def _read(draft: Draft, vocabulary: Vocabulary) -> JobSheet:
    job, findings = read_jobsheet_text(draft.text(), vocabulary)
    if job is None:
        raise AnswerRefused(findings[0].message.rstrip("."), findings[0].what_to_do)
    return job


def _place(draft: Draft, words: Vocabulary) -> Talk:
    draft.place["name"] = yield key(words, "place", "name", "What is the place called?", "My place")
    draft.policy["units"] = yield key(words, "policy", "units", "Which units to print, us or si?", "us")
    said = yield Prompt(
        'What land is there, and how much? Such as "pasture 40 ac, hay 12 ac, orchard 3 ac"',
        "",
        lambda said: prompts.land_of(said, words),
    )
    draft.land = prompts.land_of(said, words)
    text = 'How steep is the ground you work? Level, rolling, hilly, steep, or such as "5 to 8 %"'
    draft.place["slope"] = yield key(words, "place", "slope", text, NOT_KNOWN)
    text = "What do the wheels run on: hard, firm, tilled or soft ground?"
    draft.place["soil"] = yield key(words, "place", "soil", text, "firm")
    said = yield Prompt(
        'Which animals are there, and how many? Such as "cattle 40, sheep 20"',
        "",
        lambda said: prompts.herd_of(said, words),
    )
    draft.animals = prompts.herd_of(said, words)
    days = yield key(words, "place", "snow_days", "On how many days a year is there snow to clear?", "0")
    if days != "0":
        draft.place["snow_days"] = days


def _work(draft: Draft, words: Vocabulary, library: Library) -> Talk:
    while True:
        more = "What else?" if draft.tasks else "What work has the tractor to do?"
        text = f'{more} A kind of implement, such as "rotary cutter", or a record; empty when that is all'
        said = yield Prompt(
            text if draft.tasks else text.rpartition(";")[0], "", _implement(words, first=not draft.tasks)
        )
        if not said:
            return
        yield from _task(draft, words, library, said)


def _implement(words: Vocabulary, *, first: bool) -> Any:
    def check(said: str) -> None:
        if said in words.implements or match(said, words.families) is not None:
            return
        close = near_words(said, words.families)
        hint = f"Did you mean {' or '.join(close)}?" if close else "See: evener list families"
        raise AnswerRefused(f"{said!r} is no kind of implement and no record", hint)

    def check_first(said: str) -> None:
        if not said:
            raise AnswerRefused("a sheet needs one task at least", "Name a kind of implement")
        check(said)

    return check_first if first else check


def _task(draft: Draft, words: Vocabulary, library: Library, said: str, land: str = "") -> Talk:
    """Ask what one task's demands come from: its sizes, its land, the growth, and whether it is a plan."""
    record = library.implements.get(said)
    family = library.families[record.family if record else match(said, words.families) or said]
    names = {one["name"].casefold() for one in draft.tasks}
    plain = family.label if family.label.casefold() not in names else f"{family.label} {len(draft.tasks) + 1}"
    name = yield Prompt("What do you call this work?", plain, _new_name(names, words))
    task = {"name": name} | ({"implement": record.implement_id} if record else {"family": family.family})
    draft.tasks.append(task)
    for column in _columns(family.family, library):
        if record is not None and (column in BALE or getattr(record, column, None) is not None):
            continue
        if column in BALE:
            text, usual = f'{name}: how big are the bales? Such as "4x5 ft" or "14x18 in square"', NOT_KNOWN
            task["bale"] = yield key(words, "task", "bale", text, usual, family=family.family)
            continue
        row = next(one for one in library.tables["question"] if _asks(one, column, family.family))
        text = row["question"].replace("{task}", name).replace("{implement}", family.label.lower())
        task[row["key"]] = yield key(words, "task", row["key"], text, NOT_KNOWN, family=family.family)
    yield from _manner(draft, words, library, task, family.family, land)


def _manner(draft: Draft, words: Vocabulary, library: Library, task: dict[str, str], name: str, land: str) -> Talk:
    """Ask what is carried, the land, the growth, and whether it is a plan."""
    family, called = library.families[name], task["name"]
    if name == "bale_spear" or name.endswith("baler"):
        text = f"{called}: bales of hay, straw or silage?"
        task["crop"] = yield key(words, "task", "crop", text, "hay", family=name)
    if name == "loader_bucket":
        text = f"{called}: what does the bucket carry? Manure, gravel, topsoil, compost, snow ..."
        task["material"] = yield key(words, "task", "material", text, "manure", family=name)
    if draft.land and family.group not in STANDING:
        uses = [use for use, _ in draft.land]
        text = f"{called}: on which land? {', '.join(f'{number} {use}' for number, use in enumerate(uses, 1))}"
        said = yield Prompt(text, land, lambda said: prompts.one_of(said, uses))
        if said:
            task["land"] = prompts.one_of(said, uses)
    if any(_applies(row, family.group) for row in library.tables["allowance"]):
        text = f"{called}: is the growth light, normal or thick?"
        task["growth"] = yield key(words, "task", "growth", text, "normal", family=name)
    text = f'{called}: if it is only planned, how likely is it? Such as "30 %"; empty when it is there now'
    chance = yield key(words, "task", "chance", text, "", family=name)
    if chance:
        task |= {"when": "planned", "chance": chance}


def _applies(row: Any, group: str) -> bool:
    return row["allowance"] == "growth" and group in (row["applies_to"] or "").split(";")


def _new_name(names: set[str], words: Vocabulary) -> Any:
    plain = key(words, "task", "name", "", "")

    def check(said: str) -> None:
        if said.casefold() in names:
            raise AnswerRefused(f"there is already a task {said!r}", "Give each task a name of its own")
        plain.check(said)

    return check


def _columns(family: str, library: Library) -> list[str]:
    """Return the sizes the demands of a family come from: what its ratings go by, and what a prior stands in for."""
    known = library.families[family]
    names = [name for name in (known.first_variable, known.second_variable) if name]
    names += dict.fromkeys(row["quantity"] for row in library.tables["prior"] if row["family"] == family)
    if known.power == "loader" and "stack_high" not in names:
        names.append("lift_height_m")
    found: dict[str, None] = {}
    for name in names:
        if name in BALE:
            found.setdefault("bale_width_m")
        elif any(_asks(row, name, family) for row in library.tables["question"]):
            found.setdefault(name)
    return list(found)


def _asks(row: Any, column: str, family: str) -> bool:
    return row["quantity"] == column and row["family"] in {None, family}


def _left_out(draft: Draft, words: Vocabulary, library: Library) -> Talk:
    """Ask what the place probably needs and nobody named; a yes becomes a task, a no stays out."""
    asked: set[str] = set()
    while True:
        open_gaps = [
            gap for gap in gaps(_read(draft, words), library) if gap.rule["family"] and gap.rule["rule"] not in asked
        ]
        if not open_gaps:
            return
        gap = open_gaps[0]
        asked.add(gap.rule["rule"])
        kind = gap.rule["family"].replace("_", " ")
        said = yield yes_or_no(f"{gap.question} Yes, if this tractor is to do it with a {kind}")
        if is_yes(said):
            yield from _task(draft, words, library, gap.rule["family"], gap.uses[0] if gap.uses else "")


def _machines(draft: Draft, words: Vocabulary) -> Talk:
    names = [task["name"] for task in draft.tasks]
    while True:
        more = "another" if draft.machines else "a"
        text = f"Is there {more} tractor already that takes some of this work? What do you call it; empty for none"
        label = yield key(words, "tractor", "label", text, "")
        if not label:
            return
        machine: dict[str, Any] = {"label": label}
        for name, asks in (
            ("pto_power", f"{label}: its power at the PTO?"),
            ("hitch_category", f"{label}: category of its three-point hitch? None, 1, 2 or 3"),
            ("loader_lift", f"{label}: what does its loader lift at full height? Empty when it has none"),
        ):
            said = yield key(words, "tractor", name, asks, "")
            if said:
                machine[name] = said
        numbered = ", ".join(f"{number} {name}" for number, name in enumerate(names, 1))
        taken = yield Prompt(f"{label}: which work does it take? {numbered}", "", lambda said: _taken(said, names))
        machine["takes"] = _taken(taken, names)
        draft.machines.append(machine)


def _taken(said: str, names: list[str]) -> list[str]:
    parts: Iterator[str] = (part.strip() for part in said.split(",") if part.strip())
    return list(dict.fromkeys(prompts.one_of(part, names) for part in parts))
