"""Roads between homes: given, or straight lines by a factor; and what a task costs in km and hours on the road."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.shed import Shed


class NoRoad(LookupError):
    """Two homes between which neither a road nor coordinates are given."""


@dataclass(frozen=True)
class Trip:
    """A tractor's way to a task and home again, the machine fetched and brought back.

    Attributes
    ----------
    km : road driven [km]
    hours : time on the road [h]
    """

    km: float
    hours: float


class Roads:
    """Road between the homes of a shed's members.

    Parameters
    ----------
    shed : the shed
    """

    def __init__(self, shed: Shed) -> None:
        self._given = {frozenset((a, b)): km for a, b, km in shed.road_km}
        self._at = {member.name: member.at_km for member in shed.members}
        self._factor, self._pace = shed.road_factor, shed.road_speed_km_h

    def km(self, one: str, other: str) -> float:
        """Return the road between two homes [km].

        Raises
        ------
        NoRoad
            Neither a road nor both coordinates are given.
        """
        if one == other:
            return 0.0
        given = self._given.get(frozenset((one, other)))
        if given is not None:
            return given
        a, b = self._at.get(one), self._at.get(other)
        if a is None or b is None:
            raise NoRoad(f"no road between {one} and {other}")
        return math.hypot(a[0] - b[0], a[1] - b[1]) * self._factor

    def trip(self, tractor: str, machine: str | None, place: str, *, pace_km_h: float | None = None) -> Trip:
        """Return the way of a tractor at home with one, with a machine of another, to a place and back.

        Parameters
        ----------
        tractor, machine, place : members at whose homes they are; no machine where none is fetched
        pace_km_h : slower pace on the road, where towing asks for it [km/h]
        """
        fetch = self.km(tractor, machine) + self.km(machine, place) if machine else self.km(tractor, place)
        km = 2.0 * fetch
        return Trip(km, km / min(self._pace, pace_km_h or self._pace))
