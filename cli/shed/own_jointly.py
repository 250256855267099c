"""`evener own-jointly`: what to own together, who gains, and how its cost is split."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from evener.cli.options import Format, Output, Store
from evener.cli.output import render, words
from evener.cli.shed.opening import ShedFolder, undisturbed, usable


def run(
    shed: ShedFolder,
    among: Annotated[str, typer.Option(help="Tractors to choose among: class or stock.")] = "class",
    hire: Annotated[
        float | None, typer.Option(min=0.01, help="What an hour of hired work costs.", show_default=False)
    ] = None,
    top: Annotated[int, typer.Option(min=1, max=50, help="How many to tell.")] = 5,
    output: Output = Format.table,
    store: Store = None,
) -> int:
    """Say what to own together: the tractor, machine or pair with most worth, for whom, and two splits of its cost."""
    with undisturbed():
        answer = usable(shed, store).own_jointly(among=among, top=top, hire=hire)
    if output is Format.json:
        render.json_out(answer.to_dict())
    elif output is Format.csv:
        render.csv_out(answer.rows())
    else:
        _page(answer.to_dict(), markdown=output is Format.markdown)
    return 0 if answer.candidates or not answer.missed else 1


def _page(answer: dict[str, Any], *, markdown: bool) -> None:
    page = render.Page(markdown=markdown)
    page.title(f"{answer['shed']}: what to own together")
    if not answer["missed"]:
        page.lead("Nothing is undone or late: nothing more is needed.")
    elif not answer["candidates"]:
        page.lead("Nothing here does what is missed; evener cover tells how far each falls short.")
    if answer["missed"]:
        page.facts([("undone or late", "; ".join(answer["missed"]))])
        page.facts([("home", f"it would stand at {answer['home']}, who has the least road to all")])
    for number, one in enumerate(answer["candidates"], start=1):
        _candidate(page, number, one)
    if answer["candidates"]:
        page.lead(
            "Need splits by what each member adds to the size that is needed (Shapley; PTO power and mass stand for "
            "cost). Neither split is a price: set the cost against hiring with your own figures."
        )
    page.show()


def _candidate(page: render.Page, number: int, one: dict[str, Any]) -> None:
    page.heading(f"{number}. {' with '.join(one['labels'])} ({', '.join(one['things'])})")
    facts = [
        ("it does", "; ".join(one["tasks"])),
        ("worth", f"{one['undone_less_h']:.0f} h no longer undone, {one['late_less_h']:.0f} h no longer late"),
        ("used", f"{one['used_h']:.0f} h a season"),
        ("it matters", f"{words.cases(one['chance'])} it does something that nothing else does"),
    ]
    if one["hire_saved"] is not None:
        facts.append(("hire saved", f"{one['hire_saved']:,.0f} a season"))
    if one["seasons"] is not None:
        facts.append(("price", f"{one['price']:,.0f}, or {one['seasons']:g} seasons of that hire"))
    page.facts(facts)
    page.table(
        ["member", "spared h", "used h", "split by use", "split by need"],
        [
            [
                share["member"],
                f"{share['spared_h']:.0f}",
                f"{share['used_h']:.0f}",
                words.percent(share["by_use"]),
                words.percent(share["by_need"]) + (f" +-{share['error'] * 100:.1f}" if share["error"] else ""),
            ]
            for share in one["shares"]
        ],
        right={1, 2, 3, 4},
    )
