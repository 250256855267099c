"""The fitted rating of a family: what is fitted, to which records, and what it predicts."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from evener.schema.certainty import estimated
from evener.schema.records import Family, Implement
from evener.schema.store import connection as store
from evener.scoring.ratings import model as ratings


def family(name="rotary_cutter", first="working_width_m", second="max_stem_m"):
    """Return a family with only what a fit needs."""
    nothing = dict.fromkeys(
        (
            "rotary_row",
            "attachment",
            "peak_factor",
            "peak_spread_pct",
            "speed_low_km_h",
            "speed_typical_km_h",
            "speed_high_km_h",
            "field_efficiency",
            "throughput_row",
        )
    )
    return Family(
        family=name,
        label=name,
        names=(),
        group="cutting",
        power="pto",
        first_variable=first,
        second_variable=second,
        source_id="",
        status="invented",
        **nothing,
    )


def cutters(n=12, seed=1, scatter=0.05):
    """Return invented cutters with P = 30 w^0.8 (stem / 0.05 m)^0.6 kW and a lognormal scatter."""
    rng = np.random.default_rng(seed)
    width = rng.uniform(1.2, 6.0, n)
    stem = rng.permutation(np.resize([0.025, 0.05, 0.075], n))
    power = 30 * width**0.8 * (stem / 0.05) ** 0.6 * np.exp(rng.normal(0, scatter, n))
    return [
        Implement(f"C{i}", "rotary_cutter", f"Cutter {i}", working_width_m=w, max_stem_m=s, rated_pto_power_kw=p)
        for i, (w, s, p) in enumerate(zip(width.tolist(), stem.tolist(), power.tolist(), strict=True))
    ]


def columns(records):
    """Return the three columns of a fit."""
    return (
        np.array([r.working_width_m for r in records]),
        np.array([r.max_stem_m for r in records]),
        np.array([r.rated_pto_power_kw for r in records]),
    )


def test_a_power_law_without_scatter_is_found_exactly():
    """Data made from a power law give back its coefficients, and the line goes through every point."""
    width, stem, power = columns(cutters(scatter=0.0))
    fit = ratings.fit_rating(family(), width, stem, power)
    assert fit.coefficients == pytest.approx((math.log(30) - 0.6 * math.log(0.05), 0.8, 0.6), rel=1e-9)
    assert ratings.predict(fit, width, stem) == pytest.approx(power, rel=1e-9)
    assert fit.variables == ("working_width_m", "max_stem_m")


def test_ranges_of_the_records_are_kept_and_a_size_outside_them_is_named():
    """A fit knows the span of the sizes it rests on, so that an extrapolation can be said."""
    width, stem, power = columns(cutters())
    fit = ratings.fit_rating(family(), width, stem, power)
    assert fit.lows == (width.min(), stem.min())
    assert fit.highs == (width.max(), stem.max())
    assert ratings.outside_range(fit, width.max() * 1.01, 0.05) == ("working_width_m",)
    assert ratings.outside_range(fit, width.min(), stem.max()) == ()


@pytest.mark.parametrize(("n", "fitted"), [(5, False), (6, True)])
def test_three_records_more_than_coefficients_are_asked(n, fitted):
    """With fewer than p + 3 records there is no fit, rather than one that pretends to know its spread."""
    width, stem, power = columns(cutters(n, seed=3))
    assert (ratings.fit_rating(family(), width, stem, power) is not None) is fitted


def test_machines_of_one_size_give_no_fit():
    """Records that all have the same width say nothing of how power grows with it."""
    assert ratings.fit_rating(family(), np.full(9, 2.0), None, np.linspace(20, 30, 9)) is None


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_impossible_sizes_are_refused(bad):
    """Zero, negative and non-finite sizes raise, naming the family."""
    width, stem, power = columns(cutters())
    width[3] = bad
    with pytest.raises(ValueError, match="rotary_cutter: sizes and powers must be positive"):
        ratings.fit_rating(family(), width, stem, power)


def test_prediction_covers_new_machines_as_often_as_it_says():
    """The 95 % prediction interval (z = 1.96) holds a new machine in 95 % of 1,000 families, within binomial error."""
    inside = 0
    for seed in range(1000):
        records = cutters(9, seed=seed, scatter=0.15)
        fit = ratings.fit_rating(family(), *columns(records[:8]))
        new = records[8]
        low, high = ratings.predict(fit, new.working_width_m, new.max_stem_m, np.array([-1.959964, 1.959964]))
        inside += low <= new.rated_pto_power_kw <= high
    assert inside / 1000 == pytest.approx(0.95, abs=3 * math.sqrt(0.95 * 0.05 / 1000))


def test_draws_and_sizes_broadcast():
    """One size with many draws, and many sizes with as many draws, give one power each; z = 0 is the line."""
    width, stem, power = columns(cutters())
    fit = ratings.fit_rating(family(), width, stem, power)
    z = np.array([-3.0, 0.0, 3.0])
    one = ratings.predict(fit, 2.0, 0.05, z)
    assert one.shape == (3,)
    assert one[1] == pytest.approx(float(ratings.predict(fit, 2.0, 0.05)))
    assert (np.diff(one) > 0).all()
    assert ratings.predict(fit, np.full(3, 2.0), np.full(3, 0.05), z) == pytest.approx(one)


def test_a_fit_on_two_sizes_asks_for_both():
    """A missing second size is an error that names the variables, not a silent guess."""
    width, stem, power = columns(cutters())
    fit = ratings.fit_rating(family(), width, stem, power)
    with pytest.raises(ValueError, match="working_width_m and max_stem_m"):
        ratings.predict(fit, 2.0)


def test_tractor_power_and_estimates_never_enter_a_rating_fit():
    """A record rated only for the whole tractor, or whose PTO power was estimated, leaves the fit as it was."""
    records = cutters()
    others = [
        Implement("T1", "rotary_cutter", "x", working_width_m=2.0, max_stem_m=0.05, rated_tractor_power_kw=500.0),
        Implement(
            "T2",
            "rotary_cutter",
            "x",
            working_width_m=2.0,
            max_stem_m=0.05,
            rated_pto_power_kw=500.0,
            estimated={"rated_pto_power_kw": estimated("engine power x 0.87")},
        ),
    ]
    assert ratings.fit_families(records + others, [family()]) == ratings.fit_families(records, [family()])


def test_order_of_records_does_not_matter():
    """Records in another order give the same fit to the last digits that arithmetic keeps."""
    records = cutters()
    (forward,), (backward,) = (ratings.fit_families(some, [family()]) for some in (records, records[::-1]))
    assert forward.coefficients == pytest.approx(backward.coefficients, rel=1e-10)


def test_a_family_whose_second_size_is_seldom_stated_is_fitted_on_the_first():
    """Where too few records state both sizes, the fit rests on the first and says so."""
    records = [
        Implement(
            r.implement_id,
            r.family,
            r.label,
            working_width_m=r.working_width_m,
            rated_pto_power_kw=r.rated_pto_power_kw,
        )
        for r in cutters()
    ]
    (fit,) = ratings.fit_families(records, [family()])
    assert fit.variables == ("working_width_m",)
    assert fit.n == 12


def test_sizes_of_bales():
    """A round bale counts by its volume, a square one by its section; a record without both measures has none."""
    round_bale = Implement("R", "round_baler", "x", bale_width_m=1.2, bale_diameter_m=1.5)
    square = Implement("S", "small_square_baler", "x", bale_height_m=0.36, bale_width_m=0.46)
    assert ratings.size_of(round_bale, "bale_volume_m3") == pytest.approx(math.pi / 4 * 1.5**2 * 1.2)
    assert ratings.size_of(square, "bale_section_m2") == pytest.approx(0.36 * 0.46)
    assert ratings.size_of(square, "bale_volume_m3") is None
    assert ratings.size_of(round_bale, "bale_section_m2") is None


FAMILIES = """\
INSERT INTO family (family, label, names, "group", power, first_variable, second_variable, source_id, status, file_row)
VALUES ('rotary_cutter', 'Rotary cutter', [], 'cutting', 'pto', 'working_width_m', 'max_stem_m', 's', 'invented', 1),
       ('round_baler', 'Round baler', [], 'baling', 'pto', 'bale_volume_m3', NULL, 's', 'invented', 2),
       ('pallet_fork', 'Pallet fork', [], 'handling', 'loader', NULL, NULL, 's', 'invented', 3)
