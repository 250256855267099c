"""`evener ask`: what to ask or measure next, the likeliest to change the pick first, with the pick by answer."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from evener.cli.adviser import jobs, survey_words
from evener.cli.options import Among, Format, Job, Output, Replace, Store, UnitChoice
from evener.cli.output import render, words
from evener.opening import location
from evener.writing import check_target

SHOWN = 12


def run(
    job: Job,
    answer: Annotated[
        list[str] | None,
        typer.Option(help="ID=VALUE: see the effect of an answer; the sheet stays as it is.", show_default=False),
    ] = None,
    interactive: Annotated[bool, typer.Option("--interactive", help="Ask one after the other.")] = False,
    write: Annotated[
        Path | None, typer.Option(help="Where --interactive writes the answered sheet.", show_default=False)
    ] = None,
    replace: Replace = False,
    seeds: Annotated[
        int, typer.Option(min=0, max=100, help="Do it on so many other sets of draws too, and say how stable it is.")
    ] = 0,
    among: Among = "class",
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Ask what is open: every question by how likely its answer changes the pick, with the pick by answer."""
    if write is not None and not interactive:
        render.complain("--write goes with --interactive; --answer leaves the sheet as it is")
        return 2
    if write is not None:
        check_target(write, location(store), inputs=[job], replace=replace)
    given = answer or []
    enquiry = jobs.enquiry(job, store, among)
    from evener.ingest.jobsheet.answers import AnswerRefused
    from evener.results.survey import ask

    try:
        answered = enquiry.with_answers(given)
    except AnswerRefused as refused:
        render.complain(f"--answer: {refused}")
        return 2
    if interactive:
        from evener.cli.adviser import ask_interactive

        return ask_interactive.walk(job, answered, units=units, write=write, replace=replace, store=store)
    shown = jobs.units_of(units, output, enquiry.job.policy.units)
    found = ask(answered, units=shown, seeds=seeds)
    if output is Format.json:
        render.json_out(found.to_dict())
    elif output is Format.csv:
        render.csv_out(found.rows())
    else:
        before = ask(enquiry, units=shown).to_dict() if given else None
        _page(found.to_dict(), before, given, job, markdown=output is Format.markdown)
    return 0 if found.pick else 1


def _page(
    answer: dict[str, Any], before: dict[str, Any] | None, given: list[str], job_path: Path, *, markdown: bool
) -> None:
    page = render.Page(markdown=markdown)
    page.title(f"{answer['place']}: what to ask or measure next")
    for one in answer["not_sized"]:
        page.lead(f"ASK FIRST: {one['task']}: {one['why']}. {one['remedy']}. Until then there is no pick.")
    now = survey_words.describe(answer["so_far"])
    if before is not None:
        page.facts([("answered", "; ".join(given)), ("before", survey_words.describe(before["so_far"]))])
    page.facts([("pick without it" if answer["not_sized"] else "pick", now)])
    deciding = [one for one in answer["questions"] if one["chance_changes_pick"] > 0]
    others = [one for one in answer["questions"] if one["chance_changes_pick"] <= 0]
    if not deciding:
        page.lead(survey_words.nothing_left(answer))
    for number, one in enumerate(deciding[:SHOWN], 1):
        page.heading(f"{number}. {one['question']}")
        worth = one["worth_a_year"]
        saves = "" if worth is None else f", and worth {words.money(worth)} a year"
        changes = f"{words.percent(one['chance_changes_pick'])} likely to change the pick{saves}"
        page.facts(
            [
                ("takes", one["how"]),
                ("now", one["now"]),
                ("knowing it", changes),
                ("then", survey_words.by_answer(one)),
                ("answer with", f"--answer {one['id']}=VALUE"),
            ]
        )
    if len(deciding) > SHOWN:
        page.lead(f"{len(deciding) - SHOWN} more are likely to change it less: --format json lists all.")
    if others:
        page.heading("Also unknown; none of these by itself changes the tractor")
        said = [one for one in others if not one["now"].startswith("not ")]
        page.bullets(f"{one['question']} [{one['now']}]" for one in said)
        if len(others) > len(said):
            page.bullets(
                [f"{len(others) - len(said)} figures nobody gave: usual values were used. See: evener explain"]
            )
    survey_words.gaps(page, answer)
    _stability(page, answer)
    if deciding:
        page.lead("")
        page.lead(f"Walk through them with: evener ask {job_path} --interactive")
    page.show()


def _stability(page: render.Page, answer: dict[str, Any]) -> None:
    found = answer["stability"]
    if found is None:
        return
    page.heading(f"How stable, over {found['seeds']} other sets of draws")
    page.facts([("same size", f"{found['pick_same']} of {found['seeds']}")])
    page.facts([("same first", f"{found['first_same']} of {found['seeds']}")])
    page.facts(
        ("chance", f"{words.percent(low)} to {words.percent(high)}: {name}")
        for name, (low, high) in found["chances"].items()
    )
