"""`evener beside`: two to five tractors side by side on a customer's work, then their money."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from evener.cli import handing
from evener.cli.adviser import jobs
from evener.cli.options import Handed, Job, Out, Readable, Replace, Store, UnitChoice
from evener.cli.output import render, words
from evener.cli.store.opened import opened


def run(
    job: Job,
    tractors: Annotated[list[str], typer.Argument(metavar="TRACTOR TRACTOR...", help="Ids of two to five records.")],
    output: Handed = Readable.table,
    out: Out = None,
    replace: Replace = False,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Set two to five tractors side by side: how each does every task, what it needs fitted, and the money."""
    path = opened(store).path
    handing.check(output, out, path, replace=replace)
    enquiry = jobs.enquiry(job, path)
    from evener.comparing.beside import beside

    answer = beside(enquiry, tractors)
    shown = jobs.units_of(units, output, enquiry.job.policy.units)
    if output is Readable.json:
        render.json_out(answer.to_dict(shown))
    elif output is Readable.csv:
        render.csv_out(answer.rows(shown))
    else:
        said = answer.to_dict(shown)
        handing.hand(lambda page: _fill(page, said), output, out, path, over="Tractors side by side", replace=replace)
    return 0


def _fill(page: render.Page, answer: dict[str, Any]) -> None:
    found = answer["tractors"]
    names = [f"{one['tractor_id']} {words.quantity(one['pto_power'], one['unit'])}" for one in found]
    page.title(f"{answer['place']}: {words.joined([one['tractor_id'] for one in found])}")
    page.heading("The work: how often it is done, hours a year, what is tightest")
    page.table(
        ["task", *names],
        [
            ["what it is", *(one["label"] for one in found)],
            *([row["task"], *(_at(one, row["task"]) for one in row["tractors"])] for row in answer["tasks"]),
        ],
    )
    needed = [
        f"{one['tractor_id']}, {row['task']}: {words.AXIS[each['axis']]}: {words.remedy(each)}"
        for row in answer["tasks"]
        for one, at in zip(found, row["tractors"], strict=True)
        for each in at["remedies"]
        if each["needed"]
    ]
    if needed:
        page.heading("What each needs fitted")
        page.bullets(needed)
    page.heading(f"Money ({answer['currency']})")
    right = set(range(1, len(found) + 1))
    page.table(["", *names], [[name, *(words.money(one[key]) for one in found)] for name, key in SUMS], right)
    page.table(
        ["", *names],
        [
            ["does all", *(words.percent(one["does_all"]) for one in found)],
            ["fit", *(f"{one['fit']:.0f}" for one in found)],
        ],
        right,
    )


SUMS = (
    ("price", "price"),
    ("a year, in all", "a_year"),
    ("ownership", "ownership"),
    ("repair", "repair"),
    ("fuel and driver", "running"),
    ("hired", "hired"),
    ("left undone", "undone"),
    ("change of size", "changed"),
    ("worst in 19 of 20", "worst"),
)


def _at(one: dict[str, Any], task: str) -> str:
    hours = f"{one['hours']:.0f} h" if one["hours"] >= 0.5 else "under 1 h"
    said = f"{words.percent(one['does'])}, {hours}"
    if one["tightest"] is None:
        return said
    return f"{said}; {words.limit(one['tightest']).removeprefix(f'{task}: ')}"
