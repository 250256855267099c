"""What to own together: candidates held against the season, the best told with who gains and how its cost is split."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from evener.results.answer import KEPT, Answer
from evener.schema.shed import Member
from evener.scoring.core.draws import Draws
from evener.scoring.shed.jobs import tools_of
from evener.scoring.shed.jointly import Worth, by_need, by_use, worth
from evener.scoring.shed.lending import lent
from evener.scoring.shed.matrix import DRAWS, Matrix, matrix
from evener.scoring.shed.planning.plan import plan
from evener.scoring.shed.seasons import planning
from evener.scoring.shed.travel import Roads
from evener.sheds.assigning import season_of
from evener.sheds.candidates import Search, Thing

if TYPE_CHECKING:
    from evener.enquiry.holdings import Holdings
    from evener.schema.records import Implement, Tractor
    from evener.schema.shed import Shed
    from evener.scoring.core.printing import Units
    from evener.scoring.shed.seasons import Planning

JOINTLY = "owned jointly"
NEAR_ENOUGH = 0.002
MANY_DRIVERS = 50
MACHINES_A_KIND = 6


@dataclass(frozen=True)
class Share:
    """What one member has of a candidate: hours it spares him, hours he uses it, and his part of its cost by two rules.

    Attributes
    ----------
    spared_h, used_h : undone and late hours it spares him, hours it works for him [h]
    by_use : part of the cost by the hours of use [1]
    by_need, error : part of the cost by what he adds to the size that is needed (Shapley), with its standard error [1]
    """

    member: str
    spared_h: float
    used_h: float
    by_use: float
    by_need: float
    error: float


@dataclass(frozen=True)
class Candidate:
    """A tractor, a machine or a pair to own together.

    Attributes
    ----------
    things, labels : ids, and what they are called
    tasks : tasks it makes possible or timely
    undone_less_h, late_less_h : hours done with it and not without; in time with it and not without [h]
    road_less_km : road that is not driven [km]
    used_h : hours it works in the season [h]
    chance : that it changes anything: share of the draws in which it does some task that is left without it [1]
    hire_saved : what the hours would cost hired, where a price of hire is said
    price : its price, where its record states one
    seasons : seasons of hire saved that the price is worth
    shares : what each member has of it
    """

    things: tuple[str, ...]
    labels: tuple[str, ...]
    tasks: tuple[str, ...]
    undone_less_h: float
    late_less_h: float
    road_less_km: float
    used_h: float
    chance: float
    hire_saved: float | None
    price: float | None
    seasons: float | None
    shares: tuple[Share, ...]


@dataclass(frozen=True)
class Jointly(Answer):
    """What to own together.

    Attributes
    ----------
    shed, home : its name, and at whose home a thing owned together would stand: the one with the least road to all
    missed : tasks that are undone or late without anything more
    candidates : the best first
    hire : what an hour of hired work costs, where it is said
    """

    shed: str
    home: str
    missed: tuple[str, ...]
    candidates: tuple[Candidate, ...]
    hire: float | None
    units: Units = field(default="us", repr=False, compare=False, metadata=KEPT)

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per candidate and member.

        Parameters
        ----------
        units : "si" or "us"
        """
        told = self.to_dict(units)["candidates"]
        return [{"things": " and ".join(one["things"]), **share} for one in told for share in one["shares"]]


def own_jointly(
    shed: Shed,
    found: Matrix,
    holdings: Holdings,
    classes: Sequence[Tractor],
    *,
    among: str,
    top: int,
    hire: float | None,
) -> Jointly:
    """Hold candidates against a season.

    Parameters
    ----------
    shed, found : the shed, and what its combinations do
    holdings : records to choose among
    classes : generic tractors
    among : kind of tractor
    top : how many to tell
    hire : what an hour of hired work costs
    """
    made = season_of(shed, found)
    before = plan(made.season)
    missed = {
        made.works[one.task][0].number
        for one in before.tasks
        if one.combination is None or one.left_h > 0 or one.late_days
    }
    home = _home(shed)
    tractors = [one for one in holdings.tractors if one.kind == among and one.owner not in _names(shed)]
    machines = _machines(shed, found, holdings, missed)
    wider = _with(shed, home, tractors, machines)
    wide = lent(wider, matrix(wider, holdings.library, classes, draws=Draws(n=DRAWS), weights=False))
    new_tools = {tool.number for tool in tools_of(wider) if tool.owner == JOINTLY}
    search = Search(wider, wide, missed, len(shed.tractors), new_tools)
    candidates = []
    for things in search.best():
        with_it = _season(wider, wide, new_tools, len(shed.tractors), things)
        gain = worth(before, with_it.season, things, gap=NEAR_ENOUGH)
        if gain.total_h > 0:
            candidates.append(_candidate(search, things, gain, made, hire))
    candidates.sort(key=lambda one: (-(one.undone_less_h + one.late_less_h), len(one.things), one.things))
    names = tuple(one.label for one in found.wanted if one.number in missed)
    return Jointly(shed.name, home, names, tuple(candidates[:top]), hire, shed.units)  # type: ignore[arg-type]


