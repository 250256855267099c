"""What a tool in the ground pulls, or a blade pushes: draft by the published table, snow by trade practice."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.unknowns import SCATTER, of_place, of_trade
from evener.scoring.mechanics.quantities import centimetres
from evener.scoring.mechanics.work import draft, snow
from evener.scoring.place.ground import by_choice
from evener.scoring.place.materials import density_of
from evener.scoring.place.sizes import need, size
from evener.scoring.place.variants import draft_by_width, draft_row

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Row, Setting
    from evener.scoring.core.trace import Trace
    from evener.scoring.place.sizes import Size

PUSHED_SNOW = "snow|push"
SETTLED_SNOW = "snow, settled on ground"
TEXTURES = {"fine": "f1_fine", "medium": "f2_medium", "coarse": "f3_coarse"}
COEFFICIENTS = {"A": "a_n", "B": "b_n_per_km_h", "C": "c_n_per_km_h2"}
# A printed range in per cent is two standard deviations, as it is drawn.
RANGE_OVER_DEVIATION = 200.0
DAILY = "snow differs from day to day"


def tool_pull(setting: Setting, task: Task, speed: Size, trace: Trace) -> Array | None:
    """Return the pull of a task's tool [kN], or None where it has no row that gives one.

    Published draft includes the rolling resistance of the tool itself (D497, from memory).
    """
    row = draft_row(setting, task)
    if row is None:
        return None
    return _snow(setting, task, trace) if row == PUSHED_SNOW else _draft(setting, task, row, speed, trace)


def snow_density(setting: Setting, task: Task) -> tuple[Array, str, str]:
    """Return the density of the snow to clear [kg/m3], with source and status."""
    name = task.material or SETTLED_SNOW
    low, high, source, status = density_of(setting, task, name)
    fact = of_trade(f"density/{name}", unit="kg/m3", source=source, status=status, stays=DAILY)
    return setting.unknowns.uniform(fact, low, high), source, status


def printed_spread(setting: Setting, task: Task) -> float | None:
    """Return the standard deviation of ln that the range printed beside a tool's draft stands for; None without one.

    Parameters
    ----------
    setting, task : the job and the task
    """
    named = draft_row(setting, task)
    if named is None or named == PUSHED_SNOW:
        return None
    range_pct = _printed(setting, task, named)["range_pct"]
    return None if not range_pct else float(range_pct) / RANGE_OVER_DEVIATION


def _printed(setting: Setting, task: Task, named: str) -> Row:
    """Return the row of `draft` of a tool, whose class of widths stands for the others."""
    if len(draft_by_width(setting, task)) > 1:
        named = setting.family(task).draft_row or named
    implement, _, variant = named.partition("|")
    return setting.library.row("draft", implement=implement, variant=variant or None)


def _draft(setting: Setting, task: Task, named: str, speed: Size, trace: Trace) -> Array:
    by_width, row = draft_by_width(setting, task), _printed(setting, task, named)
    implement, variant = row["implement"], row["variant"]
    coefficients = {letter: row[column] for letter, column in COEFFICIENTS.items()}
    if len(by_width) > 1:
        variant, coefficients = "between its rows by width", _between(setting, task, by_width)
    count = _width(setting, task, row, trace)
    by_depth = row["depth_unit"] == "cm"
    texture = setting.job.place.texture
    factors = {word: np.full(setting.draws.n, row[column]) for word, column in TEXTURES.items()}
    fact = of_place("texture", text=texture.text, source="job sheet", status="customer")
    label = f"{implement}, {variant}" if variant else implement
    what = f"draft of {label}, T in {row['depth_unit']}"
    pull = trace.call(draft.draft, what, source=row["source_id"], status=row["status"])(
        by_choice(setting, fact, texture.among, factors),
        **coefficients,
        S=speed.values,
        W=count,
        T=centimetres(need(setting, task, "depth_m").values) if by_depth else np.ones(setting.draws.n),
    )
    printed = of_trade(
        f"draft/{implement}|{row['variant'] or ''}", source=row["source_id"], status=row["status"], stays=SCATTER
    )
    spread = setting.unknowns.published(printed, 1.0, row["range_pct"])
    return np.asarray(trace.call(draft.scattered_draft, f"+-{row['range_pct']:.0f} %")(pull, k=spread))


def _between(setting: Setting, task: Task, by_width: list[tuple[float, str]]) -> dict[str, Array]:
    """Return the coefficients of a row between the middle widths of the table's classes: no step where one ends."""
    width = need(setting, task, "working_width_m").values
    rows = []
    for _, name in by_width:
        implement, _, variant = name.partition("|")
        rows.append(setting.library.row("draft", implement=implement, variant=variant or None))
    at = np.log([middle for middle, _ in by_width])
    return {
        letter: np.interp(np.log(width), at, [row[column] for row in rows]) for letter, column in COEFFICIENTS.items()
    }


def _width(setting: Setting, task: Task, row: Row, trace: Trace) -> Array:
    """Return the width in the row's unit: metres, or how many tools or rows."""
    if row["width_unit"] == "m":
        return need(setting, task, "working_width_m").values
    if task.tools is not None and (said := size(setting, task, "tools")) is not None:
        return said.values
    width, apart = need(setting, task, "working_width_m"), need(setting, task, "tool_spacing_m")
    across = trace.call(draft.tools_across, f"number of {row['width_unit']}", source=apart.source, status=apart.status)
    count = np.asarray(across(width.values, s=apart.values))
    if apart.fact is not None:
        setting.unknowns.would_tell(apart.fact, count)
    return count


def _snow(setting: Setting, task: Task, trace: Trace) -> Array:
    width, depth = need(setting, task, "working_width_m"), need(setting, task, "snow_depth_m")
    density, source, status = snow_density(setting, task)
    ahead, friction = setting.allowance("snow_ahead"), setting.allowance("snow_push_friction")
    edge = setting.allowance("snow_edge")
    prism = trace.call(snow.prism_mass, source=source, status=status)
    mass = prism(density, w=width.values, h=depth.values, length=ahead)
    return np.asarray(trace.call(snow.push_force)(mass, f=friction, k=edge, w=width.values))
