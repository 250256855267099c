"""`evener rank`: the size to buy first, then the table, the size below and above, what is open, and the cautions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any

import typer

from evener.cli.adviser import first_screen, jobs
from evener.cli.options import Format, Job, Output, Store, UnitChoice, Where
from evener.cli.output import render, who_does_what, words
from evener.cli.store.opened import opened
from evener.scoring.core.printing import rounded


def run(
    job: Job,
    among: Annotated[str, typer.Option(help="Kinds to rank: class, stock, member; several with commas.")] = "class",
    top: Annotated[int, typer.Option(min=1, max=1000, help="How many tractors to show.")] = 8,
    price_up_to: Annotated[float | None, typer.Option(help="Only those up to this price.", show_default=False)] = None,
    year_from: Annotated[int | None, typer.Option(help="Only this model year or later.", show_default=False)] = None,
    hours_up_to: Annotated[float | None, typer.Option(help="Only with so few hours.", show_default=False)] = None,
    drive: Annotated[str | None, typer.Option(help="Only this drive: 2wd, 4wd ...", show_default=False)] = None,
    loader: Annotated[bool | None, typer.Option("--loader/--no-loader", help="Only with, or without.")] = None,
    width_up_to: Annotated[str | None, typer.Option(help="Only so wide: '6 ft'.", show_default=False)] = None,
    height_up_to: Annotated[str | None, typer.Option(help="Only so high: '8 ft'.", show_default=False)] = None,
    where: Where = None,
    with_second: Annotated[
        bool, typer.Option("--with-second", help="The best two tractors beside the best one.")
    ] = False,
    full: Annotated[bool, typer.Option("--full", help="Every table: tractors, margins, hours, what is open.")] = False,
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Rank tractors for a job: the size to buy, what decides it, how sure, and every margin."""
    enquiry = jobs.enquiry(job, store, among)
    from evener.enquiry.filters import filters
    from evener.results.choosing import keys_meeting
    from evener.results.ranking import rank

    path = None if where is None else opened(store).path
    only = filters(
        price_up_to=price_up_to,
        year_from=year_from,
        hours_up_to=hours_up_to,
        drive=drive,
        loader=loader,
        width_up_to=width_up_to,
        height_up_to=height_up_to,
        where={one: keys_meeting(path, "tractor", one) or () for one in where or () if path is not None},
    )
    answer = rank(enquiry, top=top, only=only, second=with_second)
    shown = jobs.units_of(units, output, enquiry.job.policy.units)
    if output is Format.json:
        render.json_out(answer.to_dict(shown))
    elif output is Format.csv:
        render.csv_out(answer.rows(shown))
    else:
        said = answer.to_dict(shown)
        if said["choice"] is not None:
            render.lines_out(first_screen.lines(said), markdown=output is Format.markdown)
        if with_second:
            who_does_what.pair(said, markdown=output is Format.markdown)
        if full or said["choice"] is None or output is Format.markdown:
            _screen(said, markdown=output is Format.markdown, among=enquiry.among)
        _filters(said["filters"], markdown=output is Format.markdown)
    return 0 if answer.pick and not answer.not_done else 1


def _filters(found: list[dict[str, Any]], *, markdown: bool) -> None:
    """Say what each filter took out, and the best of it."""
    if not found:
        return
    page = render.Page(markdown=markdown)
    page.heading("Filters")
    for one in found:
        best = f"; the best of them {one['best_removed']} ({one['label']})" if one["best_removed"] else ""
        silent = f"; kept though not stated: {one['not_stated']}" if one["not_stated"] else ""
        page.bullets([f"{one['filter']}: removed {one['removed']}{best}{silent}"])
    page.show()


def _screen(answer: dict[str, Any], *, markdown: bool, among: Sequence[str]) -> None:
    page = render.Page(markdown=markdown)
    _headline(page, answer)
    who_does_what.arrangement(page, answer)
    _table(page, answer, among)
    _margins(page, answer)
    _fixes(page, answer["tractors"])
    _work(page, answer["work"])
    _steps(page, answer["steps"], answer["size"])
    _open(page, answer["open"])
    page.heading("Cautions")
    page.bullets(answer["cautions"])
    page.show()


