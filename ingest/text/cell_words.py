"""Words in cells that are no units: for no value, for about, between the ends of a range, beside a price.

`cell_words.csv` has them by language: what says that no value is given, in any cell or in the place of a figure; that
it is not known; that it is about so much, before or behind the number; what stands between the ends of a range; what
leaves an asking price as it stands; what makes a number the least.
"""

from __future__ import annotations

import csv
import re
from functools import lru_cache
from importlib import resources
from typing import Literal

What = Literal["nothing", "no_figure", "unknown", "about", "about_behind", "to", "open_price", "least", "least_behind"]


@lru_cache(maxsize=8)
def words(what: What) -> frozenset[str]:
    """Return the words of one sort in all languages, in lower case."""
    text = resources.files("evener.ingest.text").joinpath("cell_words.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return frozenset(word for row in rows if row["what"] == what for word in row["words"].split(";"))


def pattern(what: What) -> str:
    """Return a pattern that any of the words matches, the longest first."""
    return "|".join(re.escape(word) for word in sorted(words(what), key=lambda word: (-len(word), word)))
