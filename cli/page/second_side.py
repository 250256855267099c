"""The second side: margins and hours of each task, plans, what is open or was taken for granted, cautions, sources."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from evener.cli.output import words
from evener.cli.output.citations import sources
from evener.cli.page import plain
from evener.cli.page.in_short import MOST_CAUTIONS, Said, name_of

if TYPE_CHECKING:
    from evener.cli.page.gathered import Gathered

HEADER = ("Task", "Where it is tightest", "To spare", "Hours a year", "Takes", "You have")
STATUS = {
    "published": "published",
    "memory": "published, quoted from memory",
    "practice": "custom of the trade",
    "invented": "invented for demonstration",
    "customer": "said by you",
}


def tasks(gathered: Gathered) -> tuple[tuple[str, ...], ...]:
    """Return a row for each task."""
    first = gathered.first
    if first is None:
        return ()
    times = {one["task"]: one for one in gathered.answer["work"]}
    return tuple(_row(task, times.get(task["task"])) for task in first["tasks"])


def _row(task: Mapping[str, Any], time: Mapping[str, Any] | None) -> tuple[str, ...]:
    shut = [gate for gate in task["gates"] if not gate["ok"]]
    known = [one for one in task["axes"] if one["margin"] is not None]
    if shut:
        tight, spare = plain.short_axis(shut[0]["axis"]), "does not fit"
    elif len(known) < len(task["axes"]):
        unknown = next(one for one in task["axes"] if one["margin"] is None)
        tight, spare = plain.short_axis(unknown["axis"]), "not known"
    elif known:
        least = min(known, key=lambda one: one["margin"])
        tight, spare = plain.short_axis(least["axis"]), plain.to_spare(least["margin"])
    else:
        tight, spare = "asks nothing measurable", ""
    if time is None:
        return task["task"], tight, spare, "", "", ""
    there = "not said" if time["days_there"] is None else plain.days(time["days_there"])
    return task["task"], tight, spare, plain.hours(time["hours_a_year"]), plain.days(time["days_needed"]), there


def said(gathered: Gathered) -> tuple[Said, ...]:
    """Return the second side under its headings."""
    parts = (
        ("Other tractors that were compared", _others(gathered), False),
        ("Plans", _plans(gathered), False),
        ("Work the place may have that nobody named", _gaps(gathered), False),
        ("From your sheet, and not settled", _open(gathered, said=True), True),
        ("Nobody said; usual values were used", _open(gathered, said=False), True),
        ("What nobody can know beforehand", _uncertain(gathered), False),
        ("Be careful too", iter(gathered.answer["cautions"][MOST_CAUTIONS:]), True),
        ("Where the numbers come from", _sources(gathered), True),
    )
    found = ((heading, tuple(sentences), listed) for heading, sentences, listed in parts)
    return tuple(Said(heading, sentences, listed) for heading, sentences, listed in found if sentences)


def _others(gathered: Gathered) -> Iterator[str]:
    for row in gathered.answer["tractors"][1:]:
        name = name_of(row)
        price = f" Price asked {row['price']:,.0f}." if row["price"] is not None else ""
        where = f" {plain.limit(row['limiting'])}." if row["limiting"] else ""
        yield f"{name[:1].upper()}{name[1:]}: does it all {plain.cases(row['adequacy'])}.{where}{price}"


def _plans(gathered: Gathered) -> Iterator[str]:
    plans = gathered.answer["plans"]
    if plans is None:
        return
    for one in plans["plans"]:
        when = f" in {one['year']}" if one["year"] else ""
        effect = "changes the tractor" if one["makes_the_difference"] else "asks for the same tractor"
        yield f"{one['task']}{when}, chance {words.percent(one['chance'])}: {effect}."


def _gaps(gathered: Gathered) -> Iterator[str]:
    found = gathered.answer["reconcile"]
    if found:
        yield " ".join(one["question"] for one in found)
        yield "None of it is counted here."


def _open(gathered: Gathered, *, said: bool) -> Iterator[str]:
    """Return what is not settled: what the customer said as a range, or what nobody said."""
    by_task: dict[str, list[str]] = {}
    for one in gathered.answer["open"]:
        if (one["text"] in gathered.told or one["size"] == "plan") is said:
            name = words.SIZE.get(one["size"], one["size"].rsplit("_", 1)[0].replace("_", " "))
            text = f", {one['text']}" if one["size"] == "plan" else f" {plain.taken(one)}"
            by_task.setdefault(one["task"], []).append(f"{name}{text}")
    for task, parts in by_task.items():
        yield f"{task[:1].upper()}{task[1:]}: {'; '.join(parts)}."


def _uncertain(gathered: Gathered) -> Iterator[str]:
    found = gathered.survey["stays_uncertain"]
    if found:
        yield (
            f"{len({one['what'] for one in found})} figures differ from machine to machine and from day to day, "
            "such as how heavy the growth stands, or what reaches the shaft. Nothing at the place tells; the range "
            "of every bar holds it."
        )


def _sources(gathered: Gathered) -> Iterator[str]:
    cited = sources()
    by_status: dict[str, list[str]] = {}
    for several, status in gathered.sources:
        names = by_status.setdefault(STATUS.get(status, status), [])
        names += [cited.get(source, source) for source in several.split("; ")]
    for status, names in by_status.items():
        known = list(dict.fromkeys(name for name in names if name not in {"", "Custom of the trade"}))
        yield (
            f"{status[:1].upper()}{status[1:]}: {'; '.join(known)}." if known else f"{status[:1].upper()}{status[1:]}."
        )
