"""`evener explain`: every step from the sheet to the demand, so that an engineer can redo each by hand."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from evener.cli.adviser import jobs
from evener.cli.options import Format, Job, Output, Store, UnitChoice
from evener.cli.output import render, words


def run(
    job: Job,
    tractor: Annotated[str, typer.Argument(metavar="TRACTOR", help="Id of a tractor record.", show_default=False)],
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Explain what each task asks of one tractor: every step, with its formula, inputs, source and status."""
    enquiry = jobs.enquiry(job, store)
    from evener.results.explanation import explain

    answer = explain(enquiry, tractor)
    shown = jobs.units_of(units, output, enquiry.job.policy.units)
    if output is Format.json:
        render.json_out(answer.to_dict(shown))
    elif output is Format.csv:
        render.csv_out(answer.rows(shown))
    else:
        _page(answer.to_dict(shown), markdown=output is Format.markdown)
    return 0 if answer.meets and not answer.not_sized else 1


def _page(answer: dict[str, Any], *, markdown: bool) -> None:
    page = render.Page(markdown=markdown)
    page.title(f"{answer['tractor_id']}: {answer['label']}")
    verdict = "enough" if answer["meets"] else "not enough"
    sure, asked = words.percent(answer["adequacy"]), words.percent(answer["confidence"])
    page.lead(f"It meets every task in {sure} of the draws: {verdict} for the {asked} asked.")
    page.lead("Steps are worked in SI units for the middle case: every uncertain input at its middle.")
    for one in answer["tasks"]:
        page.heading(f"{one['task']}: {words.AXIS[one['axis']]} ({words.BASIS[one['basis']]})")
        for made in one["estimates"]:
            mark = " (used)" if made["governs"] else ""
            page.facts([(made["basis"], f"{words.span(made['demand'], made['unit'])}{mark}")])
        shown = one["steps"]
        page.bullets(words.step(step) for step in shown)
        for made in one["estimates"]:
            if not made["governs"]:
                page.lead(f"beside it, {made['basis']}:")
                page.bullets(words.step(step) for step in made["steps"])
        if one["capacity_steps"]:
            page.lead("what it has:")
            page.bullets(words.step(step) for step in one["capacity_steps"])
        page.bullets(f"note: {note}" for note in one["notes"])
        assumed = f" (assumed from {one['assumed_from']})" if one["assumed_from"] else ""
        middle, over = words.quantity(one["middle"], one["unit"]), words.span(one["demand"], one["unit"])
        if one["middle"] > one["demand"]["high"]:
            less = "when it slows down" if one["axis"] == "pto_power" else "with part of the load"
            asks = f"{middle} in the middle case, {over} over all draws {less}"
        else:
            asks = f"{middle} in the middle case, {over} over all draws"
        page.facts(
            [
                ("asks", asks),
                ("has", words.quantity(one["capacity"], one["unit"]) + assumed),
                ("margin", words.margin(one["margin"])),
            ]
        )
    if answer["gates"]:
        page.heading("Gates")
        page.table(
            ["task", "", "asks", "has", ""],
            [
                [gate["task"], words.AXIS[gate["axis"]], gate["asked"], gate["offered"], "ok" if gate["ok"] else "NO"]
                for gate in answer["gates"]
            ],
        )
    for left in answer["not_sized"]:
        page.lead(f"NOT SIZED: {left['task']}: {left['why']}. {left['fix']}.")
    page.show()
