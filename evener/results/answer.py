"""What all answers share: the dictionary of the JSON contract, rows for a spreadsheet, and a DataFrame of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from evener.scoring.core.printing import Units, in_units

if TYPE_CHECKING:
    from pandas import DataFrame

SCHEMA = 1
Said = TypeVar("Said")


@dataclass(frozen=True)
class Worded(Generic[Said]):
    """A sentence with numbers in it, or several, in both systems of units."""

    si: Said
    us: Said

    def in_units(self, units: Units) -> Said:
        """Return what is said to a reader of these units."""
        return self.us if units == "us" else self.si


@dataclass(frozen=True)
class Answer:
    """One answer of the front door; its numbers are SI until it is turned into what people or programs read."""

    def to_dict(self, units: Units = "si") -> dict[str, Any]:
        """Return the keys of the JSON contract, which `answers.schema.json` holds.

        Parameters
        ----------
        units : "si" or "us": the units of every number that has one
        """
        return in_units({"schema": SCHEMA, **contract(self, units)}, units)

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return the answer as flat rows, for a spreadsheet.

        Parameters
        ----------
        units : "si" or "us"
        """
        raise NotImplementedError

    def to_frame(self, units: Units = "si") -> DataFrame:
        """Return `rows` as a DataFrame.

        Parameters
        ----------
        units : "si" or "us"
        """
        import pandas as pd

        return pd.DataFrame(self.rows(units))


# What a field's metadata can say to `contract`: it is no part of it, it stands there only where it is not None, or its
# key is a word that Python keeps for itself.
KEPT: Mapping[str, Any] = {"kept": True}
OPTIONAL: Mapping[str, Any] = {"optional": True}
CLASS: Mapping[str, Any] = {"key": "class"}
FIELDS: Mapping[str, Any] = {"key": "fields"}


def contract(value: Any, units: Units) -> Any:
    """Return a value of an answer as the contract has it: dataclasses as dictionaries, tuples as lists."""
    if isinstance(value, Worded):
        return contract(value.in_units(units), units)
    if is_dataclass(value) and not isinstance(value, type):
        return {
            one.metadata.get("key", one.name): contract(inner, units)
            for one in fields(value)
            if "kept" not in one.metadata
            and ((inner := getattr(value, one.name)) is not None or "optional" not in one.metadata)
        }
    if isinstance(value, Mapping):
        return {key: contract(inner, units) for key, inner in value.items()}
    if isinstance(value, tuple | list):
        return [contract(inner, units) for inner in value]
    return value