def _headline(page: render.Page, answer: dict[str, Any]) -> None:
    place, size, policy = answer["place"], answer["size"], answer["policy"]
    land = ", ".join(f"{words.quantity(use['area'], use['unit'])} {use['use']}" for use in place["land"] if use["area"])
    page.title(f"{place['name']}{f' ({land})' if land else ''}")
    missing = answer["not_sized"]
    if size is None or size["class"] is None:
        page.lead("No generic class does each of these tasks surely enough: what is left is hired, or said otherwise.")
    else:
        least = "At least" if missing else "Buy about"
        page.lead(f"{least} {words.quantity(size['pto_power'], size['unit'])} at the PTO: {size['label']}")
        asked = size.get("asked")
        sure, asked_for = words.percent(size["adequacy"]), words.percent(policy["confidence"])
        facts = [
            ("decided by", words.limit(size["decided_by"])),
            (
                "how sure",
                f"{sure} of {policy['draws']:,} draws meet every task (each: {asked_for} of the surest)",
            ),
        ]
        if asked:
            facts.append(("most power", f"{asked['task']}: {words.span(asked['demand'], asked['unit'])} at the PTO"))
        if answer["covered_by_owned"]:
            facts.append(("already owned", f"takes {', '.join(answer['covered_by_owned'])}: not counted here"))
        page.facts(facts)
    page.facts([*_claims(answer), *_plans(answer), *_gaps(answer)])
    for one in missing:
        page.lead(f"NOT IN THIS ANSWER: {one['task']}: {one['why']}. {one['fix']}.")
    for name in answer["not_done"]:
        page.lead(f"NOT DONE BY ANY SIZE: {name}. The answer is for the rest: have it hired, or say it otherwise.")


def _claims(answer: dict[str, Any]) -> list[tuple[str, str]]:
    """Return what stands against a claim that an owned machine takes a task."""
    doubtful = [one for one in answer["owned"] if one["verdict"] != "met"]
    return [("but check", f"{one['machine']}, {one['task']}: {one['why']}") for one in doubtful]


def _plans(answer: dict[str, Any]) -> list[tuple[str, str]]:
    """Return the pick without plans and with them, where they differ, and which plan makes the difference."""
    plans = answer["plans"]
    if plans is None:
        return []
    without, with_all = (plans[key] or "none that is listed" for key in ("pick_without", "pick_with"))
    if not plans["differ"]:
        return [("plans", f"make no difference: {with_all} with them and without")]
    deciding = [one for one in plans["plans"] if one["makes_the_difference"]]
    alone = "; ".join(f"{_named(one)} asks for {one['pick_if_so'] or 'more than is listed'}" for one in deciding)
    return [("plans", f"without them {without}, with them {with_all}: {alone or 'all of them together'}")]


def _named(plan: dict[str, Any]) -> str:
    year = f", {plan['year']}" if plan["year"] else ""
    return f"{plan['task']} ({words.percent(plan['chance'])}{year})"


def _gaps(answer: dict[str, Any]) -> list[tuple[str, str]]:
    """Return one line on what the place probably asks and no task names."""
    found = answer["reconcile"]
    if not found:
        return []
    more = f" and {len(found) - 1} more: evener check" if len(found) > 1 else ""
    return [("not counted", f"{found[0]['question']}{more}")]


def _table(page: render.Page, answer: dict[str, Any], among: Sequence[str]) -> None:
    rows = answer["tractors"]
    if not rows:
        page.lead(f"No record of kind {' or '.join(among)} is in the store.")
        return
    unit = rows[0]["unit"]
    priced = any(row["price"] is not None for row in rows)
    page.heading(f"{len(rows)} of {answer['ranked']} tractors ({', '.join(among)})")
    page.table(
        [
            "tractor",
            "",
            f"PTO {unit}",
            "fit",
            "sure",
            *(["price"] if priced else []),
            "tightest, or what it is short of",
            "assumed",
        ],
        [
            [
                row["tractor_id"],
                row["label"] + (f" ({row['owner']})" if row["owner"] else ""),
                "?" if row["pto_power"] is None else f"{row['pto_power']:.0f}",
                f"{row['fit']:.0f}" if row["meets"] else "-",
                words.percent(row["adequacy"]),
                *([f"{row['price']:,.0f}" if row["price"] is not None else "ask"] if priced else []),
                words.limit(row["limiting"]),
                words.assumed(row["assumed"]),
            ]
            for row in rows
        ],
        right={2, 3, 4, 5} if priced else {2, 3, 4},
    )


