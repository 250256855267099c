"""The citations behind the short names of sources."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from importlib import resources


@cache
def sources() -> Mapping[str, str]:
    """Return the citation of each source of the library, by its short name."""
    text = resources.files("evener.schema").joinpath("reference", "sources.csv").read_text(encoding="utf-8")
    return {row["source_id"]: row["citation"] for row in csv.DictReader(text.splitlines())}
