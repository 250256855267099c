"""The values of the pooling that a trade expert may set."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import lru_cache
from importlib import resources


@lru_cache(maxsize=1)
def policy() -> Mapping[str, float]:
    """Return the values of `pooling.csv` by name."""
    text = resources.files("evener.scoring.ratings").joinpath("pooling.csv").read_text(encoding="utf-8")
    return {row["name"]: float(row["value"]) for row in csv.DictReader(text.splitlines())}