def _margins(page: render.Page, answer: dict[str, Any]) -> None:
    if not answer["tractors"]:
        return
    first = answer["tractors"][0]
    page.heading(f"What the work asks of {first['tractor_id']}, and what it has")
    lines = []
    for task in first["tasks"]:
        for axis in task["axes"]:
            offers = words.quantity(axis["capacity"], axis["unit"]) + (" (assumed)" if axis["assumed_from"] else "")
            lines.append(
                [
                    task["task"],
                    words.AXIS[axis["axis"]],
                    words.span(axis["demand"], axis["unit"]),
                    offers,
                    words.margin(axis["margin"]),
                    words.BASIS[axis["basis"]],
                ]
            )
        lines += [
            [task["task"], words.AXIS[gate["axis"]], gate["asked"], gate["offered"], "ok" if gate["ok"] else "NO", ""]
            for gate in task["gates"]
        ]
    page.table(["task", "", "asks", "has", "margin", "from"], lines, right={4})


def _fixes(page: render.Page, tractors: list[dict[str, Any]]) -> None:
    """Say what the first tractor needs fitted, and what would close its gaps."""
    if not tractors or not tractors[0]["fixes"]:
        return
    first = tractors[0]
    for needed, heading in ((True, "needs fitted"), (False, "would do with")):
        lines = [
            (one["task"], f"{words.AXIS[one['axis']]}: {words.fix(one)}")
            for one in first["fixes"]
            if one["needed"] is needed
        ]
        if lines:
            page.heading(f"What {first['tractor_id']} {heading}")
            page.bullets(f"{task}: {text}" for task, text in lines)


def _work(page: render.Page, work: list[dict[str, Any]]) -> None:
    if not work:
        return
    page.heading("Hours and days")
    page.table(
        ["task", "rate", "each time", "a year", "days needed", "days there", ""],
        [
            [
                one["task"],
                words.rate(one),
                words.measured(one["hours"]),
                words.measured(one["hours_a_year"]),
                rounded(one["days_needed"]),
                "" if one["days_there"] is None else rounded(one["days_there"]),
                {None: "", True: "fits", False: "DOES NOT FIT"}[one["fits"]],
            ]
            for one in work
        ],
        right={2, 3, 4, 5},
    )
    page.bullets(words.window(one) for one in work if one["fits"] is False)


def _steps(page: render.Page, steps: dict[str, Any], size: dict[str, Any] | None) -> None:
    page.heading("One size down, one size up")
    below, above = steps["below"], steps["above"]
    if below:
        failed = "; ".join(words.limit(one) for one in below["fails"][:3]) or "the tasks taken together"
        name = "down" if size and size["class"] else "nearest"
        page.facts([(name, f"{below['label']} meets {words.percent(below['adequacy'])}: fails {failed}")])
        helping = [one for one in below["fixes"] if not one["needed"]][:2]
        page.facts(("", f"it would do with {one['task']}: {words.fix(one)}") for one in helping)
    else:
        page.facts([("down", "no smaller class falls short: a smaller one than the library holds may do")])
    if above:
        bought = words.limit(above["limiting"])
        page.facts([("up", f"{above['label']} meets {words.percent(above['adequacy'])}: then {bought}")])
    elif size and size["class"]:
        page.facts([("up", "no larger class in the library meets the work")])


def _open(page: render.Page, found: list[dict[str, Any]]) -> None:
    if not found:
        return
    page.heading("Not settled (evener ask tells what is worth asking or measuring first)")
    page.bullets(f"{one['task']}: {words.SIZE.get(one['size'], one['size'])}{_span(one)}" for one in found)


def _span(one: dict[str, Any]) -> str:
    if one["size"] == "plan":
        return f", {one['text']}"
    if one["among"]:
        return f", {' or '.join(one['among'])}"
    if one["size"] == "slope":
        taken = f"{one['low'] * 100:.0f} to {one['high'] * 100:.0f} %"
    else:
        taken = words.span({"low": one["low"], "high": one["high"]}, "" if one["unit"] == "1" else one["unit"]).strip()
    return f", taken as {taken}" + (f" ({one['text']})" if one["text"].startswith("not said") else "")
