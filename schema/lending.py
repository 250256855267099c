"""Limits on lending that the remark on a machine states: "not lent in June", "with driver only".

They are read from the remark when they are asked for, so that they change with it. What the grammar does not hold is no
limit; `lending_words.csv` has its words.
"""

from __future__ import annotations

import csv
import datetime as dt
import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Literal

Rule = Literal["not_lent", "with_driver"]
_JOINTS = r"(?: |, ?| and | und | et | y | e | or | to | bis | au | a | through | ?- ?)"
_IN = r"(?: (?:in|im|en|during|before|from|von|de|au mois de|in the month of))?"
_SPANS = frozenset({"to", "bis", "au", "a", "through", "-"})


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit on lending.

    Attributes
    ----------
    rule : not lent, or lent with the owner's driver only
    first_month, last_month : months it holds in, both included, over the turn of the year where the last is before the
        first; None for the whole year
    words : the words it was read from
    """

    rule: Rule
    first_month: int | None
    last_month: int | None
    words: str

    def days(self, first: dt.date, last: dt.date) -> Iterator[tuple[dt.date, dt.date]]:
        """Yield the spans of days between two dates in which the limit holds.

        Parameters
        ----------
        first, last : first and last day that are asked about
        """
        day, start = first, None
        while day <= last:
            inside = self._holds_in(day.month)
            if inside and start is None:
                start = day
            if not inside and start is not None:
                yield start, day - dt.timedelta(days=1)
                start = None
            day += dt.timedelta(days=1)
        if start is not None:
            yield start, last

    def _holds_in(self, month: int) -> bool:
        if self.first_month is None or self.last_month is None:
            return True
        if self.first_month <= self.last_month:
            return self.first_month <= month <= self.last_month
        return month >= self.first_month or month <= self.last_month


def limits(remark: str | None) -> tuple[Limit, ...]:
    """Return the limits on lending that a remark states, in its order.

    Parameters
    ----------
    remark : the remark as written; None where there is none
    """
    if not remark:
        return ()
    found: list[Limit] = []
    for part in re.split(r"[;.]|,(?! ?(?:and|und|et|y)\b)(?= ?[^\W\d_]{4,} )", remark):
        plain = _plain(part)
        if _with_driver().search(plain):
            found.append(Limit("with_driver", None, None, part.strip()))
        not_lent = _not_lent().search(plain)
        if not_lent is not None:
            told = re.findall(r"[a-z]+|-", not_lent["lent"] or not_lent["bare"] or "")
            months = [word for word in told if word in _months() or word in _SPANS]
            found += _in_months(months, part.strip()) if months else [Limit("not_lent", None, None, part.strip())]
    return tuple(found)


def _in_months(words: list[str], said: str) -> list[Limit]:
    found: list[Limit] = []
    span = False
    for word in words:
        if word in _SPANS and word not in _months():
            span = True
            continue
        month = _months()[word]
        if span and found:
            found[-1] = Limit("not_lent", found[-1].first_month, month, said)
        else:
            found.append(Limit("not_lent", month, month, said))
        span = False
    return found


def _plain(text: str) -> str:
    letters = unicodedata.normalize("NFD", text.casefold())
    bare = "".join(sign for sign in letters if not unicodedata.combining(sign))
    return " ".join(re.sub(r"[^\w\s,-]", " ", bare).split())


@lru_cache(maxsize=1)
def _words() -> Mapping[str, tuple[str, ...]]:
    text = resources.files("evener.schema").joinpath("lending_words.csv").read_text(encoding="utf-8")
    told: dict[str, list[str]] = defaultdict(list)
    for row in csv.DictReader(text.splitlines()):
        told[row["meaning"]] += map(_plain, row["words"].split(";"))
    return {meaning: tuple(sorted(words, key=len, reverse=True)) for meaning, words in told.items()}


@lru_cache(maxsize=1)
def _months() -> Mapping[str, int]:
    return {word: int(meaning) for meaning, words in _words().items() if meaning.isdigit() for word in words}


@lru_cache(maxsize=1)
def _with_driver() -> re.Pattern[str]:
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, _words()['with_driver']))})\b")


@lru_cache(maxsize=1)
def _not_lent() -> re.Pattern[str]:
    month = "|".join(sorted(map(re.escape, _months()), key=len, reverse=True))
    months = rf"(?:{month})(?:{_JOINTS}(?:{month}))*"
    whole = "|".join(map(re.escape, _words()["not_lent"]))
    no = "|".join(map(re.escape, _words()["not"]))
    return re.compile(rf"\b(?:(?:{whole})(?:{_IN} (?P<lent>{months}))?|(?:{no}){_IN} (?P<bare>{months}))\b")
