"""The first screen of `evener rank`: eighteen lines of answer and six of caution, each of eighty columns at most."""

from __future__ import annotations

from typing import Any

from evener.cli.adviser import cautions, money_rows
from evener.cli.adviser.fitting import Said, cut, fitted
from evener.cli.output import words
from evener.cli.output.verdicts import NO_TRACTOR, lead, size

ANSWER, CAUTION = 18, 6
NEARLY = 0.9
ALIKE = 0.005
TELLING = 0.1
MEASURED = ("tape", "scale")
THERE = "what is there already does all that is listed: nothing has to be bought"


def lines(answer: dict[str, Any]) -> list[str]:
    """Return the lines of the first screen.

    Parameters
    ----------
    answer : what `rank` says, in the reader's units, with a choice in it
    """
    chosen, place, kind = answer["choice"], answer["place"], answer["verdict"]["kind"]
    land = ", ".join(f"{words.quantity(use['area'], use['unit'])} {use['use']}" for use in place["land"] if use["area"])
    head = [
        cut(f"{place['name']}{f' ({land})' if land else ''}"),
        *map(cut, lead(answer)),
    ]
    no_tractor = kind in NO_TRACTOR
    said = [*_left(answer, chosen), *(_hired_out(answer, chosen) if no_tractor else _of_pick(answer, chosen))]
    said += [Said("hours", _hours_taken(chosen), 6), Said("not named", _gaps(answer), 5)]
    names = {one["task"] for one in chosen["arrangement"]} | {one["label"] for one in answer["tractors"]}
    kept = fitted([one for one in said if one.lines], ANSWER - len(head))
    return [
        *head,
        *(line for one in kept for line in one.lines),
        *cautions.first(answer["cautions"][-1 if no_tractor else 0 :], names, CAUTION),
    ]


def _left(answer: dict[str, Any], chosen: dict[str, Any]) -> list[Said]:
    """Return the work that is not in the answer, and that which is not done."""
    by_any = (f"by any size: {name}. {_hired_at(chosen, name)}, or say it otherwise." for name in answer["not_done"])
    return [
        *(Said("NOT COUNTED", f"{one['task']}: {one['why']}. {one['remedy']}.", 9) for one in answer["not_sized"]),
        *(Said("NOT DONE", text, 9) for text in by_any),
        Said("NOT DONE", _not_done(answer, chosen), 9),
    ]


def _hired_out(answer: dict[str, Any], chosen: dict[str, Any]) -> list[Said]:
    """Return what is said where all of it is hired, and no tractor bought."""
    return [
        Said("hired", _hired(answer, chosen, {}), 7),
        Said("", "", 10, [cut(line) for line in money_rows.rows(answer)]),
        Said(*money_rows.hire_all(answer), 6),
    ]


def _of_pick(answer: dict[str, Any], chosen: dict[str, Any]) -> list[Said]:
    """Return what is said of the choice: its machines, why, what it hangs on, its money, and what is not safe."""
    return [
        Said("there", THERE if chosen["there_does_all"] else "", 9),
        Said("with", _machines(chosen), 6),
        Said("", _unpriced(chosen), 8),
        Said("", _to_buy(chosen), 3),
        Said("hired", _hired(answer, chosen, _stops(chosen)), 7),
        Said("decided by", _decided(chosen), 9),
        Said("it hangs on", words.hinges(chosen["hangs_on"], chosen["pick"]["tractor_id"]), 8),
        *(Said("left out", _left_out(one), 9) for one in answer["filters"] if one["by_estimate"]),
        Said("sizes", _circumstances(answer, chosen), 8),
        Said("", "", 10, [cut(line) for line in money_rows.rows(answer)]),
        Said("pays", _break_evens(chosen), 5),
        Said(*money_rows.hire_all(answer), 6),
        *(Said("narrower", _narrower(one), 4) for one in chosen["narrower"] if _worth_saying(one, chosen)),
        _first_asked(chosen["measure"]),
        Said("not safe", _unsafe(answer), 9, whole=True),
    ]