def _names(shed: Shed) -> set[str]:
    return {member.name for member in shed.members}


def _home(shed: Shed) -> str:
    """Return the member with the least road to all, the first of several."""
    roads = Roads(shed)
    return min(shed.members, key=lambda one: sum(roads.km(one.name, other.name) for other in shed.members)).name


def _machines(shed: Shed, found: Matrix, holdings: Holdings, missed: set[int]) -> list[Implement]:
    """Return machines that nobody owns, for the kinds of work that is missed: a few of each, small to large."""
    families = {found.wanted[number].task.family for number in missed}
    owned = _names(shed)
    chosen: list[Implement] = []
    for family in sorted(families):
        of = [
            one
            for one in holdings.library.implements.values()
            if one.family == family and one.owner is None and one.owner not in owned
        ]
        of.sort(key=lambda one: (one.working_width_m or one.mass_kg or 0.0, one.implement_id))
        step = max(1, len(of) // MACHINES_A_KIND)
        chosen += of[::step][:MACHINES_A_KIND]
    return chosen


def _with(shed: Shed, home: str, tractors: Sequence[Tractor], machines: Sequence[Implement]) -> Shed:
    """Return the shed with things owned jointly, which stand at one home and are driven by whoever has the work."""
    at = next(member.at_km for member in shed.members if member.name == home)
    roads = Roads(shed)
    more = tuple((JOINTLY, member.name, roads.km(home, member.name)) for member in shed.members)
    return replace(
        shed,
        members=(*shed.members, Member(JOINTLY, at_km=at, drivers=MANY_DRIVERS)),
        tractors=(*shed.tractors, *(replace(one, owner=JOINTLY) for one in tractors)),
        machines=(*shed.machines, *(replace(one, owner=JOINTLY) for one in machines)),
        road_km=(*shed.road_km, *more),
    )


def _season(wider: Shed, wide: Matrix, new_tools: set[int | None], own: int, things: Sequence[Thing]) -> Planning:
    """Return the season with these new things and no other."""
    cells = [
        cell
        for cell in wide.cells
        if (cell.tractor < own or ("tractor", cell.tractor) in things)
        and (cell.machine not in new_tools or ("machine", cell.machine) in things)
    ]
    return planning(wider, wide.wanted, tools_of(wider), cells, paces=wide.paces)


def _candidate(search: Search, things: tuple[Thing, ...], gain: Worth, made: Planning, hire: float | None) -> Candidate:
    done = search.covers(things)
    wanted = {one.number: one for one, _ in made.works}
    tasks: dict[str, set[int]] = {}
    for number in sorted(done):
        tasks.setdefault(wanted[number].member.name, set()).add(number)
    members = [name for name in dict.fromkeys(one.member.name for one, _ in made.works) if name in tasks]
    need, drawn = by_need(members, search.needs(tasks, [kind for kind, _ in things]))
    whole = sum(need.values())
    use = by_use(1.0, gain.used_h)
    errors = dict(zip(members, drawn.errors, strict=True))
    records = [search.shed.tractors[number] for kind, number in things if kind == "tractor"]
    prices = [one.price for one in records]
    price = prices[0] if len(things) == 1 and prices else None
    saved = None if hire is None else round(hire * gain.total_h, 2)
    told = dict.fromkeys([*members, *gain.used_h, *gain.gains_h])
    return Candidate(
        tuple(_id(search, thing) for thing in things),
        tuple(_label(search, thing) for thing in things),
        tuple(wanted[number].label for number in sorted(done)),
        gain.undone_less_h,
        gain.late_less_h,
        gain.km_less,
        round(sum(gain.used_h.values()), 4),
        round(search.chance(things), 4),
        saved,
        price,
        None if not saved or price is None else round(price / saved, 1),
        tuple(
            Share(
                member,
                gain.gains_h.get(member, 0.0),
                gain.used_h.get(member, 0.0),
                round(use.get(member, 0.0), 4),
                round(need.get(member, 0.0) / whole, 4) if whole > 0 else 0.0,
                round(errors.get(member, 0.0) / whole, 4) if whole > 0 else 0.0,
            )
            for member in told
        ),
    )


def _id(search: Search, thing: Thing) -> str:
    kind, number = thing
    return search.shed.tractors[number].tractor_id if kind == "tractor" else search.tools[number].name


def _label(search: Search, thing: Thing) -> str:
    kind, number = thing
    return search.shed.tractors[number].label if kind == "tractor" else search.tools[number].label
