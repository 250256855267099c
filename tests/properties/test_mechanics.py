"""Laws the formulas keep whatever the numbers: more asks more, level is level, and balances close."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evener.scoring.mechanics.engine import drawbar, fuel, hydraulics, rotary_power, shaft
from evener.scoring.mechanics.stance import balance, ballast, lift, loader, rollover, towing
from evener.scoring.mechanics.tyres import grade, second_traction, traction, tractor_pull, weight_transfer
from evener.scoring.mechanics.work import baler_rate, bales, cost, draft, liquids, snow, work_rate

quick = settings(max_examples=40, deadline=None, derandomize=True)


def between(low, high):
    """Any number in a range."""
    return st.floats(low, high, allow_nan=False)


masses, slopes, widths = between(50, 20000), between(0, 1), between(0.3, 15)
speeds, shares, loads = between(0.5, 20), between(0.05, 0.95), between(1, 60)
steps = between(1e-3, 0.5)
numbers = between(10, 200)


@quick
@given(m=masses, slope=slopes, S=speeds, more=steps)
def test_grade_power_grows_with_mass_slope_and_speed(m, slope, S, more):
    """Heavier, steeper or faster never asks less power."""
    power = grade.grade_power(m, slope=slope, S=S)
    assert grade.grade_power(m * (1 + more), slope=slope, S=S) >= power
    assert grade.grade_power(m, slope=min(1, slope + more), S=S) >= power
    assert grade.grade_power(m, slope=slope, S=S * (1 + more)) >= power


@quick
@given(m=masses, S=speeds)
def test_zero_slope_is_level(m, S):
    """On the level gravity takes no power and all of the mass presses on the ground."""
    assert grade.grade_power(m, slope=0.0, S=S) == 0
    assert grade.normal_load(m, slope=0.0) == pytest.approx(m * 9.80665 / 1000)


@quick
@given(m=masses, slope=slopes)
def test_weight_is_the_sum_of_its_parts_on_a_slope(m, slope):
    """The squares of the parts along and across the slope sum to the square of the weight."""
    along, across = grade.grade_force(m, slope=slope), grade.normal_load(m, slope=slope)
    assert math.hypot(along, across) == pytest.approx(m * 9.80665 / 1000)


@quick
@given(w=widths, F=between(0, 40), more=steps)
def test_rotary_power_grows_with_width_and_flow(w, F, more):
    """A wider machine or a heavier crop never asks less."""
    row = {"a": 2.0, "b": 5.0, "c": 1.1}
    power = rotary_power.rotary_power(w=w, F=F, **row)
    assert rotary_power.rotary_power(w=w * (1 + more), F=F, **row) > power
    assert rotary_power.rotary_power(w=w, F=F + more, **row) > power


@quick
@given(S=speeds, W=widths, T=between(1, 40), more=steps)
def test_draft_grows_with_width_speed_and_depth_and_eases_in_coarser_soil(S, W, T, more):
    """Draft follows width and depth in proportion; speed and heavier soil add to it."""
    row = {"A": 100.0, "B": 5.0, "C": 1.0}
    pull = draft.draft(0.7, S=S, W=W, T=T, **row)
    assert draft.draft(0.7, S=S, W=2 * W, T=T, **row) == pytest.approx(2 * pull)
    assert draft.draft(0.7, S=S, W=W, T=2 * T, **row) == pytest.approx(2 * pull)
    assert draft.draft(0.7, S=S * (1 + more / 4), W=W, T=T, **row) > pull
    assert draft.draft(1.0, S=S, W=W, T=T, **row) > pull > draft.draft(0.45, S=S, W=W, T=T, **row)


@quick
@given(D=loads, S=speeds, E_t=shares, extra=between(0, 50))
def test_total_power_is_never_less_than_its_parts(D, S, E_t, extra):
    """Losses only add: the sum at the PTO covers drawbar and shaft power, and a pull turns back into itself."""
    power = drawbar.drawbar_power(D, S=S)
    assert drawbar.pull_at_power(power, S=S) == pytest.approx(D)
    total = drawbar.total_power(power, E_m=0.96, E_t=E_t, P_pto=extra)
    assert total >= power + extra
    assert drawbar.rated_power_needed(total, X=0.85) >= total
    assert drawbar.total_power(power, E_m=1.0, E_t=1.0) == pytest.approx(power)


@quick
@given(P=between(1, 300), n=between(100, 3000))
def test_torque_and_power_are_inverse(P, n):
    """Torque of a power gives the power back."""
    assert shaft.power(shaft.torque(P, n=n), n=n) == pytest.approx(P)


@quick
@given(B_n=numbers, more=between(0.01, 1), s=between(0.01, 0.6))
def test_firmer_soil_never_pulls_less(B_n, more, s):
    """A higher mobility number gives more net traction and a better efficiency at any slip, and rolls easier."""
    firmer = B_n * (1 + more)
    assert traction.net_traction(firmer, s=s) > traction.net_traction(B_n, s=s)
    assert traction.tractive_efficiency(firmer, s=s) > traction.tractive_efficiency(B_n, s=s)
    assert traction.undriven_resistance(firmer) < traction.undriven_resistance(B_n)
    assert traction.motion_resistance(B_n, s=0) == pytest.approx(traction.undriven_resistance(B_n))


@quick
@given(B_n=numbers, part=between(0.0, 0.99))
def test_slip_for_a_pull_gives_that_pull(B_n, part):
    """The slip found gives back the pull asked, and half of the pull slips less."""
    pull = part * traction.net_traction(B_n, s=traction.slip_of_largest_pull(B_n))
    s = traction.slip_for_pull(pull, B_n=B_n)
    assert traction.net_traction(B_n, s=s) == pytest.approx(pull, abs=1e-9)
    assert traction.slip_for_pull(pull / 2, B_n=B_n) <= s


@quick
@given(B_n=between(20, 200), s=between(0.05, 0.3))
def test_efficiency_by_forces_is_efficiency_by_ratios(B_n, s):
    """Tractive efficiency of a pull and its motion resistance is that of the wheel."""
    pull, resistance = traction.net_traction(B_n, s=s), traction.motion_resistance(B_n, s=s)
    by_forces = traction.efficiency_of_pull(pull, MR=resistance, s=s)
    assert by_forces == pytest.approx(traction.tractive_efficiency(B_n, s=s))


@quick
@given(CI=between(400, 1800), s=between(0.05, 0.25))
def test_rival_traction_equations_agree_in_a_band(CI, s):
    """On a common tyre the two traction models differ by at most 0.15 of the load in pull and 0.12 in efficiency."""
    tyre = {"b": 0.4, "d": 1.6, "W": 19.0, "delta_h": 0.2}
    one, other = traction.mobility_number(CI, **tyre), second_traction.mobility_number(CI, **tyre)
    assert traction.net_traction(one, s=s) == pytest.approx(second_traction.traction_coefficient(other, s=s), abs=0.15)
    assert traction.tractive_efficiency(one, s=s) == pytest.approx(second_traction.efficiency(other, s=s), abs=0.12)


@quick
@given(W_r=between(15, 60), W_f=between(10, 40), t=between(0.1, 0.5), y=between(0.0, 0.5))
def test_a_tractor_pulls_what_its_axles_pull_at_their_loads(W_r, W_f, t, y):
    """The pull is that of both axles after the shift of load it causes, and a driven front axle never pulls less."""
    pull = tractor_pull.pull_at_slip(W_r, W_f=W_f, t_r=t, t_f=-0.05, y=y, b=2.4)
    shifted = weight_transfer.weight_transfer(max(pull, 0), y=y, b=2.4) if pull > 0 else pull * y / 2.4
    assert pull == pytest.approx((W_r + shifted) * t - (W_f - shifted) * 0.05)
    assert tractor_pull.pull_at_slip(W_r, W_f=W_f, t_r=t, t_f=t, y=y, b=2.4) == pytest.approx((W_r + W_f) * t)
    assert (W_r + W_f) * t >= pull


@quick
@given(F_610=between(300, 5000), excess=between(0.01, 1.0), x=between(0.0, 3.0), m=masses)
def test_lift_passes_through_both_test_points_and_falls_behind_them(F_610, excess, x, m):
    """Lift at both points is as tested, farther is less, and the frame-only rule is never bolder."""
    F_0 = F_610 * (1 + excess)
    tested = {"F_0": F_0, "F_610": F_610}
    assert lift.lift_at(0.0, **tested) == pytest.approx(F_0)
    assert lift.lift_at(0.61, **tested) == pytest.approx(F_610)
    assert lift.lift_at(x + 0.1, **tested) < lift.lift_at(x, **tested)
    assert lift.lift_from_frame(x, F_610=F_610) <= lift.lift_at(x, **tested) + 1e-9
    link = lift.virtual_link(F_0, F_610=F_610)
    fits = m <= lift.lift_at(x, **tested)
    assert fits == (lift.load_at_frame_by_link(m, x=x, L_c=link) <= F_610) or m == pytest.approx(
        lift.lift_at(x, **tested)
    )
    assert lift.load_at_frame(m, x=x) >= lift.load_at_frame_by_link(m, x=x, L_c=link) - 1e-9


tractors = st.fixed_dictionaries({"T_L": between(800, 12000), "share": between(0.3, 0.55), "b": between(1.4, 3.0)})
reaches = st.fixed_dictionaries({"a": between(0.3, 2.0), "c": between(0.4, 1.2), "d": between(0.3, 2.0)})


@quick
@given(tractor=tractors, reach=reaches, G_H=between(0, 4000), G_V=between(0, 2000))
def test_axle_loads_close_and_ballast_does_what_it_is_for(tractor, reach, G_H, G_V):
    """Axle loads sum to the mass; with the ballast computed each axle carries its least share, by moments."""
    T_L, b = tractor["T_L"], tractor["b"]
    T_V, T_H = T_L * tractor["share"], T_L * (1 - tractor["share"])
    machine = {"T_V": T_V, "T_H": T_H, "b": b, **reach}
    loaded = balance.axle_loads(T_L, G_V=G_V, G_H=G_H, **machine)
    assert loaded.front + loaded.rear == pytest.approx(loaded.total)

    needed = balance.front_ballast(G_H, T_L=T_L, T_V=T_V, b=b, **reach)
    raised = balance.axle_loads(T_L, G_V=needed, G_H=G_H, **machine)
    least = 0.2 * T_L
    assert raised.front >= least - 1e-6
    if needed > 0:
        assert raised.front == pytest.approx(least)
    spare = balance.front_moment_to_spare(T_V, T_L=T_L, b=b)
    asked = balance.rear_moment(G_H, c=reach["c"], d=reach["d"])
    assert (needed == 0) == (asked <= spare)

    counter = balance.rear_ballast(G_V, T_L=T_L, T_H=T_H, b=b, **reach)
    raised = balance.axle_loads(T_L, G_V=G_V, G_H=counter, **machine)
    assert raised.rear >= 0.45 * T_L - 1e-6
    if counter > 0:
        assert raised.rear == pytest.approx(0.45 * T_L)


@quick
@given(tractor=tractors, N=between(0, 3000), b=between(0.5, 2.5), I_1=between(0.6, 2.0), more=steps)
def test_a_loader_counterweight_keeps_a_fifth_on_the_rear_axle(tractor, N, b, I_1, more):
    """By moments about the front axle the rear carries at least 20 % of everything, and a heavier load asks more."""
    P, I_2 = tractor["T_L"], tractor["b"]
    G = P * (1 - tractor["share"])
    place = {"G": G, "P": P, "b": b, "I_1": I_1, "I_2": I_2}
    M = balance.loader_counterweight(N, **place)
    rear = (G * I_2 + M * (I_1 + I_2) - N * b) / I_2
    assert rear >= 0.2 * (P + N + M) - 1e-6
    if M > 0:
        assert rear == pytest.approx(0.2 * (P + N + M))
    assert balance.loader_counterweight(N * (1 + more), **place) >= M


@quick
@given(t=between(1.0, 2.5), h=between(0.5, 1.2), m=masses, lifted=between(0, 1000), up=between(1.2, 4.0))
def test_a_raised_load_never_makes_a_tractor_steadier(t, h, m, lifted, up):
    """A load above the centre of gravity raises it, and a higher one tips on a gentler slope; work stays below half."""
    raised = rollover.centre_height(m, h_1=h, m_2=lifted, h_2=up)
    assert h <= raised * (1 + 1e-12)
    limit = rollover.side_slope_limit(t, h_cg=min(raised, 3.0))
    assert limit <= rollover.side_slope_limit(t, h_cg=h) * (1 + 1e-12)
    assert math.atan(rollover.working_side_slope(limit)) == pytest.approx(math.atan(limit) / 2)


@quick
@given(T_V=between(200, 3000), b=between(1.4, 3.0), y=between(0.2, 1.2))
def test_the_overturning_pull_takes_the_front_axle_to_zero(T_V, b, y):
    """The load shifted by that pull is the load on the front axle."""
    pull = rollover.overturning_pull(T_V, b=b, y=y)
    assert weight_transfer.weight_transfer(pull, y=y, b=b) == pytest.approx(T_V * 9.80665 / 1000)


@quick
@given(w=widths, S=speeds, y=between(0.5, 10), A=between(0.5, 500), more=steps)
def test_work_rates_undo_each_other(w, S, y, A, more):
    """Width, speed and flow found for a rate give that rate; wider or faster takes fewer hours."""
    rate = work_rate.field_capacity(S, w=w, eta_f=0.8)
    assert work_rate.width_for_capacity(rate, S=S, eta_f=0.8) == pytest.approx(w)
    assert work_rate.speed_for_capacity(rate, w=w, eta_f=0.8) == pytest.approx(S)
    assert work_rate.speed_for_throughput(work_rate.throughput(S, w=w, y=y), w=w, y=y) == pytest.approx(S)
    assert work_rate.material_capacity(S, w=w, y=y, eta_f=0.8) == pytest.approx(rate * y)
    hours = work_rate.hours(A, C_a=rate)
    assert work_rate.hours(A, C_a=work_rate.field_capacity(S * (1 + more), w=w, eta_f=0.8)) < hours
    assert work_rate.hours(A, C_a=work_rate.capacity_for_time(A, t=hours)) == pytest.approx(hours)
    assert work_rate.machines_needed(2.5 * rate, C_one=rate) == 3


@quick
@given(m=between(20, 1200), F=between(2, 40), stop=between(0, 60), more=steps)
def test_a_baler_that_stops_bales_less_than_it_takes_in(m, F, stop, more):
    """Stops only cost: capacity is at most the flow, is the flow without stops, and bales times mass is capacity."""
    t = baler_rate.time_per_bale(m, F=F, t_stop=stop)
    capacity = baler_rate.baler_capacity(m, t=t)
    assert capacity <= F * (1 + 1e-12)
    assert baler_rate.baler_capacity(m, t=baler_rate.time_per_bale(m, F=F, t_stop=0)) == pytest.approx(F)
    assert baler_rate.bales_per_hour(t) * m / 1000 == pytest.approx(capacity)
    assert baler_rate.time_per_bale(m * (1 + more), F=F, t_stop=stop) > t


@quick
@given(d=between(0.9, 1.9), h=between(0.9, 1.6), dm=shares, rho=between(100, 450))
def test_bales_keep_their_dry_matter(d, h, dm, rho):
    """A round bale fits in its box, and dry matter taken out and put back is the bale."""
    volume = bales.round_volume(d, h=h)
    assert volume < bales.square_volume(d, h=d, length=h)
    mass = bales.bale_mass(volume, rho=rho)
    assert bales.mass_from_dry_matter(bales.dry_matter(mass, dm=dm), dm=dm) == pytest.approx(mass)


@quick
@given(gallons=between(10, 1500), pounds=between(7, 13))
def test_liquids_weigh_the_same_in_both_unit_systems(gallons, pounds):
    """A tank in gallons and lb/gal weighs what it weighs in litres and kg/m3."""
    litres, density = gallons * 3.785411784, pounds * 0.45359237 / 3.785411784 * 1000
    assert liquids.tank_mass(litres, rho=density) / 0.45359237 == pytest.approx(gallons * pounds)
    assert liquids.water_rate(100, SG=1.0) == 100


@quick
@given(lb=between(500, 20000), mph=between(1, 12), feet=between(3, 60))
def test_power_and_capacity_agree_in_both_unit_systems(lb, mph, feet):
    """The trade's 375 and 8.25 are the SI equations in pounds, miles and acres."""
    power = drawbar.drawbar_power(lb * 4.4482216152605e-3, S=mph * 1.609344)
    assert power / 0.74569987158227 == pytest.approx(lb * mph / 375)
    rate = work_rate.field_capacity(mph * 1.609344, w=feet * 0.3048, eta_f=1.0)
    assert rate / 0.40468564224 == pytest.approx(mph * feet / 8.25)


