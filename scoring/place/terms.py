"""The terms on which a capacity is taken where no column has it: on a soil, on snow, balanced, with brakes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.scoring.core.terms import Terms

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.unknowns import Fact
    from evener.scoring.place.ground import Ground

REAR = "rear"
FRONT = "front"
RAISED = "with the machine raised"
ON_DRAWBAR = "with the tongue on the drawbar"


@dataclass(frozen=True, eq=False)
class Soil(Terms):
    """A pull on soil.

    Attributes
    ----------
    key : names ground and speed
    setting : what is drawn of the trade
    ground : the soil
    drawn_as : the fact that decides which soil it is
    speed_km_h : serves where only the power ratio can be used
    """

    key: str
    setting: Setting
    ground: Ground
    drawn_as: Fact
    speed_km_h: Array


@dataclass(frozen=True, eq=False)
class Snow(Terms):
    """A push on packed snow.

    Attributes
    ----------
    key : names the tyres
    """

    key: str
    setting: Setting
    tyres: str


@dataclass(frozen=True, eq=False)
class Raised(Terms):
    """A machine raised behind or in front, or one whose tongue presses on the drawbar.

    Attributes
    ----------
    key : where it hangs: `REAR` or `FRONT`
    setting : what is drawn of the trade
    usual : usual slope of the task, in the middle [1]
    steepest : its steepest stretch, draws [1]
    told : what the customer can tell of its mass, draws that grow with it; None where nothing of that is open
    how : in words, how it bears on the tractor
    """

    key: str
    setting: Setting
    usual: float
    steepest: Array
    told: Array | None = None
    how: str = RAISED

    @property
    def rear(self) -> bool:
        """Whether it hangs behind."""
        return self.key == REAR


@dataclass(frozen=True, eq=False)
class Towing(Terms):
    """The published mass ratio on which a mass is towed.

    Attributes
    ----------
    key : names the task
    ratio : towed mass over tractor mass, draws [1]
    source, status : of the rule
    """

    key: str
    ratio: Array
    source: str
    status: str
