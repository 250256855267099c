"""The first screen of `evener rank`: eighteen lines of answer and six of caution, each of eighty columns at most."""

from __future__ import annotations

import textwrap
from typing import Any

from evener.cli.adviser import cautions
from evener.cli.output import words

WIDTH = 80
ANSWER, CAUTION = 18, 6
NAME = 12
DROPPED = 4
LONGEST = 4
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
    chosen, place = answer["choice"], answer["place"]
    land = ", ".join(f"{words.quantity(use['area'], use['unit'])} {use['use']}" for use in place["land"] if use["area"])
    head = [
        _cut(f"{place['name']}{f' ({land})' if land else ''}"),
        _cut(_headline(answer, chosen)),
    ]
    said = [
        *(_Said("NOT COUNTED", f"{one['task']}: {one['why']}. {one['remedy']}.", 9) for one in answer["not_sized"]),
        *(
            _Said("NOT DONE", f"by any size: {name}. {_hired_at(chosen, name)}, or say it otherwise.", 9)
            for name in answer["not_done"]
        ),
        _Said("there", THERE if chosen["there_does_all"] else "", 9),
        _Said("with", _machines(chosen), 6),
        _Said("", _to_buy(chosen), 3),
        _Said("hired", _hired(answer, chosen), 7),
        _Said("decided by", _decided(chosen), 9),
        _Said("it hangs on", words.hinges(chosen["hangs_on"], chosen["pick"]["tractor_id"]), 8),
        *(_Said("left out", _left_out(one), 9) for one in answer["filters"] if one["by_estimate"]),
        _Said("sizes", _circumstances(answer, chosen), 8),
        _Said("", "", 10, _money(chosen)),
        _Said("pays", _break_evens(chosen), 5),
        _Said("hire all", _hire_all(chosen), 6),
        _Said("hours", _hours_taken(chosen), 4),
        *(_Said("narrower", _narrower(one), 4) for one in chosen["narrower"] if _worth_saying(one, chosen)),
        _first_asked(chosen["measure"]),
        _Said("not safe", _unsafe(answer), 9, whole=True),
        _Said("not named", _gaps(answer), 5),
    ]
    kept = _fitted([one for one in said if one.lines], ANSWER - len(head))
    names = {one["task"] for one in chosen["arrangement"]} | {one["label"] for one in answer["tractors"]}
    return [*head, *(line for one in kept for line in one.lines), *cautions.first(answer["cautions"], names, CAUTION)]


class _Said:
    """One thing the screen says, in two lines at most, and how much it matters where there is no room for all."""

    def __init__(
        self, name: str, text: str, matters: int, table: list[str] | None = None, *, whole: bool = False
    ) -> None:
        self.name = name
        self.text = text
        self.matters = matters
        self.whole = whole
        self.lines = _fact(name, text, most=LONGEST if whole else 2) if table is None else table

    def shorten(self) -> bool:
        """Say it in one line, and tell whether it took two."""
        longer = len(self.lines) == 2 and not self.whole
        if longer:
            self.lines = _fact(self.name, self.text)
        return longer


def _fitted(said: list[_Said], room: int) -> list[_Said]:
    """Return what there is room for: what matters least is dropped, and then the rest shortened."""
    kept = list(said)
    by_need = sorted(said, key=lambda one: one.matters)
    while sum(len(one.lines) for one in kept) > room and by_need:
        least = by_need.pop(0)
        if least.matters <= DROPPED:
            kept.remove(least)
        else:
            least.shorten()
    return kept


def _headline(answer: dict[str, Any], chosen: dict[str, Any]) -> str:
    """Return what to buy; that nothing is, where no tractor that is listed does any of the work."""
    named = [one for one in chosen["arrangement"] if one["kind"] != "not named"]
    if named and all(one["by"] == "hired" for one in named):
        return f"No size listed does any of this: hire it, {words.money(chosen['hire_all'])} a year"
    return _what_to_buy(answer, chosen["pick"])


def _what_to_buy(answer: dict[str, Any], pick: dict[str, Any]) -> str:
    """Return the size to buy; a unit that is for sale by its id."""
    first = next((one for one in answer["tractors"] if one["tractor_id"] == pick["tractor_id"]), None)
    if first is not None and first["kind"] != "class":
        return f"Take {pick['tractor_id']}: {pick['label']}; {_size(pick)} at the PTO"
    return f"{'At least' if answer['not_sized'] else 'Buy about'} {_size(pick)} at the PTO: {pick['label']}"


def _size(one: dict[str, Any]) -> str:
    return words.quantity(one["pto_power"], one["unit"])


def _cut(text: str) -> str:
    return text if len(text) <= WIDTH else f"{text[: WIDTH - 3].rstrip()}..."


def _fact(name: str, text: str, most: int = 1) -> list[str]:
    """Return a short name and what is to be said of it, in so many lines at most."""
    if not text:
        return []
    wrapped = textwrap.wrap(text, WIDTH - NAME - 2)
    if len(wrapped) > most:
        wrapped = [*wrapped[: most - 1], f"{wrapped[most - 1][: WIDTH - NAME - 5].rstrip()}..."]
    return [f"  {name if at == 0 else '':<{NAME}}{one}" for at, one in enumerate(wrapped)]


