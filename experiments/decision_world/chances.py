"""Draws from the world's tables: numbers and words nobody said, and how much things differ."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from experiments.decision_world.figures import effects, rows


@cache
def _facts() -> dict[str, dict[str, str]]:
    return {row["fact"]: row for row in rows("facts")}


def drawn(rng: np.random.Generator, fact: str) -> float:
    """Return one draw of a number nobody said."""
    row = _facts()[fact]
    a, b = float(row["a"]), float(row["b"])
    if row["kind"] == "uniform":
        return float(rng.uniform(a, b))
    value = a * math.exp(b * float(rng.standard_normal()))
    return float(np.clip(value, float(row["low"]), float(row["high"])))


def chosen(rng: np.random.Generator, fact: str) -> str:
    """Return one draw of a word nobody said."""
    words, shares = zip(*(part.rsplit(" ", 1) for part in _facts()[fact]["a"].split("|")), strict=True)
    return str(rng.choice(words, p=[float(share) for share in shares]))


def is_said(rng: np.random.Generator, fact: str) -> bool:
    """Return whether a customer says a fact unasked."""
    return bool(rng.random() < float(_facts()[fact]["said"]))


def concerns(fact: str, family: str) -> bool:
    """Return whether a fact is one of this family's."""
    families = _facts()[fact]["families"].split("|")
    return families == ["*"] or family in families


def factor(rng: np.random.Generator, what: str, of: str) -> float:
    """Return one draw of an effect, normal about its mean."""
    mean, spread = effects()[what, of]
    return mean + spread * float(rng.standard_normal())


def spread_about(rng: np.random.Generator, what: str, of: str) -> float:
    """Return one draw of an effect whose logarithm is normal."""
    mean, spread = effects()[what, of]
    return mean * math.exp(spread * float(rng.standard_normal()))
