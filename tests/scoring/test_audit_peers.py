"""Who does not belong with the peers: setting aside, and the control of false alarms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from statsmodels.datasets import stackloss
from statsmodels.stats.multitest import multipletests

from evener.scoring.audit.peers import against_peers, benjamini_hochberg


def line(rng, n, scatter=0.13):
    """Return the logarithms of widths and of powers of a sound family."""
    x = rng.uniform(math.log(1.2), math.log(8), n)
    return np.column_stack([np.ones(n), x]), 2.5 + 1.1 * x + rng.normal(0, scatter, n)


def test_the_example_of_benjamini_and_hochberg():
    """Of the 15 tests of the paper's example the first four are reported at a share of 5 %.

    Y. Benjamini and Y. Hochberg, J. R. Statist. Soc. B 57 (1995) 289-300, section 4.
    """
    p = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240]
    p += [0.4262, 0.5719, 0.6528, 0.7590, 1.0000]
    assert (benjamini_hochberg(np.array(p)) <= 0.05).tolist() == [True] * 4 + [False] * 11


def test_adjusted_values_are_those_of_statsmodels():
    """The share at which each test is reported agrees with statsmodels' `fdr_bh`, ties included."""
    p = np.random.default_rng(0).beta(0.4, 3.0, 500).round(4)
    assert benjamini_hochberg(p) == pytest.approx(multipletests(p, method="fdr_bh")[1], rel=1e-12)


def test_stack_loss_sets_the_known_runs_aside():
    """On the stack loss data runs 1, 3, 4 and 21 do not belong with the others, as the literature has it.

    P. J. Rousseeuw and A. M. Leroy, Robust Regression and Outlier Detection (1987), chapter 3 (from memory); the data
    are shipped with statsmodels.
    """
    data = stackloss.load_pandas().data
    design = np.column_stack([np.ones(21), data[["AIRFLOW", "WATERTEMP", "ACIDCONC"]].to_numpy(float)])
    peers = against_peers(design, data["STACKLOSS"].to_numpy(float))
    assert (np.flatnonzero(~peers.kept) + 1).tolist() == [1, 3, 4, 21]


def test_wrong_records_do_not_hide_each_other():
    """A fifth of the widths in the wrong unit is set aside whole, where plain studentised residuals name hardly one."""
    rng = np.random.default_rng(3)
    design, response = line(rng, 60)
    design[:12, 1] += math.log(3.28)
    peers = against_peers(design, response)
    assert not peers.kept[:12].any()
    assert peers.kept[12:].sum() >= 46


@pytest.mark.parametrize("n", [9, *(pytest.param(n, marks=pytest.mark.ci) for n in (20, 60))])
def test_sound_families_raise_alarms_as_seldom_as_promised(n):
    """Among 300 sound families those with any alarm stay within three binomial errors of 6 %."""
    rng = np.random.default_rng(n)
    alarmed = sum(bool((benjamini_hochberg(against_peers(*line(rng, n)).p) <= 0.05).any()) for _ in range(300))
    assert alarmed / 300 <= 0.06 + 3 * math.sqrt(0.06 * 0.94 / 300)


def test_a_record_without_peers_of_its_size_cannot_stand_out():
    """The only record that determines a coefficient is never an alarm."""
    design = np.column_stack([np.ones(12), [0.0] * 11 + [1.0]])
    response = np.append(np.random.default_rng(1).normal(1, 0.1, 11), 9.0)
    peers = against_peers(design, response)
    assert peers.t[11] == 0
    assert peers.p[11] == 1


def test_rounding_is_no_deviation():
    """A family that lies on its line to the last digit does not make a record 1 % off it an alarm."""
    x = np.linspace(0, 2, 30)
    design, response = np.column_stack([np.ones(30), x]), 1 + x
    response[7] += 0.01
    peers = against_peers(design, response, grain=0.02)
    assert (benjamini_hochberg(peers.p) > 0.05).all()
