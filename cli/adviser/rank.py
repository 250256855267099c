"""`evener rank`: the size to buy first, then the table, the size below and above, what is open, and the cautions."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from evener.cli.adviser import first_screen, jobs
from evener.cli.options import Format, Job, Output, Store, UnitChoice, Where
from evener.cli.output import render, who_does_what, whole_ranking
from evener.cli.store.opened import opened


def run(
    job: Job,
    among: Annotated[str, typer.Option(help="Kinds to rank: class, stock, member; several with commas.")] = "class",
    top: Annotated[int, typer.Option(min=1, max=1000, help="How many tractors to show.")] = 8,
    price_up_to: Annotated[
        float | None, typer.Option(min=0, help="Only those up to this price.", show_default=False)
    ] = None,
    year_from: Annotated[
        int | None, typer.Option(min=1900, help="Only this model year or later.", show_default=False)
    ] = None,
    hours_up_to: Annotated[
        float | None, typer.Option(min=0, help="Only with so few hours.", show_default=False)
    ] = None,
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
    from evener.ranking.ranking import rank
    from evener.results.choosing import keys_meeting

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
            whole_ranking.show(said, markdown=output is Format.markdown, among=enquiry.among)
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
        by_estimate = f" ({one['by_estimate']} by an estimated price)" if one["by_estimate"] else ""
        silent = f"; kept though not stated: {one['not_stated']}" if one["not_stated"] else ""
        page.bullets([f"{one['filter']}: removed {one['removed']}{by_estimate}{best}{silent}"])
    page.show()
