"""Families as odd as files can make them: the audit answers, in finite numbers, or says why there is no line."""

from __future__ import annotations

import json

import numpy as np
import pytest

from evener.schema.records import Family, Implement
from evener.scoring.audit.auditing import audit

POWERS = {
    "all alike": lambda w, rng: np.full(w.size, 30.0),
    "on a line through the origin": lambda w, rng: 10 * w,
    "on a straight line": lambda w, rng: 5 + 3 * w,
    "on a cubic": lambda w, rng: w**3,
    "over six powers of ten": lambda w, rng: np.exp(rng.normal(3, 2, w.size)),
    "either of two far apart": lambda w, rng: np.where(rng.random(w.size) < 0.3, 1e-3, 1e4),
    "either of two": lambda w, rng: rng.choice([20.0, 30.0], w.size),
}
WIDTHS = {
    "few widths": lambda n, rng: rng.choice([1.0, 2.0, 3.0, 5.0, 8.0], n),
    "one width": lambda n, rng: np.full(n, 2.0),
    "any width": lambda n, rng: rng.uniform(0.5, 10.0, n),
}


def records(power, width, seed):
    """Return up to 25 cutters with gaps in every column."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(1, 26))
    widths = WIDTHS[width](n, rng)
    powers = POWERS[power](widths, rng)
    stems, masses = rng.choice([0.025, 0.05, 0.076], n), rng.choice([400.0, 500.0, 900.0], n)
    stated = rng.random((3, n)) > 0.1

    def cell(column, i, value):
        return float(value) if stated[column, i] else None

    return [
        Implement(
            f"R{i}",
            "rotary_cutter",
            "one label" if i % 2 else f"label {i}",
            working_width_m=cell(0, i, widths[i]),
            max_stem_m=cell(1, i, stems[i]),
            mass_kg=cell(2, i, masses[i]),
            rated_pto_power_kw=float(powers[i]),
        )
        for i in range(n)
    ]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("power", POWERS)
def test_any_family_is_answered_in_finite_numbers(power, width, library):
    """Whatever the widths and powers, the audit gives plain JSON or a reason, and never a warning."""
    for seed in range(2):
        second = "max_stem_m" if seed % 2 else None
        kind = Family(
            "rotary_cutter",
            "x",
            (),
            "g",
            "pto",
            "mower|flail",
            "working_width_m",
            second,
            *(None,) * 8,
            source_id="s",
            status="invented",
        )
        (one,) = audit(records(power, width, seed), [kind], library.tables).families
        json.dumps(one.as_dict("us"), allow_nan=False)
        assert (one.reason is None) == (one.fitted is not None)
        assert len(list(one.records())) == (one.n if one.fitted else 0)
