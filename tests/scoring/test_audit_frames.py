"""The audit from data frame to data frames."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from evener.scoring.audit.frames import audit_frame


@pytest.fixture
def frame():
    """Two hundred invented tedders of eight colours, one colour at three quarters, one rating ten times too high."""
    rng = np.random.default_rng(4)
    width, colour = rng.uniform(2.5, 8.5, 200), rng.integers(0, 8, 200)
    power = 5.4 * width * np.exp(rng.normal(0, 0.06, 200)) * np.where(colour == 3, 0.75, 1.0)
    power[17] *= 10
    return pd.DataFrame(
        {
            "family": "tedder",
            "working_width_m": width,
            "rated_pto_power_kw": power,
            "mass_kg": np.where(rng.random(200) < 0.2, np.nan, 230 * width),
            "colour": [f"colour {k}" for k in colour],
        },
        index=[f"T{k:03d}" for k in range(200)],
    )


def test_a_frame_goes_in_and_frames_come_out(frame, library):
    """Flags, lines, groups and records are tables; any column of the frame can be a group."""
    found = audit_frame(frame, library.families, by=["colour"], reference=library.tables)
    assert "far_from_peers" in set(found.flags[found.flags.implement_id == "T017"].kind)
    assert list(found.groups.group) == ["colour 3"]
    assert len(found.records) == 200
    assert {"a"} <= set(found.lines.name)
    assert (found.lines.standard_error > 0).all()
    assert "<table" in found._repr_html_()


def test_what_is_written_as_parquet_is_read_again(frame, library, tmp_path):
    """The tables go through DuckDB's own Parquet writer and reader and come back the same."""
    import duckdb

    found = audit_frame(frame, library.families)
    file = tmp_path / "records.parquet"
    records = found.records.drop(columns="sizes")
    con = duckdb.connect()
    con.register("records", records)
    con.execute(f"COPY records TO '{file}' (FORMAT parquet)")
    back = con.execute(f"SELECT * FROM read_parquet('{file}')").df()
    pd.testing.assert_frame_equal(back, records, check_dtype=False)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda f: f.drop(columns="family"), "no column family"),
        (lambda f: f.set_axis(["one"] * 200), "two rows have one name"),
        (lambda f: f.assign(family="teder"), "no such family: teder"),
    ],
)
def test_a_frame_that_cannot_be_audited_says_why(frame, library, change, said):
    """A missing column, a name that stands twice, a family that is none."""
    with pytest.raises(ValueError, match=said):
        audit_frame(change(frame), library.families)
