"""Filters of the tractors to pick among: price, age, hours, drive, loader, width, height, or a condition in SQL."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.enquiry.refused import WrongUse
from evener.ingest.text import cell_errors, cells
from evener.schema import fields

if TYPE_CHECKING:
    from evener.schema.records import Tractor


@dataclass(frozen=True)
class Filter:
    """One filter.

    Attributes
    ----------
    words : what it asks for, as a person would say it
    keeps : whether a tractor passes; None where its record does not say
    estimates : whether that rests on what such a tractor is estimated to be, because its record does not say
    """

    words: str
    keeps: Callable[[Tractor], bool | None]
    estimates: Callable[[Tractor], bool] = lambda _: False


def filters(
    *,
    price_up_to: float | None = None,
    year_from: int | None = None,
    hours_up_to: float | None = None,
    drive: str | None = None,
    loader: bool | None = None,
    width_up_to: str | None = None,
    height_up_to: str | None = None,
    where: Mapping[str, Collection[str]] | None = None,
) -> tuple[Filter, ...]:
    """Return the filters that are asked for; a tractor whose record does not say what one asks is kept, and counted.

    Parameters
    ----------
    price_up_to : in the currency of the list
    year_from : model year, or a later one
    hours_up_to : on the meter [h]
    drive : driven wheels: 2wd, 4wd, articulated or track
    loader : with a loader, or without
    width_up_to, height_up_to : with their unit, such as "7 ft"
    where : by condition in SQL, the ids of the records that meet it

    Raises
    ------
    evener.WrongUse
        A width or a height that cannot be read.
    """
    found: list[Filter] = []
    if price_up_to is not None:
        found.append(Filter(f"price up to {price_up_to:,.0f}", up_to("price", price_up_to)))
    if year_from is not None:
        found.append(Filter(f"model year {year_from} or later", _from("model_year", year_from)))
    if hours_up_to is not None:
        found.append(Filter(f"up to {hours_up_to:,.0f} h on the meter", up_to("meter_hours_h", hours_up_to)))
    if drive is not None:
        known = fields.of("tractor")["drive"].choices
        if drive.casefold() not in known:
            raise WrongUse(f"drive takes {', '.join(known)}, not {drive}")
        found.append(Filter(f"drive {drive.casefold()}", _is("drive", drive.casefold())))
    if loader is not None:
        words = "with a loader" if loader else "without a loader"
        found.append(Filter(words, _has("loader_lift_kg", wanted=loader)))
    for name, said, field in (("width", width_up_to, "overall_width_m"), ("height", height_up_to, "overall_height_m")):
        if said is not None:
            found.append(Filter(f"{name} up to {said}", up_to(field, _metres(name, said))))
    for condition, ids in (where or {}).items():
        found.append(Filter(f"where {condition}", _among(frozenset(ids))))
    return tuple(found)


def passes(filters: Sequence[Filter], tractor: Tractor) -> bool:
    """Tell whether no filter takes a tractor out."""
    return all(one.keeps(tractor) is not False for one in filters)


def up_to(field: str, most: float) -> Callable[[Tractor], bool | None]:
    """Return whether a figure of a tractor is at most so much; None where its record does not state it."""
    return lambda one: None if getattr(one, field) is None else getattr(one, field) <= most * (1 + 1e-9)


def _from(field: str, least: float) -> Callable[[Tractor], bool | None]:
    return lambda one: None if getattr(one, field) is None else getattr(one, field) >= least


def _is(field: str, word: str) -> Callable[[Tractor], bool | None]:
    return lambda one: None if getattr(one, field) is None else getattr(one, field) == word


def _has(field: str, *, wanted: bool) -> Callable[[Tractor], bool | None]:
    return lambda one: (getattr(one, field) is not None) is wanted


def _among(ids: frozenset[str]) -> Callable[[Tractor], bool | None]:
    return lambda one: one.tractor_id in ids


def _metres(name: str, said: str) -> float:
    try:
        length = cells.read_quantity(said, "m").low
    except cell_errors.CellError as error:
        raise WrongUse(f"{name}-up-to: {error.message}; {error.remedy}") from None
    if length is None:
        raise WrongUse(f'{name}-up-to takes a length, such as "7 ft"')
    return length
