"""Pull asked and pull offered: draft, rolling and grade against the grip of a tractor's own wheels."""

from dataclasses import replace

import numpy as np
import pytest

from evener.schema.records import Choice, Quantity, Task
from evener.scoring.advice.remedies import remedies
from evener.scoring.core.trace import Trace
from evener.scoring.gives.offer import offer
from evener.scoring.mechanics.tyres import traction, tractor_pull
from evener.scoring.questions.open_unknowns import open_unknowns

G = 9.80665


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


PLOUGH = Task("plough", "moldboard_plow", width_m=exact(1.0), depth_m=exact(0.2), speed_km_h=exact(6.0))
BOX = Task("grade", "box_blade", width_m=exact(1.5), speed_km_h=exact(3.5))


def margins(sizing, tractor, classes):
    one = sizing.score([tractor], classes)[0]
    return {axis.axis: axis.margin for task in sizing.detail(one.offer) for axis in task.axes}


def pull_of(sizing, tractor, classes):
    demand = next(one for one in sizing.tasks[0].demands if one.axis == "drawbar_pull")
    return offer(tractor, classes, sizing.setting.draws).on(demand)


@pytest.mark.parametrize(
    ("tractor_id", "width"), [("sub-compact-18-4wd", 1.2), ("compact-25-4wd", 1.9), ("utility-40-4wd", 2.4)]
)
def test_a_light_tractor_runs_out_of_grip_before_power(sized, by_id, classes, tractor_id, width):
    """Grading at a walk leaves a light tractor power in hand, and its wheels spin."""
    found = margins(sized(replace(BOX, width_m=exact(width)), n=1024), by_id[tractor_id], classes)
    assert found["drawbar_pull"] < 0 < found["pto_power"]


def test_draft_is_the_published_rows(demand_of):
    """A plough of 1 m at 20 cm and 6 km/h in clay pulls (652 + 5.1 x 36) x 20 = 16.7 kN; loam takes 0.7."""
    for word, factor in (("fine", 1.0), ("medium", 0.7), ("coarse", 0.45)):
        pull = demand_of("drawbar_pull", replace(PLOUGH, machine_mass_kg=exact(5.0)), texture=Choice((word,)))
        assert np.median(pull.alpha) == pytest.approx(factor * (652 + 5.1 * 36) * 20 / 1000, rel=0.01)
        assert np.std(pull.alpha) / np.mean(pull.alpha) == pytest.approx(0.20, abs=0.01)


def test_the_soil_of_the_place_is_open_where_nobody_says_it(sized):
    """Without a texture a plough's draft is drawn over clay, loam and sand, and the texture is named as open."""
    words = {one.name: one.words for one in open_unknowns(sized(PLOUGH)) if one.task is None}
    assert words["texture"] == ("fine", "medium", "coarse")
    assert "texture" not in {one.name for one in open_unknowns(sized(PLOUGH, texture=Choice(("fine",))))}


def test_tools_are_counted_from_width_and_spacing_unless_said(demand_of):
    """A chisel plow's shanks are its width over their spacing; three shanks pull three fifths of five."""
    chisel = Task("rip", "chisel_plow", width_m=exact(1.5), depth_m=exact(0.2), machine_mass_kg=exact(400.0))
    three, five = (demand_of("drawbar_pull", replace(chisel, tools=exact(count))).alpha for count in (3, 5))
    assert three / five == pytest.approx(np.full(three.shape, 0.6))
    counted = demand_of("drawbar_pull", chisel)
    count = next(step for step in counted.steps if step.method == "draft.tools_across")
    assert 1.5 / 0.40 <= count.result.value <= 1.5 / 0.29


def test_softer_soil_and_fewer_driven_wheels_pull_less(sized, by_id, classes):
    """The same tractor pulls less on softer soil, and less again with its front wheels not driven."""
    pulls = {
        (soil, drive): pull_of(
            sized(PLOUGH, soil=Choice((soil,))), replace(by_id["utility-75-2wd"], drive=drive), classes
        ).value
        for soil in ("firm", "tilled", "soft")
        for drive in ("4wd", "2wd")
    }
    for soil in ("firm", "tilled", "soft"):
        assert pulls[soil, "2wd"] < pulls[soil, "4wd"]
    for drive in ("4wd", "2wd"):
        assert pulls["firm", drive] > pulls["tilled", drive] > pulls["soft", drive]


