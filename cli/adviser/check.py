"""`evener check`: every mistake of a job sheet in one run, whether the place adds up, and what owned machines do."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from evener.cli.adviser import jobs
from evener.cli.options import Format, Job, Output, Store, UnitChoice
from evener.cli.output import render, words
from evener.cli.store.opened import opened

OF_THE_SHEET = frozenset({"land_unused", "implement_unused", "named_twice"})
UNREADABLE = "sheet-unreadable"


def run(job: Job, output: Output = Format.table, units: UnitChoice = None, store: Store = None) -> int:
    """Check a job sheet: every mistake with its line, and the land that no task covers."""
    answer = opened(store).check(job)
    shown = jobs.units_of(units, output, answer.units)
    if output is Format.json:
        render.json_out(answer.to_dict(shown))
    elif output is Format.csv:
        render.csv_out(answer.rows(shown))
    else:
        _page(job, answer.to_dict(shown), markdown=output is Format.markdown)
    if any(one.id == UNREADABLE for one in answer.findings):
        return 2
    return 1 if answer.findings else 0


def _page(path: Path, answer: dict[str, Any], *, markdown: bool) -> None:
    page = render.Page(markdown=markdown)
    findings = answer["findings"]
    count, asked = len(findings), len(answer["reconcile"])
    page.title(
        f"{path.name}: "
        + (f"{count} thing{'s' if count > 1 else ''} to put right" if count else "no mistakes in the sheet")
        + (f"; {asked} thing{'s' if asked > 1 else ''} to ask" if asked else "")
    )
    if findings:
        page.table(
            ["line", "key", "found", "what is wrong", "what to do"],
            [
                [str(one["row"] or ""), one["column"] or "", one["raw"] or "", one["message"], one["remedy"]]
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
    if answer["plans"]:
        page.heading("Read as plans: work that is not there today")
        page.table(
            ["work", "comes with a chance of", "from"],
            [[one["task"], words.percent(one["chance"]), str(one["year"] or "not said")] for one in answer["plans"]],
            right={1},
        )
    if answer["reconcile"]:
        page.heading("Work the place may have that the sheet does not name")
        page.table(
            ["question", "chance that it adds work", "name for others_do"],
            [[one["question"], words.percent(one["chance"]), _named(one["rule"])] for one in answer["reconcile"]],
            right={1},
        )
    if answer["owned"]:
        page.heading("Machines already owned, and what they are said to take")
        page.table(
            ["machine", "task", "", "why"],
            [[one["machine"], one["task"], one["verdict"], one["why"]] for one in answer["owned"]],
        )
    page.show()


def _named(rule: str) -> str:
    """Return how a sheet names work that others do; nothing for a question about the sheet itself."""
    return "" if rule in OF_THE_SHEET else rule.replace("_", " ")