def _machines(chosen: dict[str, Any]) -> str:
    found = [f"{' '.join((one['machine'], *one['sizes']))}{words.buy_by(one)}" for one in chosen["machines"]]
    return "; ".join(dict.fromkeys(found))


def _hired_at(chosen: dict[str, Any], name: str) -> str:
    row = next((one for one in chosen["arrangement"] if one["task"] == name), None)
    if row is not None and row["by"] == "nobody":
        return "Nobody is hired for it"
    return "Have it hired" if row is None or row["a_year"] is None else f"Hired: {words.money(row['a_year'])} a year"


def _hired(answer: dict[str, Any], chosen: dict[str, Any], stops: dict[str, str]) -> str:
    """Return the work that is named and mostly hired with the pick, its cost in a year and what stops the pick."""
    found = [
        f"{one['task']} {words.money(one['a_year'])} a year{stops.get(one['task'], '')}"
        for one in chosen["arrangement"]
        if one["by"] == "hired" and one["kind"] != "not named" and one["task"] not in answer["not_done"]
    ]
    beyond = chosen["pick"]["undone"]
    if found and beyond >= TELLING * chosen["pick"]["a_year"]:
        found.append(f"{words.money(beyond)} of its sum is what work not done here is worth beyond hire")
    return "; ".join(found)


def _stops(chosen: dict[str, Any]) -> dict[str, str]:
    """Return by task what stops the pick at it, in brackets."""
    return {one["task"]: f" ({words.limit(one).partition(': ')[2]})" for one in chosen["stopped"]}


def _not_done(answer: dict[str, Any], chosen: dict[str, Any]) -> str:
    """Return the work that neither the pick does nor anybody is hired for, and from which size on it is done."""
    stops, own, found = _stops(chosen), size(chosen["pick"]), []
    for one in chosen["arrangement"]:
        if one["by"] == "nobody" and one["kind"] != "not named" and one["task"] not in answer["not_done"]:
            stop = stops.get(one["task"], "")
            enough = f"; {size(one['from_size'])} does" if one["from_size"] else ""
            found.append(f"{one['task']}: not for hire, and {own} does not do it{stop}{enough}")
    return "; ".join(found)


def _to_buy(chosen: dict[str, Any]) -> str:
    known = [one["price"] for one in chosen["machines"] if one["price"] is not None]
    if not known:
        return ""
    those = "those" if len(known) == len(chosen["machines"]) else "the others"
    a_year = words.money(chosen["pick"]["machines"])
    return f"{words.money(sum(known))} to buy {those}; of its sum {a_year} a year is for them"


def _unpriced(chosen: dict[str, Any]) -> str:
    """Return the machines to be bought of which no price is known."""
    silent = dict.fromkeys(one["machine"] for one in chosen["machines"] if one["price"] is None)
    return f"price not known: {', '.join(silent)}" if silent else ""


def _decided(chosen: dict[str, Any]) -> str:
    """Return the task that the next size down fails most, with how often either does it."""
    down, pick = chosen["down"], chosen["pick"]
    named = [one for one in down["fails"] if not one["gap"]] if down is not None else []
    if not named:
        return "the least cost; no smaller size fails any of the work that is named"
    by_pick = {one["task"]: one["share"] for one in pick["fails"]}
    first = max(named, key=lambda one: (one["listed"], one["share"] - by_pick.get(one["task"], 0.0)))
    own = by_pick.get(first["task"], 0.0)
    if first["share"] - own < ALIKE:
        return f"the least cost; {size(down)} does as much of the work that is named"
    return (
        f"{first['task']}: {size(down)} does it {words.cases(1 - first['share'])}, {size(pick)} {words.cases(1 - own)}"
    )


