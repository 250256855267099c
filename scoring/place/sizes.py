"""Sizes of a task: what the sheet says, else the record, else a prior; and which of them stay open."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.schema.records import Quantity, Task
from evener.scoring.core.carrying import SHEET_NAME
from evener.scoring.core.comparing import middle
from evener.scoring.core.setting import CannotSize
from evener.scoring.core.unknowns import of_machine, of_task
from evener.scoring.ratings import sizes as ratings

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Row, Setting
    from evener.scoring.core.unknowns import Fact

SPAN_LOW, SPAN_HIGH = 0.1, 0.9
ABOUT_AS_WIDE = 1.06
ASKED_AS = {"tool_spacing_m": "tools", "width_m": "working_width_m", "typical_speed_km_h": "speed_km_h"}
UNIT_SUFFIX = {
    "_km_h": "km/h",
    "_t_ha": "t/ha",
    "_t_h": "t/h",
    "_m3": "m3",
    "_m2": "m2",
    "_kg": "kg",
    "_kw": "kW",
    "_ha": "ha",
    "_m": "m",
    "_l": "L",
    "_h": "h",
}
BUILT_IN = {"working_width_m", "max_stem_m", "auger_diameter_m"}


@dataclass(frozen=True)
class Size:
    """One drawn size of a task, with where it comes from.

    Attributes
    ----------
    name : column or key, unit suffix included
    values : draws, in that unit
    low, high : bounds of what is believed
    text : the words of the sheet, or what stands in for them
    source, status : where it comes from
    fact : what it is drawn as, where it is drawn
    """

    name: str
    values: Array
    low: float
    high: float
    text: str
    source: str
    status: str
    fact: Fact | None = None


def key(task: Task, name: str) -> str:
    """Return the key under which a task's size is drawn."""
    return f"task/{task.name}/{name}"


def unit_of(name: str) -> str:
    """Return the SI unit a column or key carries in its name."""
    for suffix, unit in UNIT_SUFFIX.items():
        if name.endswith(suffix):
            return unit
    return "1"


def size(setting: Setting, task: Task, name: str) -> Size | None:
    """Return a size of a task, or None where neither sheet, record, prior nor library knows it.

    `name` is the record's column; `SHEET_NAME` gives the sheet's. What a named record is built for (width, stems, its
    bale) is the record's to say. Otherwise the order is: the sheet; the record; `prior.csv`, by the animals there where
    it goes by them; the span of the library's records of the family. Priors and spans are open: nobody was asked, or
    said "?".
    """
    record = setting.record(task)
    stated = getattr(record, name, None) if record else None
    given: Quantity | None = getattr(task, SHEET_NAME.get(name, name), None)
    if stated is not None and (name in BUILT_IN or _is_baler_size(task, name)):
        given = None
    if given is not None and given.low is not None and given.high is not None:
        fact = _own(setting, task, name, text=given.text, source="job sheet", status="customer")
        return _drawn(setting, fact, given.low, given.high)
    if stated is not None and record is not None and given is None:
        values = np.full(setting.draws.n, float(stated))
        return Size(name, values, stated, stated, f"{record.label}", record.source_id, record.status)
    return _by_animals(setting, task, name) or _prior(setting, task, name) or _span(setting, task, name)


def need(setting: Setting, task: Task, name: str) -> Size:
    """Return a size a task cannot be sized without.

    Raises
    ------
    CannotSize
        If nobody knows it.
    """
    found = size(setting, task, name)
    if found is None:
        plain = "bale" if name.startswith("bale_") else name.rsplit("_", 1)[0].replace("_", " ")
        raise CannotSize(task.name, f"its {plain} is not known", f"Say the {plain}, or name an implement record")
    return found


def variable(setting: Setting, task: Task, name: str) -> Size | None:
    """Return a size a fit rests on, derived from others where it has to be."""
    parts = {
        "bale_volume_m3": ("bale_width_m", "bale_diameter_m"),
        "bale_section_m2": ("bale_height_m", "bale_width_m"),
    }
    if name not in parts:
        return size(setting, task, name)
    first, second = (size(setting, task, part) for part in parts[name])
    if first is None or second is None:
        return None
    derive = ratings.bale_volume_m3 if name == "bale_volume_m3" else ratings.bale_section_m2
    return Size(
        name,
        np.asarray(derive(first.values, second.values)),
        float(derive(first.low, second.low)),
        float(derive(first.high, second.high)),
        f"{first.text}; {second.text}" if first.text != second.text else first.text,
        first.source,
        first.status,
    )


