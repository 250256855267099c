"""Plans of small sheds against all assignments tried one by one, and what may never make a plan worse."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from evener.scoring.shed.planning.clash import clash
from evener.scoring.shed.planning.plan import plan
from evener.scoring.shed.planning.work import Combination, Season, Work

TRACTORS, MACHINES, DAYS = 2, 2, 3
OWNERS = ("A", "B")
QUICK = settings(max_examples=25, deadline=None)


@st.composite
def seasons(draw):
    tasks, combinations = [], []
    for number in range(draw(st.integers(1, 3))):
        first = draw(st.integers(0, DAYS - 1))
        last = draw(st.integers(first, DAYS - 1))
        tasks.append(Work(str(number), draw(st.sampled_from(OWNERS)), first, last, draw(st.sampled_from([1.0, 3.0]))))
        ways = draw(
            st.lists(
                st.tuples(st.integers(0, TRACTORS - 1), st.integers(0, MACHINES - 1)),
                unique=True,
                max_size=3,
            )
        )
        combinations += [
            Combination(number, t, m, draw(st.sampled_from([2.0, 5.0, 9.0])), draw(st.sampled_from([0.0, 1.0, 4.0])))
            for t, m in sorted(ways)
        ]
    drivers = {"A": draw(st.integers(1, 2))}
    owners = ("A", draw(st.sampled_from(OWNERS)))
    return Season(
        tuple(tasks),
        tuple(combinations),
        day_h=(8.0,) * DAYS,
        owner_of_tractor=owners,
        drivers=drivers,
        owner_of_machine=OWNERS,
        late_days=draw(st.integers(0, 1)),
    )


def late_of(season, chosen):
    """Least late amount of a choice of combinations, by a linear program of its own; None where it finds no days."""
    ways = [season.combinations[number] for number in chosen]
    columns = [
        (place, day)
        for place, one in enumerate(ways)
        for day in range(
            season.tasks[one.task].first, min(season.tasks[one.task].last + season.late_days, DAYS - 1) + 1
        )
    ]
    if not ways:
        return 0.0
    index = {column: number for number, column in enumerate(columns)}
    equal, upper, limit = np.zeros((len(ways), len(columns))), [], []
    for (place, _), number in index.items():
        equal[place, number] = 1.0
    groups = {}
    for place, day in columns:
        one = ways[place]
        groups.setdefault(("t", one.tractor, day), (8.0, []))[1].append((place, day))
        groups.setdefault(("m", one.machine, day), (8.0, []))[1].append((place, day))
        owner = season.owner_of_tractor[one.tractor]
        if owner in season.drivers:
            groups.setdefault(("d", owner, day), (8.0 * season.drivers[owner], []))[1].append((place, day))
    for most, members in groups.values():
        row = np.zeros(len(columns))
        row[[index[one] for one in members]] = 1.0
        upper.append(row)
        limit.append(most)
    cost = [
        season.tasks[ways[place].task].amount / ways[place].hours if day > season.tasks[ways[place].task].last else 0.0
        for place, day in columns
    ]
    found = linprog(cost, np.array(upper), limit, equal, [one.hours for one in ways], bounds=(0, None))
    return found.fun if found.status == 0 else None


def best_by_trying(season):
    options = [
        [None, *(number for number, one in enumerate(season.combinations) if one.task == task)]
        for task in range(len(season.tasks))
    ]
    found = []
    for choice in itertools.product(*options):
        chosen = [one for one in choice if one is not None]
        late = late_of(season, chosen)
        if late is not None:
            km = sum(season.combinations[one].km for one in chosen)
            found.append((len(choice) - len(chosen), round(late, 4), km))
    return min(found)


@given(seasons())
@QUICK
def test_no_assignment_is_better(season):
    """Fewest undone, then least late, then fewest km, as trying every assignment finds them."""
    undone, late, km = best_by_trying(season)
    found = plan(season)
    assert found.undone == undone
    assert found.late == pytest.approx(late, abs=2e-3)
    assert found.km == pytest.approx(km, abs=1e-3)


@given(seasons())
@QUICK
def test_nothing_is_in_two_places(season):
    """On no day has a tractor, a machine or an owner's drivers more hours than the day."""
    busy = {}
    for one in plan(season).tasks:
        for day in one.days:
            way = season.combinations[one.combination]
            for thing in (("t", way.tractor), ("m", way.machine), ("d", season.owner_of_tractor[way.tractor])):
                busy[(*thing, day.day)] = busy.get((*thing, day.day), 0.0) + day.hours
    for (kind, name, _), hours in busy.items():
        drivers = season.drivers.get(name, 9) if kind == "d" else 1
        assert hours <= 8.0 * drivers + 1e-3


