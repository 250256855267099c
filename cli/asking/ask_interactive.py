"""`evener ask --interactive`: the questions one after the other, until none is worth asking."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from evener.cli.adviser import jobs
from evener.cli.asking import dialogue, sheet_files, survey_words
from evener.cli.options import Format, UnitSystem
from evener.cli.output import render
from evener.enquiry.enquiry import Enquiry
from evener.ingest.jobsheet.answers import AnswerRefused
from evener.ingest.jobsheet.text import write_jobsheet
from evener.opening import location
from evener.results.survey import ask
from evener.scoring.core.printing import Units
from evener.writing import write as write_file


def walk(
    job_path: Path,
    first: Enquiry,
    *,
    units: UnitSystem | None,
    write: Path | None,
    replace: bool,
    store: Path | None,
) -> int:
    """Ask until no further answer is worth asking for, then write the sheet.

    Returns
    -------
    int
        0 when a tractor meets the work in the end, 1 when none does.

    Raises
    ------
    KeyboardInterrupt
        With where the answers so far are.
    """
    shown = jobs.units_of(units, Format.table, first.job.policy.units)
    target = write or sheet_files.beside(job_path, "answered")
    states: list[tuple[Enquiry, frozenset[str]]] = [(first, frozenset())]

    def keep() -> bool:
        changed = states[-1][0].job is not first.job
        if changed or write is not None:
            text = write_jobsheet(states[-1][0].job)
            write_file(target, text, location(store), inputs=[job_path], replace=replace)
        return changed or write is not None

    try:
        answer = _walked(states, shown)
    except KeyboardInterrupt:
        kept = states[-1][0].job is not first.job and keep()
        raise KeyboardInterrupt(f"the answers so far are in {target}" if kept else "") from None
    _end(first, states[-1][0], answer)
    if keep():
        sys.stdout.write(f"\nWrote {target}. Rank it with: evener rank {target}\n")
    return 0 if answer["pick"] else 1


def _walked(states: list[tuple[Enquiry, frozenset[str]]], shown: Units) -> dict[str, Any]:
    """Ask one after the other, and return the last answer; `states` grows and shrinks with what was said."""
    while True:
        now, passed = states[-1]
        answer = ask(now, units=shown).to_dict()
        left = [one for one in answer["questions"] if one["worth_asking"] and one["id"] not in passed]
        if not left:
            if (
                len(states) > 1
                and dialogue.hear("\nNothing more to ask: empty to end, back to change it") == dialogue.BACK
            ):
                states.pop()
                continue
            return answer
        said = _put(left[0], answer)
        if said is None:
            return answer
        if said == dialogue.BACK:
            if len(states) > 1:
                states.pop()
            continue
        if said in dialogue.PASSED:
            states.append((now, passed | {left[0]["id"]}))
            continue
        try:
            states.append((now.with_answer(left[0]["id"], said), passed))
        except AnswerRefused as refused:
            dialogue.say(f"  {refused}")


def _put(one: dict[str, Any], answer: dict[str, Any]) -> str | None:
    dialogue.say(f"\nPick so far: {survey_words.describe(answer['so_far'])}")
    dialogue.say(f"{one['question']} ({one['how']})")
    dialogue.say(f"  {'you said ' if one['said'] else ''}{one['now']}; {survey_words.worth(one)}")
    dialogue.say(f"  {survey_words.by_answer(one)}")
    return dialogue.hear("answer, skip, back or stop")


def _end(first: Enquiry, last: Enquiry, answer: dict[str, Any]) -> None:
    page = render.Page()
    page.lead(f"Pick: {survey_words.describe(answer['so_far'])}")
    page.lead(_why(answer))
    survey_words.gaps(page, answer)
    page.show()
    looked_up = [new for old, new in zip(first.tractors, last.tractors, strict=True) if old != new]
    if looked_up:
        named = ", ".join(one.tractor_id for one in looked_up)
        sys.stdout.write(f"\nThe sheet holds nothing about {named}: correct its record and ingest it again.\n")


def _why(answer: dict[str, Any]) -> str:
    left = [one for one in answer["questions"] if one["worth_asking"]]
    if not left:
        return survey_words.nothing_left(answer)
    return f"Passed over, and still the most worth asking: {survey_words.what(left[0])}, {survey_words.worth(left[0])}."