def _is_baler_size(task: Task, name: str) -> bool:
    return name.startswith("bale_") and task.family.endswith("baler")


def _by_animals(setting: Setting, task: Task, name: str) -> Size | None:
    """Return a size by the animals of the place: so much a head of all of them, within what the records are."""
    herd = {kind: head for kind, head in setting.job.place.animals.items() if head}
    rows = [
        row for kind in herd for row in setting.library.rows("prior", quantity=name, family=task.family, animals=kind)
    ]
    stated = [value for peer in setting.library.of_family(task.family) if (value := getattr(peer, name, None))]
    if not rows or not stated:
        return None
    heads = [herd[row["animals"]] for row in rows]
    low, usual, high = (
        float(np.clip(np.dot([float(row[end]) for row in rows], heads), min(stated), max(stated)))
        for end in ("low", "usual", "high")
    )
    said = "; ".join(f"{head} {row['animals']}, {row['note']}" for head, row in zip(heads, rows, strict=True))
    text = f"not said; taken from a prior by the animals: {said}"
    fact = _own(setting, task, name, text=text, source=rows[0]["source_id"], status=rows[0]["status"])
    values = setting.unknowns.triangular(fact, low, usual, high)
    return Size(name, values, low, high, text, fact.source, fact.status, fact)


def _prior(setting: Setting, task: Task, name: str) -> Size | None:
    row = prior_row(setting, name, task.family, task.land)
    if row is None:
        return None
    fact = _own(setting, task, name, text=unsaid(row), source=row["source_id"], status=row["status"])
    return from_prior(setting, fact, row, most=_most_there_is(setting, task) if name == "max_stem_m" else math.inf)


def prior_row(setting: Setting, name: str, family: str | None, land: str | None) -> Row | None:
    """Return the row of `prior.csv` for what nobody said: of this family and land, of the family, of the land, of all.

    Parameters
    ----------
    name : the quantity
    family, land : that it is said of
    """
    for of, on in ((family, land), (family, None), (None, land), (None, None)):
        for row in setting.library.rows("prior", quantity=name, family=of, land=on, animals=None):
            return row
    return None


def unsaid(row: Row) -> str:
    """Return the words that stand in for what nobody said."""
    return f"not said; taken from a prior: {row['note']}"


def from_prior(setting: Setting, fact: Fact, row: Row, most: float = math.inf) -> Size:
    """Draw what nobody said as its row of `prior.csv` has it.

    Parameters
    ----------
    fact : what is drawn
    row : of `prior.csv`
    most : no more than this is there [the row's unit]
    """
    low, high = float(row["low"]), max(min(float(row["high"]), most), float(row["low"]))
    if row["shape"] == "log-normal":
        values = setting.unknowns.log_normal(fact, low, high)
    elif row["shape"] == "triangular":
        values = setting.unknowns.triangular(fact, low, min(float(row["usual"]), high), high)
    else:
        values = setting.unknowns.uniform(fact, low, high)
    return Size(fact.name, values, low, high, fact.text, fact.source, fact.status, fact)


def _most_there_is(setting: Setting, task: Task) -> float:
    """Return the thickest stem that any record of the family of at most this width is built for [m]."""
    width = size(setting, task, "working_width_m")
    if width is None:
        return math.inf
    stems = [
        one.max_stem_m
        for one in setting.library.of_family(task.family)
        if one.max_stem_m is not None
        and one.working_width_m is not None
        and one.working_width_m <= ABOUT_AS_WIDE * middle(width.low, width.high)
    ]
    return max(stems, default=math.inf)


def _own(setting: Setting, task: Task, name: str, **stands_in: str) -> Fact:
    fact = of_task(task.name, name, asks=ASKED_AS.get(name, name), unit=unit_of(name), **stands_in)
    return of_machine(setting.job, task, SHEET_NAME.get(name, name), fact)


def _span(setting: Setting, task: Task, name: str) -> Size | None:
    stated = sorted(value for peer in setting.peers(task) if (value := getattr(peer, name, None)) is not None)
    if not stated:
        return None
    low, high = (float(np.quantile(stated, p, method="nearest")) for p in (SPAN_LOW, SPAN_HIGH))
    text = f"not said; taken from the middle of {len(stated)} library records"
    return _drawn(setting, _own(setting, task, name, text=text), low, high)


def _drawn(setting: Setting, fact: Fact, low: float, high: float) -> Size:
    values = setting.unknowns.uniform(fact, low, high)
    return Size(fact.name, values, low, high, fact.text, fact.source, fact.status, fact)
