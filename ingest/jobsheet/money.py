"""What a job sheet says of money: prices, rates of hire, and the terms a decision reckons with."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from typing import TypeVar

from evener.ingest.jobsheet import findings as found
from evener.ingest.jobsheet.keys import Key
from evener.ingest.jobsheet.lines import Path
from evener.ingest.jobsheet.rules import Section
from evener.ingest.jobsheet.values import Reading, kind_of, suggestion, value_text
from evener.ingest.jobsheet.words import match, near_words
from evener.ingest.text import cell_errors, cells
from evener.schema import units
from evener.schema.money import Money, Rate

T = TypeVar("T")
SIGNS = {"$": ("USD", "CAD", "AUD", "NZD", "MXN"), "€": ("EUR",), "£": ("GBP",)}
# Terms of a decision by the section that says them.
TERMS = {
    "policy": ("years", "interest", "wage", "year_zero"),
    "prices": ("fuel_price",),
    "hire": ("call_out", "hire_markup"),
}
_MONEY = re.compile(
    r"(?:[A-Za-z]{0,2}[$€£]\s*)?(?P<number>\d{1,3}(?:[, ]\d{3})+(?:\.\d+)?|\d+(?:[.,]\d{1,2})?|\d+\.\d+)"
)
_PER = re.compile(r"\s*(?:/|\bper\b|\ban?\b|\beach\b)\s*")
# What hire is charged by, with the words for it; land comes in every unit of area there is.
_BY = {
    "h": ("h", "hr", "hour", "hours"),
    "bale": ("bale", "bales"),
    "hole": ("hole", "holes"),
    "day": ("day", "days", "d"),
}


def amount(reading: Reading, path: Path, key: Key, value: object) -> float | None:
    """Return a plain number or a sum of money within its bounds: 38000, "$38,000", "20 an hour"."""
    said = value_text(reading, path, value, '20 or "$20"')
    if said is None:
        return None
    bare = said.strip()
    for noun in sorted(key.nouns, key=len, reverse=True):
        bare = bare.removesuffix(noun).strip()
    number = _number(bare)
    if number is None:
        hint = "write a number, with a point for decimals and a comma for thousands"
        reading.report(found.SheetValue, path, value, reason=f"{said!r} is not one amount", hint=hint)
    elif not key.holds(number):
        reading.report(found.SheetBounds, path, value, allowed=key.allowed())
    else:
        return number
    return None


def rate(reading: Reading, path: Path, key: Key, value: object) -> float | None:
    """Return a price per unit in the key's unit: "4.10 per gal", "1.10 / L"."""
    one = _per(reading, path, value, f'"1.10 per {key.of}"')
    if one is None:
        return None
    number, by = one
    try:
        return number / units.factor(by, key.of)
    except ValueError:
        hint = f'write it by the {key.of} or another unit of the kind, such as "1.10 per {key.of}"'
        reading.report(found.SheetUnit, path, value, reason=f"{by!r} is no unit it is sold by", hint=hint)
        return None


def tractor_prices(reading: Reading, path: Path, key: Key, value: object) -> tuple[tuple[float, float], ...] | None:
    """Return prices of new tractors by PTO power [kW]."""
    pairs: list[tuple[float, float]] = []
    for name, price in _table(reading, path, value, '{ "40 hp" = 38000 }'):
        try:
            power = cells.read_quantity(name, key.of)
        except cell_errors.CellError as error:
            reading.report(found.SheetValue, (*path, name), name, reason=error.message, hint='write "40 hp" = 38000')
            continue
        amount_said = _money(reading, (*path, name), price)
        if power.low is None or not key.holds(power.low):
            reading.report(found.SheetBounds, (*path, name), name, allowed=key.allowed())
        elif amount_said is not None:
            pairs.append((power.low, amount_said))
    return tuple(sorted(pairs)) or None


def machine_prices(reading: Reading, path: Path, _key: Key, value: object) -> dict[str, float] | None:
    """Return prices of machines by family."""
    return _by_family(reading, path, value, '{ "disc mower" = 9000 }', lambda at, one: _money(reading, at, one))


