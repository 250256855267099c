"""`evener predict`: what a machine of a size is rated for, weighs and reaches, by its family's model."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from evener.cli.options import Format, UnitSystem
from evener.cli.output import render
from evener.cli.store.opened import opened
from evener.enquiry.refused import WrongUse
from evener.ingest.rows.known import known_in
from evener.ingest.rows.single import read_figures
from evener.results import families
from evener.schema.records import Implement
from evener.schema.store import connection as store_module
from evener.scoring.core.printing import Units, show
from evener.scoring.ratings.columns import FIELDS, UNITS, Quantity
from evener.scoring.ratings.family_model import predict
from evener.scoring.ratings.fitting import fit_family
from evener.scoring.ratings.sizes import DERIVED, size_of

OPTIONS = {"working_width_m": "width", "max_stem_m": "stems"}
TITLES: Mapping[Quantity, str] = {
    "power": "PTO power",
    "tractor": "tractor power",
    "mass": "mass",
    "reach": "centre of mass",
}


def predictions(path: Path, family: str, given: Mapping[str, str], build: str | None, duty: str | None) -> Any:
    """Return what a family's model gives for a machine.

    Parameters
    ----------
    path : the store
    family : its name, as people write it
    given : its sizes, by the field's name: working_width_m="6 ft"
    build, duty : as records say them

    Raises
    ------
    evener.ingest.rows.single.CannotRead
        A size cannot be read, the first size of the family is missing, or no record has that build or duty.
    """
    kind, columns = families.columns(path, family)
    with store_module.open_read(path) as con:
        known = known_in(con)
    machine = Implement("-", kind.family, "-")
    figures: dict[str, Any] = dict(read_figures(kind.family, given, known))
    machine = replace(machine, **figures)
    sizes = [size_of(machine, name) for name in columns.variables]
    if sizes and sizes[0] is None:
        needed = " and ".join(
            DERIVED[columns.variables[0]][1] if columns.variables[0] in DERIVED else columns.variables[:1]
        )
        option = OPTIONS.get(needed, f"size {needed.split()[0]}")
        raise WrongUse(f"{option} is missing: a {kind.label.lower()} goes by it; say it, as --{option}='6 ft'")
    model = fit_family(columns)
    rows: list[dict[str, Any]] = []
    for quantity, one in model.quantities.items():
        for option, said, levels in (("build", build, columns.build.names), ("duty", duty, columns.duty.names)):
            if said is not None and said not in levels:
                raise WrongUse(
                    f"{option} takes {', '.join(levels) or 'nothing'} for a {kind.label.lower()}, not {said}"
                )
        level = predict(model, sizes, build, duty, quantity=quantity)
        if level is None:
            continue
        low, high = level.interval()
        mean_low, mean_high = level.interval(of_one=False)
        rows.append(
            {
                "quantity": quantity,
                "unit": UNITS[quantity],
                "middle": float(level.middle[0]),
                "low": float(low[0]),
                "high": float(high[0]),
                "mean_low": float(mean_low[0]),
                "mean_high": float(mean_high[0]),
                "inside": bool(level.inside[0]),
                "n": one.n,
            }
        )
    return {"schema": 1, "family": kind.family, "build": build, "duty": duty, "sizes": figures, "predictions": rows}


def run(
    family: str,
    given: Mapping[str, str],
    *,
    build: str | None,
    duty: str | None,
    output: Format,
    units: UnitSystem | None,
    store: Path | None,
) -> int:
    """Print the predictions; return 0, or 1 where the family has no model."""
    answer = predictions(opened(store).path, family, given, build, duty)
    rows = answer["predictions"]
    if output is Format.json:
        render.json_out(answer)
    elif output is Format.csv:
        render.csv_out(rows)
    else:
        page, shown = render.Page(markdown=output is Format.markdown), _units(units)
        page.title(f"{answer['family'].replace('_', ' ')}: what a machine of this size is rated for")
        page.facts((TITLES[row["quantity"]], _said(row, shown)) for row in rows)
        if any(not row["inside"] for row in rows):
            page.lead("The size lies outside the records' own: the line is stretched there.")
        page.show()
    return 0 if rows else 1


def _units(units: UnitSystem | None) -> Units:
    return units.value if units is not None else "us"


def _said(row: Mapping[str, Any], units: Units) -> str:
    names = ("middle", "low", "high", "mean_low", "mean_high")
    middle, low, high, mean_low, mean_high = (
        show(row[name], row["unit"], units, FIELDS[row["quantity"]]) for name in names
    )
    where = " behind the hitch" if row["quantity"] == "reach" else ""
    return (
        f"{middle}{where}; 95 of 100 machines {low} to {high}, their mean {mean_low} to {mean_high}; {row['n']} records"
    )
