"""Sizes that no machine of the family has: what is said, what there is, and the slip of the pen that is likely."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.scoring.core.carrying import SHEET_NAME
from evener.scoring.place.sizes import unit_of

if TYPE_CHECKING:
    from evener.schema.records import Quantity, Task
    from evener.scoring.core.setting import Library

SLACK = 1.25
STEMS = "max_stem_m"
SPACING = "tool_spacing_m"
ONE_FOR_ALL = "the width of one tool written for that of all"
# What a number is times what was meant, by the unit of the size.
SLIPS: dict[str, tuple[tuple[float, str], ...]] = {
    "m": (
        (12.0, "inches written as feet"),
        (1 / 12.0, "feet written as inches"),
        (3.2808, "feet written as metres"),
        (0.3048, "metres written as feet"),
        (10.0, "a decimal point too far right"),
        (0.1, "a decimal point too far left"),
    ),
    "L": (
        (3.7854, "litres written as gallons"),
        (0.26417, "gallons written as litres"),
        (10.0, "a decimal point too far right"),
    ),
    "kg": (
        (2.2046, "pounds written as kilograms"),
        (0.45359, "kilograms written as pounds"),
        (10.0, "a decimal point too far right"),
    ),
}


@dataclass(frozen=True)
class Unlikely:
    """A size beyond what the family's records have.

    Attributes
    ----------
    task, name : whose it is, and which size
    said : the words of the sheet
    value : middle of what is said [unit]
    low, high : least and greatest there is [unit]
    unit : SI unit of the three
    slip : the likely slip of the pen, or nothing
    """

    task: Task
    name: str
    said: str
    value: float
    low: float
    high: float
    unit: str
    slip: str


def unlikely(library: Library, task: Task) -> Iterator[Unlikely]:
    """Yield the sizes of a task that lie beyond the records of its family, and tools too near or too far apart.

    Parameters
    ----------
    library : the records
    task : the task
    """
    family = library.families[task.family]
    if task.implement_id is not None:
        return
    for name in dict.fromkeys(name for name in (family.first_variable, family.second_variable) if name):
        given: Quantity | None = getattr(task, SHEET_NAME.get(name, name), None)
        there = [value for one in library.of_family(task.family) if (value := getattr(one, name, None)) is not None]
        if given is not None and given.middle is not None and there:
            least = 0.0 if name == STEMS else min(there)  # what is built for thick stems cuts thin ones
            yield from _beyond(task, name, given.text, given.middle, least, max(there))
    width, tools = task.width_m, task.tools
    if width is None or tools is None or not width.middle or not tools.middle:
        return
    for row in library.rows("prior", quantity=SPACING, family=task.family):
        apart = width.middle / tools.middle
        said = f"{tools.text} tools on {width.text}"
        yield from _beyond(task, SPACING, said, apart, float(row["low"]), float(row["high"]))


def _beyond(task: Task, name: str, said: str, value: float, low: float, high: float) -> Iterator[Unlikely]:
    if low / SLACK <= value <= high * SLACK:
        return
    unit = unit_of(name)
    if name == SPACING:
        yield Unlikely(task, name, said, value, low, high, unit, ONE_FOR_ALL if value < low else "")
        return
    meant = (words for times, words in SLIPS.get(unit, ()) if low <= value / times <= high)
    yield Unlikely(task, name, said, value, low, high, unit, next(meant, ""))