def test_the_pull_can_be_redone_by_hand(sized, by_id, classes):
    """The printed steps of the middle case, put through the equations again, give the pull they end in."""
    tractor = by_id["utility-62-4wd"]
    sizing = sized(PLOUGH, n=1)
    value = pull_of(sizing, tractor, classes)
    demand = next(one for one in sizing.tasks[0].demands if one.axis == "drawbar_pull")
    rear, front, _, _, last = offer(tractor, classes, sizing.setting.draws).steps(demand, Trace(on=True))
    ratios = []
    for axle, step in (("rear", rear), ("front", front)):
        given = {name: figure.value for name, figure in step.inputs.items()}
        number = given["CI"] * given["b"] * given["d"] / given["W"] * (1 + 5 * given["delta_h"])
        number /= 1 + 3 * given["b"] / given["d"]
        assert step.result.value == pytest.approx(number), axle
        ratios.append(traction.net_traction(number, s=0.12))
    weight = tractor.mass_kg * G / 1000
    given = {name: figure.value for name, figure in last.inputs.items()}
    assert given["W_f"] == pytest.approx(weight * tractor.front_mass_share)
    by_hand = tractor_pull.pull_at_slip(
        weight - given["W_f"], W_f=given["W_f"], t_r=ratios[0], t_f=ratios[1], y=given["y"], b=tractor.wheelbase_m
    )
    assert value.value == pytest.approx(by_hand, rel=1e-9)
    assert rear.inputs["W"].value + front.inputs["W"].value == pytest.approx(weight / 2)


def test_tyres_nobody_states_are_the_classes_and_marked(sized, by_id, classes):
    """A unit without tyres or axle loads pulls as its class does, and says what was assumed."""
    model = by_id["utility-62-4wd"]
    bare = replace(
        model, tractor_id="S-1", kind="stock", rear_tyre_width_m=None, rear_tyre_diameter_m=None, front_mass_share=None
    )
    sizing = sized(PLOUGH)
    one = sizing.score([bare], classes)[0]
    assert {"rear_tyre_width_m", "rear_tyre_diameter_m", "front_mass_share"} <= set(one.offer.assumed(sizing.tasks))
    assert pull_of(sizing, bare, classes).assumed_from == model.label
    assert pull_of(sizing, bare, classes).value == pytest.approx(pull_of(sizing, model, classes).value, rel=0.02)


def test_where_nothing_is_known_of_the_tyres_the_power_ratio_stands_in(sized, by_id, classes):
    """Tracks pull what their PTO power gives at the speed by the published ratio, marked as not seeing grip."""
    value = pull_of(sized(PLOUGH), by_id["tracks-280"], classes)
    low, high = (3.6 * by_id["tracks-280"].pto_power_kw * ratio / 6.0 for ratio in (0.79, 0.82))
    assert low <= value.value <= high
    assert value.assumed_from == "the power ratio"
    assert "does not see grip" in value.notes[0]


def test_a_tractor_of_unknown_mass_and_power_is_not_shown_to_pull(sized, by_id, classes):
    """Without mass, tyres and power nothing is assumed: the pull is not shown to be met."""
    unknown = replace(by_id["utility-62-4wd"], tractor_id="S-1", kind="stock", mass_kg=None, pto_power_kw=None)
    sizing = sized(PLOUGH)
    assert pull_of(sizing, unknown, classes).draws is None
    assert sizing.score([unknown], classes)[0].adequacy == 0.0


def test_tyres_outside_the_tests_are_said(sized, by_id, classes):
    """A light tractor's tyres carry less for their size than the tests covered, and a note says so."""
    assert "tests" in pull_of(sized(PLOUGH), by_id["compact-25-4wd"], classes).notes[0]


