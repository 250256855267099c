"""Tasks that go one after another, members' shares, and plans that tell weeks apart."""

import pytest

from evener.scoring.shed.planning.plan import plan, rules
from evener.scoring.shed.planning.work import Combination, Season, Work


def season(**said):
    tasks = (Work("bale", "A", 0, 5), Work("mow", "A", 0, 5))
    ways = (Combination(0, 0, None, 8.0), Combination(1, 1, None, 16.0))
    return Season(tasks, ways, day_h=(8.0,) * 6, owner_of_tractor=("A", "B"), **said)


def test_what_goes_before_is_done_before():
    """No more is baled by any evening than is mown by then, and what is never mown is never baled."""
    found = plan(season(after=((0, 1),)))
    done = {0: 0.0, 1: 0.0}
    for day in range(6):
        for one, whole in ((0, 8.0), (1, 16.0)):
            done[one] += sum(spent.hours for spent in found.tasks[one].days if spent.day == day) / whole
        assert done[0] <= done[1] + 1e-6
    alone = season(after=((0, 1),)).with_combinations([Combination(0, 0, None, 8.0)])
    assert [one.combination for one in plan(alone).tasks] == [None, None]


def test_weeks_lose_nothing_where_nothing_contends():
    """Told apart by weeks or by days, two tasks that use different tractors are done in time with the same road."""
    by_days, by_weeks = plan(season()), plan(season(), most_by_day=0)
    assert (by_days.undone, by_days.late, by_days.km) == (by_weeks.undone, by_weeks.late, by_weeks.km) == (0, 0.0, 0.0)


def test_an_equal_share_spares_the_one_who_bears_most():
    """Where one has to be late, it is the smaller field by least, and by equal share who has most in time."""
    tasks = (Work("a", "A", 0, 0, 2.0), Work("b", "B", 0, 0, 3.0), Work("c", "B", 0, 9, 30.0))
    ways = (Combination(0, 0, None, 8.0), Combination(1, 0, None, 8.0), Combination(2, 1, None, 8.0))
    work = Season(tasks, ways, day_h=(8.0,) * 10, owner_of_tractor=("C", "C"), late_days=3)
    assert [one.late_days for one in plan(work, "least").tasks] == [1, 0, 0]
    ruled = plan(work, "equal_share")
    late = {one.member: one.share for one in ruled.members}
    assert max(late.values()) < 0.5
    assert ruled.late > plan(work, "least").late


def test_own_work_goes_first():
    """Whose tractor it is has his work in time, though lending it out would leave less late."""
    tasks = (Work("mine", "A", 0, 0, 1.0), Work("yours", "B", 0, 0, 9.0))
    ways = (Combination(0, 0, None, 8.0), Combination(1, 0, None, 8.0))
    work = Season(tasks, ways, day_h=(8.0,) * 3, owner_of_tractor=("A",), late_days=2)
    assert [one.late_days for one in plan(work, "least").tasks] == [1, 0]
    assert [one.late_days for one in plan(work, "own_first").tasks] == [0, 1]


def test_turns_go_by_their_order():
    """Of two alike it is the first in turn who is in time."""
    tasks = (Work("a", "A", 0, 0), Work("b", "B", 0, 0))
    ways = (Combination(0, 0, None, 8.0), Combination(1, 0, None, 8.0))
    work = Season(tasks, ways, day_h=(8.0,) * 3, owner_of_tractor=("C",), late_days=2)
    assert [one.late_days for one in plan(work, "rotation", turn=("B", "A")).tasks] == [1, 0]
    assert [one.late_days for one in plan(work, "rotation", turn=("A", "B")).tasks] == [0, 1]


def test_a_thing_that_stays_at_home_still_works_there():
    """On days on which a tractor is not lent it does its owner's work and nobody else's."""
    tasks = (Work("mine", "A", 0, 0), Work("yours", "B", 0, 1))
    ways = (Combination(0, 0, None, 4.0), Combination(1, 0, None, 8.0))
    work = Season(tasks, ways, (8.0,) * 2, owner_of_tractor=("A",), away=frozenset({("tractor", 0, 0)}))
    mine, yours = plan(work).tasks
    assert [day.day for day in mine.days] == [0]
    assert [day.day for day in yours.days] == [1]


def test_rules_say_what_they_are():
    """Every rule says in words what it minimises, and knows levels only."""
    assert {"least", "own_first", "equal_share", "rotation"} <= set(rules())
    assert all(rule.says and rule.label for rule in rules().values())


def test_a_large_shed_is_searched_by_what_is_near():
    """Of many combinations those that are kept hold the nearest and the member's own."""
    tasks = (Work("a", "A", 0, 9),)
    ways = [Combination(0, number, None, 8.0, km=float(number)) for number in range(30)]
    work = Season(tasks, tuple(ways), (8.0,) * 10, owner_of_tractor=(*("B",) * 29, "A"))
    kept = {one.tractor for one in work.nearest(4).combinations}
    assert kept == {0, 1, 2, 29}
    assert plan(work).gap == pytest.approx(0.0)
