"""How fast the audit is: robust lines for a million records beside one library call per family, and a whole audit.

Run: python benchmarks/audit.py [RECORDS]
"""

from __future__ import annotations

import sys
import time

import numpy as np
from numpy.typing import NDArray

from evener.schema.records import Family, Implement
from evener.scoring.audit.auditing import audit
from evener.scoring.ratings.robust import huber, huber_grouped

FAMILIES = 50

Array = NDArray[np.float64]


def simulated(n: int, seed: int = 0) -> tuple[Array, Array, NDArray[np.intp]]:
    """Return the designs, log powers and family numbers of n records in 50 families, 5 % of them slipped."""
    rng = np.random.default_rng(seed)
    group = rng.integers(0, FAMILIES, n)
    x = rng.uniform(np.log(1.2), np.log(10.0), n)
    level, growth = rng.uniform(1.5, 3.0, FAMILIES), rng.uniform(0.8, 1.6, FAMILIES)
    y = level[group] + growth[group] * x + rng.normal(0, 0.15, n)
    y += np.where(rng.random(n) < 0.05, rng.choice([-0.293, 0.293, -1.19], n), 0.0)
    return np.column_stack([np.ones(n), x]), y, group


def robust(n: int) -> None:
    """Time both solvers on the same records, and print their ratio and how far apart their lines are."""
    design, response, group = simulated(n)
    start = time.perf_counter()
    ours = huber_grouped(design, response, group)
    grouped = time.perf_counter() - start
    huber(design[:100], response[:100])  # the library's import is not part of the loop
    start = time.perf_counter()
    theirs = np.array([huber(design[group == k], response[group == k]) for k in range(FAMILIES)])
    loop = time.perf_counter() - start
    apart = float(np.abs(theirs - ours.coefficients).max())
    print(f"robust lines, {n:,} records in {FAMILIES} families")
    print(f"  all families in one go     {grouped:8.2f} s   {ours.passes} passes")
    print(
        f"  one library call a family  {loop:8.2f} s   {loop / grouped:.1f} times as long; lines agree to {apart:.0e}"
    )


def whole(n: int) -> None:
    """Time a whole audit: lines, diagnostics, tests and flags."""
    design, response, group = simulated(n, seed=1)
    names = [f"family_{k:02d}" for k in range(FAMILIES)]
    families = [
        Family(
            name, name, (), "g", "pto", None, "working_width_m", None, *(None,) * 8, source_id="s", status="invented"
        )
        for name in names
    ]
    width, power = np.exp(design[:, 1]).tolist(), np.exp(response).tolist()
    records = [
        Implement(f"R{i}", names[k], f"machine {i}", working_width_m=width[i], rated_pto_power_kw=power[i])
        for i, k in enumerate(group.tolist())
    ]
    start = time.perf_counter()
    report = audit(records, families, {"rotary_power": [], "power_ratios": []})
    seconds = time.perf_counter() - start
    print(f"whole audit, {n:,} records: {seconds:.2f} s, {len(report.flags):,} flags")


if __name__ == "__main__":
    records_wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    robust(records_wanted)
    whole(max(records_wanted // 10, 1_000))