@quick
@given(rho=between(50, 600), w=between(1, 4), h=between(0.05, 1), S=between(0.5, 10), more=steps)
def test_snow_asks_more_when_deeper_wider_or_faster(rho, w, h, S, more):
    """More snow in a second takes more power; more snow at the blade takes more push."""
    flow = snow.blower_flow(rho, w=w, h=h, S=S)
    for each in ({"w": w * (1 + more)}, {"h": h * (1 + more)}, {"S": S * (1 + more)}):
        assert snow.blower_flow(rho, **{"w": w, "h": h, "S": S, **each}) > flow
    assert snow.throw_power(flow * (1 + more), v_t=20, eta=0.4) > snow.throw_power(flow, v_t=20, eta=0.4)
    mass = snow.prism_mass(rho, w=w, h=h, length=1.0)
    assert snow.push_force(mass * (1 + more), f=0.2, k=1.0, w=w) > snow.push_force(mass, f=0.2, k=1.0, w=w)
    assert snow.grip(mass, mu=0.2) == pytest.approx(snow.push_force(mass, f=0.2, k=0.0, w=w))


@quick
@given(p=between(1000, 25000), q=between(5, 200), reach=between(0, 1.5), n=st.integers(1, 6), more=steps)
def test_flow_reach_and_stacks_go_the_right_way(p, q, reach, n, more):
    """More flow is more power, farther ahead of the pin lifts less, one more bale is one bale higher."""
    assert hydraulics.hydraulic_power(p, q=q * (1 + more)) > hydraulics.hydraulic_power(p, q=q)
    assert loader.lift_ahead_of_pin(900, x=reach + more, k=0.8) < loader.lift_ahead_of_pin(900, x=reach, k=0.8)
    assert loader.lift_ahead_of_pin(900, x=0, k=0.8) == 900
    stack = {"h": 1.2, "q": 0.5, "t": 1.3, "e": 0.1}
    assert loader.height_to_stack(n + 1, **stack) - loader.height_to_stack(n, **stack) == pytest.approx(1.2)


