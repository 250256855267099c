"""What the audit finds of slips planted in simulated families, and how well its lines recover the truth.

The families are simulated, so what is planted is known. The tables of docs/audit.md are printed by the slow tests:
`./run.sh test tests/scoring/test_audit_recovery.py -m slow -s`.
"""

from __future__ import annotations

import math
import sys
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from evener.schema.records import Family, Implement
from evener.scoring.audit.auditing import audit
from evener.scoring.audit.flags import FarFromPeers, UnitSlip

HP, FT = 0.7457, 0.3048
NO_TABLES = {"rotary_power": [], "power_ratios": []}
# Kind of slip: column, factor from the true to the stated value, and the units the audit should name.
SLIPS = {
    "kW typed as hp": ("rated_pto_power_kw", HP, ("hp", "kW")),
    "hp typed as kW": ("rated_pto_power_kw", 1 / HP, ("kW", "hp")),
    "metric hp typed as hp": ("rated_pto_power_kw", 1.0139, ("hp", "PS")),
    "m typed as ft": ("working_width_m", FT, ("ft", "m")),
    "ft typed as m": ("working_width_m", 1 / FT, ("m", "ft")),
    "in typed as cm": ("working_width_m", 1 / 2.54, ("cm", "in")),
    "lb typed as kg": ("mass_kg", 1 / 0.4536, ("kg", "lb")),
    "kg typed as lb": ("mass_kg", 0.4536, ("lb", "kg")),
}


def simulated(rng, *, families=30, per_family=100, scatters=(0.06, 0.10, 0.15, 0.20)):
    """Return families whose power goes as a power of width with a lognormal scatter, and their mass likewise."""
    kinds, records = [], []
    for k in range(families):
        name = f"family_{k:02d}"
        kinds.append(_family(name))
        low, growth = rng.uniform(5, 12), rng.uniform(0.8, 1.6)
        width = np.exp(rng.uniform(math.log(1.2), math.log(8.0), per_family))
        build = rng.normal(0, 1, per_family)
        scatter = scatters[k % len(scatters)]
        power = low * width**growth * np.exp(scatter * build)
        mass = 220 * width**1.1 * np.exp(0.15 * (0.5 * build + math.sqrt(0.75) * rng.normal(0, 1, per_family)))
        records += [
            Implement(f"{name}/{i}", name, f"x {i}", working_width_m=w, rated_pto_power_kw=p, mass_kg=m)
            for i, (w, p, m) in enumerate(zip(width.tolist(), power.tolist(), mass.tolist(), strict=True))
        ]
    return kinds, records


def _family(name):
    return Family(
        name, name, (), "g", "pto", None, "working_width_m", None, *(None,) * 8, source_id="s", status="invented"
    )


def planted(rng, records, share):
    """Return the records with a share of them slipped, and which slip each of these has."""
    which = rng.choice(len(records), round(share * len(records)), replace=False)
    records = list(records)
    truth = {}
    for position, slip in zip(which.tolist(), np.resize(list(SLIPS), which.size), strict=True):
        column, factor, _ = SLIPS[slip]
        one = records[position]
        records[position] = replace(one, **{column: getattr(one, column) * factor})
        truth[one.implement_id] = slip
    return records, truth


def outcome(report, truth):
    """Count, per kind of slip, how many were planted, said to be far from their peers, and named right; and alarms."""
    said = {flag.implement_id for flag in report.flags if isinstance(flag, FarFromPeers)}
    named = {flag.implement_id: flag for flag in report.flags if isinstance(flag, UnitSlip)}
    count = Counter()
    for one, slip in truth.items():
        column, _, (read_as, meant) = SLIPS[slip]
        count["planted", slip] += 1
        count["found", slip] += one in said
        flag = named.get(one)
        right = flag is not None and flag.column == column
        count["named", slip] += right and {(flag.read_as, flag.meant)} <= {(read_as, meant), _alike(read_as, meant)}
    count["said"], count["false"] = len(said), len(said - set(truth))
    count["all named"] = len(named)
    count["misnamed"] = len(set(named) - set(truth))
    return count


