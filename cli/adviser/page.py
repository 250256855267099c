"""`evener page`: the page the customer takes home, as one file that needs nothing else, or as Markdown."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from evener.cli.adviser import jobs
from evener.cli.options import Among, Job, Replace, Store, UnitChoice
from evener.cli.output import render
from evener.cli.store.opened import opened
from evener.enquiry.refused import WrongUse
from evener.writing import check_target, write


class PageFormat(StrEnum):
    """How a page is written."""

    html = "html"
    markdown = "markdown"


def run(
    job: Job,
    out: Annotated[Path | None, typer.Option(help="File to write. Markdown goes to the screen without it.")] = None,
    among: Among = "class",
    top: Annotated[int, typer.Option(min=1, max=20, help="How many tractors to name.")] = 3,
    units: UnitChoice = None,
    adviser: Annotated[str | None, typer.Option(help="Whose advice it is, to print.", show_default=False)] = None,
    output: Annotated[PageFormat, typer.Option("--format", help="How to write the page.")] = PageFormat.html,
    day: Annotated[str | None, typer.Option(help="Day to print. Today when left out.", show_default=False)] = None,
    replace: Replace = False,
    store: Store = None,
) -> int:
    """Write the page the customer takes home: what to buy, why, what it hangs on; two printed sides."""
    if out is None and output is PageFormat.html:
        raise WrongUse("out: a page is written to a file, and none is named; type --out FILE.html")
    held = opened(store)
    if out is not None:
        check_target(out, held.path, inputs=[job], replace=replace)
    enquiry = jobs.enquiry(job, held.path, among)
    from evener import __version__
    from evener.cli.page import writing
    from evener.cli.page.content import page
    from evener.cli.page.gathered import Gathered
    from evener.ranking.ranking import rank

    shown = units.value if units else enquiry.job.policy.units
    ranking = rank(enquiry, top=top)
    made = page(Gathered(enquiry, ranking, shown), day=day or _today(), adviser=adviser, version=__version__)
    text = writing.html(made) if output is PageFormat.html else writing.markdown(made)
    if out is None:
        render.text_out(text)
    else:
        write(out, text, held.path, inputs=[job], replace=replace)
        render.complain(f"wrote {out}")
    return 0 if ranking.pick else 1


def _today() -> str:
    today = dt.datetime.now().astimezone().date()
    return f"{today.day} {today:%B %Y}"