@quick
@given(m=masses, k=between(0.5, 5), power=between(5, 300), share=shares)
def test_towing_and_ballast_undo_each_other(m, k, power, share):
    """A tractor tows just the mass that asks for it, and the axles of a split sum to the mass."""
    assert towing.towed_limit(towing.tractor_mass_needed(m, k=k), k=k) == pytest.approx(m)
    assert towing.towed_limit(m, k=k, m_max=1500) <= 1500
    mass = ballast.ballasted_mass(power, k=80)
    assert ballast.front_mass(mass, f=share) + ballast.front_mass(mass, f=1 - share) == pytest.approx(mass)


@quick
@given(P=between(10, 300), X=between(0.1, 0.9), more=steps)
def test_fuel_grows_with_load_and_slower_engines_save(P, X, more):
    """A higher load takes more fuel and less for each kWh; a slowed engine never takes more."""
    higher = min(1.0, X * (1 + more))
    assert fuel.diesel_at_load(P, X=higher) > fuel.diesel_at_load(P, X=X)
    assert fuel.diesel_at_load(P, X=higher) / higher < fuel.diesel_at_load(P, X=X) / X
    assert fuel.older_specific_diesel(0.8 * higher) < fuel.older_specific_diesel(0.8 * X)
    assert fuel.throttle_factor(10 * more, X=X) < fuel.throttle_factor(0.0, X=X) == 1


