"""What a tractor pulls before its wheels slip too much: by its own axle loads, tyres and drive, on the task's ground.

The traction equations carry it, on the soil's cone index. Where tyres, mass or axles are not known and cannot be
assumed the published ratio of drawbar to PTO power stands in, at the task's speed; on packed snow, a usual friction.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.demand import Terms
from evener.scoring.core.draws import median
from evener.scoring.core.trace import Step, applied
from evener.scoring.gives.capacities import UNKNOWN, Value
from evener.scoring.mechanics.engine import power_flow
from evener.scoring.mechanics.engine.drawbar import pull_at_power
from evener.scoring.mechanics.quantities import GRAVITY
from evener.scoring.mechanics.tyres import traction, tractor_pull
from evener.scoring.mechanics.validity import OutOfRange, OutsideTests
from evener.scoring.mechanics.work import snow
from evener.scoring.place.ground import SURFACE, by_choice

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.unknowns import Fact
    from evener.scoring.gives.capacities import Offer
    from evener.scoring.place.ground import Ground

RATIO_ROW = {"2wd": "2WD", "4wd": "MFWD (front wheel assist)", "articulated": "4WD", "track": "tracks"}
TYRES = ("mass_kg", "front_mass_share", "wheelbase_m", "rear_tyre_width_m", "rear_tyre_diameter_m")
LEAST_KN = 1e-6
LIGHT = "its tyres carry less for their size than in the tests behind the traction equations"
BY_RATIO = "tyres or mass are not known: pull by the published power ratio, which does not see grip"


@dataclass(frozen=True)
class Soil(Terms):
    """A pull on soil; `speed_km_h` serves where only the power ratio can be used.

    Attributes
    ----------
    key : names ground and speed
    """

    key: str
    setting: Setting
    ground: Ground
    drawn_as: Fact
    speed_km_h: Array

    def capacity(self, offer: Offer) -> Value:
        """Return the pull at the slip limit [kN]."""
        drive = _drive(offer)
        values = [offer.take(name) for name in TYRES]
        if drive == "track" or any(value.draws is None for value in values):
            return self._by_ratio(offer, drive)
        return offer.work_out(f"soil/{self.ground.key}", lambda: self._by_tyres(offer, drive))

    def _by_tyres(self, offer: Offer, drive: str) -> Value:
        mass, share, base, width, diameter = (_drawn(offer, name) for name in TYRES)
        allowance = self.setting.allowance
        deflection, cone = allowance("tyre_deflection"), self.ground.cone_index_kpa
        height = diameter * allowance("pull_height")
        slip = np.full(offer.draws.n, self.ground.slip_limit["2wd" if drive == "2wd" else "4wd"])
        tyres = {
            "rear": (width, diameter),
            "front": (width * allowance("front_tyre_width", drive), diameter * allowance("front_tyre_diameter", drive)),
        }
        weight = mass * GRAVITY / 1000
        static = {"rear": weight * (1 - share), "front": weight * share}
        loads, pressed, pull = static, static, np.zeros_like(weight)
        number, ratio = {}, {}
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always", OutsideTests)
            try:
                for _ in range(2):
                    pressed = loads
                    for axle, (b, d) in tyres.items():
                        number[axle] = np.asarray(
                            traction.mobility_number(cone, b=b, d=d, W=loads[axle] / 2, delta_h=deflection)
                        )
                        driven = axle == "rear" or drive != "2wd"
                        ratio[axle] = np.asarray(
                            traction.net_traction(number[axle], s=slip)
                            if driven
                            else -traction.undriven_resistance(number[axle])
                        )
                    pull = np.asarray(
                        tractor_pull.pull_at_slip(
                            static["rear"],
                            W_f=static["front"],
                            t_r=ratio["rear"],
                            t_f=ratio["front"],
                            y=height,
                            b=base,
                        )
                    )
                    shifted = np.maximum(pull, 0.0) * height / base
                    loads = {"rear": static["rear"] + shifted, "front": static["front"] - shifted}
            except OutOfRange as reason:
                return Value(None, None, notes=(str(reason),))
        outside = any(issubclass(one.category, OutsideTests) for one in caught)
        pull = np.maximum(pull, LEAST_KN)
        steps = [
            self._number_step("rear", tyres["rear"], number["rear"], pressed["rear"], deflection),
            self._number_step("front", tyres["front"], number["front"], pressed["front"], deflection),
            _ratio_step("rear", number["rear"], slip, ratio["rear"], driven=True),
            _ratio_step("front", number["front"], slip, ratio["front"], driven=drive != "2wd"),
            applied(
                "tractor_pull.pull_at_slip",
                {
                    "W_r": (static["rear"], "kN"),
                    "W_f": (static["front"], "kN"),
                    "t_r": (ratio["rear"], "1"),
                    "t_f": (ratio["front"], "1"),
                    "y": (height, "m"),
                    "b": (base, "m"),
                },
                (pull, "kN"),
                what="pull at the slip limit",
            ),
        ]
        assumed = next((one.assumed_from for name in TYRES if (one := offer.take(name)).assumed_from), None)
        return Value(median(pull), pull, assumed, tuple(steps), (LIGHT,) if outside else ())

    def _number_step(self, axle: str, tyre: tuple[Array, Array], number: Array, load: Array, deflection: Array) -> Step:
        return applied(
            "traction.mobility_number",
            {
                "CI": (self.ground.cone_index_kpa, "kPa"),
                "b": (tyre[0], "m"),
                "d": (tyre[1], "m"),
                "W": (load / 2, "kN"),
                "delta/h": (deflection, "1"),
            },
            (number, "1"),
            what=f"{axle} tyre",
        )

    def _by_ratio(self, offer: Offer, drive: str) -> Value:
        """Return the pull the rated PTO power sustains at the task's speed, by the published power ratio [kN]."""
        power = offer.axes["pto_power"]
        if power.draws is None or drive not in RATIO_ROW:
            return UNKNOWN
        draws, ratios = self.setting.draws, {}
        for word in self.ground.words:
            low, high = _ends(self.setting, RATIO_ROW[drive], SURFACE[word])
            ratios[word] = draws.uniform(f"power_ratio/{drive}/{word}", low, high)
        ratio = by_choice(self.setting, self.drawn_as, self.ground.words, ratios)
        at_drawbar = np.asarray(power_flow.drawbar_from_pto(power.draws, ratio=ratio))
        pull = np.asarray(pull_at_power(at_drawbar, S=self.speed_km_h))
        steps = (
            applied(
                "power_flow.drawbar_from_pto", {"P_pto": (power.draws, "kW"), "ratio": (ratio, "1")}, (at_drawbar, "kW")
            ),
            applied(
                "drawbar.pull_at_power", {"P_db": (at_drawbar, "kW"), "S": (self.speed_km_h, "km/h")}, (pull, "kN")
            ),
        )
        return Value(median(pull), pull, power.assumed_from or "the power ratio", steps, (BY_RATIO,))


