"""How sure a stored value is: stated, about, within a range, estimated from something else, or corrected by hand.

A record keeps it by field beside its values; a field that is not named there is stated. The value itself stands in its
own column and is never kept twice. "About" and a range are uniform between their ends, in a record and in a job sheet
alike; an estimate's +-range is two standard deviations of a normal distribution.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal

Kind = Literal["stated", "about", "range", "estimated", "corrected"]

# What "about" means, and how far an estimate reaches that states no spread and has no class to lend one.
ABOUT_PCT = USUAL_SPREAD_PCT = 20.0
_WIDEST_PCT = 100.0
_KINDS = ("about", "range", "estimated", "corrected")
_TAIL = re.compile(r"[,;]?\s*(?:\+-|\+/-|±)\s*(\d+(?:\.\d+)?)\s*%\s*$")
_ABOUT_CELL = "the cell says about"


@dataclass(frozen=True, slots=True)
class Certainty:
    """How sure one value of a record is.

    Attributes
    ----------
    kind : stated, about, range, estimated, or corrected: as sure as a stated one, with the word of who corrected it
    low, high : ends of a range, in the unit of the field; None for the other kinds
    spread_pct : reach either way of "about" or of an estimate [%]; None where an estimate does not say
    basis : what it rests on, in words

    Raises
    ------
    ValueError
        The kind is unknown, or its numbers are missing, out of order or beyond +-100 %.
    """

    kind: Kind
    low: float | None = None
    high: float | None = None
    spread_pct: float | None = None
    basis: str = ""

    def __post_init__(self) -> None:
        """Hold the numbers to their kind."""
        if self.kind not in ("stated", *_KINDS):
            raise ValueError(f"{self.kind!r} is no certainty; use one of {', '.join(_KINDS)}")
        ends = [end for end in (self.low, self.high) if end is not None]
        if self.kind == "range":
            if len(ends) != 2 or not all(map(math.isfinite, ends)) or ends[0] > ends[1]:
                raise ValueError("a range needs a low and a high end, in this order")
        elif ends:
            raise ValueError(f"{self.kind} takes no ends; a range does")
        if self.kind == "about" and self.spread_pct is None:
            raise ValueError("about needs its spread")
        if self.spread_pct is not None and not 0.0 <= self.spread_pct <= _WIDEST_PCT:
            raise ValueError(f"a spread lies between 0 and {_WIDEST_PCT:g} %, and this is {self.spread_pct:g}")

    def span(self, value: float) -> tuple[float, float] | None:
        """Return the ends between which a value is uniform, in its unit; None where it is stated or estimated."""
        if self.low is not None and self.high is not None:
            return self.low, self.high
        if self.kind == "about" and self.spread_pct is not None:
            reach = abs(value) * self.spread_pct / 100.0
            return value - reach, value + reach
        return None


def is_unsure(held: Mapping[str, Certainty], name: str) -> bool:
    """Tell whether a field's value is less than stated; one that was corrected by hand is as good as stated."""
    return name in held and held[name].kind != "corrected"


def by_hand(one: Certainty) -> bool:
    """Tell whether a person put a value, or its doubt, in the place of what a list says."""
    return one.kind == "corrected" or (one.kind == "about" and one.basis not in ("", _ABOUT_CELL))


STATED = Certainty("stated")
ABOUT = Certainty("about", spread_pct=ABOUT_PCT, basis=_ABOUT_CELL)


def estimated(text: str) -> Certainty:
    """Return what a text says of an estimate: its spread where it ends in one, such as "+-6 %", else the text alone.

    Parameters
    ----------
    text : words of whoever made the list
    """
    tail = _TAIL.search(text)
    if tail is None or float(tail[1]) > _WIDEST_PCT:
        return Certainty("estimated", basis=text.strip())
    basis, spread = text[: tail.start()].strip(), float(tail[1])
    return Certainty("about" if basis == _ABOUT_CELL else "estimated", spread_pct=spread, basis=basis)


def read(held: Mapping[str, Any]) -> dict[str, Certainty]:
    """Return the certainty of each field a mapping names: typed parts, or words for an estimate.

    Parameters
    ----------
    held : by field, a mapping with the attributes of `Certainty`, or a text

    Raises
    ------
    ValueError
        What is said of a field is neither; the field is named.
    """
    found = {}
    for name in sorted(held):
        said = held[name]
        try:
            found[name] = estimated(said) if isinstance(said, str) else _typed(said)
        except (TypeError, ValueError) as error:
            raise ValueError(f"{name}: {error}") from None
    return found


def _typed(said: Any) -> Certainty:
    if not isinstance(said, dict) or not said.keys() <= {"kind", "low", "high", "spread_pct", "basis"}:
        raise ValueError("write its basis as a text, or kind, low, high, spread_pct and basis")
    parts = dict(said)
    if parts.get("kind") not in _KINDS:
        raise ValueError(f"kind is one of {', '.join(_KINDS)}")
    for name in ("low", "high", "spread_pct"):
        if isinstance(parts.get(name), bool) or not isinstance(parts.get(name, 0), int | float | None):
            raise TypeError(f"{name} is a number")
        if parts.get(name) is not None:
            parts[name] = float(parts[name])
    if not isinstance(parts.setdefault("basis", ""), str | None):
        raise TypeError("basis is a text")
    return Certainty(**{**parts, "basis": parts["basis"] or ""})


def text(held: Mapping[str, Certainty]) -> str | None:
    """Return certainties as the JSON that a cell of an export holds and `read` takes; None where all is stated."""
    said = {
        name: {part: value for part, value in asdict(one).items() if value not in (None, "")}
        for name, one in sorted(held.items())
        if one.kind != "stated"
    }
    return json.dumps(said, sort_keys=True, ensure_ascii=False) if said else None