def _left_out(one: dict[str, Any]) -> str:
    """Return what a limit took out by a price that is only estimated, with the best of it."""
    of_them = "their prices are" if one["by_estimate"] == one["removed"] else f"{one['by_estimate']} of the prices are"
    return f"{one['removed']} ({one['filter']}; {of_them} estimates); the best {one['label']}"


def _first_asked(one: dict[str, Any] | None) -> Said:
    """Return the first question that is worth asking, as `ask` puts it."""
    if one is None:
        return Said("", "", 0)
    return Said("measure" if one["how"] in MEASURED else "ask first", one["question"], 7)


def _circumstances(answer: dict[str, Any], chosen: dict[str, Any]) -> str:
    said = [
        f"today's work {size(chosen['today'])}" if chosen["today"] else "",
        f"with all plans {size(chosen['with_plans'])}" if chosen["with_plans"] else "",
        f"surest {size(chosen['surest'])}" if chosen["surest"] else "",
    ]
    other = answer["other_rule"]
    if other and other != answer["pick"]:
        rule = "sure" if answer["policy"]["rule"] == "cost" else "cost"
        row = next((one for one in answer["tractors"] if one["tractor_id"] == other), None)
        said.append(f'by rule "{rule}" {f"{size(row)} ({other})" if row else other}')
    return "; ".join(filter(None, said))


def _worth_saying(one: dict[str, Any], chosen: dict[str, Any]) -> bool:
    """Tell whether narrower machines make a smaller size do about what the pick does, or the pick do what it fails."""
    pick = chosen["pick"]
    own = 1.0 if one["tractor_id"] == pick["tractor_id"] else pick["does_all"]
    return bool(one["does_all"] >= NEARLY * own)


def _narrower(one: dict[str, Any]) -> str:
    """Return what a tractor costs with narrower machines, and the hours these take more."""
    machines = "; ".join(
        f"{each['machine']} of {words.measured(each['width'])} for {words.measured(each['wished'])}"
        for each in one["machines"]
    )
    hours = round(sum(each["hours_more"] for each in one["machines"]))
    longer = f"{hours} h more, " if hours else ""
    return (
        f"{size(one)} with {machines}: {longer}{words.money(one['a_year'])} a year, "
        f"does all in {words.percent(one['does_all'])}"
    )


def _hours_taken(chosen: dict[str, Any]) -> str:
    names = chosen["hours_taken"]
    return f"not said, usual ones taken: {', '.join(names)}" if names else ""


def _break_evens(chosen: dict[str, Any]) -> str:
    beside = {one["tractor_id"]: one for one in (chosen["down"], chosen["up"]) if one is not None}
    said = []
    for one in chosen["break_evens"]:
        other = beside[one["other"]]
        larger = other is chosen["up"]
        if one["task"] is not None:
            when = "over" if larger else "under"
            said.append(f"{size(other)} if {one['task']} is {when} {words.percent(one['chance'])} likely")
        else:
            when = "from" if one["years"] > chosen["years"] else "under"
            said.append(f"{size(other)} if kept {when} {one['years']:.0f} years")
    return "; ".join(said)


def _unsafe(answer: dict[str, Any]) -> str:
    first = next(
        (one for one in answer["tractors"] if one["tractor_id"] == answer["choice"]["pick"]["tractor_id"]), None
    )
    needed = [] if first is None else [one for one in first["remedies"] if one["needed"] and one["kind"] != "adapter"]
    return "; ".join(map(_not_safe, needed))


def _not_safe(one: dict[str, Any]) -> str:
    if one["kind"] == "lighter":
        return f"{one['task']} with over {words.quantity(one['amount'], one['unit'])} in the tool"
    return f"{one['task']} without {words.remedy(one)}"


def _gaps(answer: dict[str, Any]) -> str:
    found = answer["reconcile"]
    return f"{found[0]['question']}{f' {len(found) - 1} more: evener check' if len(found) > 1 else ''}" if found else ""
