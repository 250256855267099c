"""`evener check`: every mistake of a job sheet in one run, whether the place adds up, and what owned machines do."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from evener.cli.adviser import jobs
from evener.cli.options import Format, UnitSystem
from evener.cli.output import render, words
from evener.scoring.decision.owned import owned
from evener.scoring.decision.sizing import size_job
from evener.scoring.place.coverage import land
from evener.scoring.questions.reconcile import reconcile


def run(job_path: Path, *, output: Format, units: UnitSystem | None, store: Path | None) -> int:
    """Print the findings; return 0 without any, 1 with some, 2 when the sheet cannot be read at all."""
    opened = jobs.open_job(job_path, store)
    findings = [finding.as_dict() for finding in opened.findings]
    covered: dict[str, Any] | None = None
    gaps: list[dict[str, Any]] = []
    claims: list[dict[str, Any]] = []
    if opened.job is not None:
        shown = jobs.units_of(units, output, opened.job)
        covered = land(opened.job, shown)
        gaps = reconcile(opened.job, opened.library)
        if not any(finding.refuses for finding in opened.findings):
            sizing = size_job(opened.job, opened.library)
            findings += [_not_sized(one.task, one.why, one.fix) for one in sizing.not_sized]
            claims = owned(sizing, opened.tractors, shown)
    answer = {"schema": 1, "findings": findings, "land": covered, "reconcile": gaps, "owned": claims}
    if output is Format.json:
        render.json_out(answer)
    elif output is Format.csv:
        render.csv_out(findings)
    else:
        _page(job_path, answer, markdown=output is Format.markdown)
    return 1 if findings else 0


def _not_sized(task: str, why: str, fix: str) -> dict[str, Any]:
    return {
        "id": "task-not-sized",
        "row": None,
        "column": task,
        "raw": None,
        "message": f"{task}: {why}.",
        "fix": f"{fix}.",
    }


def _page(path: Path, answer: dict[str, Any], *, markdown: bool) -> None:
    page = render.Page(markdown=markdown)
    findings = answer["findings"]
    count = len(findings)
    page.title(
        f"{path.name}: " + (f"{count} thing{'s' if count > 1 else ''} to put right" if count else "nothing wrong")
    )
    if findings:
        page.table(
            ["line", "key", "found", "what is wrong", "what to do"],
            [
                [str(one["row"] or ""), one["column"] or "", one["raw"] or "", one["message"], one["fix"]]
                for one in findings
            ],
            right={0},
        )
    if answer["land"] and answer["land"]["total"]:
        covered = answer["land"]
        page.heading("Land")
        page.table(
            ["use", f"total {covered['unit']}", "covered", "no task"],
            [
                [use["use"], *(words.quantity(use[key], "") for key in ("total", "covered", "unexplained"))]
                for use in covered["uses"]
            ],
            right={1, 2, 3},
        )
    if answer["reconcile"]:
        page.heading("Does the place add up? Ask; none of this is counted as work until a task names it")
        page.table(
            ["question", "likely to matter"],
            [[one["question"], words.percent(one["chance"])] for one in answer["reconcile"]],
            right={1},
        )
    if answer["owned"]:
        page.heading("Machines already owned, and what they are said to take")
        page.table(
            ["machine", "task", "", "why"],
            [[one["machine"], one["task"], one["verdict"], one["why"]] for one in answer["owned"]],
        )
    page.show()
