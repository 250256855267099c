"""Work as people call it, "mow the pasture", and the machine that usually does it (custom of the trade)."""

from __future__ import annotations

import csv
from functools import lru_cache
from importlib import resources

from evener.ingest.jobsheet.words import fold, phrases

_PLAIN = frozenset(
    ["a", "all", "an", "and", "for", "in", "it", "my", "of", "off", "on", "our", "out", "some", "the", "up"]
)
_ENDINGS = ("ing", "s", "e")


def usual_machine(said: str) -> str | None:
    """Return the family of the machine that usually does some work; None where it is no work or several might.

    Parameters
    ----------
    said : the work in a few words, in any form of the verb: "mowing hay", "move bales"
    """
    built = built_as(said)
    if built is not None:
        return built[0]
    words = _roots(said)
    met = [(chore, family) for chore, family in _chores() if chore <= words]
    longest = max((chore for chore, _ in met), key=len, default=frozenset())
    families = {family for chore, family in met if len(chore) == len(longest)}
    one = len(families) == 1 and all(chore <= longest or family in families for chore, family in met)
    return families.pop() if one else None


def built_as(said: str) -> tuple[str, str] | None:
    """Return the family and the build of a machine as the trade calls it, in any form: "no-till drilling"; else None.

    Parameters
    ----------
    said : the machine or the work in a few words
    """
    words = _roots(said)
    met = {_roots(phrase): named for phrase, named in phrases().items() if _roots(phrase) <= words}
    return met[max(met, key=len)] if met else None


def _roots(text: str) -> frozenset[str]:
    return frozenset(_root(word) for word in fold(text).split() if word not in _PLAIN)


def _root(word: str) -> str:
    """Return a word without the endings that verbs and plurals take."""
    for ending in _ENDINGS:
        if len(word) > len(ending) + 1:
            word = word.removesuffix(ending)
    return word[:-1] if len(word) > 2 and word[-1] == word[-2] else word


@lru_cache(maxsize=1)
def _chores() -> tuple[tuple[frozenset[str], str], ...]:
    text = resources.files("evener.ingest.jobsheet").joinpath("chores.csv").read_text(encoding="utf-8")
    return tuple((_roots(row["chore"]), row["family"]) for row in csv.DictReader(text.splitlines()))
