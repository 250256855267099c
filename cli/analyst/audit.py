"""`evener audit`: which rated powers an analyst should look at, on what evidence, and how strong it is."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evener.cli.options import Format, Output, Replace, Store, UnitChoice, Where
from evener.cli.output import render
from evener.cli.store.opened import opened
from evener.writing import written_into

if TYPE_CHECKING:
    from evener.results.auditing import Audit
    from evener.scoring.core.printing import Units


def run(
    families: Annotated[
        list[str] | None, typer.Argument(metavar="[FAMILY]...", help="Families; all when left out.", show_default=False)
    ] = None,
    by: Annotated[
        str,
        typer.Option(
            metavar="GROUP,...",
            help="Compare whole groups of records: batch, maker, owner, duty, build, model_year, or a kept column.",
        ),
    ] = "batch",
    where: Where = None,
    every: Annotated[bool, typer.Option("--all", help="With families of which no record states a rating.")] = False,
    plots: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Draw each family's line into a folder.", show_default=False)
    ] = None,
    records: Annotated[bool, typer.Option("--records", help="Show what is measured of every record too.")] = False,
    top: Annotated[int, typer.Option(min=1, max=100_000, help="How many flags to show on screen.")] = 40,
    replace: Replace = False,
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Audit rated PTO powers: lines per family, and records far from their peers or in the wrong unit."""
    data = output in (Format.json, Format.csv)
    shown: Units = units.value if units is not None else "si" if data else "us"
    groups = [one.strip() for one in by.split(",") if one.strip()]
    held = opened(store)
    found = held.audit(families or [], where=where, by=groups, every=every)
    if plots is not None:
        _draw(found, plots, shown, held.path, replace=replace)
    if output is Format.json:
        render.json_out(found.to_dict(shown, records=records))
    elif output is Format.csv and records:
        render.csv_out(found.record_rows())
    elif output is Format.csv:
        from evener.results.auditing import FLAG_COLUMNS

        render.csv_out(found.rows(shown), FLAG_COLUMNS)
    else:
        from evener.cli.analyst import audit_page

        page = render.Page(markdown=output is Format.markdown)
        audit_page.fill(page, found.report, found.files, shown, top=top, records=records, closely=bool(families))
        page.show()
    return 1 if found.report.flags or found.report.groups else 0


def _draw(found: Audit, folder: Path, units: Units, store: Path, *, replace: bool) -> None:
    from evener.scoring.audit.plots import plots

    with written_into(folder, store, replace=replace) as unfinished:
        drawn = plots(found.report, unfinished, units=units)
    sys.stderr.write(f"evener: {len(drawn)} plot{'' if len(drawn) == 1 else 's'} in {folder}\n")
