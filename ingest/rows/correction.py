"""A correction by hand of one figure of a list: what the list said, what holds instead, and whose machine it is."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from evener.schema import certainty, fields
from evener.schema.identity import AT

if TYPE_CHECKING:
    from evener.schema.certainty import Certainty
    from evener.schema.store import corrections as kept

# What changes from one day to the next, and tells no row from another.
_PASSING = ("price", "currency", "stock_status", "meter_hours_h", "location", "note")


@dataclass(frozen=True)
class Correction:
    """What a person put in the place of one figure of a list.

    Attributes
    ----------
    owner, number : whose machine, and the owner's own number of it; no number where the row itself is meant
    row : text of the row by heading, where the number was corrected too
    field : field corrected
    was_value, was_text : what the list said: its value, or its text where that could not be read
    value : what holds instead
    sure : how sure it is, where that is said
    """

    owner: str | None
    number: str | None
    row: Mapping[str, str]
    field: str
    was_value: Any
    was_text: str | None
    value: Any
    sure: Certainty | None = None

    @classmethod
    def read(cls, one: kept.Correction) -> Correction:
        """Return a correction as the store keeps it."""
        was, said = json.loads(one.was), json.loads(one.said or "{}")
        sure = certainty.read({one.field: said["sure"]})[one.field] if said.get("sure") else None
        row = json.loads(one.row_text) if one.row_text else {}
        text = was.get("text")
        return cls(one.owner, one.number, row, one.field, was.get("value"), text, said.get("value"), sure)

    def still(self, text: str, value: Any) -> bool:
        """Tell whether a cell says what the list said then; a blank contradicts nothing."""
        if not text.strip():
            return True
        if self.was_text is not None:
            return plain(text) == plain(self.was_text)
        return same(value, self.was_value)


def same(one: Any, other: Any) -> bool:
    """Tell whether two values of a field are one."""
    if isinstance(one, float) and isinstance(other, int | float):
        return math.isclose(one, other, rel_tol=1e-9) or (math.isnan(one) and math.isnan(other))
    return bool(one == other)


def shown(record: str, name: str, value: Any) -> str:
    """Return a value as findings and screens name it, in the store's unit."""
    if value is None or value == "":
        return "nothing"
    if isinstance(value, list):
        return ", ".join(map(str, value))
    unit = fields.of(record)[name].unit
    figure = f"{float(f'{value:.4g}'):,.6g}" if isinstance(value, float) else str(value)
    return f"{figure} {unit}".strip()


def own_number(name: str, owner: str | None) -> str:
    """Return the number an owner gave a machine, without the owner behind it."""
    return name.removesuffix(f"{AT}{owner}") if owner else name


def telling(raw: Mapping[str, str], mapping: Mapping[str, Sequence[str | None]]) -> dict[str, str]:
    """Return what a row's text says that does not change from one day to the next, by heading.

    Parameters
    ----------
    raw : the row's text
    mapping : by heading, the field it fills first
    """
    passing = {heading for heading, said in mapping.items() if said and said[0] in _PASSING}
    return {heading: plain(text) for heading, text in raw.items() if heading not in passing}


def plain(text: str) -> str:
    """Return a text without case and doubled blanks, to compare it by."""
    return " ".join(text.split()).casefold()
