"""`evener ask`: what to ask or measure next, the likeliest to change the pick first, with the pick by answer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from evener.cli.adviser import ask_interactive, given_answers, jobs
from evener.cli.options import Format, UnitSystem
from evener.cli.output import render, words
from evener.ingest.jobsheet.answers import AnswerRefused
from evener.scoring.questions import asking as questions

SHOWN = 12


def run(
    job_path: Path,
    *,
    given: list[str],
    interactive: bool,
    write: Path | None,
    seeds: int,
    among: str,
    output: Format,
    units: UnitSystem | None,
    store: Path | None,
) -> int:
    """Print the questions; return 0 while a tractor meets the work, 1 when none does or a task could not be sized."""
    kinds = jobs.kinds_of(among)
    if kinds is None:
        return 2
    if write is not None and not interactive:
        render.complain("--write goes with --interactive; --answer leaves the sheet as it is")
        return 2
    job, library, tractors = jobs.need_job(job_path, store)
    if not any(one.kind in kinds for one in tractors):
        render.complain(f"no record of kind {' or '.join(kinds)} is in the store. See: evener list tractors")
        return 2
    vocabulary = jobs.vocabulary(library, tractors)
    try:
        answered = given_answers.put_all(given, job, tractors, vocabulary)
    except AnswerRefused as refused:
        render.complain(f"--answer: {refused}")
        return 2
    if interactive:
        return ask_interactive.run(
            job_path, answered, library, vocabulary, among=kinds, units=units, write=write, store=store
        )
    shown = jobs.units_of(units, output, job)
    answer = questions.ask(answered.job, library, answered.tractors, among=kinds, units=shown, seeds=seeds)
    if output is Format.json:
        render.json_out(answer)
    elif output is Format.csv:
        render.csv_out(_rows(answer))
    else:
        before = questions.ask(job, library, tractors, among=kinds, units=shown) if given else None
        _page(answer, before, given, job_path, markdown=output is Format.markdown)
    return 0 if answer["pick"] else 1


def describe(pick: dict[str, Any]) -> str:
    """Return a pick as people say it: its power, label and id; or that nothing meets the work."""
    if pick["pick"] is None:
        return "nothing that is listed meets the work"
    power = f"{words.quantity(pick['pto_power'], pick['unit'])} at the PTO: " if pick["pto_power"] is not None else ""
    return f"{power}{pick['label']} ({pick['pick']})"


def by_answer(one: dict[str, Any]) -> str:
    """Return a question's picks by answer on one line."""
    return "; ".join(f"{part['answer']}: {_short(part)}" for part in one["picks"])


def _short(pick: dict[str, Any]) -> str:
    if pick["pick"] is None:
        return "none meets it"
    return f"{words.quantity(pick['pto_power'], pick['unit'])} {pick['pick']}" if pick["pto_power"] else pick["pick"]


def _page(
    answer: dict[str, Any], before: dict[str, Any] | None, given: list[str], job_path: Path, *, markdown: bool
) -> None:
    page = render.Page(markdown=markdown)
    page.title(f"{answer['place']}: what to ask or measure next")
    for one in answer["not_sized"]:
        page.lead(f"ASK FIRST: {one['task']}: {one['why']}. {one['fix']}. Until then there is no pick.")
    now = describe(answer["so_far"])
    if before is not None:
        page.facts([("answered", "; ".join(given)), ("before", describe(before["so_far"]))])
    page.facts([("pick without it" if answer["not_sized"] else "pick", now)])
    deciding = [one for one in answer["questions"] if one["chance_changes_pick"] > 0]
    others = [one for one in answer["questions"] if one["chance_changes_pick"] <= 0]
    if not deciding:
        page.lead(nothing_left(answer))
    for number, one in enumerate(deciding[:SHOWN], 1):
        page.heading(f"{number}. {one['question']}")
        changes = f"{words.percent(one['chance_changes_pick'])} likely to change the pick"
        page.facts(
            [
                ("takes", one["how"]),
                ("now", one["now"]),
                ("knowing it", changes),
                ("then", by_answer(one)),
                ("answer with", f"--answer {one['id']}=VALUE"),
            ]
        )
    if len(deciding) > SHOWN:
        page.lead(f"{len(deciding) - SHOWN} more are likely to change it less: --format json lists all.")
    if others:
        page.heading("Open too, but none of these alone changes the pick")
        said = [one for one in others if not one["now"].startswith("not ")]
        page.bullets(f"{one['question']} [{one['now']}]" for one in said)
        if len(others) > len(said):
            page.bullets([f"{len(others) - len(said)} things that nobody said and that the library stands in for"])
    gaps(page, answer)
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


def nothing_left(answer: dict[str, Any]) -> str:
    """Return that no question is left that could change the pick, and what still could."""
    if answer["not_sized"]:
        return "Nothing else you could ask about these tasks would change this."
    if answer["reconcile"]:
        return "Nothing you could ask about these tasks would change this; but see whether the place adds up."
    return "Nothing you could ask would change this."


def gaps(page: render.Page, answer: dict[str, Any]) -> None:
    """Add what to ask about the place as a whole."""
    if not answer["reconcile"]:
        return
    page.heading("Does the place add up? None of this is counted in the pick")
    page.bullets(
        f"{one['question']} {words.percent(one['chance'])} likely{_then(one, answer)}" for one in answer["reconcile"]
    )
    page.lead("How likely it is that the answer adds work, or takes some away, is custom of the trade.")


def _then(one: dict[str, Any], answer: dict[str, Any]) -> str:
    if one["family"] is None or one["pick_if_so"] == answer["so_far"]["pick"]:
        return ""
    family = one["family"].replace("_", " ")
    return f"; with a {family} of usual size the pick is {one['pick_if_so'] or 'none that is listed'}"


def _rows(answer: dict[str, Any]) -> list[dict[str, Any]]:
    """Return one row per question and answer, for a spreadsheet."""
    return [
        {
            "id": one["id"],
            "question": one["question"],
            "how": one["how"],
            "now": one["now"],
            "chance_changes_pick": one["chance_changes_pick"],
            **part,
        }
        for one in answer["questions"]
        for part in one["picks"]
    ]
