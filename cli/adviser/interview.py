"""`evener interview`: from nothing to a job sheet by plain questions, in a terminal or from a pipe."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evener.cli.adviser import dialogue, sheet_files
from evener.cli.options import Store
from evener.cli.output import render
from evener.cli.store.opened import opened

if TYPE_CHECKING:
    from evener.interview.conversation import Interview

DRAFT = ".draft"
LARGEST = 64 * 1024


def run(
    sheet: Annotated[
        Path | None,
        typer.Argument(metavar="FILE", help="Job sheet to write; stdout when left out.", show_default=False),
    ] = None,
    store: Store = None,
) -> int:
    """Interview a customer: from nothing to a job sheet by plain questions. It can be left and taken up again."""
    if sheet is not None and os.path.lexists(sheet):
        render.complain(f"{sheet} is there already; name another file, or change it with an editor")
        return 2
    held = opened(store)
    from evener.ingest.jobsheet.answers import AnswerRefused

    draft = sheet.with_name(sheet.name + DRAFT) if sheet is not None else None
    kept = _resumed(draft)
    interview = held.interview(kept)
    dialogue.say('Answer as people write it: "8 ft", "1 to 3 in", "about 900 lb". Empty takes what stands in [ ].')
    dialogue.say('"?" when you don\'t know, "back" for the question before, "stop" to leave.')
    if kept:
        dialogue.say(f"Going on after {len(kept)} answers; back takes the last one back.")
    while interview.prompt is not None:
        said = dialogue.hear(interview.prompt.shown())
        if said is None:
            return _left(sheet, interview.answers)
        if said == dialogue.BACK:
            interview.back()
        else:
            try:
                interview.answer(said)
            except AnswerRefused as refused:
                dialogue.say(f"  {refused}")
                continue
        if draft is not None and not _keep(draft, interview.answers, held.path):
            return 2
    return _written(interview, sheet, draft, held.path)


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


def _keep(draft: Path, answers: Sequence[str], store: Path) -> bool:
    try:
        sheet_files.write(draft, json.dumps(answers, ensure_ascii=False) + "\n", never=store)
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


def _written(interview: Interview, path: Path | None, draft: Path | None, store: Path) -> int:
    text = interview.sheet()
    if path is None:
        encoding = sys.stdout.encoding or "utf-8"
        sys.stdout.write(text.encode(encoding, "replace").decode(encoding))
        return 0
    try:
        sheet_files.write(path, text, never=store)
    except sheet_files.NotWritten as reason:
        render.complain(str(reason))
        return 2
    if draft is not None:
        draft.unlink(missing_ok=True)
    dialogue.say(f"\nWrote {path}. Now: evener rank {path}")
    dialogue.say(f"What is still worth asking: evener ask {path}")
    return 0
