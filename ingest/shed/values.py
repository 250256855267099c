"""One value of a shed file: what a job sheet's values do not have, such as dates and homes."""

from __future__ import annotations

import datetime as dt

from evener.ingest.jobsheet import findings as sheet
from evener.ingest.jobsheet import values
from evener.ingest.jobsheet.keys import Key
from evener.ingest.jobsheet.lines import Path
from evener.ingest.jobsheet.values import Reading, kind_of, suggestion
from evener.ingest.shed import findings as found

WORDS = {"units": ("us", "si")}


def date(reading: Reading, path: Path, _key: Key, value: object) -> dt.date | None:
    """Return a date, as TOML writes dates or as the same in quotes."""
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return value
    try:
        return dt.date.fromisoformat(value.strip()) if isinstance(value, str) else _no_date()
    except ValueError:
        reading.report(found.ShedDate, path, value)
        return None


def _no_date() -> dt.date:
    raise ValueError("no date")


def measure(reading: Reading, path: Path, key: Key, value: object) -> float | None:
    """Return one number in the key's unit."""
    one = values.quantity(reading, path, key, value)
    if one is None:
        return None
    if one.given != "exact":
        reason = f"{one.text!r} is not one number"
        reading.report(sheet.SheetValue, path, value, reason=reason, hint=f"write {key.allowed()}")
        return None
    return one.low


def names(reading: Reading, path: Path, _key: Key, value: object) -> tuple[str, ...] | None:
    """Return a list of names."""
    listed = [value] if isinstance(value, str) else value
    if not isinstance(listed, list) or not all(isinstance(one, str) and one.strip() for one in listed):
        reading.report(sheet.SheetType, path, value, found=kind_of(value), wanted='a list of names: ["A", "B"]')
        return None
    return tuple(one.strip() for one in listed)


def place(reading: Reading, path: Path, key: Key, value: object) -> tuple[float, float] | None:
    """Return a home, km east and north of a point."""
    if not isinstance(value, list) or len(value) != 2:
        reading.report(sheet.SheetType, path, value, found=kind_of(value), wanted="km east and north: [3.2, 1.5]")
        return None
    east, north = (values.number(reading, (*path, index), key, one) for index, one in enumerate(value))
    return None if east is None or north is None else (east, north)


def word(reading: Reading, path: Path, key: Key, value: object) -> str | None:
    """Return a word of the key's list; that of the regions is held against the table later."""
    if not isinstance(value, str):
        reading.report(sheet.SheetType, path, value, found=kind_of(value), wanted="a word in quotes")
        return None
    allowed = WORDS.get(key.of)
    said = value.strip().casefold()
    if allowed is not None and said not in allowed:
        reading.report(sheet.SheetWord, path, value, hint=suggestion((), allowed))
        return None
    return said
