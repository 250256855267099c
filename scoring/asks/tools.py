"""What a tool in the ground pulls, or a blade pushes: draft by the published table, snow by trade practice."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.trace import Step, applied, step
from evener.scoring.mechanics.work import draft, snow
from evener.scoring.place.ground import by_choice
from evener.scoring.place.loads import density_of
from evener.scoring.place.sizes import need, size
from evener.scoring.place.variants import draft_row

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Row, Setting
    from evener.scoring.place.sizes import Size

PUSHED_SNOW = "snow|push"
SETTLED_SNOW = "snow, settled on ground"
TEXTURES = {"fine": "f1_fine", "medium": "f2_medium", "coarse": "f3_coarse"}


def tool_pull(setting: Setting, task: Task, speed: Size) -> tuple[Array, list[Step]] | None:
    """Return the pull of a task's tool [kN] with its steps, or None where it has no row that gives one.

    Published draft includes the rolling resistance of the tool itself (D497, from memory).
    """
    row = draft_row(setting, task)
    if row is None:
        return None
    return _snow(setting, task) if row == PUSHED_SNOW else _draft(setting, task, row, speed)


def _draft(setting: Setting, task: Task, named: str, speed: Size) -> tuple[Array, list[Step]]:
    implement, _, variant = named.partition("|")
    row = setting.library.row("draft", implement=implement, variant=variant or None)
    count, counted = _width(setting, task, row)
    depth = need(setting, task, "depth_m").values * 100 if row["depth_unit"] == "cm" else np.ones(setting.draws.n)
    texture = setting.job.place.texture
    factors = {word: np.full(setting.draws.n, row[column]) for word, column in TEXTURES.items()}
    factor = by_choice(setting, "place/texture", texture.among, factors)
    pull = np.asarray(
        draft.draft(
            factor,
            A=row["a_n"],
            B=row["b_n_per_km_h"],
            C=row["c_n_per_km_h2"],
            S=speed.values,
            W=count,
            T=depth,
        )
    )
    spread = setting.draws.published(f"draft/{named}", 1.0, row["range_pct"])
    inputs: dict[str, tuple[Array | float | str, str]] = {
        "F_i": (factor, "1"),
        "A": (row["a_n"], "N"),
        "B": (row["b_n_per_km_h"], "N/(km/h)"),
        "C": (row["c_n_per_km_h2"], "N/(km/h)2"),
        "S": (speed.values, "km/h"),
        "W": (count, "m" if row["width_unit"] == "m" else "1"),
    }
    if row["depth_unit"] == "cm":
        inputs["depth_m"] = (depth / 100, "m")
    label = f"{implement}, {variant}" if variant else implement
    steps = [*counted]
    steps.append(
        applied(
            "draft.draft",
            inputs,
            (pull * spread, "kN"),
            what=f"draft of {label}, T in {row['depth_unit']}, +-{row['range_pct']:.0f} %",
            source=row["source_id"],
            status=row["status"],
        )
    )
    return pull * spread, steps


def _width(setting: Setting, task: Task, row: Row) -> tuple[Array, list[Step]]:
    """Return the width in the row's unit: metres, or how many tools or rows."""
    if row["width_unit"] == "m":
        return need(setting, task, "working_width_m").values, []
    if task.tools is not None and (said := size(setting, task, "tools")) is not None:
        return said.values, []
    width, spacing = need(setting, task, "working_width_m"), need(setting, task, "tool_spacing_m")
    count = np.maximum(width.values / spacing.values, 1.0)
    written = step(
        f"number of {row['width_unit']} = width / spacing",
        {"working_width_m": (width.values, "m"), "tool_spacing_m": (spacing.values, "m")},
        (count, "1"),
        source=spacing.source,
        status=spacing.status,
    )
    return count, [written]


def _snow(setting: Setting, task: Task) -> tuple[Array, list[Step]]:
    width, depth = need(setting, task, "working_width_m"), need(setting, task, "snow_depth_m")
    name = task.material or SETTLED_SNOW
    low, high, source, status = density_of(setting, task, name)
    density = setting.draws.uniform(f"density/{name}", low, high)
    ahead, friction = setting.allowance("snow_ahead"), setting.allowance("snow_push_friction")
    edge = setting.allowance("snow_edge")
    mass = np.asarray(snow.prism_mass(density, w=width.values, h=depth.values, length=ahead))
    push = np.asarray(snow.push_force(mass, f=friction, k=edge, w=width.values))
    steps = [
        applied(
            "snow.prism_mass",
            {
                "rho": (density, "kg/m3"),
                "working_width_m": (width.values, "m"),
                "snow_depth_m": (depth.values, "m"),
                "l": (ahead, "m"),
            },
            (mass, "kg"),
            source=source,
            status=status,
        ),
        applied(
            "snow.push_force",
            {"f": (friction, "1"), "m": (mass, "kg"), "k": (edge, "kN/m"), "w": (width.values, "m")},
            (push, "kN"),
        ),
    ]
    return push, steps
