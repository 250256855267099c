"""`evener cover`: every task of a shed against every tractor with every machine, and what hangs on one thing."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from evener.cli.options import Format, Output, Store, UnitChoice
from evener.cli.output import render, words
from evener.cli.shed.opening import Names, ShedFolder, units_of, usable

SIGN = {"does it": "yes", "does it with": "with", "not known": "?", "does not": "no"}


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
    sure = words.percent(answer["confidence"])
    page.lead(
        f"yes: in {sure} of {answer['draws']} draws. with: with a remedy. ?: by figures to be read. no: falls short."
    )
    tractors = list(dict.fromkeys(one["tractor"] for task in answer["tasks"] for one in task["combinations"]))
    order = list(SIGN)
    rows = []
    for task in answer["tasks"]:
        best: dict[str, str] = {}
        for one in task["combinations"]:
            kept = best.get(one["tractor"], "does not")
            best[one["tractor"]] = min(kept, one["verdict"], key=order.index)
        rows.append([task["member"], task["task"], *(SIGN[best[one]] if one in best else "-" for one in tractors)])
    page.heading("Tasks by tractors, each with the machine that goes best")
    page.table(["member", "task", *tractors], rows)
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
            ["tractor", "machine", "", "h", "draws", "why"],
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
