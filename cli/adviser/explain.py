"""`evener explain`: every step from the sheet to the demand, so that an engineer can redo each by hand."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

import typer

from evener.cli.adviser import jobs
from evener.cli.options import Format, Job, Output, Store, UnitChoice
from evener.cli.output import render, words
from evener.cli.output.citations import sources
from evener.cli.output.symbols import legend


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
    page.lead(f"It does all the work {words.cases(answer['adequacy'])}: {verdict}.")
    page.lead(
        "Steps are worked in SI units for the middle case: every uncertain input at its middle, at the usual speed. "
        "`asks` is over all cases, gone as slow as is still useful."
    )
    for one in answer["tasks"]:
        page.heading(f"{one['task']}: {words.AXIS[one['axis']]} ({words.BASIS[one['basis']]})")
        for made in one["estimates"]:
            mark = " (used)" if made["governs"] else ""
            said = words.BASIS[made["basis"]]
            page.lead(f"by {said}: {words.span(made['demand'], made['unit'])} at the usual speed{mark}")
        shown = one["steps"]
        page.bullets(words.step(step) for step in shown)
        for made in one["estimates"]:
            if not made["governs"]:
                page.lead(f"beside it, by {words.BASIS[made['basis']]}:")
                page.bullets(words.step(step) for step in made["steps"])
        if one["capacity_steps"]:
            page.lead("what it has:")
            page.bullets(words.step(step) for step in one["capacity_steps"])
        page.bullets(f"note: {note}" for note in one["notes"])
        page.facts(_found(one))
    if answer["gates"]:
        page.heading("What fits, or does not")
        page.table(
            ["task", "", "asks", "has", ""],
            [
                [gate["task"], words.AXIS[gate["axis"]], gate["asked"], gate["offered"], words.FITS[gate["ok"]]]
                for gate in answer["gates"]
            ],
        )
    page.heading("What the letters mean")
    page.bullets(legend(_steps(answer)))
    page.heading("Where the numbers come from")
    page.bullets(_cited(answer))
    for left in answer["not_sized"]:
        page.lead(f"NOT SIZED: {left['task']}: {left['why']}. {left['remedy']}.")
    page.show()


def _found(one: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield what is asked, what is there, and what is to spare; of an axle what its wheels keep, and the weights."""
    share = one["axle_share"]
    if share is None:
        middle = words.quantity(one["middle"], one["unit"])
        whole = " at the usual speed" if one["axis"] == "pto_power" else " with the whole load"
        lessened = one["middle"] > one["demand"]["high"]
        yield "asks", f"{words.asks(one)}; {middle} in the middle case{whole if lessened else ''}"
    else:
        yield "asks", f"{words.asks(one)} on the {words.WHEELS[one['axis']]}"
    yield "has", words.has(one)
    if share is not None:
        weights = words.quantity(share["weights"], share["unit"])
        where = words.WEIGHTS[one["axis"]]
        yield "takes", f"{where}, at least {weights}" if share["weights"] > 0 else f"no {where.removeprefix('a ')}"
    yield "to spare", words.margin(one)


def _steps(answer: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for one in answer["tasks"]:
        for made in one["estimates"]:
            yield from made["steps"]
        yield from (*one["steps"], *one["capacity_steps"])


def _cited(answer: dict[str, Any]) -> list[str]:
    """Return the citation of every source that a step names."""
    named = {name for step in _steps(answer) for name in step["source"].split("; ")}
    known = sources()
    return [f"{name}: {known[name]}" for name in sorted(named & known.keys()) if name != "PRACTICE"]