def _alike(read_as, meant):
    """Metric horsepower and horsepower are 1.4 % apart: the audit names the commoner."""
    swap = {"hp": "PS", "PS": "hp"}
    return swap.get(read_as, read_as), swap.get(meant, meant)


def recovery(share, seeds, **size):
    """Add up the outcome of several simulated files."""
    total = Counter()
    for seed in seeds:
        rng = np.random.default_rng([seed, round(1000 * share)])
        families, records = simulated(rng, **size)
        records, truth = planted(rng, records, share)
        total += outcome(audit(records, families, NO_TABLES), truth)
    return total


def rate(count, what, slip):
    """Return the share of the planted slips of a kind that were found or named."""
    return count[what, slip] / max(count["planted", slip], 1)


def test_gross_slips_are_found_and_named_and_few_alarms_are_false():
    """Of slips by a factor of 2.2 and more at least 95 % are found and 75 % named; at most 8 % of alarms are false."""
    count = recovery(0.05, range(1))
    gross = [slip for slip, (_, factor, _) in SLIPS.items() if abs(math.log(factor)) > 0.7]
    planted_gross = sum(count["planted", slip] for slip in gross)
    assert sum(count["found", slip] for slip in gross) / planted_gross >= 0.95
    assert sum(count["named", slip] for slip in gross) / planted_gross >= 0.75
    assert count["false"] / count["said"] <= 0.08


@pytest.mark.ci
def test_slips_near_the_scatter_are_mostly_missed_and_that_is_said():
    """A factor of 1.34 is seldom found where single machines scatter by 15 to 20 %, and a factor of 1.014 never."""
    count = recovery(0.05, range(2), scatters=(0.15, 0.20))
    assert rate(count, "found", "kW typed as hp") < 0.3
    assert rate(count, "found", "metric hp typed as hp") < 0.05


@pytest.mark.ci
def test_a_sound_file_raises_few_alarms():
    """Where nothing is wrong, three files of 3,000 records give at most a handful of alarms among them."""
    said = 0
    for seed in range(3):
        families, records = simulated(np.random.default_rng([seed, 7]))
        said += sum(isinstance(flag, FarFromPeers) for flag in audit(records, families, NO_TABLES).flags)
    assert said <= 3


@pytest.mark.slow
@pytest.mark.parametrize("share", [0.01, 0.02, 0.05, 0.10])
def test_table_of_recovery(share, capsys):
    """Over ten files of 3,000 records at most 8 % of the alarms are false at every share of slips; prints the table."""
    count = recovery(share, range(10))
    said, false, named = count["said"], count["false"], count["all named"]
    lines = [
        f"{share:.0%} slipped: {said} said, {false} of them false; {named} named, {count['misnamed']} of them sound"
    ]
    for slip in SLIPS:
        found, right = (f"{rate(count, what, slip):.0%}" for what in ("found", "named"))
        lines.append(f"| {slip} | {count['planted', slip]} | {found} | {right} |")
    show(capsys, lines)
    assert false / said <= 0.08


@pytest.mark.slow
@pytest.mark.parametrize("scatter", [0.05, 0.075, 0.10, 0.15, 0.20])
def test_table_of_the_factor_1_34(scatter, capsys):
    """A kilowatt typed as a horsepower is found nearly always in families that scatter by 5 %; prints the table."""
    slip = "kW typed as hp"
    count = recovery(0.05, range(10), scatters=(scatter,))
    found, named = (rate(count, what, slip) for what in ("found", "named"))
    show(capsys, [f"| {scatter:.1%} | {count['planted', slip]} | {found:.0%} | {named:.0%} |"])
    assert found >= (0.9 if scatter <= 0.05 else 0.0)


def show(capsys, lines):
    """Print the lines of a table past the capture."""
    with capsys.disabled():
        sys.stdout.write("\n" + "\n".join(lines) + "\n")
