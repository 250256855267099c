"""The registry of formulas: each one's equation, source, status, validity and the printed examples that hold it."""

from __future__ import annotations

import functools
import importlib
import inspect
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal, ParamSpec, TypeVar

from evener.scoring.mechanics import CHAPTERS
from evener.scoring.mechanics.validity import ANY, Interval, OutOfRange

P = ParamSpec("P")
R = TypeVar("R")

Status = Literal["published", "memory", "practice"]

METHODS: Final[dict[str, Method]] = {}
"""Every formula of the chapters imported so far, by formula id."""

_ENTRY: Final = re.compile(r"^(\w[\w, ]*)(?: : .*)?\n((?:    .*\n?)+)", re.MULTILINE)
_NAMED: Final = re.compile(r" \(`[^`]*`[^)]*\)")
_UNIT: Final = re.compile(r"\[([^\[\]]+)\]")


@dataclass(frozen=True, slots=True)
class Method:
    """One formula as the method table shows it.

    Attributes
    ----------
    formula_id : chapter and function, as in `draft.draft`
    function : the function as called, with its validity enforced
    equation : the equation in one line, with the source's symbols
    source_id : row of the sources table
    clause : where in the source
    status : published (seen in print), memory (known, not seen), practice (custom of the trade)
    validity : interval of each argument: the source's own where the note names its source, else what real machines
        have (common practice, no source)
    note : what the source says about its range in words, or a misprint found
    checks : published worked examples that fail when this formula is 10 % off
    """

    formula_id: str
    function: Callable[..., Any]
    equation: str
    source_id: str
    clause: str
    status: Status
    validity: Mapping[str, Interval]
    note: str
    checks: tuple[str, ...]

    @property
    def title(self) -> str:
        """What the formula gives, in one sentence."""
        return (inspect.getdoc(self.function) or "").partition("\n")[0]

    @property
    def units(self) -> dict[str, str]:
        """Unit of each argument, as its description ends."""
        return _units(self.function, "Parameters")

    @property
    def meanings(self) -> dict[str, str]:
        """What each argument is, in its description's words without the unit."""
        return {
            name: _NAMED.sub("", _UNIT.sub("", said)).rstrip(" .").strip()
            for name, said in _described(self.function, "Parameters")
        }

    @property
    def result_units(self) -> dict[str, str]:
        """Unit of each value returned."""
        return _units(self.function, "Returns")

    @property
    def valid(self) -> str:
        """The validity range in one line, such as `F_i (0, 1]; S [0, 25] km/h`, and what the source says of it.

        Arguments that may be anything above zero are left out.
        """
        units = {name: "" if unit in {"1", "fraction"} else f" {unit}" for name, unit in self.units.items()}
        bounded = {name: interval for name, interval in self.validity.items() if not interval.is_positive}
        ranges = [f"{name} {interval.text}{units.get(name, '')}" for name, interval in bounded.items()]
        return "; ".join([*ranges, self.note] if self.note else ranges) or "anything above zero"


def formula(
    equation: str,
    *,
    source: str,
    status: Status,
    clause: str = "",
    valid: Mapping[str, str] | None = None,
    note: str = "",
    checks: tuple[str, ...] = (),
) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Enter a formula in `METHODS` and enforce the range of its arguments.

    Parameters
    ----------
    equation, source, status, clause, note, checks : as in `Method`
    valid : interval by argument name, `{"s": "[0, 1)"}`; the rest may be any finite number

    Returns
    -------
    decorator
        Gives the function back with the check in front: OutOfRange names the argument, its value and the range.
    """
    intervals = {name: Interval.parse(text) for name, text in (valid or {}).items()}

    def enter(function: Callable[P, R]) -> Callable[P, R]:
        formula_id = f"{function.__module__.rpartition('.')[2]}.{function.__name__}"
        names = tuple(inspect.signature(function).parameters)
        if strangers := set(intervals) - set(names):
            raise TypeError(f"{formula_id} takes no {', '.join(sorted(strangers))}")

        @functools.wraps(function)
        def checked(*args: P.args, **kwargs: P.kwargs) -> R:
            for name, value in (*zip(names, args, strict=False), *kwargs.items()):
                interval = intervals.get(name, ANY)
                if not interval.holds(value):  # type: ignore[arg-type]
                    _refuse(METHODS[formula_id], name, value, interval)
            return function(*args, **kwargs)

        METHODS[formula_id] = Method(formula_id, checked, equation, source, clause, status, intervals, note, checks)
        checked.formula_id = formula_id  # type: ignore[attr-defined]
        return checked

    return enter


def load_all() -> dict[str, Method]:
    """Open every chapter and return all formulas, in the chapters' order."""
    for chapter in CHAPTERS:
        importlib.import_module(f"{__package__}.{chapter}")
    order = [chapter.rpartition(".")[2] for chapter in CHAPTERS]
    return dict(sorted(METHODS.items(), key=lambda entry: order.index(entry[0].partition(".")[0])))


def _refuse(method: Method, name: str, value: Any, interval: Interval) -> None:
    unit = method.units.get(name, "")
    raise OutOfRange(
        f"{method.formula_id}: {name} = {interval.outsider(value):g} [{unit}] is outside {interval.text}, "
        f"the range of {method.equation} ({method.source_id}). Check the number and its unit."
    )


def _units(function: Callable[..., Any], section: str) -> dict[str, str]:
    found = ((name, _UNIT.findall(said)) for name, said in _described(function, section))
    return {name: units[-1] if units else "" for name, units in found}


def _described(function: Callable[..., Any], section: str) -> Iterator[tuple[str, str]]:
    """Yield every name of a section of a docstring with its description on one line."""
    text = (inspect.getdoc(function) or "") + "\n"
    _, _, body = text.partition(f"{section}\n{'-' * len(section)}\n")
    body = re.split(r"\n\n\w+\n-+\n", body)[0] + "\n"
    for names, description in _ENTRY.findall(body):
        for name in names.split(", "):
            yield name, " ".join(description.split())
