"""`evener runs`: the largest machine of each family that a tractor works on stated ground."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from evener.cli.adviser import jobs
from evener.cli.options import Format, Output, Store, UnitChoice
from evener.cli.output import render, words
from evener.cli.store.opened import opened


def run(
    tractor: Annotated[str, typer.Argument(metavar="TRACTOR", help="Id of a tractor record.", show_default=False)],
    slope: Annotated[str, typer.Option(help="Slope along the work, as a job sheet says it.")] = "5 %",
    soil: Annotated[str, typer.Option(help="What the wheels run on, as a job sheet says it.")] = "firm",
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Say what a tractor runs: the largest machine of each family on stated ground, its speed, and what holds it."""
    held = opened(store)
    answer = held.runs(tractor, slope=slope, soil=soil)
    shown = jobs.units_of(units, output, "us")
    if output is Format.json:
        render.json_out(answer.to_dict(shown))
    elif output is Format.csv:
        render.csv_out(answer.rows(shown))
    else:
        _page(answer.to_dict(shown), markdown=output is Format.markdown)
    return 0


def _page(answer: dict[str, Any], *, markdown: bool) -> None:
    page = render.Page(markdown=markdown)
    page.title(f"{answer['tractor_id']}: {answer['label']}, on {answer['soil']} ground, slope {answer['slope']}")
    page.table(
        ["family", "largest it runs", "size", "speed", "sure", "tightest"],
        [
            [
                one["label"],
                one["machine"] or "none",
                words.measured(one["size"]),
                words.measured(one["speed"]),
                words.percent(one["does"]),
                words.limit(one["tightest"]).partition(": ")[2] if one["tightest"] else "",
            ]
            for one in answer["families"]
        ],
        right={2, 3, 4},
    )
    page.bullets(["A machine's manual and the tractor's set the limits; this compares figures and clears nothing."])
    page.show()
