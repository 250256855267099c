"""What a tractor pulls before its wheels slip too much: by its own axle loads, tyres and drive, on the task's ground.

The traction equations carry it, on the soil's cone index. Where tyres, mass or axles are neither known nor assumed, the
published ratio of drawbar to PTO power stands in, at the task's speed; on packed snow, the trade's friction.
"""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.trace import Trace
from evener.scoring.gives.known import Known, unknown
from evener.scoring.gives.rows import in_range, joined, where_known
from evener.scoring.mechanics.engine import power_flow
from evener.scoring.mechanics.engine.drawbar import pull_at_power
from evener.scoring.mechanics.quantities import GRAVITY
from evener.scoring.mechanics.tyres import traction, tractor_pull
from evener.scoring.mechanics.tyres.weight_transfer import weight_transfer
from evener.scoring.mechanics.validity import OutsideTests
from evener.scoring.mechanics.work import snow
from evener.scoring.place.ground import SURFACE, by_choice

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.core.setting import Setting
    from evener.scoring.gives.block import Block
    from evener.scoring.place.terms import Snow, Soil

RATIO_ROW = {"2wd": "2WD", "4wd": "front wheel assist", "articulated": "4WD", "track": "tracks"}
TYRES = ("mass_kg", "front_mass_share", "wheelbase_m", "rear_tyre_width_m", "rear_tyre_diameter_m")
TRACKS = "track"
TWO_WHEELS = "2wd"
LEAST_KN = 1e-6
LIGHT = "its tyres carry less for their size than in the tests behind the traction equations"
BY_RATIO = "tyres or mass are not known: pull by the published power ratio, which does not see grip"


def pull_on_soil(block: Block, terms: Soil, trace: Trace) -> Known:
    """Return the pull of tractors at the slip limit [kN]."""
    by_tyres = np.logical_and.reduce([block.take(name).known for name in TYRES]) & (block.drives != TRACKS)
    parts = [(rows, _by_tyres(block.part(rows), terms, drive, trace)) for drive, rows in _drives(block, by_tyres)]
    parts += [(rows, _by_ratio(block.part(rows), terms, drive, trace)) for drive, rows in _drives(block, ~by_tyres)]
    return joined(len(block), parts)


def push_on_snow(block: Block, terms: Snow, trace: Trace) -> Known:
    """Return the push of tractors at the grip of their driven wheels [kN]."""
    parts = []
    for drive, rows in _drives(block, np.ones(len(block), bool)):
        fields = ("mass_kg", "front_mass_share") if drive == TWO_WHEELS else ("mass_kg",)

        def of(some: Block, fields: tuple[str, ...] = fields) -> Known:
            mass, *share = (some.take(name) for name in fields)
            driven = mass.values * (1 - share[0].values) if share else mass.values
            mu = terms.setting.allowance("snow_grip", terms.tyres)
            push = np.asarray(trace.call(snow.grip, "driven wheels")(driven, mu=mu))
            return Known(np.maximum(push, LEAST_KN), mass.assumed)

        block.take("front_mass_share")
        parts.append((rows, where_known(block.part(rows), fields, of)))
    return joined(len(block), parts)


def _drives(block: Block, among: Mask) -> list[tuple[str, Mask]]:
    """Return each drive among some tractors of a block, with the tractors that have it."""
    return [(str(drive), rows) for drive in np.unique(block.drives) if (rows := among & (block.drives == drive)).any()]


def _by_tyres(block: Block, terms: Soil, drive: str, trace: Trace) -> Known:
    def of(some: Block) -> Known:
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always", OutsideTests)
            pull = _at_slip_limit(some, terms, drive, trace)
        outside = any(issubclass(one.category, OutsideTests) for one in caught)
        assumed = np.logical_or.reduce([some.take(name).assumed for name in TYRES])
        return Known(np.maximum(pull, LEAST_KN), assumed, notes=(LIGHT,) if outside else ())

    return block.work_out(f"soil/{terms.ground.key}", lambda: in_range(block, of))


