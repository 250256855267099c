"""Every table of `evener rank --full`: the size, tractors, margins, hours, sizes beside it, what is open, cautions."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import Any

from evener.cli.output import render, who_does_what, words


def show(answer: dict[str, Any], *, markdown: bool, among: Sequence[str]) -> None:
    """Print every table of a ranking, below its first screen where there is one.

    Parameters
    ----------
    answer : what `rank` says, in the reader's units
    markdown : whether to write Markdown
    among : the kinds of tractor that were ranked
    """
    page = render.Page(markdown=markdown)
    _headline(page, answer, titled=markdown)
    who_does_what.arrangement(page, answer)
    _table(page, answer, among)
    _margins(page, answer)
    _fixes(page, answer["tractors"])
    _work(page, answer["work"])
    _steps(page, answer["steps"], answer["size"])
    _open(page, answer["open"])
    page.heading("Cautions")
    page.bullets(answer["cautions"])
    page.show()


def _headline(page: render.Page, answer: dict[str, Any], *, titled: bool) -> None:
    """Say the size first; below a first screen that has said it, what else there is to say of it."""
    place, size = answer["place"], answer["size"]
    missing = answer["not_sized"]
    if titled or answer["choice"] is None:
        land = (f"{words.quantity(use['area'], use['unit'])} {use['use']}" for use in place["land"] if use["area"])
        page.title(f"{place['name']}{f' ({said})' if (said := ', '.join(land)) else ''}")
    if answer["choice"] is None:
        if size is None or size["class"] is None:
            page.lead("No generic size does all of this work as described.")
        else:
            least = "At least" if missing else "Buy about"
            page.lead(f"{least} {words.quantity(size['pto_power'], size['unit'])} at the PTO: {size['label']}")
    else:
        page.heading("More of it, among generic sizes")
    page.facts([*_size(answer, size), *_left_out(answer), *_claims(answer), *_plans(answer), *_gaps(answer)])
    for one in missing:
        page.lead(f"NOT IN THIS ANSWER: {one['task']}: {one['why']}. {one['remedy']}.")
    for name in answer["not_done"]:
        page.lead(f"NOT DONE BY ANY SIZE: {name}. The answer is for the rest: have it hired, or say it otherwise.")


def _size(answer: dict[str, Any], size: dict[str, Any] | None) -> Iterator[tuple[str, str]]:
    if size is None or size["class"] is None:
        return
    yield "size", f"{words.quantity(size['pto_power'], size['unit'])} at the PTO: {size['label']}"
    yield "decided by", _decides(answer, size)
    yield "how sure", f"does all the work {words.cases(size['adequacy'])}"
    if asked := size.get("asked"):
        span = words.span(asked["demand"], asked["unit"])
        yield "most power", f"{asked['task']}: {span} at its usual speed, less where it goes slower uphill"


def _decides(answer: dict[str, Any], size: dict[str, Any]) -> str:
    """Return where a size is tightest, with both figures where its margins are told."""
    one = size["decided_by"]
    rows = (row for row in answer["tractors"] if row["tractor_id"] == size["class"])
    axes = (
        axis for row in rows for task in row["tasks"] if one and task["task"] == one["task"] for axis in task["axes"]
    )
    tight = next((axis for axis in axes if axis["axis"] == one["axis"]), None)
    if tight is None or tight["capacity"] is None or tight["axle_share"] is not None:
        return words.limit(one)
    most = words.quantity(tight["demand"]["high"], tight["unit"])
    return (
        f"{one['task']}, {words.AXIS[one['axis']]}: it takes up to {most}, and "
        f"{words.quantity(tight['capacity'], tight['unit'])} is there"
    )


def _left_out(answer: dict[str, Any]) -> list[tuple[str, str]]:
    does = {one["task"]: one["machine"] for one in answer["owned"]}
    names = [f"{task} ({does[task]} does it)" if task in does else task for task in answer["covered_by_owned"]]
    return [("left out", "; ".join(names))] if names else []


def _claims(answer: dict[str, Any]) -> list[tuple[str, str]]:
    """Return what stands against a claim that an owned machine takes a task."""
    doubtful = [one for one in answer["owned"] if one["verdict"] != "met"]
    return [("but check", f"{one['machine']}, {one['task']}: {one['why']}") for one in doubtful]


def _plans(answer: dict[str, Any]) -> list[tuple[str, str]]:
    """Return the pick without plans and with them, where they differ, and which plan makes the difference."""
    plans = answer["plans"]
    if plans is None or not (plans["pick_without"] or plans["pick_with"]):
        return []
    without, with_all = (plans[key] or "no listed tractor is enough" for key in ("pick_without", "pick_with"))
    if not plans["differ"]:
        return [("plans", "the same tractor with them or without")]
    deciding = [one for one in plans["plans"] if one["makes_the_difference"]]
    alone = "; ".join(f"{_named(one)} asks for {one['pick_if_so'] or 'more than is listed'}" for one in deciding)
    return [("plans", f"without them {without}, with them {with_all}: {alone or 'all of them together'}")]


def _named(plan: dict[str, Any]) -> str:
    year = f", {plan['year']}" if plan["year"] else ""
    return f"{plan['task']} ({words.percent(plan['chance'])}{year})"


def _gaps(answer: dict[str, Any]) -> list[tuple[str, str]]:
    """Return one line on what the place probably asks and no task names."""
    found = answer["reconcile"]
    if not found:
        return []
    counted = f"work nobody named, {len(found)} in all: " if len(found) > 1 else "work nobody named: "
    return [("not counted", f"{counted}{found[0]['question']} See: evener check JOB")]


def _table(page: render.Page, answer: dict[str, Any], among: Sequence[str]) -> None:
    rows = answer["tractors"]
    if not rows:
        page.lead(f"No record of kind {' or '.join(among)} is in the store.")
        return
    unit = rows[0]["unit"]
    priced = any(row["price"] is not None for row in rows)
    best = "the one" if len(rows) == answer["ranked"] == 1 else f"the best {len(rows)} of {answer['ranked']}"
    page.heading(f"{best[:1].upper()}{best[1:]} {words.joined([words.KINDS[kind] for kind in among])}")
    page.table(
        [
            "tractor",
            "",
            f"PTO {unit}",
            "fit",
            "does it all",
            *(["price"] if priced else []),
            "where it is tight or short",
            "not on its record",
        ],
        [
            [
                row["tractor_id"],
                row["label"] + (f" ({row['owner']})" if row["owner"] else ""),
                "?" if row["pto_power"] is None else f"{row['pto_power']:.0f}",
                f"{row['fit']:.0f}" if row["meets"] else "-",
                words.percent(row["adequacy"]),
                *([f"{row['price']:,.0f}" if row["price"] is not None else "ask"] if priced else []),
                words.limit(row["limiting"]),
                words.assumed(row["assumed"]),
            ]
            for row in rows
        ],
        right={2, 3, 4, 5} if priced else {2, 3, 4},
    )
    fit = "100 costs least in a year" if any(row["a_year"] is not None for row in rows) else "100 is nearest to enough"
    told = [f"fit: {fit}; - is not enough"]
    if any(row["assumed"] for row in rows):
        told.append("not on its record: taken from a like tractor")
    page.bullets(told)


def _margins(page: render.Page, answer: dict[str, Any]) -> None:
    if not answer["tractors"]:
        return
    first = answer["tractors"][0]
    page.heading(f"What the work asks of {first['tractor_id']}, and what it has")
    lines = []
    for task in first["tasks"]:
        for axis in task["axes"]:
            name, basis = words.AXIS[axis["axis"]], words.BASIS[axis["basis"]]
            lines.append([task["task"], name, words.asks(axis), words.has(axis), words.margin(axis), basis])
        lines += [
            [task["task"], words.AXIS[gate["axis"]], gate["asked"], gate["offered"], words.FITS[gate["ok"]], ""]
            for gate in task["gates"]
        ]
    for before, line in itertools.pairwise(lines[::-1]):
        before[0] = "" if before[0] == line[0] else before[0]
    page.table(["task", "", "asks", "has", "to spare", "from"], lines)
    page.bullets(
        ["asks: what is left to ask when it goes as slow as is still useful; of an axle, what its wheels have to keep"]
    )


def _fixes(page: render.Page, tractors: list[dict[str, Any]]) -> None:
    """Say what the first tractor needs fitted, and what would close its gaps."""
    if not tractors or not tractors[0]["remedies"]:
        return
    first = tractors[0]
    for needed, heading in ((True, "needs fitted"), (False, "would do with")):
        lines = [
            (one["task"], f"{words.AXIS[one['axis']]}: {words.remedy(one)}")
            for one in first["remedies"]
            if one["needed"] is needed
        ]
        if lines:
            page.heading(f"What {first['tractor_id']} {heading}")
            page.bullets(f"{task}: {text}" for task, text in lines)


def _work(page: render.Page, work: list[dict[str, Any]]) -> None:
    if not work:
        return
    page.heading("Hours and days")
    page.table(
        ["task", "rate", "each time", "a year", "takes", "you have", ""],
        [
            [
                one["task"],
                words.rate(one),
                words.measured(one["hours"]),
                words.measured(one["hours_a_year"]),
                words.days(one["days_needed"]),
                "not said" if one["days_there"] is None else words.days(one["days_there"]),
                "" if one["fits"] is None else words.FITS[one["fits"]],
            ]
            for one in work
        ],
        right={2, 3},
    )
    page.bullets(words.window(one) for one in work if one["fits"] is False)


def _steps(page: render.Page, steps: dict[str, Any], size: dict[str, Any] | None) -> None:
    page.heading("One size down, one size up")
    below, above = steps["below"], steps["above"]
    if below:
        name = "smaller" if size and size["class"] else "nearest"
        page.facts([(name, f"{below['label']}: does it all {words.cases(below['adequacy'])}; {_failing(below)}")])
        helping = [one for one in below["remedies"] if not one["needed"]][:2]
        page.facts(("", f"it would be enough for {one['task']} with {words.remedy(one)}") for one in helping)
    else:
        page.facts([("smaller", "no smaller size falls short: one below the smallest of the library may do")])
    if above:
        bought = words.limit(above["limiting"])
        page.facts([("larger", f"{above['label']}: does it all {words.cases(above['adequacy'])}; then {bought}")])
    elif size and size["class"]:
        page.facts([("larger", "no larger size of the library does the work")])


def _failing(below: dict[str, Any]) -> str:
    """Return what a smaller size falls short of; where no task fails by itself, that they do together."""
    found = "; ".join(words.limit(one) for one in below["fails"][:3])
    return found or "no task by itself falls short, together they do"


def _open(page: render.Page, found: list[dict[str, Any]]) -> None:
    if not found:
        return
    page.heading("Not settled (evener ask tells what is worth asking or measuring first)")
    taken = [one for one in found if one["text"].startswith("not said")]
    page.bullets(f"{_named_size(one)} {_span(one)}" for one in found if one not in taken)
    page.bullets(f"nobody said: {_named_size(one)} taken as {_span(one)}" for one in taken)


def _named_size(one: dict[str, Any]) -> str:
    return f"{one['task']}: {words.SIZE.get(one['size'], one['size'])}"


def _span(one: dict[str, Any]) -> str:
    if one["size"] == "plan":
        return f"{one['text']}"
    if one["among"]:
        return " or ".join(one["among"])
    if one["size"] == "slope":
        return f"{one['low'] * 100:.0f} to {one['high'] * 100:.0f} %"
    unit = "" if one["unit"] == "1" else one["unit"]
    return words.span({"low": one["low"], "high": one["high"]}, unit).strip()
