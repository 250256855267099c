"""The words a job sheet may use, and what was probably meant by one that is not among them."""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from importlib import resources
from types import MappingProxyType

from evener.schema.fields import spellings
from evener.schema.records import Family

Spellings = Mapping[str, tuple[str, ...]]

MOST_TO_COMPARE = 5000  # near misses are looked for among so many names at most: it takes a second beyond that


@dataclass(frozen=True, slots=True)
class Span:
    """What a word for the lie of the land stands for: slopes [1] from `low` to `high`."""

    low: float
    high: float


@lru_cache(maxsize=1)
def _rows() -> tuple[dict[str, str], ...]:
    text = resources.files("evener.ingest.jobsheet").joinpath("words.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def usual(name: str) -> Spellings:
    """Return a list of the job sheet's own words: each word with its other spellings."""
    return MappingProxyType(
        {row["word"]: tuple(filter(None, row["spellings"].split(";"))) for row in _rows() if row["list"] == name}
    )


def terrain() -> Mapping[str, Span]:
    """Return the slopes [1] that level, rolling, hilly and steep stand for (trade practice)."""
    return MappingProxyType(
        {row["word"]: Span(float(row["low"]), float(row["high"])) for row in _rows() if row["list"] == "terrain"}
    )


@lru_cache(maxsize=1)
def phrases() -> Mapping[str, tuple[str, str]]:
    """Return the words of the trade that name a family and its build at once: phrase to family and build."""
    return MappingProxyType({fold(row["phrase"]): (row["family"], row["build"]) for row in _builds() if row["phrase"]})


@lru_cache(maxsize=1)
def told_builds() -> Mapping[tuple[str, str], str]:
    """Return the build that a key tells of a family's machine where the sheet says none: by family and key."""
    return MappingProxyType({(row["family"], row["key"]): row["build"] for row in _builds() if row["key"]})


def _builds() -> csv.DictReader[str]:
    text = resources.files("evener.ingest.jobsheet").joinpath("builds.csv").read_text(encoding="utf-8")
    return csv.DictReader(text.splitlines())


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Every word a job sheet may use.

    Attributes
    ----------
    families : family id to its names and trade spellings
    implements : implement id to its family id
    tractors : tractor ids
    needs : family id to the keys that must be written for it, if only as "?"
    materials, liquids, crops, growth, pace, soil, land_uses, animals : word to its other spellings
    """

    families: Spellings
    implements: Mapping[str, str]
    tractors: Collection[str] = ()
    needs: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    materials: Spellings = field(default_factory=lambda: usual("material"))
    liquids: Spellings = field(default_factory=lambda: usual("liquid"))
    crops: Spellings = field(default_factory=lambda: usual("crop"))
    growth: Spellings = field(default_factory=lambda: usual("growth"))
    pace: Spellings = field(default_factory=lambda: usual("pace"))
    soil: Spellings = field(default_factory=lambda: usual("soil"))
    land_uses: Spellings = field(default_factory=lambda: usual("land_use"))
    animals: Spellings = field(default_factory=lambda: usual("animal"))

    @classmethod
    def of(
        cls, families: Iterable[Family], *, implements: Mapping[str, str], tractors: Collection[str] = ()
    ) -> Vocabulary:
        """Return the vocabulary of a store's records.

        Parameters
        ----------
        families : family records; one that is rated by its working width must have one
        implements : implement id to its family id
        tractors : tractor ids
        """
        known = tuple(families)
        return cls(
            families={one.family: (one.label, *one.names, *_spelled(one.family)) for one in known},
            implements=implements,
            tractors=tractors,
            needs={one.family: ("width",) for one in known if one.first_variable == "working_width_m"},
        )

    def words(self, name: str) -> Spellings:
        """Return the list a key draws its words from, by the list's name in `jobsheet_keys.csv`."""
        own = {
            "material": self.materials,
            "liquid": self.liquids,
            "crop": self.crops,
            "growth": self.growth,
            "pace": self.pace,
            "soil": self.soil,
            "land_use": self.land_uses,
            "animal": self.animals,
            "family": self.families,
        }
        return own[name] if name in own else usual(name)


def _spelled(family: str) -> list[str]:
    """Return the words of a family in the languages of lists, and old ones that are read and never printed."""
    rows = (row for row in spellings() if row["record"] == "family" and row["value"] == family)
    return [word for row in rows for word in row["spelling"].split(";")]


def fold(word: str) -> str:
    """Return a word without case, and with underscores and hyphens as spaces."""
    return " ".join(word.casefold().replace("_", " ").replace("-", " ").split())


def match(word: str, spellings: Spellings) -> str | None:
    """Return the word of a list that is meant by one of its spellings, or None."""
    folded = fold(word)
    return next(
        (one for one, others in spellings.items() if folded in (fold(one), *(fold(other) for other in others))), None
    )


def near(word: str, names: Iterable[str]) -> tuple[str, ...]:
    """Return up to three names a misspelt one may stand for, the nearest first."""
    from difflib import get_close_matches
    from itertools import islice

    candidates = {fold(name): name for name in islice(names, MOST_TO_COMPARE)}
    return tuple(candidates[one] for one in get_close_matches(fold(word), candidates, n=3, cutoff=0.6))


def keys_meant(word: str, allowed: Collection[str]) -> tuple[str, ...]:
    """Return the keys that an unknown one may stand for: the one people call so, else those it is a slip of."""
    folded = fold(word)
    called = tuple(key for key, others in usual("key").items() if key in allowed and folded in map(fold, others))
    return called or near(word, allowed)


def near_words(word: str, spellings: Spellings) -> tuple[str, ...]:
    """Return up to three words of a list that a misspelt one may stand for, looked for among all spellings."""
    owners = {name: one for one, others in spellings.items() for name in (one, *others)}
    return tuple(dict.fromkeys(owners[name] for name in near(word, owners)))
