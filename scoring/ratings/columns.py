"""The records of one family as columns: what a fit reads, whether it comes from records, a store or a data frame."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from evener.schema.certainty import is_unsure
from evener.schema.records import Family, Implement
from evener.scoring.ratings.builds import builds
from evener.scoring.ratings.lines.factor import Factor
from evener.scoring.ratings.sizes import size_of, variables_of

Array = NDArray[np.float64]
Quantity = Literal["power", "tractor", "mass", "reach"]

FILE_SOURCE, LIBRARY = "file:", "the library"
FIELDS: Mapping[Quantity, str] = {
    "power": "rated_pto_power_kw",
    "tractor": "rated_tractor_power_kw",
    "mass": "mass_kg",
    "reach": "centre_of_mass_m",
}
UNITS: Mapping[Quantity, str] = {"power": "kW", "tractor": "kW", "mass": "kg", "reach": "m"}


@dataclass(frozen=True)
class FamilyColumns:
    """Records of one family, one entry per record in each column.

    Attributes
    ----------
    family : its name
    variables : names of the sizes
    ids : names of the records
    sizes : each size; NaN where a record does not state it [SI unit of the variable]
    values : power [kW], tractor [kW], mass [kg] and reach [m]; NaN where not stated or only estimated
    build, duty : as the records say
    group : maker, else owner, else file; library rows are one group
    library : which records came with the tool
    left_out : per record why an analyst left it out, or None
    sound : which records an analyst vouches for
    """

    family: str
    variables: tuple[str, ...]
    ids: Sequence[str]
    sizes: tuple[Array, ...]
    values: Mapping[Quantity, Array]
    build: Factor
    duty: Factor
    group: Factor
    library: NDArray[np.bool_]
    left_out: Mapping[str, str]
    sound: NDArray[np.bool_]

    @property
    def n(self) -> int:
        """How many records there are [1]."""
        return len(self.ids)


def columns_of(
    family: str,
    variables: Sequence[str],
    sizes: Sequence[Any],
    values: Mapping[Quantity, Any],
    *,
    ids: Sequence[str] | None = None,
    build: Sequence[str | None] | None = None,
    duty: Sequence[str | None] | None = None,
    group: Sequence[str | None] | None = None,
    library: Sequence[bool] | NDArray[np.bool_] | None = None,
    left_out: Mapping[str, str] | None = None,
    sound: Iterable[str] = (),
) -> FamilyColumns:
    """Return the columns of a family from arrays or lists.

    Parameters
    ----------
    family : its name
    variables : names of its sizes, none, one or two
    sizes : each size; NaN where not stated [SI unit of the variable]
    values : of power, tractor, mass and reach, those that there are [kW, kW, kg, m]
    ids : names of the records; numbered when left out
    build, duty, group : a word per record, None where not said
    library : which records came with the tool; none when left out
    left_out : names of records that an analyst left out, with the reason
    sound : names of records that an analyst vouches for

    Raises
    ------
    ValueError
        A size or value is there that is not a positive finite number, or columns differ in length.
    """
    quantities: dict[Quantity, Array] = {
        name: np.asarray(values[name], dtype=float) for name in FIELDS if name in values
    }
    measured = [np.asarray(size, dtype=float) for size in sizes]
    n = next((column.size for column in (*quantities.values(), *measured)), 0)
    for name, column in [*zip(variables, measured, strict=True), *quantities.items()]:
        if column.shape != (n,):
            raise ValueError(f"{family}: {name} has {column.size} entries, not {n}: give one per record")
        if (column <= 0).any() or np.isinf(column).any():
            raise ValueError(f"{family}: {name} must be positive and finite; leave it blank where it is not known")
    names = [str(number) for number in range(1, n + 1)] if ids is None else ids
    words: list[Sequence[str | None]] = [[None] * n if one is None else one for one in (build, duty, group)]
    known = np.zeros(n, dtype=bool) if library is None else np.asarray(library, dtype=bool)
    vouched = frozenset(sound)
    return FamilyColumns(
        family=family,
        variables=tuple(variables),
        ids=names,
        sizes=tuple(measured),
        values=quantities,
        build=Factor.from_words(words[0]),
        duty=Factor.from_words(words[1]),
        group=Factor.from_words([LIBRARY if shipped else word for shipped, word in zip(known, words[2], strict=True)]),
        library=known,
        left_out=dict(left_out or {}),
        sound=np.array([one in vouched for one in names]) if vouched else np.zeros(n, dtype=bool),
    )


def from_records(
    family: Family,
    records: Sequence[Implement],
    *,
    left_out: Mapping[str, str] | None = None,
    sound: Iterable[str] = (),
    kinds: Mapping[str, str] | None = None,
) -> FamilyColumns:
    """Return the columns of a family's records; figures that were only estimated are left blank.

    Parameters
    ----------
    family : the family
    records : its records, in any order
    left_out, sound : an analyst's verdicts, by record
    kinds : by word in a label the kind of build it tells, as `builds.kinds_of` has them
    """
    names = variables_of(family)
    values: dict[Quantity, list[float]] = {
        quantity: [_stated(record, field) for record in records] for quantity, field in FIELDS.items()
    }
    return columns_of(
        family.family,
        names,
        [[_number(size_of(record, name)) for record in records] for name in names],
        values,
        ids=[record.implement_id for record in records],
        build=builds([one.attachment for one in records], [one.label for one in records], kinds or {}),
        duty=[record.duty for record in records],
        group=[record.maker or record.owner or record.batch_id for record in records],
        library=[is_library(record) for record in records],
        left_out=left_out,
        sound=sound,
    )


def is_library(record: Implement) -> bool:
    """Whether a record came with the tool: nobody's own, and its source is no file of a user's."""
    return record.owner is None and bool(record.source_id) and not record.source_id.startswith(FILE_SOURCE)


def _stated(record: Implement, field: str) -> float:
    return float("nan") if is_unsure(record.estimated, field) else _number(getattr(record, field))


def _number(value: float | None) -> float:
    return float("nan") if value is None else value
