"""A column of words as numbers: build, duty, maker, owner or file, whatever may differ between records of one size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Factor:
    """The level each record is of.

    Attributes
    ----------
    names : the levels, in order of their names
    codes : number of each record's level, -1 where the record does not say [1]
    """

    names: tuple[str, ...]
    codes: NDArray[np.intp]

    @staticmethod
    def from_words(words: Sequence[Any] | NDArray[Any]) -> Factor:
        """Return words as levels; None and blank words are of no level.

        Parameters
        ----------
        words : one word per record, None where it does not say
        """
        from pandas import factorize

        found, names = factorize(np.asarray(words, dtype=object))
        order = np.argsort([str(name) for name in names], kind="stable")
        keep = [int(k) for k in order if str(names[k]).strip()]
        place = np.full(len(names) + 1, -1, dtype=np.intp)
        place[keep] = np.arange(len(keep))
        return Factor(tuple(str(names[k]) for k in keep), place[found])

    @property
    def counts(self) -> NDArray[np.intp]:
        """Records of each level [1]."""
        return np.bincount(self.codes[self.codes >= 0], minlength=len(self.names))

    def shares(self, kept: NDArray[np.bool_]) -> tuple[float, ...]:
        """Return how common each level is among some records [1].

        Parameters
        ----------
        kept : which records
        """
        counts = np.bincount(self.codes[kept & (self.codes >= 0)], minlength=len(self.names))
        return tuple((counts / max(counts.sum(), 1)).tolist())

    def indicators(self) -> Array:
        """Return one column per level: 1 where the record is of it, else 0."""
        return np.asarray(self.codes[:, None] == np.arange(len(self.names)), dtype=np.float64)

    def of(self, values: Array) -> Array:
        """Return each record's value of a level, 0 where it is of none.

        Parameters
        ----------
        values : one per level
        """
        return np.append(values, 0.0)[self.codes]

    def __getitem__(self, which: NDArray[Any]) -> Factor:
        """Return some of the records, with the levels that are left."""
        codes = self.codes[which]
        left = np.unique(codes[codes >= 0])
        place = np.full(len(self.names) + 1, -1, dtype=np.intp)
        place[left] = np.arange(left.size)
        return Factor(tuple(self.names[k] for k in left.tolist()), place[codes])