@pytest.mark.ci
@given(seasons(), st.integers(0, 2), st.integers(0, 1))
@QUICK
def test_a_machine_more_is_never_worse(season, task, tractor):
    """One more combination leaves no more undone, and no more late where as much is done."""
    task %= len(season.tasks)
    more = (*season.combinations, Combination(task, tractor, MACHINES, 4.0, 9.0))
    richer = replace(season, combinations=more, owner_of_machine=("A", "B", "B"))
    before, after = plan(season), plan(richer)
    assert (after.undone, after.late) <= (before.undone, before.late + 2e-3)


@given(seasons(), st.integers(0, 2))
@QUICK
def test_closing_a_window_never_helps(season, task):
    """A window that closes a day earlier leaves no less undone, and no less late where as much is done."""
    task %= len(season.tasks)
    one = season.tasks[task]
    if one.last == one.first:
        return
    tasks = list(season.tasks)
    tasks[task] = replace(one, last=one.last - 1)
    before, after = plan(season), plan(replace(season, tasks=tuple(tasks)))
    assert (before.undone, before.late) <= (after.undone, after.late + 2e-3)


@pytest.mark.ci
@given(seasons())
@QUICK
def test_swapping_names_swaps_plans(season):
    """With the members' names exchanged the plan is the same with the names exchanged: names decide nothing."""
    other = {"A": "B", "B": "A"}
    turned = replace(
        season,
        tasks=tuple(replace(one, member=other[one.member]) for one in season.tasks),
        owner_of_tractor=tuple(other[one] for one in season.owner_of_tractor),
        owner_of_machine=tuple(other[one] for one in season.owner_of_machine),
        drivers={other[name]: count for name, count in season.drivers.items()},
    )
    for rule in ("least", "own_first", "equal_share", "rotation"):
        assert plan(season, rule).tasks == plan(turned, rule).tasks


@pytest.mark.ci
@given(seasons())
@QUICK
def test_the_clash_named_is_the_smallest(season):
    """No smaller set of windows clashes than the one that is named, and the one named does clash."""
    missed = [one.task for one in plan(replace(season, late_days=0)).tasks if one.combination is None]
    found = clash(season, missed)
    strict = replace(season, late_days=0)
    able = sorted({one.task for one in season.combinations})

    def clashes(tasks):
        return best_by_trying(strict.only(tasks))[0] > 0

    if found is None:
        assert not clashes(able) or not missed
        return
    assert found.smallest
    assert clashes(found.tasks)
    assert found.short_h > 0
    for size in range(1, len(found.tasks)):
        assert not any(clashes(tasks) for tasks in itertools.combinations(able, size))


@pytest.mark.ci
@pytest.mark.parametrize("rule", ["own_first", "equal_share", "rotation"])
@given(season=seasons())
@settings(max_examples=10, deadline=None)
def test_a_rule_has_its_price(rule, season):
    """No rule leaves less undone than the plan that favours nobody, nor less late where as much is done."""
    free, ruled = plan(season), plan(season, rule)
    assert (free.undone, free.late) <= (ruled.undone, ruled.late + 2e-3)
