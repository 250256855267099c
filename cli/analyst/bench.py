"""The commands of an analyst's bench: the card of a family's ratings, a prediction, a verdict on a record."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated

import typer

from evener.cli.options import CardFormat, Format, Judgement, Output, Rated, Replace, Store, UnitChoice
from evener.enquiry.refused import WrongUse


def ratings(
    family: Annotated[str, typer.Argument(metavar="FAMILY", help="As: evener list families.", show_default=False)],
    of: Annotated[Rated, typer.Option("--of", help="What the model is of.")] = Rated.power,
    plots: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Draw line, residuals and quantiles.", show_default=False)
    ] = None,
    replace: Replace = False,
    output: Annotated[CardFormat, typer.Option("--format", help="How to write the answer.")] = CardFormat.table,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Show the card of a family's model: coefficients with errors, records used and set aside, bands and checks."""
    from evener.cli.analyst import ratings as shown

    return shown.run(family, of.value, plots=plots, replace=replace, output=output, units=units, store=store)


def predict(
    family: Annotated[str, typer.Argument(metavar="FAMILY", help="As: evener list families.", show_default=False)],
    width: Annotated[str | None, typer.Option(help="Working width, as '6 ft'.", show_default=False)] = None,
    stems: Annotated[str | None, typer.Option(help="Thickest stem, as '2 in'.", show_default=False)] = None,
    size: Annotated[
        list[str] | None,
        typer.Option(metavar="FIELD=VALUE", help="Another size, as tank='300 gal'.", show_default=False),
    ] = None,
    build: Annotated[str | None, typer.Option(help="As records say it, as mounted.", show_default=False)] = None,
    duty: Annotated[str | None, typer.Option(help="light, medium or heavy.", show_default=False)] = None,
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Predict what a machine of a size is rated for, weighs and reaches, with intervals."""
    from evener.cli.analyst import predict as shown

    given = {"working_width_m": _with_unit("width", width), "max_stem_m": _with_unit("stems", stems)}
    for one in size or []:
        name, equals, value = one.partition("=")
        if not equals or not value.strip():
            raise WrongUse(f"size: {one!r} has no value; write it as --size tank='400 L'")
        given[name.strip()] = value.strip()
    stated = {name: value for name, value in given.items() if value is not None}
    return shown.run(family, stated, build=build, duty=duty, output=output, units=units, store=store)


def _with_unit(option: str, said: str | None) -> str | None:
    """Return a length as it was said; a bare number may be feet or metres."""
    if said is not None and re.fullmatch(r"[\d.,\s]+", said):
        raise WrongUse(f"{option}: {said!r} has no unit; write it with one, as '6 ft'")
    return said


def judge(
    implement: Annotated[
        str, typer.Argument(metavar="IMPLEMENT", help="As: evener list implements.", show_default=False)
    ],
    verdict: Annotated[Judgement, typer.Argument(metavar="VERDICT", help="What you hold of it.", show_default=False)],
    why: Annotated[str, typer.Option(metavar="TEXT", help="The reason.", show_default=False)],
    corrections: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="FIELD=VALUE", help="What a corrected record should hold.", show_default=False),
    ] = None,
    by_whom: Annotated[
        str | None, typer.Option(metavar="NAME", help="Who judges. Else the store's owner.", show_default=False)
    ] = None,
    output: Output = Format.table,
    store: Store = None,
) -> int:
    """Judge an implement record: sound, corrected or left out of every fit. The record itself stays as it is."""
    from evener.cli.analyst import judge as shown

    return shown.run(
        implement, verdict, why=why, corrections=corrections or [], by_whom=by_whom, output=output, store=store
    )
