"""`evener cost`: what a tractor costs on a place in a year, by task and by year, with every step of the sum."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from evener.cli.adviser import jobs
from evener.cli.options import Among, Format, Job, Output, Store, UnitChoice
from evener.cli.output import render, words
from evener.cli.output.symbols import legend

PARTS = ("owning", "machines", "running", "hired", "undone", "total")


def run(
    job: Job,
    tractor: Annotated[
        str | None, typer.Argument(metavar="[TRACTOR]", help="Id of a tractor record; else the one that costs least.")
    ] = None,
    among: Among = "class",
    steps: Annotated[bool, typer.Option("--steps", help="Print every step of the sum, in the middle case.")] = False,
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Say what a tractor costs in a year: hours, litres and money by task and by year."""
    enquiry = jobs.enquiry(job, store, among)
    from evener.comparing.yearly import cost

    answer = cost(enquiry, tractor)
    shown = jobs.units_of(units, output, enquiry.job.policy.units)
    if output is Format.json:
        render.json_out(answer.to_dict(shown))
    elif output is Format.csv:
        render.csv_out(answer.rows(shown))
    else:
        _page(answer.to_dict(shown), markdown=output is Format.markdown, steps=steps)
    return 0


def _page(answer: dict[str, Any], *, markdown: bool, steps: bool) -> None:
    page, one = render.Page(markdown=markdown), answer["tractor"]
    page.title(f"{answer['place']}: {one['label']} ({one['tractor_id']})")
    page.lead(
        f"{words.money(one['a_year'])} {answer['currency']} a year; hiring all: {words.money(answer['hire_all'])}."
    )
    page.facts(
        [
            ("price", f"{words.money(one['price'])} ({words.PRICE_BASIS[one['price_basis']]})"),
            ("ownership", f"{words.money(one['ownership'])}: depreciation, interest, taxes, insurance, housing"),
            ("repair", words.money(one["repair"])),
            ("running", f"{words.money(one['running'])}: fuel, oil and driver"),
            ("machines", f"{words.money(one['machines'])}: ownership and repair of those still to be bought"),
            ("hired", words.money(one["hired"])),
            ("left undone", f"{words.money(one['undone'])}: what listed work is worth beyond its hire"),
            ("other size", f"{words.money(one['changed'])}: changes of size for what is planned"),
            ("at worst", f"up to {words.money(one['worst'])} in 19 of 20 cases"),
        ]
    )
    fuel = answer["tasks"][0]["fuel"]["unit"]
    page.heading("By task, a year")
    page.table(
        ["task", "", "comes", "does", "hours", fuel, "running", "machine", "hired", "hire is"],
        [
            [
                each["task"],
                each["kind"],
                words.percent(each["comes"]),
                words.percent(each["does"]),
                f"{each['hours']:.0f}",
                f"{each['fuel']['middle']:.0f}",
                words.money(each["running"] + each["there"]),
                words.money(each["machine"]),
                words.money(each["hired"]),
                f"{each['rate']:.2f} per {each['rate_unit']} ({each['rate_status']})",
            ]
            for each in answer["tasks"]
        ],
        right={2, 3, 4, 5, 6, 7, 8},
    )
    if answer["machines"]:
        page.heading("Machines still to be bought, a year if they are")
        page.table(
            ["machine", "price", "ownership", "repair", "price is"],
            [
                [
                    each["machine"],
                    words.money(each["price"]),
                    words.money(each["ownership"]),
                    words.money(each["repair"]),
                    f"{words.PRICE_BASIS[each['price_basis']]} ({each['source']}, {each['status']})",
                ]
                for each in answer["machines"]
            ],
            right={1, 2, 3},
        )
    for name in answer["unpriced"]:
        page.lead(f"The price of the machine for {name} is not known: it is in no sum here, and still to be bought.")
    page.heading("By year")
    page.table(
        ["year", "owning", "machines", "running", "hired", "left undone", "in all"],
        [
            [
                str(each["year"]),
                *(words.money(each[name]) for name in PARTS),
            ]
            for each in answer["years"]
        ],
        right={1, 2, 3, 4, 5, 6},
    )
    page.heading("What it rests on")
    page.bullets(
        f"{each['name'].replace('_', ' ')}: {words.figure(each['value'], each['measure'])} "
        f"({words.sourced(each['source'], each['status'])})"
        for each in answer["terms"]
    )
    if steps:
        page.heading("Step by step, in the middle case")
        page.bullets(words.step(each) for each in answer["steps"])
        page.heading("What the letters mean")
        page.bullets(legend(answer["steps"]))
    page.show()
