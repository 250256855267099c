"""`evener interview`: from nothing to a job sheet by plain questions, in a terminal or from a pipe."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from evener.cli.adviser import dialogue, jobs, sheet_files
from evener.cli.adviser.interview_prompts import Prompt
from evener.cli.adviser.interview_script import script
from evener.cli.output import render
from evener.cli.store import stores
from evener.ingest.jobsheet.answers import AnswerRefused
from evener.ingest.jobsheet.text import write_jobsheet
from evener.ingest.jobsheet.words import Vocabulary
from evener.schema.records import JobSheet
from evener.scoring.core.setting import Library

DRAFT = ".draft"
LARGEST = 64 * 1024


def run(path: Path | None, *, store: Path | None) -> int:
    """Ask until there is a job sheet, and write it; return 0, or 1 when it was left before the end.

    Parameters
    ----------
    path : the sheet to write; the answers are kept beside it until then. Without it the sheet goes to stdout
    store : what --store says
    """
    draft = path.with_name(path.name + DRAFT) if path is not None else None
    if path is not None and os.path.lexists(path):
        render.complain(f"{path} is there already; name another file, or change it with an editor")
        return 2
    library, tractors = jobs.open_library(store)
    vocabulary = jobs.vocabulary(library, tractors)
    kept = _resumed(draft)
    answers = kept[:]
    dialogue.say('Answer as people write it: "8 ft", "1 to 3 in", "about 900 lb". Empty takes what stands in [ ].')
    dialogue.say('"?" when you don\'t know, "back" for the question before, "stop" to leave.')
    if kept:
        dialogue.say(f"Going on after {len(kept)} answers; back takes the last one back.")
    job = None
    while job is None:
        step = _next(answers, vocabulary, library)
        if isinstance(step, JobSheet):
            job = step
            break
        said = dialogue.hear(step.shown())
        if said is None:
            return _left(path, answers)
        if said == dialogue.BACK:
            answers = answers[:-1]
        else:
            try:
                answers.append(step.heard(said))
            except AnswerRefused as refused:
                dialogue.say(f"  {refused}")
                continue
        if draft is not None and not _keep(draft, answers, store):
            return 2
    return _written(job, path, draft, store)


def _next(answers: Sequence[str], vocabulary: Vocabulary, library: Library) -> Prompt | JobSheet:
    """Return the question after these answers, or the sheet when there is none."""
    talk = script(vocabulary, library)
    try:
        prompt = next(talk)
        for said in answers:
            prompt = talk.send(said)
    except StopIteration as end:
        found: JobSheet = end.value
        return found
    return prompt


def _resumed(draft: Path | None) -> list[str]:
    """Return the answers of a draft, or none where there is no draft or it cannot be read."""
    if draft is None or not draft.is_file() or draft.stat().st_size > LARGEST:
        return []
    try:
        kept = json.loads(draft.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        kept = None
    if isinstance(kept, list) and all(isinstance(one, str) for one in kept):
        return kept
    dialogue.say(f"{draft.name} is no draft of an interview; beginning anew.")
    return []


def _keep(draft: Path, answers: Sequence[str], store: Path | None) -> bool:
    try:
        sheet_files.write(draft, json.dumps(answers, ensure_ascii=False) + "\n", never=stores.location(store))
    except sheet_files.NotWritten as reason:
        render.complain(str(reason))
        return False
    return True


def _left(path: Path | None, answers: Sequence[str]) -> int:
    count = f"{len(answers)} answer{'' if len(answers) == 1 else 's'}"
    if path is None:
        dialogue.say(f"Left after {count}; nothing is kept. With a file name it can be taken up again.")
    else:
        dialogue.say(f"Left after {count}. Take it up again with: evener interview {path}")
    return 1


def _written(job: JobSheet, path: Path | None, draft: Path | None, store: Path | None) -> int:
    text = write_jobsheet(job)
    if path is None:
        encoding = sys.stdout.encoding or "utf-8"
        sys.stdout.write(text.encode(encoding, "replace").decode(encoding))
        return 0
    try:
        sheet_files.write(path, text, never=stores.location(store))
    except sheet_files.NotWritten as reason:
        render.complain(str(reason))
        return 2
    if draft is not None:
        draft.unlink(missing_ok=True)
    dialogue.say(f"\nWrote {path}. Now: evener rank {path}")
    dialogue.say(f"What is still worth asking: evener ask {path}")
    return 0