def test_a_towed_machine_is_pulled_over_the_ground_and_up_the_hill(demand_of):
    """A 5 t trailer on firm ground asks (1/55 + 0.04) of its weight, and on 10 % its weight along the slope besides."""
    trailer = Task("haul", "tipping_trailer", load_kg=exact(4000.0), machine_mass_kg=exact(1000.0))
    level, hill = (demand_of("drawbar_pull", trailer, slope=exact(slope)) for slope in (0.0, 0.10))
    assert level.alpha == pytest.approx(np.full(256, 5 * G * (1 / 55 + 0.04)))
    assert np.all(level.beta == 0)
    assert hill.alpha - level.alpha == pytest.approx(np.full(256, 5 * G * np.sin(np.arctan(0.10))))
    assert hill.beta == pytest.approx(np.full(256, G * np.sin(np.arctan(0.10)) / 1000))


def test_a_carried_machine_pulls_at_nothing(sized):
    """A mounted sprayer asks no drawbar pull."""
    axes = {demand.axis for demand in sized(Task("spray", "mounted_sprayer", "mounted-sprayer-05")).tasks[0].demands}
    assert "drawbar_pull" not in axes


def test_hauling_slows_down_on_a_hill_unless_the_sheet_says_how_fast(demand_of):
    """Uphill a trailer goes as fast as the power of the level still gives, not below a walk; a said speed is kept."""
    trailer = Task("haul", "tipping_trailer", load_kg=exact(4000.0), machine_mass_kg=exact(1000.0))
    level, hill = (demand_of("pto_power", trailer, slope=exact(slope)) for slope in (0.0, 0.03))
    assert np.median(hill.alpha) == pytest.approx(np.median(level.alpha), rel=0.02)
    said = demand_of("pto_power", replace(trailer, speed_km_h=exact(20.0)), slope=exact(0.03))
    assert np.median(said.alpha) > 1.4 * np.median(level.alpha)


def test_a_blade_on_packed_snow_is_limited_by_grip_and_chains_help(sized, by_id, classes):
    """Snow gives 0.15 to 0.25 of the weight on driven wheels, chains twice that, and 2WD only its rear share."""
    push = Task("push snow", "front_blade", width_m=exact(2.4), snow_depth_m=exact(0.2), speed_km_h=exact(6.0))
    tractor = by_id["utility-62-4wd"]
    plain, chains = (
        pull_of(sized(replace(push, tyres=tyres)), tractor, classes).value for tyres in ("plain", "chains")
    )
    assert plain == pytest.approx(0.20 * tractor.mass_kg * G / 1000, rel=0.01)
    assert chains == pytest.approx(0.40 * tractor.mass_kg * G / 1000, rel=0.01)
    two_wheels = pull_of(sized(push), replace(tractor, drive="2wd"), classes).value
    assert two_wheels == pytest.approx(plain * (1 - tractor.front_mass_share), rel=1e-6)


def test_deeper_snow_pushes_back_harder(demand_of):
    """A blade pushes 0.1 to 0.3 of the snow's weight and 0.5 to 2 kN for each metre of its edge."""
    push = Task("push snow", "front_blade", width_m=exact(2.0), snow_depth_m=exact(0.1))
    shallow = demand_of("drawbar_pull", push).alpha
    deep = demand_of("drawbar_pull", replace(push, snow_depth_m=exact(0.3))).alpha
    assert np.all(deep > shallow)
    assert shallow.min() >= 2 * 0.5
    assert deep.max() <= 0.3 * 300 * 2 * 0.3 * 3 * G / 1000 + 2 * 2.0


def test_total_power_is_pull_through_slip_and_gears(demand_of):
    """P_T = (D + MR) S / 3.6 / ((1 - s) E_m) at the load held all day, times what the trade's tractor moves it by."""
    task = replace(PLOUGH, machine_mass_kg=exact(5.0))
    power = demand_of("pto_power", task, texture=Choice(("medium",)), n=1)
    pull = demand_of("drawbar_pull", task, texture=Choice(("medium",)), n=1)
    gear, slip, mass = 0.93, 0.09, 3000.0
    resistance = 1 / 55 + 0.04 + 0.5 * slip / np.sqrt(55)
    total = (pull.alpha[0] + resistance * mass * G / 1000) * 6.0 / 3.6 / ((1 - slip) * gear)
    moved = next(step for step in power.steps if step.method == "level.combined").result.value
    assert power.alpha[0] + power.beta[0] * mass == pytest.approx(total / 0.85 * moved, rel=1e-9)


