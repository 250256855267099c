"""`evener interview`: from nothing to a job sheet by plain questions, in a terminal or from a pipe."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evener.cli.adviser import first_screen
from evener.cli.asking import dialogue
from evener.cli.options import Store
from evener.cli.output import render
from evener.cli.store.opened import opened
from evener.scoring.core.printing import show
from evener.writing import CannotWrite, write

if TYPE_CHECKING:
    from evener.interview.conversation import Interview
    from evener.scoring.core.printing import Units
    from evener.store import Store as HeldStore

DRAFT = ".draft"
LARGEST = 64 * 1024
FORM = "answers of the second form"  # what was answered to other questions is not taken up again


def run(
    sheet: Annotated[
        Path | None,
        typer.Argument(metavar="FILE", help="Job sheet to write; stdout when left out.", show_default=False),
    ] = None,
    store: Store = None,
) -> int:
    """Interview a customer: from nothing to a job sheet and the size to buy. It can be left and taken up again."""
    if sheet is not None and os.path.lexists(sheet):
        render.complain(f"{sheet} is there already; name another file, or change it with an editor")
        return 2
    if sheet is not None and not sheet.absolute().parent.is_dir():
        render.complain(f"there is no folder {sheet.parent} to write {sheet.name} into; make it first, or name another")
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
        if size := _size(interview):
            dialogue.say(f"  so far: {size}")
        try:
            said = dialogue.hear(interview.prompt.shown())
        except KeyboardInterrupt:
            raise KeyboardInterrupt(_how_to_go_on(sheet)) from None
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
        if draft is not None:
            kept_so = {FORM: interview.answers}
            write(draft, json.dumps(kept_so, ensure_ascii=False) + "\n", held.path, replace=True)
    return _written(interview, sheet, draft, held)


def _resumed(draft: Path | None) -> list[str]:
    """Return the answers of a draft, or none where there is no draft."""
    if draft is None or not os.path.lexists(draft):
        return []
    kept = None
    with suppress(OSError, ValueError, RecursionError):
        if draft.is_file() and draft.stat().st_size <= LARGEST:
            kept = json.loads(draft.read_text(encoding="utf-8"))
    answers = kept.get(FORM) if isinstance(kept, dict) else None
    if isinstance(answers, list) and all(isinstance(one, str) for one in answers):
        return answers
    raise CannotWrite(f"{draft} is no draft of an interview, and the answers would go there. Move it away first.")


def _left(path: Path | None, answers: Sequence[str]) -> int:
    count = f"{len(answers)} answer{'' if len(answers) == 1 else 's'}"
    if path is None:
        dialogue.say(f"Left after {count}; nothing is kept. With a file name it can be taken up again.")
    else:
        dialogue.say(f"Left after {count}. {_how_to_go_on(path)}")
    return 1


def _how_to_go_on(path: Path | None) -> str:
    return "" if path is None else f"Take it up again with: evener interview {path}"


def _size(interview: Interview) -> str:
    """Return the size that what was said so far comes to, in words; empty where no work is named yet."""
    found = interview.running_size()
    if found is None or found.pto_power_kw is None:
        return ""
    units: Units = "si" if interview.draft.policy.get("units") == "si" else "us"
    return f"about {show(found.pto_power_kw, 'kW', units)} at the PTO"


def _written(interview: Interview, path: Path | None, draft: Path | None, held: HeldStore) -> int:
    text, screen = interview.sheet(), list[str]()
    if interview.job is not None:
        said = held.rank(interview.job).to_dict(interview.job.policy.units)
        screen = first_screen.lines(said) if said["choice"] is not None else []
    if path is None:
        for line in screen:
            dialogue.say(line)
        encoding = sys.stdout.encoding or "utf-8"
        sys.stdout.write(text.encode(encoding, "replace").decode(encoding))
        return 0
    write(path, text, held.path)
    if draft is not None:
        draft.unlink(missing_ok=True)
    render.lines_out(screen)
    dialogue.say(f"\nWrote {path}. Again: evener rank {path}. What is still worth asking: evener ask {path}")
    return 0