@quick
@given(n=st.integers(1, 14), h=between(50, 800), hours=between(100, 8000), more=between(10, 2000))
def test_machines_lose_value_and_gain_repairs(n, h, hours, more):
    """Older or harder used is worth less; repairs of two spans sum to those of the whole."""
    row = {"C_1": 0.981, "C_2": 0.093, "C_3": 0.0058}
    assert cost.remaining_value(n + 1.0, h=h, **row) < cost.remaining_value(float(n), h=h, **row)
    assert cost.remaining_value(float(n), h=h + more / 10, **row) < cost.remaining_value(float(n), h=h, **row)
    repairs = {"P": 50000.0, "RF_1": 0.007, "RF_2": 2.0}
    parts = cost.repair_to_date(hours, **repairs) + cost.repair_between(hours, h_2=hours + more, **repairs)
    assert parts == pytest.approx(cost.repair_to_date(hours + more, **repairs))


@quick
@given(i=between(1e-4, 0.2), n=st.integers(1, 30), P=between(1e3, 1e6), share=shares)
def test_capital_recovery_pays_back_the_sum(i, n, P, share):
    """The yearly payments, discounted, and the salvage at the end are worth the price."""
    factor = cost.capital_recovery_factor(i, n=n)
    yearly = cost.capital_recovery(P, S=share * P, CRF=factor, i=i)
    worth = sum(yearly / (1 + i) ** year for year in range(1, n + 1)) + share * P / (1 + i) ** n
    assert worth == pytest.approx(P)
    assert factor >= cost.capital_recovery_factor(0.0, n=n)
    assert cost.ownership_share(share, L=n, i=i, K_2=0.02) > cost.ownership_share(share, L=n, i=0.0, K_2=0.02)
