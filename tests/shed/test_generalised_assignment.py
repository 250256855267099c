"""Published instances of generalised assignment, solved by the model that plans a shed."""

from pathlib import Path

import pytest

from evener.scoring.shed.planning.model import Model
from evener.scoring.shed.planning.work import Combination, Season, Work

DATA = Path(__file__).parent / "data" / "generalised_assignment.txt"
MOST_PROFIT = 100


def instances():
    numbers = [int(word) for line in DATA.read_text().splitlines() if not line.startswith("#") for word in line.split()]
    found = []
    while numbers:
        agents, jobs = numbers[:2]
        count = agents * jobs
        profit, resource = numbers[2 : 2 + count], numbers[2 + count : 2 + 2 * count]
        capacity = numbers[2 + 2 * count : 2 + 2 * count + agents]
        found.append((agents, jobs, profit, resource, capacity, numbers[2 + 2 * count + agents]))
        numbers = numbers[3 + 2 * count + agents :]
    return found


@pytest.mark.parametrize("instance", instances(), ids=lambda one: f"optimum-{one[5]}")
def test_published_optimum(instance):
    """Agents as tractors, jobs as tasks of one day, profit as road saved: the plan reaches the printed optimum."""
    agents, jobs, profit, resource, capacity, optimum = instance
    combinations = [
        Combination(
            job,
            agent,
            None,
            hours=resource[agent * jobs + job] / capacity[agent],
            km=MOST_PROFIT - profit[agent * jobs + job],
        )
        for job in range(jobs)
        for agent in range(agents)
    ]
    tasks = tuple(Work(str(job), "all", 0, 0) for job in range(jobs))
    season = Season(tasks, tuple(combinations), day_h=(1.0,))
    solution = Model(season, [range(1)]).solve(["undone", "km"])
    assert solution.levels[0].value == 0
    assert round(MOST_PROFIT * jobs - solution.levels[1].value, 6) == optimum
    assert solution.levels[1].value - solution.levels[1].bound < 1e-3
