"""`evener explain`: every step from the sheet to the demand, so that an engineer can redo each by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from evener.cli.adviser import jobs
from evener.cli.options import Format, UnitSystem
from evener.cli.output import render, words
from evener.scoring.decision import answers


def run(job_path: Path, tractor_id: str, *, output: Format, units: UnitSystem | None, store: Path | None) -> int:
    """Print the steps; return 0 when the tractor meets the work, 1 when it does not."""
    job, library, tractors = jobs.need_job(job_path, store)
    known = [one.tractor_id for one in tractors]
    if tractor_id not in known:
        from difflib import get_close_matches

        near = get_close_matches(tractor_id, known, n=3)
        hint = f" Did you mean {' or '.join(near)}?" if near else ""
        render.complain(f"there is no tractor {tractor_id!r} in the store.{hint} See: evener list tractors")
        return 2
    answer = answers.explain(job, library, tractors, tractor_id, units=jobs.units_of(units, output, job))
    if output is Format.json:
        render.json_out(answer)
    elif output is Format.csv:
        render.csv_out(_rows(answer))
    else:
        _page(answer, markdown=output is Format.markdown)
    return 0 if answer["meets"] and not answer["not_sized"] else 1


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
            mark = ", which governs" if made["governs"] else ""
            page.facts([(made["basis"], f"{words.span(made['demand'], made['unit'])}{mark}")])
        shown = one["steps"]
        page.bullets(_step(step) for step in shown)
        for made in one["estimates"]:
            if not made["governs"]:
                page.lead(f"beside it, {made['basis']}:")
                page.bullets(_step(step) for step in made["steps"])
        if one["capacity_steps"]:
            page.lead("what it has:")
            page.bullets(_step(step) for step in one["capacity_steps"])
        page.bullets(f"note: {note}" for note in one["notes"])
        assumed = f" (assumed from {one['assumed_from']})" if one["assumed_from"] else ""
        middle, over = words.quantity(one["middle"], one["unit"]), words.span(one["demand"], one["unit"])
        page.facts(
            [
                ("asks", f"{middle} in the middle case, {over} over all draws"),
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


def _step(step: dict[str, Any]) -> str:
    given = ", ".join(f"{name} = {_measured(one['value'], one['unit'])}" for name, one in step["inputs"].items())
    where = f" [{given}]" if given else ""
    result = _measured(step["result"], step["unit"])
    return f"{step['formula']}{where} -> {result}  ({step['source']}, {step['status']})"


def _measured(value: float | str, unit: str) -> str:
    return _number(value) if unit == "1" else f"{_number(value)} {unit}"


def _number(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:.4g}"


def _rows(answer: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        {
            "tractor_id": answer["tractor_id"],
            "task": one["task"],
            "axis": one["axis"],
            "side": side,
            "step": position,
            "formula": step["formula"],
            "inputs": "; ".join(f"{name} = {given['value']} {given['unit']}" for name, given in step["inputs"].items()),
            "result": step["result"],
            "unit": step["unit"],
            "source": step["source"],
            "status": step["status"],
            "method": step.get("method"),
        }
        for one in answer["tasks"]
        for side, steps in (("asks", one["steps"]), ("has", one["capacity_steps"]))
        for position, step in enumerate(steps, 1)
    ]
