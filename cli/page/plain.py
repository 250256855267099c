"""Plain words for a reader who has never seen the tool: no ids, no signs, a share as so many cases in a hundred."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import Any

from evener.cli.output import words
from evener.scoring.core.printing import rounded

# Of screens and of the page alike.
cases, days, to_spare, joined = words.cases, words.days, words.to_spare, words.joined


@cache
def _table() -> Mapping[str, tuple[str, str]]:
    text = resources.files("evener.cli").joinpath("page", "plain_words.csv").read_text(encoding="utf-8")
    return {row["word"]: (row["plain"], row["short"]) for row in csv.DictReader(text.splitlines())}


def axis(name: str) -> str:
    """Return what an axis is about, in a few plain words."""
    return _table()[name][0]


def short_axis(name: str) -> str:
    """Return what an axis is about, in as few words as a chart has room for."""
    return _table()[name][1]


def tractor(label: str, power: float | None, unit: str, *, generic: bool) -> str:
    """Return a tractor in words: a generic size by its power and kind, a unit by its label.

    Parameters
    ----------
    label : the record's label, such as "Utility, 62 PTO hp, shuttle, 4WD"
    power, unit : at the PTO
    generic : whether the record is a generic size
    """
    if not generic or power is None:
        return label
    kind, *rest = [part for part in label.split(", ") if not re.search(r"\bPTO\b", part)]
    return ", ".join([f"{kind[:1].lower()}{kind[1:]} tractor of about {rounded(power)} {unit} at the PTO", *rest])


def article(text: str) -> str:
    """Return a noun with its article."""
    return f"{'an' if text[:1].casefold() in 'aeiou' and not text.casefold().startswith('u') else 'a'} {text}"


def limit(one: Mapping[str, Any]) -> str:
    """Return where a tractor is tight or short: the task, the axis, how far."""
    where = f"{one['task']}: {axis(one['axis'])}"
    if "asked" in one:
        return f"{where}, the machine asks {one['asked']}, the tractor has {one['offered']}"
    return f"{where}, {to_spare(one['margin'])}"


def hours(value: Mapping[str, Any] | None) -> str:
    """Return hours as people say them."""
    return "" if value is None else f"{rounded(value['middle'])} {value['unit']}"


def taken(one: Mapping[str, Any]) -> str:
    """Return what an open size was taken as."""
    if one["among"]:
        return " or ".join(one["among"])
    if one["size"] == "slope":
        low, high = one["low"] * 100, one["high"] * 100
        return f"{low:.0f} to {high:.0f} %" if round(low) != round(high) else f"{low:.0f} %"
    return words.span({"low": one["low"], "high": one["high"]}, "" if one["unit"] == "1" else one["unit"]).strip()


def noun(label: str) -> str:
    """Return a label as a noun inside a sentence; an abbreviation such as PTO keeps its capitals."""
    return label if label[1:2].isupper() else label[:1].lower() + label[1:]


def sentence(text: str) -> str:
    """Return text with a capital at its start."""
    return text[:1].upper() + text[1:]