def _at_slip_limit(block: Block, terms: Soil, drive: str, trace: Trace) -> Array:
    """Return the pull with the load that it shifts from the front axle to the rear, found in two rounds [kN]."""
    mass, share, base, width, diameter = (block.take(name).values for name in TYRES)
    allowance = terms.setting.allowance
    height = diameter * allowance("pull_height")
    tyres = {
        "rear": (width, diameter),
        "front": (width * allowance("front_tyre_width", drive), diameter * allowance("front_tyre_diameter", drive)),
    }
    weight = mass * GRAVITY / 1000
    static = {"rear": weight * (1 - share), "front": weight * share}
    first = _pull(terms, drive, tyres, (static, static), (height, base), Trace(on=False))
    shifted = np.asarray(weight_transfer(np.maximum(first, 0.0), y=height, b=base))
    pressed = {"rear": static["rear"] + shifted, "front": static["front"] - shifted}
    return _pull(terms, drive, tyres, (static, pressed), (height, base), trace)


def _pull(
    terms: Soil,
    drive: str,
    tyres: dict[str, tuple[Array, Array]],
    loads: tuple[dict[str, Array], dict[str, Array]],
    lever: tuple[Array, Array],
    trace: Trace,
) -> Array:
    """Return the pull of axles that press on the ground with these loads [kN].

    Parameters
    ----------
    terms, drive : the ground, and which wheels drive
    tyres : by axle, width and diameter of its tyres [m]
    loads : by axle, what it carries at rest, and what its tyres press with meanwhile [kN]
    lever : height of the pull, and wheelbase [m]
    trace : where the steps go
    """
    static, pressed = loads
    deflection, slip = terms.setting.allowance("tyre_deflection"), _slip_limit(terms, drive)
    number = {
        axle: np.asarray(
            trace.call(traction.mobility_number, f"{axle} tyre")(
                terms.ground.cone_index_kpa, b=width, d=diameter, W=pressed[axle] / 2, delta_h=deflection
            )
        )
        for axle, (width, diameter) in tyres.items()
    }
    rear = np.asarray(trace.call(traction.net_traction, "rear axle")(number["rear"], s=slip))
    if drive == TWO_WHEELS:
        front = -np.asarray(trace.call(traction.undriven_resistance, "front axle, not driven")(number["front"]))
    else:
        front = np.asarray(trace.call(traction.net_traction, "front axle")(number["front"], s=slip))
    pull = trace.call(tractor_pull.pull_at_slip, "pull at the slip limit")(
        static["rear"], W_f=static["front"], t_r=rear, t_f=front, y=lever[0], b=lever[1]
    )
    return np.asarray(pull)


def _slip_limit(terms: Soil, drive: str) -> float:
    return terms.ground.slip_limit["2wd" if drive == TWO_WHEELS else "4wd"]


def _by_ratio(block: Block, terms: Soil, drive: str, trace: Trace) -> Known:
    """Return the pull the rated PTO power sustains at the task's speed, by the published power ratio [kN]."""
    if drive not in RATIO_ROW:
        return unknown(len(block))

    def of(some: Block) -> Known:
        power = some.take("pto_power_kw")
        ratio = _ratio(terms.setting, terms, drive)
        at_drawbar = np.asarray(trace.call(power_flow.drawbar_from_pto)(power.values, ratio=ratio))
        pull = np.asarray(trace.call(pull_at_power)(at_drawbar, S=terms.speed_km_h))
        return Known(pull, np.ones(len(some), bool), stands_in="the power ratio", notes=(BY_RATIO,))

    return where_known(block, ("pto_power_kw",), of)


def _ratio(setting: Setting, terms: Soil, drive: str) -> Array:
    ratios = {}
    for word in terms.ground.words:
        low, high = _ends(setting, RATIO_ROW[drive], SURFACE[word])
        ratios[word] = setting.draws.uniform(f"power_ratio/{drive}/{word}", low, high)
    return by_choice(setting, terms.drawn_as, terms.ground.words, ratios)


def _ends(setting: Setting, tractor_type: str, surface: str) -> tuple[float, float]:
    """Return the least and the largest ratio of the rows; tracks on firm soil have two."""
    rows = setting.library.rows(
        "power_ratios", tractor_type=tractor_type, from_point="PTO", to_point="drawbar", surface=surface
    )
    ratios = [row["ratio"] for row in rows]
    return min(ratios), max(ratios)
