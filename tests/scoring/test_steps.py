"""What explain prints can be redone: each use of a formula of the method table, called with its printed inputs."""

import inspect

import answers
import pytest

from evener.schema.records import Choice, JobSheet, Place, Quantity, Task
from evener.scoring.mechanics import methods

CATALOGUE = methods.load_all()
ARGUMENT = {"delta/h": "delta_h"}


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


TASKS = (
    Task("plough", "moldboard_plow", width_m=exact(1.2), depth_m=exact(0.2)),
    Task("drill", "grain_drill", width_m=exact(2.8)),
    Task("rake", "side_delivery_rake", width_m=exact(3.0)),
    Task("push", "front_blade", width_m=exact(2.2), snow_depth_m=exact(0.2)),
    Task("haul", "tipping_trailer", load_kg=exact(5000.0), brakes=Choice(("none",))),
    Task("spread", "manure_spreader", tank_l=exact(4000.0), brakes=Choice(("braked",))),
    Task("chop", "forage_harvester", width_m=exact(2.0), throughput_t_h=exact(30.0)),
    Task("wrap", "bale_wrapper", bale_width_m=exact(1.2), bale_diameter_m=exact(1.2)),
    Task("spray", "mounted_sprayer", "mounted-sprayer-05"),
    Task("mow", "disc_mower", width_m=exact(2.4)),
)
PLACE = Place("a place", slope=exact(0.08), altitude_m=exact(600.0), texture=Choice(("medium",)))


def arguments(step):
    """Return a step's inputs as arguments of its formula."""
    return {ARGUMENT.get(name, name): one["value"] for name, one in step["inputs"].items()}


@pytest.fixture(scope="module")
def steps(library, classes):
    """Every step that explain prints of the tasks for two classes and one on tracks, demands, rivals and capacities."""
    found = []
    for tractor in ("utility-62-4wd", "utility-75-2wd", "tracks-280"):
        for task in answers.explain(JobSheet(PLACE, TASKS), library, classes, tractor)["tasks"]:
            rivals = [step for estimate in task["estimates"] for step in estimate["steps"]]
            found += [*task["steps"], *task["capacity_steps"], *rivals]
    return found


@pytest.mark.filterwarnings("ignore::evener.scoring.mechanics.validity.OutsideTests")
def test_every_use_of_a_formula_can_be_redone(steps):
    """A step in the words of the method table gives its printed result when the formula is called with its inputs."""
    redone = set()
    for step in steps:
        method = CATALOGUE.get(step.get("method", ""))
        if method is None or not step["formula"].endswith(method.equation):
            continue
        result = method.function(**arguments(step))
        assert step["result"] == pytest.approx(float(result), rel=1e-9), step
        redone.add(step["method"])
    assert len(redone) >= 35, sorted(redone)
    assert {"draft.draft", "drawbar.total_power", "tractor_pull.pull_at_slip", "snow.grip"} <= redone


def test_what_no_formula_of_the_table_says_is_plain_arithmetic(steps):
    """A tractor's moment with weights on is its own and the weights' together."""
    checked = 0
    for step in steps:
        given = {name: one["value"] for name, one in step["inputs"].items()}
        if step["formula"].startswith("with a usual set of"):
            assert step["result"] == pytest.approx(given["own"] + given["weights"] * given["arm"])
            checked += 1
    assert checked > 3


def test_every_argument_of_a_formula_is_printed(steps):
    """A step in the words of the method table names every argument without a default, so that nothing is hidden."""
    for step in steps:
        method = CATALOGUE.get(step.get("method", ""))
        if method is None or not step["formula"].endswith(method.equation):
            continue
        needed = {
            name
            for name, one in inspect.signature(method.function).parameters.items()
            if one.default is inspect.Parameter.empty
        }
        assert needed <= set(arguments(step)), (step["formula"], needed - set(arguments(step)))