@dataclass(frozen=True)
class Snow(Terms):
    """A push on packed snow.

    Attributes
    ----------
    key : names the tyres
    """

    key: str
    setting: Setting
    tyres: str

    def capacity(self, offer: Offer) -> Value:
        """Return the push at the grip of the driven wheels [kN]."""
        mass, share = offer.take("mass_kg"), offer.take("front_mass_share")
        two_wheels = _drive(offer) == "2wd"
        if mass.draws is None or (two_wheels and share.draws is None):
            return UNKNOWN
        driven = mass.draws * (1 - share.draws) if two_wheels and share.draws is not None else mass.draws
        mu = self.setting.allowance("snow_grip", self.tyres)
        push = np.maximum(np.asarray(snow.grip(driven, mu=mu)), LEAST_KN)
        written = applied("snow.grip", {"m": (driven, "kg"), "mu": (mu, "1")}, (push, "kN"), what="driven wheels")
        return Value(median(push), push, mass.assumed_from, (written,))


def _drive(offer: Offer) -> str:
    return offer.tractor.drive or (offer.model.drive if offer.model else None) or "2wd"


def _drawn(offer: Offer, name: str) -> Array:
    value = offer.take(name).draws
    return np.zeros(offer.draws.n) if value is None else value


def _ends(setting: Setting, tractor_type: str, surface: str) -> tuple[float, float]:
    """Return the least and the largest ratio of the rows; tracks on firm soil have two."""
    rows = setting.library.rows(
        "power_ratios", tractor_type=tractor_type, from_point="PTO", to_point="drawbar", surface=surface
    )
    ratios = [row["ratio"] for row in rows]
    return min(ratios), max(ratios)


def _ratio_step(axle: str, number: Array, slip: Array, ratio: Array, *, driven: bool) -> Step:
    if driven:
        inputs: dict[str, tuple[Array | float | str, str]] = {"B_n": (number, "1"), "s": (slip, "1")}
        return applied("traction.net_traction", inputs, (ratio, "1"), what=f"{axle} axle")
    return applied(
        "traction.undriven_resistance", {"B_n": (number, "1")}, (-ratio, "1"), what=f"{axle} axle, not driven"
    )
