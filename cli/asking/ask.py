"""`evener ask`: what to ask or measure next, by what knowing it is worth, with the pick by answer."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from evener.cli.adviser import jobs
from evener.cli.asking import ask_screen, survey_words
from evener.cli.options import Among, Format, Job, Output, Replace, Store, UnitChoice
from evener.cli.output import render, words
from evener.opening import location
from evener.writing import check_target


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
    full: Annotated[bool, typer.Option("--full", help="All questions, with what is not worth asking and why.")] = False,
    seeds: Annotated[
        int, typer.Option(min=0, max=100, help="Do it on so many other sets of draws too, and say how stable it is.")
    ] = 0,
    among: Among = "class",
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Ask what is open: what knowing it is worth, the easiest first at like worth, with the pick by answer."""
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
        from evener.cli.asking import ask_interactive

        return ask_interactive.walk(job, answered, units=units, write=write, replace=replace, store=store)
    shown = jobs.units_of(units, output, enquiry.job.policy.units)
    found = ask(answered, units=shown, seeds=seeds)
    if output is Format.json:
        render.json_out(found.to_dict())
    elif output is Format.csv:
        render.csv_out(found.rows())
    else:
        before = ask(enquiry, units=shown).to_dict() if given else None
        if full or seeds or output is Format.markdown:
            _page(found.to_dict(), before, given, job, markdown=output is Format.markdown)
        else:
            render.lines_out(ask_screen.lines(found.to_dict(), str(job), before, given))
    return 0 if found.pick else 1


def _page(
    answer: dict[str, Any], before: dict[str, Any] | None, given: list[str], job_path: Path, *, markdown: bool
) -> None:
    page = render.Page(markdown=markdown)
    page.title(f"{answer['place']}: what to ask or measure next")
    for one in answer["not_sized"]:
        page.lead(f"ASK FIRST: {one['task']}: {one['why']}. {one['remedy']}. Until then there is no pick.")
    if before is not None:
        page.facts([("answered", "; ".join(given)), ("before", survey_words.describe(before["so_far"]))])
    page.facts([("so far, without it" if answer["not_sized"] else "so far", survey_words.describe(answer["so_far"]))])
    put = [one for one in answer["questions"] if one["worth_asking"]]
    rest = [one for one in answer["questions"] if not one["worth_asking"]]
    if not put:
        page.lead(survey_words.nothing_left(answer))
    for number, one in enumerate(put, 1):
        page.heading(f"{number}. {one['question']}")
        page.facts(
            [
                ("takes", one["how"]),
                ("you said" if one["said"] else "nobody said", one["now"].removeprefix("not said, ")),
                ("knowing it", survey_words.worth(one)),
                ("then", survey_words.by_answer(one)),
                ("answer with", f"--answer {one['id']}=VALUE"),
            ]
        )
    _listed(page, "You said, and knowing it better is not worth the asking", [one for one in rest if one["said"]])
    _listed(page, "Nobody said; taken as usual, and not worth the asking", [one for one in rest if not one["said"]])
    survey_words.gaps(page, answer)
    if answer["stays_uncertain"]:
        page.heading("Stays uncertain, whoever is asked")
        page.bullets(survey_words.uncertain(answer).split("; "))
    _stability(page, answer)
    if put:
        page.lead("")
        page.lead(f"Walk through them with: evener ask {job_path} --interactive")
    page.show()


def _listed(page: render.Page, heading: str, questions: list[dict[str, Any]]) -> None:
    if questions:
        page.heading(heading)
        page.bullets(f"{one['question']} [{one['now'].removeprefix('not said, ')}]" for one in questions)


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
