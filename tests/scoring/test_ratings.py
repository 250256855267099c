"""The models a store keeps: to which records they are fitted, and when anew."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from evener.schema.records import Family, Implement
from evener.schema.store import connection as store
from evener.scoring.ratings import refresh as refreshing
from evener.scoring.ratings.columns import from_records
from evener.scoring.ratings.family_model import FamilyModel, model_of
from evener.scoring.ratings.fitting import fit_family
from evener.scoring.ratings.refresh import refresh
from evener.scoring.ratings.sizes import size_of


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


FAMILIES = """\
INSERT INTO family (family, label, names, "group", power, first_variable, second_variable, source_id, status, file_row)
VALUES ('rotary_cutter', 'Rotary cutter', [], 'cutting', 'pto', 'working_width_m', 'max_stem_m', 's', 'invented', 1),
       ('round_baler', 'Round baler', [], 'baling', 'pto', 'bale_volume_m3', NULL, 's', 'invented', 2),
       ('pallet_fork', 'Pallet fork', [], 'handling', 'loader', NULL, NULL, 's', 'invented', 3)
"""


def test_sizes_of_bales():
    """A round bale counts by its volume, a square one by its section; a record without both measures has none."""
    round_bale = Implement("R", "round_baler", "x", bale_width_m=1.2, bale_diameter_m=1.5)
    square = Implement("S", "small_square_baler", "x", bale_height_m=0.36, bale_width_m=0.46)
    assert size_of(round_bale, "bale_volume_m3") == pytest.approx(math.pi / 4 * 1.5**2 * 1.2)
    assert size_of(square, "bale_section_m2") == pytest.approx(0.36 * 0.46)
    assert size_of(square, "bale_volume_m3") is None
    assert size_of(round_bale, "bale_section_m2") is None


def kept(path, records, families=FAMILIES):
    """Fill a new store with families and records."""
    with store.create(path) as con:
        con.execute(families)
        for row, one in enumerate(records):
            con.execute(
                "INSERT INTO implement (implement_id, family, label, working_width_m, max_stem_m, bale_width_m, "
                "bale_diameter_m, rated_pto_power_kw, rated_tractor_power_kw, file_row, source_id, status) "
                "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 's', ?)",
                [
                    one.implement_id,
                    one.family,
                    one.label,
                    one.working_width_m,
                    one.max_stem_m,
                    one.bale_width_m,
                    one.bale_diameter_m,
                    one.rated_pto_power_kw,
                    one.rated_tractor_power_kw,
                    row,
                    one.status or "stated",
                ],
            )
        refresh(con)
        return models(con)


def models(con):
    """Return the model of each family of a store."""
    return {family: FamilyModel.from_rows(rows) for family, rows in store.read_rating_models(con).items()}


def balers(n=8):
    """Return balers that differ in the diameter of their bale."""
    return [
        Implement(
            f"B{i}", "round_baler", "x", bale_width_m=1.2, bale_diameter_m=1 + i / 10, rated_pto_power_kw=30.0 + i
        )
        for i in range(n)
    ]


def test_the_store_keeps_the_models_of_its_own_records(tmp_path):
    """A store's models are those that its records give when they are fitted directly."""
    found = kept(tmp_path / "store.duckdb", [*cutters(), *balers()])
    direct = fit_family(from_records(family(), cutters()))
    assert set(found) == {"rotary_cutter", "round_baler"}
    power, wanted = (one.quantities["power"] for one in (found["rotary_cutter"], direct))
    assert power.n == 12
    assert power.coefficients == pytest.approx(wanted.coefficients, rel=1e-12)
    assert power.variables == ("working_width_m", "max_stem_m")


def test_only_what_changed_is_fitted_again(tmp_path, monkeypatch):
    """After a change of one family's records that family alone is fitted anew, and one without records has no model."""
    path, fitted = tmp_path / "store.duckdb", []
    kept(path, [*cutters(), *balers()])
    fit = refreshing.fit_family
    monkeypatch.setattr(refreshing, "fit_family", lambda columns: fitted.append(columns.family) or fit(columns))
    with store.open_write(path) as con:
        refresh(con)
        assert fitted == []
        con.execute("UPDATE implement SET rated_pto_power_kw = 99 WHERE implement_id = 'B3'")
        assert refresh(con) == 2
        assert fitted == ["round_baler"]
        con.execute("DELETE FROM implement WHERE family = 'round_baler'")
        assert refresh(con) == 1
        assert set(models(con)) == {"rotary_cutter"}


def test_a_verdict_is_obeyed_and_its_effect_kept(tmp_path):
    """A record an analyst leaves out leaves the line, which says how far that moved it."""
    path = tmp_path / "store.duckdb"
    before = kept(path, cutters())["rotary_cutter"].quantities["power"]
    with store.open_write(path) as con:
        con.execute(
            "INSERT INTO verdict (implement_id, verdict, why, by_whom, judged_on, source_id, status)"
            " VALUES ('C0', 'left_out', 'a misprint', 'an analyst', '2026-01-01', 's', 'stated')"
        )
        refresh(con)
        after = models(con)["rotary_cutter"].quantities["power"]
    assert (before.n, after.n) == (12, 11)
    assert [(one.record, one.reason) for one in after.aside] == [("C0", "left out: a misprint")]
    assert after.moved_by_verdicts != 1.0


@pytest.mark.ci
def test_tractor_power_estimates_and_inventions_never_enter_a_rating(tmp_path):
    """A record rated only for the whole tractor, or invented, or of an estimated rating, leaves the line as it was."""
    others = [
        Implement("T1", "rotary_cutter", "x", working_width_m=2.0, max_stem_m=0.05, rated_tractor_power_kw=500.0),
        replace(cutters()[0], implement_id="T2", status="invented", rated_pto_power_kw=500.0),
    ]
    plain = kept(tmp_path / "plain.duckdb", cutters())["rotary_cutter"].quantities["power"]
    more = kept(tmp_path / "more.duckdb", [*cutters(), *others])["rotary_cutter"].quantities["power"]
    assert more.coefficients == pytest.approx(plain.coefficients, rel=1e-12)
    with store.open_write(tmp_path / "plain.duckdb") as con:
        con.execute(
            "UPDATE implement SET estimated = MAP {'rated_pto_power_kw': {'kind': 'estimated', 'low': NULL,"
            " 'high': NULL, 'spread_pct': NULL, 'basis': 'engine power'}} WHERE implement_id = 'C0'"
        )
        refresh(con)
        assert models(con)["rotary_cutter"].quantities["power"].n == 11


def test_a_kind_of_build_told_by_its_label_has_a_level_of_its_own(library):
    """A sickle mower-conditioner, a no-till drill and an offset disk are rated apart from their families."""
    for family_name, quantity, build in (
        ("mower_conditioner", "power", "trailed sickle"),
        ("grain_drill", "tractor", "trailed no-till"),
        ("disk_harrow", "tractor", "trailed offset"),
    ):
        effects = model_of(library, family_name).quantities[quantity].effects("build")
        assert effects[build] != pytest.approx(effects["trailed"], abs=0.2)
