"""`evener assign`: a shed's season by dates, rules of fairness side by side, and the windows that clash."""

from __future__ import annotations

import sys
import time
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from evener.cli.options import Format, Replace, Store, UnitChoice
from evener.cli.output import render, words
from evener.cli.shed.opening import ShedFolder, undisturbed, units_of, usable
from evener.enquiry.refused import WrongUse

if TYPE_CHECKING:
    from evener.sheds.season import Assignment
    from evener.sheds.shed import Shed


class Calendar(StrEnum):
    """How a season is written."""

    table = "table"
    json = "json"
    csv = "csv"
    markdown = "markdown"
    ics = "ics"


class By(StrEnum):
    """What shares are taken by."""

    hectares = "hectares"
    hours = "hours"


class Rule(StrEnum):
    """Rules of fairness."""

    least = "least"
    own_first = "own_first"
    equal_share = "equal_share"
    rotation = "rotation"


def run(
    shed: ShedFolder,
    rule: Annotated[Rule, typer.Option(help="Rule of fairness the calendar follows.")] = Rule.own_first,
    beside: Annotated[str, typer.Option(help="Rules set beside it, several with commas.")] = "own_first,equal_share",
    by: Annotated[By, typer.Option(help="What members' shares are taken by.")] = By.hectares,
    member: Annotated[
        str | None, typer.Option(help="Only the calendar of one member (ics).", show_default=False)
    ] = None,
    within: Annotated[
        float | None,
        typer.Option(
            min=0.0,
            max=0.5,
            help="How near to the bound is near enough, as a share; exact for small sheds, 0.01 for large ones.",
            show_default=False,
        ),
    ] = None,
    gantt: Annotated[Path | None, typer.Option(metavar="FILE.svg", help="Draw the season.", show_default=False)] = None,
    replace: Replace = False,
    output: Annotated[Calendar, typer.Option("--format", help="How to write the season.")] = Calendar.table,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Plan a shed's season: fewest undone, then least late, then fewest km, by rules of fairness with their price."""
    begun = time.monotonic()
    opened = usable(shed, store)
    if member is not None and member not in (names := sorted(one.name for one in opened.record.members)):
        raise WrongUse(f"member: no member is called {member!r}; there are {', '.join(names)}")
    rules = [one.strip() for one in beside.split(",") if one.strip()]
    with undisturbed():
        answer = opened.assign(rule=rule.value, beside=rules, by=by.value, within=within)
    # The time is no part of the answer: the same shed gives the same bytes.
    sys.stderr.write(f"evener: planned in {time.monotonic() - begun:.1f} s\n")
    form = Format(output.value) if output is not Calendar.ics else Format.table
    shown = units_of(units, form, answer.units)
    if gantt is not None:
        _draw(answer, opened, gantt, store, replace=replace)
    if output is Calendar.ics:
        from evener.sheds.dates import calendar

        render.text_out(calendar(answer, member))
    elif output is Calendar.json:
        render.json_out(answer.to_dict(shown))
    elif output is Calendar.csv:
        render.csv_out(answer.rows(shown))
    else:
        _page(answer.to_dict(shown), markdown=output is Calendar.markdown)
    leading = next(one for one in answer.rules if one.rule == answer.rule)
    return 1 if leading.undone or leading.late_days else 0


def _draw(answer: Assignment, opened: Shed, file: Path, store: Path | None, *, replace: bool) -> None:
    from evener.opening import location
    from evener.sheds.picture import picture
    from evener.writing import write

    drawn = picture(answer, opened.record.hours_a_day_h)
    write(file, drawn, location(store), inputs=opened.read.files, replace=replace)


def _page(answer: dict[str, Any], *, markdown: bool) -> None:
    page = render.Page(markdown=markdown)
    page.title(f"{answer['shed']}: {answer['first']} to {answer['last']}")
    leading = next(one for one in answer["rules"] if one["rule"] == answer["rule"])
    page.lead(f"By this rule: {leading['label']}: {leading['says']}.")
    page.heading("Rules side by side, each with its price against the plan that favours nobody")
    page.table(
        ["rule", "undone", "late", "late days", "road", "most of his work late or undone", "price", "bound"],
        [
            [
                one["label"],
                str(one["undone"]),
                _late(one),
                str(one["late_days"]),
                _amount(one["road"]),
                "nobody" if one["worst"] is None else f"{one['worst']}, {words.percent(one['worst_share'])}",
                _price(one),
                "reached" if one["within"] < REACHED else f"within {one['within'] * 100:.1f} %",
            ]
            for one in answer["rules"]
        ],
        right={1, 2, 3, 4},
    )
    page.heading("The season")
    page.table(
        ["member", "task", "days", "tractor", "machine", "h", "road", ""],
        [_row(one) for one in sorted(answer["tasks"], key=_when)],
        right={5, 6},
    )
    page.heading("Members")
    page.table(
        ["member", "asked h", "late h", "undone h", "beyond h", "lent h", "borrowed h", "owed before", "owed after"],
        [[one["member"], *(f"{one[key]:.0f}" for key in HOURS)] for one in answer["members"]],
        right=set(range(1, 9)),
    )
    if answer["vetoes"]:
        page.heading("What a veto costs")
        page.bullets(_veto(one) for one in answer["vetoes"])
    if answer["clash"] is not None:
        _clash(page, answer["clash"])
    page.lead(
        "Days are of the usual year, each as long as it can be worked on average: a wet fortnight moves them all."
    )
    page.show()


REACHED = 1e-4
HOURS = ("asked_h", "late_h", "undone_h", "beyond_h", "lent_h", "borrowed_h", "owed_before_h", "owed_after_h")


def _when(one: dict[str, Any]) -> tuple[bool, str, str, str]:
    return (not one["days"], one["days"][0]["date"] if one["days"] else "", one["member"], one["task"])


def _row(one: dict[str, Any]) -> list[str]:
    if not one["days"]:
        return [one["member"], one["task"], "not done", "", "", "", "", one["why"] or ""]
    first, last = one["days"][0]["date"], one["days"][-1]["date"]
    days = first if first == last else f"{first} to {last[5:]}"
    late = sum(1 for day in one["days"] if day["late"])
    said = [f"{late} days late" if late > 1 else "1 day late"] if late else []
    said += [f"{one['left_h']:.1f} h left"] if one["left_h"] else []
    said += one["remedies"]
    return [
        one["member"],
        one["task"],
        days,
        one["tractor"],
        one["machine"],
        f"{one['hours']:.1f}",
        _amount(one["road"]),
        "; ".join(said),
    ]


def _amount(one: dict[str, Any]) -> str:
    return words.quantity(one["amount"], one["unit"])


def _late(one: dict[str, Any]) -> str:
    said = [_amount(one["late_land"])] if one["late_land"]["amount"] else []
    said += [f"{one['late_h']:.1f} h"] if one["late_h"] else []
    return " and ".join(said) or "none"


def _price(one: dict[str, Any]) -> str:
    if one["rule"] == "least":
        return ""
    said = [f"{one['undone_more']:+d} undone"] if one["undone_more"] else []
    said += [f"{one['late_days_more']:+d} days late"] if one["late_days_more"] else []
    more = one["road_more"]
    said += [f"{more['amount']:+.1f} {more['unit']}"] if abs(more["amount"]) >= ROUNDED else []
    return ", ".join(said) or "nothing"


ROUNDED = 0.05


def _veto(one: dict[str, Any]) -> str:
    task = f" for {one['task']}" if one["task"] else ""
    less = one["road_less"]
    said = [f"{one['undone_less']:d} tasks undone"] if one["undone_less"] else []
    said += [f"{one['late_days_less']:d} days late"] if one["late_days_less"] else []
    said += [f"{less['amount']:.1f} {less['unit']}"] if abs(less["amount"]) >= ROUNDED else []
    return f"{one['member']} does not want {one['refuses']}{task}: it costs {', '.join(said) or 'nothing'}"


def _clash(page: render.Page, clash: dict[str, Any]) -> None:
    many = len(clash["windows"])
    least = "no smaller set clashes" if clash["smallest"] else "none of them can be spared"
    page.heading(
        f"{many} windows clash by {clash['short_h']:.1f} h ({least})" if many > 1 else "One window is too short"
    )
    page.bullets(clash["windows"])
    if many == 1:
        page.lead(f"It is short by {clash['short_h']:.1f} h.")
    elif clash["things"]:
        page.lead(f"All of them turn to {', '.join(clash['things'])}.")