def test_a_ground_driven_rake_takes_its_power_from_the_pull(demand_of):
    """What a rake's own wheels drive is pulled: its published shaft power over its usual speed adds to the rolling."""
    rake = Task("rake", "side_delivery_rake", width_m=exact(3.0), speed_km_h=exact(9.0), machine_mass_kg=exact(400.0))
    pull = demand_of("drawbar_pull", rake)
    driven = next(step for step in pull.steps if step.formula.startswith("driven by its own wheels"))
    assert driven.result.value == pytest.approx(0.4 * 3.0 * 1.2 / (10.0 / 3.6), rel=0.02)
    assert np.median(pull.alpha) == pytest.approx(0.4 * G * (1 / 55 + 0.04) + driven.result.value, rel=0.02)


def test_height_raises_the_rating_that_is_needed(demand_of):
    """At 1,700 m an engine without a turbocharger has four fifths left: the rating rises by nothing to a quarter."""
    spray = Task("spray", "mounted_sprayer", "mounted-sprayer-05")
    low, high = (demand_of("pto_power", spray, altitude_m=exact(metres)).alpha for metres in (0.0, 1700.0))
    ratio = high / low
    assert ratio.min() == pytest.approx(1.0, abs=0.005)
    assert ratio.max() == pytest.approx(1 / (1 - 0.12 * 1.7), abs=0.005)
    assert np.all(ratio >= 1)


def test_a_machine_that_works_by_oil_asks_flow_and_its_power(demand_of, library):
    """A log splitter on the tractor's oil asks its record's flow, and p q / 60000 of power with the reserve."""
    splitter = next(
        one for one in library.implements.values() if one.family == "log_splitter" and one.hydraulic_flow_l_min
    )
    task = Task("split", "log_splitter", splitter.implement_id)
    flow = demand_of("hydraulic_flow", task).alpha
    assert flow == pytest.approx(np.full(256, splitter.hydraulic_flow_l_min))
    power = demand_of("pto_power", task).alpha
    assert power.min() >= 15000 * flow[0] / 60000 / 0.85 * 0.999
    assert power.max() <= 18000 * flow[0] / 60000 / 0.85 * 1.001


def test_a_size_without_a_record_asks_about_the_flow_of_its_like(demand_of, library):
    """A baler given by its bale asks 0.75 to 1.25 of a flow between the least and the most of its family's records."""
    task = Task("bale", "round_baler", bale_width_m=exact(1.524), bale_diameter_m=exact(1.829))
    demand = demand_of("hydraulic_flow", task)
    flows = [one.hydraulic_flow_l_min for one in library.of_family("round_baler") if one.hydraulic_flow_l_min]
    middle = (demand.alpha.min() + demand.alpha.max()) / 2
    assert min(flows) <= middle <= max(flows)
    assert demand.alpha.min() == pytest.approx(0.75 * middle, rel=0.01)


def test_too_little_oil_is_a_shortfall(sized, by_id, classes, library):
    """A tractor whose pump gives less than the record asks falls short on oil flow, and a pump on the PTO would do."""
    wrapper = max(
        (one for one in library.implements.values() if one.family == "bale_wrapper"),
        key=lambda one: one.hydraulic_flow_l_min or 0,
    )
    sizing = sized(Task("wrap", "bale_wrapper", wrapper.implement_id))
    one = sizing.score([by_id["compact-25-4wd"]], classes)[0]
    details = sizing.detail(one.offer)
    assert next(axis for axis in details[0].axes if axis.axis == "hydraulic_flow").margin < 0
    assert any(remedy.kind == "own_pump" for remedy in remedies(sizing, one.offer, details))