"""


def test_the_store_keeps_the_fits_of_its_own_records(tmp_path):
    """Refreshing a store writes the same fits as fitting its records directly, and replaces those of before."""
    records = cutters() + [
        Implement(
            f"B{i}", "round_baler", "x", bale_width_m=1.2, bale_diameter_m=1 + i / 10, rated_pto_power_kw=30.0 + i
        )
        for i in range(8)
    ]
    path = tmp_path / "store.duckdb"
    with store.create(path) as con:
        con.execute(FAMILIES)
        for row, one in enumerate(records):
            con.execute(
                "INSERT INTO implement (implement_id, family, label, working_width_m, max_stem_m, bale_width_m, "
                "bale_diameter_m, rated_pto_power_kw, file_row, source_id, status) "
                "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, 's', 'stated')",
                [
                    one.implement_id,
                    one.family,
                    one.label,
                    one.working_width_m,
                    one.max_stem_m,
                    one.bale_width_m,
                    one.bale_diameter_m,
                    one.rated_pto_power_kw,
                    row,
                ],
            )
        assert ratings.refresh(con) == 2
        first = store.read_rating_fits(con)
        con.execute("UPDATE implement SET rated_pto_power_kw = NULL WHERE family = 'round_baler'")
        con.execute(
            "UPDATE implement SET estimated = MAP {'rated_pto_power_kw': {'kind': 'estimated', 'low': NULL,"
            " 'high': NULL, 'spread_pct': NULL, 'basis': 'engine power'}} WHERE implement_id = 'C0'"
        )
        assert ratings.refresh(con) == 1
        second = store.read_rating_fits(con)
        direct = ratings.fit_families(store.read_implements(con), store.read_families(con).values())
    assert set(first) == {"rotary_cutter", "round_baler"}
    assert first["rotary_cutter"].n == 12
    assert second["rotary_cutter"].n == 11
    assert list(second) == ["rotary_cutter"]
    assert direct[0].coefficients == pytest.approx(second["rotary_cutter"].coefficients, rel=1e-12)


def test_invented_records_take_no_part_in_a_fit(library):
    """A demo's invented implements do not move the fitted ratings."""
    real = list(library.implements.values())
    made_up = [
        replace(one, implement_id=f"X-{one.implement_id}", status="invented", rated_pto_power_kw=500.0) for one in real
    ]
    families = list(library.families.values())
    assert ratings.fit_families([*real, *made_up], families) == ratings.fit_families(real, families)
