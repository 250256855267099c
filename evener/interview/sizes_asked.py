"""The sizes an interview asks of a piece of work, and what is usual where nobody says them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.schema.records import JobSheet, Place, Task
from evener.scoring.core.draws import Draws
from evener.scoring.core.setting import Setting
from evener.scoring.place.sizes import size, unit_of
from evener.scoring.questions import parts

if TYPE_CHECKING:
    from evener.scoring.core.printing import Units
    from evener.scoring.core.setting import Library, Row

BALE = ("bale_width_m", "bale_diameter_m", "bale_height_m", "bale_volume_m3", "bale_section_m2")
LEFT_TO_ASK = frozenset({"slope", "depth_m", "tools", "throughput_t_h"})
FEW = 64
WISH = "wish"


def columns(family: str, library: Library) -> list[str]:
    """Return what a machine of a family is known by, and what its work rests on besides; bales as one.

    Parameters
    ----------
    family : of the machine
    library : families, priors and the wording of questions; what it lists no question for is left to `ask`
    """
    known = library.families[family]
    names = [name for name in (known.first_variable, known.second_variable) if name]
    names += dict.fromkeys(row["quantity"] for row in library.tables["prior"] if row["family"] == family)
    if known.power == "loader" and "stack_high" not in names:
        names.append("lift_height_m")
    found: dict[str, None] = {}
    for name in names:
        if name in BALE:
            found.setdefault("bale_width_m")
        elif name not in LEFT_TO_ASK and any(
            row["quantity"] == name and row["family"] in {None, WISH, family} for row in library.tables["question"]
        ):
            found.setdefault(name)
    return list(found)


def question(library: Library, column: str, family: str) -> Row:
    """Return how a size is asked: of this family's machine, of one that may be still to be bought, or of any."""
    rows = {row["family"]: row for row in library.tables["question"] if row["quantity"] == column}
    return next(rows[of] for of in (family, WISH, None) if of in rows)


def sized_by(library: Library) -> dict[str, str]:
    """Return by family the key of a sheet that holds the size it is known by."""
    found = {}
    for family in library.families:
        first = next(iter(columns(family, library)), None)
        if first is not None:
            found[family] = "bale" if first in BALE else question(library, first, family)["key"]
    return found


def usual(library: Library, family: str, column: str, land: str | None, units: Units) -> str:
    """Return what is taken where nobody says a size, in words; empty where nothing is known."""
    task = Task("usual", family, land=land)
    setting = Setting(JobSheet(Place("usual"), (task,)), library, Draws(FEW))
    names = ("bale_height_m", "bale_width_m") if family.endswith("square_baler") else BALE[:2]
    found = [size(setting, task, name) for name in (names if column in BALE else (column,))]
    if any(one is None or one.low >= one.high for one in found):
        return ""
    texts = [
        parts.text(one.low, one.high, parts.scale(unit_of(one.name), units, one.name, one.high)) for one in found if one
    ]
    return " by ".join(texts)
