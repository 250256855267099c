"""A `JobSheet` back into the TOML text of a job sheet, in the customer's own words."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import fields, replace
from typing import Any

from evener.ingest.jobsheet.bales import fields_of, is_bale
from evener.ingest.jobsheet.keys import Key, keys_of
from evener.ingest.jobsheet.money import TERMS
from evener.ingest.jobsheet.records import NOT_STATED
from evener.schema import units
from evener.schema.money import Money, Rate
from evener.schema.records import Choice, JobSheet, LandUse, Machine, OwnedMachine, Place, Quantity, Task, Tractor

BUILD_FIELDS = ("attachment", "build", "duty")
BALE_FIELDS = ("bale_height_m", "bale_width_m", "bale_diameter_m")


def write_jobsheet(job: JobSheet) -> str:
    """Return the TOML text that reads back to the same job sheet.

    Parameters
    ----------
    job : values are written as their texts were typed, or in the unit kept where they have none

    Returns
    -------
    str
        One section after the other; keys that hold the usual value are left out.
    """
    blocks = [_block("[place]", _stated("place", job.place, Place("", slope=NOT_STATED)))]
    blocks += [_block("[[place.land]]", _stated("land", use, LandUse("", NOT_STATED))) for use in job.place.land]
    named = {machine.name: machine for machine in job.implements}
    blocks += [_block("[[machine]]", _built("machine", machine, Machine("", ""))) for machine in job.implements]
    blocks += [_block("[[task]]", _task(task, named.get(task.machine or ""))) for task in job.tasks]
    blocks += [_block("[[tractor]]", _tractor(machine)) for machine in job.machines]
    terms = {section: _terms(section, job.money) for section in TERMS}
    policy = [*_stated("policy", job.policy, type(job.policy)()), *terms["policy"]]
    prices = [*_stated("prices", job.money, type(job.money)()), *terms["prices"]]
    hire = [*_stated("hire", job.money, type(job.money)()), *terms["hire"]]
    for header, pairs in (("[policy]", policy), ("[prices]", prices), ("[hire]", hire)):
        if pairs:
            blocks.append(_block(header, pairs))
    return "\n".join(blocks)


def _terms(section: str, said: Money) -> list[tuple[str, str]]:
    """Return the terms of a decision that one section says."""
    keys = [key for key in keys_of(section).values() if key.field in TERMS[section] and key.field in said.terms]
    return [(key.name, _toml(key, said.terms[key.field])) for key in keys]


def _block(header: str, pairs: Iterable[tuple[str, str]]) -> str:
    return "".join(f"{line}\n" for line in (header, *(f"{key} = {value}" for key, value in pairs)))


def _stated(section: str, record: Any, usual: Any) -> Iterator[tuple[str, str]]:
    """Yield every key of a section whose field differs from the usual one, with its value as TOML."""
    names = {one.name for one in fields(record)}
    written: set[str] = set()
    for key in keys_of(section).values():
        if key.field not in names or key.field in written or key.kind in {"tables", "build"}:
            continue
        written.add(key.field)
        value = getattr(record, key.field)
        if value is not None and value != getattr(usual, key.field):
            yield key.name, _toml(key, value)


def _task(task: Task, own: Machine | None) -> Iterator[tuple[str, str]]:
    """Yield what a task says itself; what it takes from its machine stands there."""
    usual: Any = Task("", "", chance=task.chance)
    if own is not None:
        shared = {one.name: getattr(own, one.name) for one in fields(own) if one.name not in {"name", "line"}}
        usual = replace(usual, **shared)
    yield from _built("task", replace(task, year=None), usual)
    if task.planned:
        yield "when", '"planned"'
        yield "chance", repr(task.chance)
        if task.year is not None:
            yield "year", repr(task.year)


def _built(section: str, thing: Any, usual: Any) -> Iterator[tuple[str, str]]:
    """Yield what a task or a machine says, with bale and build each in one text."""
    if thing.implement_id is not None:
        usual = replace(usual, family=thing.family)
    whole = _bale(thing, usual)
    apart: dict[str, Any] = {name: getattr(usual, name) for name in BALE_FIELDS} if whole else {}
    yield from _stated(section, replace(thing, **apart), usual)
    if whole:
        yield "bale", json.dumps(whole, ensure_ascii=False)
    built = [getattr(thing, name) for name in BUILD_FIELDS if getattr(thing, name) != getattr(usual, name)]
    if any(built):
        yield "build", json.dumps(", ".join(filter(None, built)), ensure_ascii=False)


def _bale(task: Task | Machine, usual: Any) -> str | None:
    """Return the one text that said both lengths of a bale, or None where they were said apart or not at all."""
    said = {name: getattr(task, name) for name in BALE_FIELDS if getattr(task, name) is not None}
    if said == {name: getattr(usual, name) for name in said}:
        return None
    texts = {quantity.text for quantity in said.values()}
    if len(said) != 2 or len(texts) != 1:
        return None
    text = texts.pop()
    return text if is_bale(text) and set(fields_of(text, task.family)) == set(said) else None


def _tractor(machine: OwnedMachine) -> Iterator[tuple[str, str]]:
    yield from _stated("tractor", machine, OwnedMachine(""))
    if machine.tractor is None:
        return
    words = {name: sure.basis for name, sure in machine.tractor.estimated.items()}
    usual = Tractor("", "member", "", drive=None)
    for name, value in _stated("tractor", replace(machine.tractor, label="", tractor_id=""), usual):
        text = words.get(keys_of("tractor")[name].field)
        yield name, value if text is None else json.dumps(text, ensure_ascii=False)


def _toml(key: Key, value: Any) -> str:
    if isinstance(value, Quantity):
        value = value.text or _composed(key, value)
    elif isinstance(value, Choice):
        value = value.text or " or ".join(value.among)
    elif key.kind == "pto_speeds":
        value = " and ".join(map(str, value))
    elif key.kind in {"tractor_prices", "machine_prices", "hire_rates"}:
        return f"{{ {', '.join(f'{json.dumps(name)} = {said}' for name, said in _priced(key, value))} }}"
    elif key.kind == "rate":
        value = f"{value!r} per {key.of}"
    elif key.kind == "count":
        value = int(value)
    elif isinstance(value, float) and key.kind == "quantity":
        value = _in_its_unit(value, key.of, key.field)
    elif isinstance(value, dict):
        return f"{{ {', '.join(f'{name} = {head}' for name, head in value.items())} }}"
    elif isinstance(value, tuple):
        value = list(value)
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _in_its_unit(value: float, unit: str, field: str) -> str:
    """Return a value as it was typed, as far as that can be told: round in a US unit and the same read back."""
    symbol, each = units.us(unit, field=field)
    typed = f"{value * each:.5g}"
    if f"{value!r}" != f"{value:g}" and float(typed) * units.factor(symbol, unit) == value:
        return f"{typed} {symbol}"
    return f"{value!r} {unit}"


def _priced(key: Key, value: Any) -> Iterator[tuple[str, str]]:
    """Yield what is priced and its price as TOML."""
    for name, said in value.items() if isinstance(value, dict) else value:
        priced = f"{name!r} {key.of}" if isinstance(name, float) else name
        yield priced, json.dumps(f"{said.amount!r} per {said.unit}") if isinstance(said, Rate) else repr(said)


def _composed(key: Key, quantity: Quantity) -> str:
    """Return the words for a quantity that was not typed: in per cent for a slope, else in the unit kept."""
    if quantity.low is None or quantity.high is None or quantity.middle is None:
        return "?"
    unit, scale = ("%", 100.0) if key.kind == "slope" else (key.of, 1.0)
    unit = "" if unit == "1" else f" {unit}"
    if quantity.given == "about":
        return f"about {quantity.middle * scale!r}{unit}"
    if quantity.low == quantity.high:
        return f"{quantity.low * scale!r}{unit}"
    return f"{quantity.low * scale!r} to {quantity.high * scale!r}{unit}"