def _machines(chosen: dict[str, Any]) -> str:
    found = [f"{' '.join((one['machine'], *one['sizes']))}{words.buy_by(one)}" for one in chosen["machines"]]
    return "; ".join(dict.fromkeys(found))


def _hired_at(chosen: dict[str, Any], name: str) -> str:
    row = next((one for one in chosen["arrangement"] if one["task"] == name), None)
    return "Have it hired" if row is None or row["a_year"] is None else f"Hired: {words.money(row['a_year'])} a year"


def _hired(answer: dict[str, Any], chosen: dict[str, Any]) -> str:
    """Return the work that is named and mostly hired with the pick, its cost in a year and what stops the pick."""
    stops = {one["task"]: f" ({words.limit(one).partition(': ')[2]})" for one in chosen["stopped"]}
    found = [
        f"{one['task']} {words.money(one['a_year'])} a year{stops.get(one['task'], '')}"
        for one in chosen["arrangement"]
        if one["by"] == "hired" and one["kind"] != "not named" and one["task"] not in answer["not_done"]
    ]
    beyond = chosen["pick"]["undone"]
    if found and beyond >= TELLING * chosen["pick"]["a_year"]:
        found.append(f"{words.money(beyond)} of its sum is what work not done here is worth beyond hire")
    return "; ".join(found)


def _to_buy(chosen: dict[str, Any]) -> str:
    known = [one for one in chosen["machines"] if one["price"] is not None]
    if not known:
        return ""
    price = words.money(sum(one["price"] for one in known))
    return f"{price} to buy those; of its sum {words.money(chosen['pick']['machines'])} a year is for them"


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
        return f"the least cost; {_size(down)} does as much of the work that is named"
    return (
        f"{first['task']}: {_size(down)} does it {words.cases(1 - first['share'])}, "
        f"{_size(pick)} {words.cases(1 - own)}"
    )


def _left_out(one: dict[str, Any]) -> str:
    """Return what a limit took out by a price that is only estimated, with the best of it."""
    of_them = "their prices are" if one["by_estimate"] == one["removed"] else f"{one['by_estimate']} of the prices are"
    return f"{one['removed']} ({one['filter']}; {of_them} estimates); the best {one['label']}"


def _first_asked(one: dict[str, Any] | None) -> _Said:
    """Return the first question that is worth asking, as `ask` puts it."""
    if one is None:
        return _Said("", "", 0)
    return _Said("measure" if one["how"] in MEASURED else "ask first", one["question"], 7)


def _circumstances(answer: dict[str, Any], chosen: dict[str, Any]) -> str:
    said = [
        f"today's work {_size(chosen['today'])}" if chosen["today"] else "",
        f"with all plans {_size(chosen['with_plans'])}" if chosen["with_plans"] else "",
        f"surest {_size(chosen['surest'])}" if chosen["surest"] else "",
    ]
    other = answer["other_rule"]
    if other and other != answer["pick"]:
        rule = "sure" if answer["policy"]["rule"] == "cost" else "cost"
        row = next((one for one in answer["tractors"] if one["tractor_id"] == other), None)
        said.append(f'by rule "{rule}" {f"{_size(row)} ({other})" if row else other}')
    return "; ".join(filter(None, said))


def _money(chosen: dict[str, Any]) -> list[str]:
    rows = [one for one in (chosen["down"], chosen["pick"], chosen["up"]) if one is not None]
    header = f"  {'':<10}{'price':>9}{'a year':>9}{'does all':>10}  fails, or hires ({chosen['currency']})"
    shown = [_row(one, marked=one is chosen["pick"]) for one in rows]
    return [_cut(line) for line in (header, *shown)]


def _row(one: dict[str, Any], *, marked: bool) -> str:
    sums = f"{words.money(one['price']):>9}{words.money(one['a_year']):>9}"
    return f"{'->' if marked else '  '}{_size(one):<10}{sums}{words.percent(one['does_all']):>10}  {_fails(one)}"


def _fails(one: dict[str, Any]) -> str:
    if not one["fails"]:
        return "nothing"
    first, more = one["fails"][0], len(one["fails"]) - 1
    rest = f", {more} more" if more else ""
    return f"{first['task'][:26]} in {words.percent(first['share'])}{rest}"


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
        f"{_size(one)} with {machines}: {longer}{words.money(one['a_year'])} a year, "
        f"does all in {words.percent(one['does_all'])}"
    )


def _hire_all(chosen: dict[str, Any]) -> str:
    basis = "; prices by custom, rough" if chosen["custom"] else ""
    return f"{words.money(chosen['hire_all'])} a year, buying nothing{basis}"


def _hours_taken(chosen: dict[str, Any]) -> str:
    names = chosen["hours_taken"]
    return f"not said, usual ones taken: {', '.join(names)}" if names else ""


def _break_evens(chosen: dict[str, Any]) -> str:
    size = {one["tractor_id"]: one for one in (chosen["down"], chosen["up"]) if one is not None}
    said = []
    for one in chosen["break_evens"]:
        other = size[one["other"]]
        larger = other is chosen["up"]
        if one["task"] is not None:
            when = "over" if larger else "under"
            said.append(f"{_size(other)} if {one['task']} is {when} {words.percent(one['chance'])} likely")
        else:
            when = "from" if one["years"] > chosen["years"] else "under"
            said.append(f"{_size(other)} if kept {when} {one['years']:.0f} years")
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