def hire_rates(reading: Reading, path: Path, _key: Key, value: object) -> dict[str, Rate] | None:
    """Return rates of hire by family."""

    def one_rate(at: Path, said: object) -> Rate | None:
        one = _per(reading, at, said, '"17 per acre"')
        if one is None:
            return None
        number, by = one
        unit = next((unit for unit, names in _BY.items() if by in names), None)
        if unit is not None:
            return Rate(number, unit)
        try:
            return Rate(number / units.factor(by, "ha"), "ha")
        except ValueError:
            hint = "charge by the acre, ha, hour, bale, hole or day"
            reading.report(found.SheetUnit, at, said, reason=f"{by!r} is nothing that hire is charged by", hint=hint)
            return None

    return _by_family(reading, path, value, '{ "disc mower" = "17 per acre" }', one_rate)


def money(reading: Reading, policy: Section, prices: Section, hire: Section) -> Money:
    """Return all that the three sections say of money, and take it out of their fields.

    Parameters
    ----------
    reading : the sheet; signs of two currencies are reported
    policy, prices, hire : the sections as read
    """
    terms: dict[str, float] = {}
    for section, name in ((policy, "policy"), (prices, "prices"), (hire, "hire")):
        for term in TERMS[name]:
            if term in section.fields:
                terms[term] = float(section.fields.pop(term))
    currency = prices.fields.get("currency")
    for section in (policy, prices, hire):
        for path, sign in _signs(section):
            if currency is not None and currency not in SIGNS[sign]:
                reading.report(found.SheetCurrency, path, sign, currency=currency)
            currency = currency or SIGNS[sign][0]
    return Money(
        currency=currency,
        exchange=prices.fields.get("exchange"),
        terms=terms,
        tractors=prices.fields.get("tractors", ()),
        machines=prices.fields.get("machines", {}),
        hire=hire.fields.get("hire", {}),
        budget=prices.fields.get("budget"),
    )


def check_policy(reading: Reading, policy: Section) -> None:
    """Remark keys that act no longer, and a confidence that no rule uses."""
    for key in ("reserve_power", "reserve_lift"):
        if key in policy.fields:
            reading.report(found.SheetReserve, policy.at(key), policy.said[key])
    if "confidence" in policy.fields and policy.fields.get("rule") != "sure":
        reading.report(found.SheetConfidence, policy.at("confidence"), policy.said["confidence"])


def _number(text: str) -> float | None:
    one = _MONEY.fullmatch(text.strip())
    if one is None:
        return None
    number = one["number"]
    if re.fullmatch(r"\d+,\d{1,2}", number):
        return float(number.replace(",", "."))
    return float(number.replace(",", "").replace(" ", ""))


def _money(reading: Reading, path: Path, value: object) -> float | None:
    said = value_text(reading, path, value, "9000")
    number = None if said is None else _number(said)
    if said is not None and not number:
        hint = "write a price, with a point for decimals and a comma for thousands"
        reading.report(found.SheetValue, path, value, reason=f"{said!r} is not one price", hint=hint)
    return number or None


def _per(reading: Reading, path: Path, value: object, example: str) -> tuple[float, str] | None:
    """Return an amount and what it is paid for."""
    said = value_text(reading, path, value, example)
    if said is None:
        return None
    parts = _PER.split(said.strip(), maxsplit=1)
    number = _number(parts[0]) if len(parts) == 2 else None
    if number is None:
        reading.report(found.SheetValue, path, value, reason=f"{said!r} is no price by a unit", hint=f"write {example}")
        return None
    return number, parts[1].casefold().strip()


def _table(reading: Reading, path: Path, value: object, example: str) -> Iterator[tuple[str, object]]:
    if not isinstance(value, dict):
        reading.report(found.SheetType, path, value, found=kind_of(value), wanted=f"a table such as {example}")
        return
    yield from value.items()


def _by_family(
    reading: Reading, path: Path, value: object, example: str, read: Callable[[Path, object], T | None]
) -> dict[str, T] | None:
    allowed = reading.vocabulary.words("family")
    result: dict[str, T] = {}
    for name, said in _table(reading, path, value, example):
        family = match(name, allowed)
        if family is None:
            reading.report(found.SheetFamily, (*path, name), name, hint=suggestion(near_words(name, allowed), allowed))
            continue
        one = read((*path, name), said)
        if one is not None:
            result[family] = one
    return result or None


def _signs(section: Section) -> Iterator[tuple[Path, str]]:
    for name, said in section.said.items():
        whole = said.values() if isinstance(said, Mapping) else (said,)
        if name == "currency":
            continue
        for one in whole:
            for sign in SIGNS:
                if isinstance(one, str) and sign in one:
                    yield section.at(name), sign
