"""What the calls accept: numbers in their bounds, kinds of record, and records whose every number can be."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import fields as dataclass_fields
from dataclasses import is_dataclass
from typing import Any, TypeVar, get_args

from evener.enquiry.refused import RecordRefused, WrongUse
from evener.schema import fields
from evener.schema.records import Implement, JobSheet, Quantity, Tractor, TractorKind
from evener.scoring.core.printing import Units

UNITS: tuple[Units, ...] = get_args(Units)
KINDS: tuple[TractorKind, ...] = get_args(TractorKind)
Record = TypeVar("Record", Tractor, Implement)


def kinds(among: str | Iterable[str]) -> tuple[TractorKind, ...]:
    """Return kinds of tractor record, in their usual order.

    Parameters
    ----------
    among : names of kinds, or one text with commas between

    Raises
    ------
    WrongUse
        A name that is none, or no name at all.
    """
    said = among.split(",") if isinstance(among, str) else list(among)
    asked = [kind.strip() for kind in said if kind.strip()]
    unknown = [kind for kind in asked if kind not in KINDS]
    if unknown or not asked:
        raise WrongUse(f"among takes {', '.join(KINDS)}, not {', '.join(unknown) or 'nothing'}")
    return tuple(kind for kind in KINDS if kind in asked)


def whole(argument: str, value: int, low: int, high: int) -> int:
    """Return a count that lies in its bounds.

    Raises
    ------
    WrongUse
        It is no whole number, or out of bounds.
    """
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        raise WrongUse(f"{argument} takes a whole number from {low:,} to {high:,}, not {value!r}")
    return value


def seconds(argument: str, value: float) -> float:
    """Return a time that is long enough to do something in, and no longer than ten minutes [s].

    Raises
    ------
    WrongUse
        It is no number, or out of bounds.
    """
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.1 <= value <= 600:
        raise WrongUse(f"{argument} takes 0.1 to 600 seconds, not {value!r}")
    return float(value)


def units(value: str | None) -> Units | None:
    """Return a system of units that there is, or None.

    Raises
    ------
    WrongUse
        There is no such system.
    """
    if value is not None and value not in UNITS:
        raise WrongUse(f"units takes {' or '.join(UNITS)}, not {value!r}")
    return value


def record(one: Record) -> Record:
    """Return a record whose every number is finite and in the bounds of the nomenclature.

    Raises
    ------
    RecordRefused
        A capacity of 0, of less, of NaN or infinity, or a word that is none of its field's; the field is named.
    """
    kind = "tractor" if isinstance(one, Tractor) else "implement"
    name = getattr(one, f"{kind}_id")
    for field in fields.of(kind).values():
        value = getattr(one, field.name, None)
        if value is None or value == ():
            if field.required and field.name != "source_id":
                raise RecordRefused(f"{kind} {name!r} has no {field.name}. Say it: {field.meaning}.")
            continue
        if field.kind == "choice" and value not in field.choices:
            raise RecordRefused(f"{kind} {name!r}: {field.name} takes {', '.join(field.choices)}, not {value!r}.")
        numbers = value if field.kind == "list" and field.item != "text" else (value,)
        if field.kind in ("number", "integer") or (field.kind == "list" and field.item != "text"):
            for number in numbers:
                _number(f"{kind} {name!r}: {field.name}", number, field.low, field.high)
    return one


def _number(where: str, value: Any, low: float | None, high: float | None) -> None:
    real = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    if not real or (low is not None and value < low) or (high is not None and value > high):
        bounds = "" if low is None or high is None else f" from {low:g} to {high:g}"
        raise RecordRefused(f"{where} takes a number{bounds}, not {value!r}. Leave it out where it is not known.")


def job(sheet: JobSheet) -> JobSheet:
    """Return a job sheet whose every number is finite and whose ranges run upwards.

    Raises
    ------
    RecordRefused
        The field is named.
    """
    _check(sheet, "job")
    return sheet


def _check(value: Any, where: str) -> None:
    if isinstance(value, float) and not math.isfinite(value):
        raise RecordRefused(f"{where} takes a finite number, not {value!r}.")
    if isinstance(value, Tractor | Implement):
        for field in dataclass_fields(value):
            _check(getattr(value, field.name), f"{where}.{field.name}")
    elif is_dataclass(value):
        if isinstance(value, Quantity) and value.low is not None and value.high is not None and value.low > value.high:
            raise RecordRefused(f"{where} runs from {value.low!r} to {value.high!r}. Write the smaller first.")
        for field in dataclass_fields(value):
            _check(getattr(value, field.name), f"{where}.{field.name}")
    elif isinstance(value, tuple):
        for place, inner in enumerate(value):
            _check(inner, f"{where}[{place}]")
