"""`evener cover`: every task of a shed against every tractor with every machine, and what hangs on one thing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any

import typer

from evener.cli.options import Format, Output, Store, UnitChoice
from evener.cli.output import render, words
from evener.cli.shed.opening import Names, ShedFolder, units_of, usable

NONE = "does not"
SHOWN = {"does it": "does it", "does it with": "with a remedy", "not known": "not known: read or weigh"}
ORDER = (*SHOWN, NONE)


def run(
    shed: ShedFolder,
    tasks: Names = None,
    full: Annotated[bool, typer.Option("--full", help="Every combination with its reason.")] = False,
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Say who can do whose work: does it, does it with, does not (and how far), or not known (and what to read)."""
    answer = usable(shed, store).cover(tasks or [])
    shown = units_of(units, output, answer.units)
    if output is Format.json:
        render.json_out(answer.to_dict(shown))
    elif output is Format.csv:
        render.csv_out(answer.rows(shown))
    else:
        said = [one.said for one in answer.without]
        _page(answer.to_dict(shown), said, markdown=output is Format.markdown, full=full or bool(tasks))
    return 1 if answer.uncovered else 0


def _page(answer: dict[str, Any], said: list[str], *, markdown: bool, full: bool) -> None:
    page = render.Page(markdown=markdown)
    page.title(f"{answer['shed']}: who can do whose work")
    sure = words.cases(answer["confidence"]).removeprefix("in ")
    page.lead(
        f"Does it: in {sure} at least. Each tractor stands by the machine that goes best with it; one that does not do "
        "the task is not named."
    )
    page.table(["member", "task", *SHOWN.values()], _rows(answer["tasks"]))
    if full:
        _every(page, answer)
    if answer["uncovered"]:
        page.heading("Nothing in the shed does")
        page.bullets(f"{one['member']}: {one['task']}{_nearest(one)}" for one in answer["tasks"] if not one["covered"])
    if answer["hanging"]:
        page.heading("Hang on one thing")
        page.bullets(answer["hanging"])
    page.heading("What fails without each")
    page.bullets(
        f"{one['thing']} ({one['owner']}): {text}"
        for one, text in zip(answer["without"], said, strict=True)
        if one["seasons"] or one["tasks"]
    )
    page.lead("Of the others every task still has something that does it; whether the dates hold is for evener assign.")
    page.show()


def _rows(tasks: Sequence[dict[str, Any]]) -> list[list[str]]:
    """Return for each task the tractors by what they do, a member's name only where it changes."""
    rows: list[list[str]] = []
    before = None
    for task in tasks:
        best: dict[str, str] = {}
        for one in task["combinations"]:
            kept = best.get(one["tractor"], NONE)
            best[one["tractor"]] = min(kept, one["verdict"], key=ORDER.index)
        by_verdict = [", ".join(tractor for tractor, said in best.items() if said == verdict) for verdict in SHOWN]
        member = "" if task["member"] == before else task["member"]
        rows.append([member, task["task"], *(text or "-" for text in by_verdict)])
        before = task["member"]
    return rows


def _nearest(task: dict[str, Any]) -> str:
    if task["why_not"]:
        return f": {'; '.join(task['why_not'])}"
    if not task["combinations"]:
        return ""
    one = task["combinations"][0]
    return f": nearest {one['tractor']} with {one['machine']}: {one['why']}"


def _every(page: render.Page, answer: dict[str, Any]) -> None:
    for task in answer["tasks"]:
        page.heading(f"{task['member']}: {task['task']}")
        page.table(
            ["tractor", "machine", "", "h", "cases", "why"],
            [
                [
                    one["tractor"],
                    one["machine"],
                    one["verdict"],
                    "" if one["hours"] is None else words.quantity(one["hours"], ""),
                    words.percent(one["chance"]),
                    one["why"],
                ]
                for one in task["combinations"]
            ],
            right={3, 4},
        )
