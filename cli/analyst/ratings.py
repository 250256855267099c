"""`evener ratings`: the card of a family's model, to read or to print."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from evener.cli.options import CardFormat, UnitSystem
from evener.cli.output import render, words
from evener.cli.output.latex import inert
from evener.cli.store.opened import opened
from evener.results import families
from evener.scoring.core.printing import Units, rounded, show
from evener.scoring.ratings.card import Card, card, card_rows
from evener.scoring.ratings.columns import UNITS, Quantity
from evener.writing import written_into

QUANTITIES: Mapping[Quantity, str] = {
    "power": "PTO power",
    "tractor": "tractor power",
    "mass": "mass",
    "reach": "centre of mass behind the hitch",
}


def run(
    family: str,
    quantity: Quantity,
    *,
    plots: Path | None,
    replace: bool = False,
    output: CardFormat,
    units: UnitSystem | None,
    store: Path | None,
) -> int:
    """Print the card; return 0, or 1 where the family has no model of the quantity."""
    path = opened(store).path
    kind, columns = families.columns(path, family)
    found = card(columns, quantity)
    if isinstance(found, str):
        render.complain(f"{kind.family} has no model of its {quantity}: {found}")
        return 1
    if plots is not None:
        _draw(found, plots, path, replace=replace)
    if output is CardFormat.json:
        render.json_out(found.to_dict())
    elif output is CardFormat.csv:
        render.csv_out([dict(row) for row in card_rows(found)])
    elif output is CardFormat.latex:
        render.text_out(latex(found))
    else:
        page = render.Page(markdown=output is CardFormat.markdown)
        _fill(page, found, units.value if units is not None else "us")
        page.show()
    return 0


def latex(found: Card) -> str:
    """Return the coefficients as a LaTeX table, with what a reader needs to use them.

    Parameters
    ----------
    found : the card
    """
    model = found.model
    name = inert(found.family.replace("_", " "))
    rows = "\n".join(
        f"{inert(row['name'].replace('_', ' '))} & {row['value']:.4f} & {row['standard_error']:.4f} \\\\"
        for row in found.coefficients()
    )
    sizes = ", ".join(
        f"{inert(size.replace('_', ' '))} over {centre:.4g}"
        for size, centre in zip(model.variables, model.centres, strict=True)
    )
    caption = (
        f"{name}, {model.quantity} [{UNITS[model.quantity]}]: {inert(model.formula)}; {sizes}; "
        f"n = {model.n}, {len(model.aside)} set aside, residual standard deviation {model.spread:.3f}"
    )
    return (
        "\\begin{table}\n\\begin{tabular}{lrr}\ncoefficient & value & standard error \\\\\n\\hline\n"
        f"{rows}\n\\end{{tabular}}\n\\caption{{{caption}}}\n\\end{{table}}\n"
    )


def _fill(page: render.Page, found: Card, units: Units) -> None:
    model, unit = found.model, UNITS[found.model.quantity]
    label = found.family.replace("_", " ")
    sizes = words.joined([_plain(name) for name in model.variables])
    page.title(f"{label}: {QUANTITIES[model.quantity]}{f' by {sizes}' if sizes else ''}")
    page.facts(_facts(found))
    page.heading("Coefficients (ln of the unit)")
    rows = [
        [row["name"], f"{row['value']:.4f}", f"{row['standard_error']:.4f}", f"{math.exp(row['value']):.2f}"]
        if " " in row["name"]
        else [row["name"], f"{row['value']:.4f}", f"{row['standard_error']:.4f}", ""]
        for row in found.coefficients()
    ]
    page.table(["coefficient", "value", "standard error", "times"], rows, right={1, 2, 3})
    if sizes and any(" " in row[0] for row in rows):
        page.bullets([f"A build or a duty counts beside {sizes}, not instead: it tells machines alike in these apart."])
    if model.variables:
        page.heading(f"What it gives{_held(found, units)}, builds and duties as they usually come")
        page.table(
            ["size", "middle", "the mean, 95 %", "95 of 100 machines"], list(_bands(found, unit, units)), right={0, 1}
        )
    if model.groups:
        page.heading("Makers, owners or files")
        groups = sorted(model.groups.items(), key=lambda one: one[1])
        rows = [[name, f"{value:+.3f}", f"{model.group_errors[name]:.3f}"] for name, value in groups]
        page.table(["group", "effect on ln", "standard error"], rows, right={1, 2})
    if model.aside:
        page.heading("Set aside or left out")
        page.facts((one.record, f"{one.reason}{_off(one.factor)}") for one in model.aside)
    page.heading("Checks")
    page.facts((one.name, f"{one.says} (p {one.p:.2g})") for one in found.checks)
    page.heading("Records that move the line most")
    page.table(
        ["record", "the line at its size, with it over without", "shift of all coefficients"],
        [
            [record, f"{factor - 1:+.1%}".replace("%", " %"), f"{shift:.2f}"]
            for record, shift, factor in found.influence
        ],
        right={1, 2},
    )


def _facts(found: Card) -> Iterator[tuple[str, str]]:
    model = found.model
    yield "form", f"{model.form}: {model.formula}"
    centres = ", ".join(
        f"{_plain(name)} {centre:.4g}" for name, centre in zip(model.variables, model.centres, strict=True)
    )
    yield "centres", f"x is the size over its centre: {centres or 'none'} (SI)"
    yield "records", f"{model.n} of which {model.library} of the library; {len(model.aside)} set aside or left out"
    slope = f", times size^{model.spread_slope:.2g}" if model.spread_slope else ""
    yield "spread", f"{model.spread:.3f} in ln, build, duty and group known{slope}"
    between = (model.between_builds, model.between_duties, model.between_groups)
    yield "between", "builds {:.3f}, duties {:.3f}, groups {:.3f} in ln".format(*between)
    yield "errors", ", ".join(f"{form} {error:.3f}" for form, error in model.errors.items()) or "no size to go by"
    full, without = model.moved_by_aside, model.moved_by_verdicts
    yield "moved", f"all set aside counted in full: x {full:.3f}; without verdicts: x {without:.3f}"


def _bands(found: Card, unit: str, units: Units) -> Iterator[Sequence[str]]:
    name = found.model.variables[0]
    field = "centre_of_mass_m" if found.model.quantity == "reach" else ""
    mean_low, mean_high = found.band.interval(of_one=False)
    low, high = found.band.interval()

    def say(value: float) -> str:
        return show(float(value), unit, units, field)

    for k, size in enumerate(found.band_sizes):
        yield (
            _size(name, size, units),
            say(found.band.middle[k]),
            f"{say(mean_low[k])} to {say(mean_high[k])}",
            f"{say(low[k])} to {say(high[k])}",
        )


def _off(factor: float) -> str:
    return f", {factor:.2f} times its line" if factor == factor else ""  # noqa: PLR0124  NaN where it has none


def _held(found: Card, units: Units) -> str:
    """Return at what the sizes beside the first are held."""
    others = zip(found.model.variables[1:], found.model.centres[1:], strict=True)
    said = [f"{_plain(name)} {_size(name, centre, units)}" for name, centre in others]
    return f" at {words.joined(said)}" if said else ""


def _size(name: str, value: float, units: Units) -> str:
    unit = {"kw": "kW", "l": "L"}.get(name.rsplit("_", 1)[1], name.rsplit("_", 1)[1])
    return f"{rounded(value)} {unit}" if unit in ("m2", "m3") else show(value, unit, units, name)


def _plain(name: str) -> str:
    return words.SIZE.get(name, name.rsplit("_", 1)[0].replace("_", " "))


def _draw(found: Card, folder: Path, store: Path, *, replace: bool) -> None:
    from evener.scoring.ratings.card_plots import draw_card

    with written_into(folder, store, replace=replace) as unfinished:
        draw_card(found, unfinished)
