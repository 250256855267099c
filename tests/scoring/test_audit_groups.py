"""Whole files in the wrong unit: found where single records are not, and sound files left alone.

The table of docs/audit.md is printed by the slow test: `./run.sh test tests/scoring/test_audit_groups.py -m slow -s`.
"""

from __future__ import annotations

import importlib.util
import math
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from evener.scoring.audit.auditing import audit
from evener.scoring.audit.draft import collect, draft
from evener.scoring.audit.groups import labels_of, shifted_groups

HP = 0.7457
RATIOS = {
    "rotary_power": [],
    "power_ratios": [
        {
            "from_point": "engine flywheel",
            "to_point": "PTO",
            "tractor_type": "all",
            "ratio": 0.9,
            "ratio_low": None,
            "ratio_high": None,
        }
    ],
}


def _recovery():
    path = Path(__file__).with_name("test_audit_recovery.py")
    found = importlib.util.spec_from_file_location("audit_recovery_simulations", path)
    module = importlib.util.module_from_spec(found)
    sys.modules[found.name] = module
    found.loader.exec_module(module)
    return module


simulated = _recovery().simulated


def files(seed, *, batches=12, habit=0.0, slip=1.0, column="rated_pto_power_kw", per_family=40, families=12, **size):
    """Return simulated families whose records come from several files, each with a habit, the first one slipped.

    Each file holds about a third of the families. A source's habit is a factor on all it rates, and another on each of
    its families, both with a standard deviation of `habit`.
    """
    rng = np.random.default_rng([seed, batches, round(1000 * habit)])
    kinds, records = simulated(rng, families=families, per_family=per_family, **size)
    names = [f"B{k:02d}" for k in range(batches)]
    of_source = rng.normal(0, habit, batches)
    deals = {kind.family: rng.permutation(batches)[: max(3, batches // 3)] for kind in kinds}
    of_family = rng.normal(0, habit, (families, batches))
    place = {kind.family: k for k, kind in enumerate(kinds)}
    stated = []
    for one in records:
        k = int(rng.choice(deals[one.family]))
        factor = math.exp(of_source[k] + of_family[place[one.family], k]) * (slip if k == 0 else 1.0)
        stated.append(replace(one, batch_id=names[k], **{column: getattr(one, column) * factor}))
    return kinds, stated


def shifted(kinds, records, false_share=0.05):
    """Return the batches that stand out, by id."""
    held = {}
    for one in records:
        held.setdefault(one.family, []).append(one)
    drafts = [draft(collect(kind, held.get(kind.family, []))) for kind in kinds]
    ratios = (("engine flywheel power", 0.9), ("gross flywheel (advertised) power", 0.83))
    labels = labels_of(records, "batch")
    found = shifted_groups(drafts, "batch", labels, ratios, false_share)
    return {(one.group, one.column): one for one in found}


@pytest.mark.parametrize(("slip", "read_as", "meant"), [(HP, "hp", "kW"), (1 / HP, "kW", "hp")])
def test_a_file_of_another_power_unit_is_found_and_named(slip, read_as, meant):
    """One file of twelve in the other power unit is the only one that stands out, by its factor, and is named."""
    found = shifted(*files(2, slip=slip, per_family=100))
    ((key, one),) = found.items()
    assert key == ("B00", "rated_pto_power_kw")
    assert one.factor == pytest.approx(slip, rel=0.06)
    assert one.low < slip < one.high
    assert (one.slip.read_as, one.slip.meant) == (read_as, meant)
    assert f"{meant} read as {read_as} explains it (" in one.evidence()


def test_a_file_of_pounds_read_as_kilograms_is_found_by_its_masses():
    """Masses 2.2 times the others' are found in their own column; the powers are not accused."""
    found = shifted(*files(2, slip=1 / 0.4536, column="mass_kg"))
    ((key, one),) = found.items()
    assert key == ("B00", "mass_kg")
    assert (one.slip.read_as, one.slip.meant) == ("kg", "lb")


@pytest.mark.ci
def test_sound_files_are_left_alone():
    """Twelve sound files, with habits of 3 % or none, raise no alarm in six tries."""
    for seed in range(3):
        assert shifted(*files(seed)) == {}
        assert shifted(*files(seed, habit=0.03)) == {}


@pytest.mark.ci
def test_few_files_are_held_against_an_assumed_habit():
    """Four files whose sources differ by 6 % raise no alarm in five tries: so few cannot show how sources differ."""
    for seed in range(5):
        assert shifted(*files(seed, batches=4, habit=0.06)) == {}


def test_a_shift_within_the_habits_of_sources_is_no_slip():
    """A source that rates a tenth higher than the others is one among sources that differ, and gets no slip's name."""
    found = shifted(*files(4, habit=0.06, slip=1.1))
    assert all(one.slip is None for one in found.values())


def test_one_batch_alone_is_compared_with_nothing():
    """Records of one file, or of none, give no batch to report."""
    kinds, records = files(5, batches=1, slip=HP)
    assert shifted(kinds, records) == {}
    assert shifted(kinds, [replace(one, batch_id=None) for one in records]) == {}


def test_with_one_other_file_the_evidence_says_that_it_may_be_either():
    """Two files that differ by 2.2 say so of the smaller, and that the slip may be in either."""
    kinds, records = files(6, batches=2, slip=2.2, families=8)
    found = shifted(kinds, records)
    assert len(found) == 1
    (one,) = found.values()
    assert one.groups == 1
    if one.slip is not None:
        assert "the slip may be in either" in one.evidence()


@pytest.mark.ci
def test_order_of_records_and_names_of_files_do_not_matter():
    """The same records in another order, under other batch names, give the same shift."""
    kinds, records = files(7, slip=HP)
    (one,) = shifted(kinds, records).values()
    renamed = [replace(record, batch_id=f"Z{99 - int(record.batch_id[1:])}") for record in reversed(records)]
    (other,) = shifted(kinds, renamed).values()
    assert other.group == "Z99"
    assert other.factor == pytest.approx(one.factor, rel=1e-9)
    assert other.share == pytest.approx(one.share, rel=1e-6)


def test_the_report_carries_the_batch_and_does_not_accuse_its_records():
    """The audit lists the batch in its answer; its records are sound beside each other, and none is accused singly."""
    kinds, records = files(8, slip=HP, scatters=(0.05,))
    report = audit(records, kinds, RATIOS)
    answer = report.as_dict()
    assert [one["group"] for one in answer["groups"]] == ["B00"]
    assert answer["groups"][0]["corrected_by"] == pytest.approx(1 / HP, rel=1e-3)
    of_batch = {one.implement_id for one in records if one.batch_id == "B00"}
    far = {flag.implement_id for flag in report.flags if flag.kind == "far_from_peers"}
    assert len(far & of_batch) <= 2
    assert not {flag.implement_id for _, flag in report.worst(1000) if flag.column == "rated_pto_power_kw"} & of_batch


@pytest.mark.slow
@pytest.mark.parametrize("batches", [4, 12])
@pytest.mark.parametrize("habit", [0.0, 0.03, 0.06, 0.10])
def test_table_of_files(batches, habit, capsys):
    """Over 40 slipped and 20 sound simulations, at most one sound file in 25 is reported; prints the table's row."""
    count = Counter()
    for seed in range(20):
        for slip in (1.0, HP, 1 / HP):
            kinds, records = files(seed, batches=batches, habit=habit, slip=slip, per_family=100, families=30)
            for (batch_id, column), one in shifted(kinds, records).items():
                right = slip != 1.0 and batch_id == "B00" and column == "rated_pto_power_kw"
                count["found" if right else "false"] += 1
                if one.slip is not None:
                    named = right and (one.slip.factor > 1) == (slip < 1) and one.slip.read_as != "PTO power"
                    count["named" if named else "misnamed"] += 1
    tested = 20 * 3 * batches * 2 - 40
    with capsys.disabled():
        sys.stdout.write(
            f"\n| {batches} | {habit:.0%} | {count['found'] / 40:.0%} | {count['named'] / 40:.0%} | "
            f"{count['false']} of {tested:,} | {count['misnamed']} |\n"
        )
    assert count["false"] <= tested / 25
