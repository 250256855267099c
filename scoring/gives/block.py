"""A block of tractors on the shared draws: each figure is worked out once, for all of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from evener.schema.certainty import USUAL_SPREAD_PCT, is_unsure
from evener.scoring.gives.known import Known

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evener.schema.records import Tractor
    from evener.scoring.core.draws import Array, Draws, Mask
    from evener.scoring.gives.tractors import Tractors

Worked = TypeVar("Worked")

ASSUMABLE = frozenset(
    {
        "hitch_lift_610_kg",
        "loader_height_m",
        "mass_kg",
        "hydraulic_flow_l_min",
        "front_mass_share",
        "wheelbase_m",
        "rear_tyre_width_m",
        "rear_tyre_diameter_m",
    }
)
TEST_POINT_M = 0.61
LEVER = 1e6
AT_ONCE = 8


class Block:
    """Some tractors side by side, on the shared draws.

    Parameters
    ----------
    tractors : all of them
    rows : which of them are in the block
    draws : the shared draws
    instead : by field, what is taken in place of the records' word
    """

    def __init__(
        self,
        tractors: Tractors,
        rows: NDArray[np.intp],
        draws: Draws,
        instead: Mapping[str, Known] | None = None,
    ) -> None:
        self.tractors = tractors
        self.rows = rows
        self.draws = draws
        self.instead = dict(instead or {})
        self._taken: dict[str, Known] = {}
        self._worked: dict[str, object] = {}

    def __len__(self) -> int:
        """Return how many tractors are in it."""
        return len(self.rows)

    @property
    def records(self) -> list[Tractor]:
        """The records, in the block's order."""
        return [self.tractors.records[row] for row in self.rows]

    @property
    def models(self) -> list[Tractor | None]:
        """The classes that stand in, in the block's order."""
        return [self.tractors.models[row] for row in self.rows]

    @property
    def drives(self) -> NDArray[np.str_]:
        """Each one's drive."""
        return self.work_out("drives", lambda: self.tractors.drives()[self.rows])

    @property
    def link(self) -> Array:
        """How each hitch's lift bends with reach, c in F(x) = F_0 / (1 + c x); `LEVER` where unknown; (n, 1) [1/m]."""
        return self.work_out("link", self._link)

    @property
    def taken(self) -> Mapping[str, Known]:
        """What was asked for so far, by field."""
        return self._taken

    def take(self, name: str) -> Known:
        """Return a field of the records, assumed from the class where it is not stated and can be."""
        if name not in self._taken:
            self._taken[name] = self.instead[name] if name in self.instead else self._read(name)
        return self._taken[name]

    def work_out(self, key: str, make: Callable[[], Worked]) -> Worked:
        """Return what is worked out of the tractors, such as a capacity, once for each key."""
        if key not in self._worked:
            self._worked[key] = make()
        return self._worked[key]  # type: ignore[return-value]

    def part(self, chosen: Mask) -> Block:
        """Return some of its tractors as a block, with what was taken of them so far."""
        if chosen.all():
            return self
        part = Block(self.tractors, self.rows[chosen], self.draws)
        part.instead = {name: known.part(chosen) for name, known in (self.instead | self._taken).items()}
        part._worked["drives"] = self.drives[chosen]
        return part

    def _link(self) -> Array:
        own, of_model = (
            _bend(read("hitch_lift_610_kg")[self.rows], read("hitch_lift_ends_kg")[self.rows])
            for read in (self.tractors.stated, self.tractors.of_model)
        )
        bend = np.where(np.isnan(own), of_model, own)
        return np.where(np.isnan(bend), LEVER, bend)[:, None]

    def _read(self, name: str) -> Known:
        stated = self.tractors.stated(name)[self.rows]
        silent = np.isnan(stated)
        of_model = self.tractors.of_model(name)[self.rows] if name in ASSUMABLE else np.full_like(stated, np.nan)
        if name == "loader_height_m":
            stated, of_model, silent = self._with_loader(stated, of_model, silent)
        if name == "hitch_lift_610_kg":
            of_model = self._lift_from_ends(of_model)
        assumed = silent & ~np.isnan(of_model)
        middle = np.where(silent, of_model, stated)
        unsure = np.array([is_unsure(one.estimated, name) for one in self.records], bool)
        spread = self._class_spread()
        values = middle[:, None]
        if assumed.any():
            # What a class's tractors have in common is drawn once for all of them: two that differ in nothing else
            # fare alike, and a list of thousands costs no more draws than one.
            one = self.draws.normal(f"tractor/{name}")
            values = np.where(assumed[:, None], middle[:, None] + (middle * spread / 200.0)[:, None] * one, values)
        drawn = [(row, name) for row in map(int, np.flatnonzero(unsure & ~silent))]
        if name == "hitch_lift_610_kg":
            ends = self.tractors.stated("hitch_lift_ends_kg")[self.rows]
            doubted = np.array([is_unsure(one.estimated, "hitch_lift_ends_kg") for one in self.records], bool)
            from_ends = doubted & silent & ~np.isnan(ends) & ~np.isnan(middle)
            drawn += [(row, "hitch_lift_ends_kg") for row in map(int, np.flatnonzero(from_ends))]
        if drawn:
            values = np.broadcast_to(values, (len(self), self.draws.n)).copy()
        for row, stated_as in drawn:
            values[row] = self._estimated(row, stated_as, float(middle[row]))
        return Known(values, assumed, middle)

    def _class_spread(self) -> Array:
        return np.nan_to_num(self.tractors.of_model("spread_pct")[self.rows])

    def _with_loader(self, stated: Array, of_model: Array, silent: Mask) -> tuple[Array, Array, Mask]:
        """Leave out the height where no loader is stated: a class's height says nothing of a tractor without one."""
        without = np.isnan(self.tractors.stated("loader_lift_kg")[self.rows])
        return np.where(without, np.nan, stated), np.where(without, np.nan, of_model), silent | without

    def _lift_from_ends(self, of_model: Array) -> Array:
        """Take the lift at 610 mm from the lift at the ends, where that is stated, by the bend of the class's hitch."""
        ends, bend = self.tractors.stated("hitch_lift_ends_kg")[self.rows], self.link[:, 0]
        has_model = np.array([model is not None for model in self.models])
        from_ends = np.where(has_model & (bend < LEVER), ends / (1 + TEST_POINT_M * bend), np.nan)
        return np.where(np.isnan(ends), of_model, from_ends)

    def _estimated(self, row: int, name: str, value: float) -> Array:
        """Return the draws of a value that a record has, by how sure it is of it."""
        tractor, model = self.tractors.records[self.rows[row]], self.tractors.models[self.rows[row]]
        sure, key = tractor.estimated[name], f"tractor/{name}"
        span = sure.span(value)
        if sure.kind == "stated":
            return np.full(self.draws.n, value)
        if span is not None:
            return self.draws.uniform(key, *span)
        spreads = (sure.spread_pct, tractor.spread_pct, model.spread_pct if model else None, USUAL_SPREAD_PCT)
        return self.draws.published(key, value, next(one for one in spreads if one is not None))


def _bend(at_610: Array, ends: Array) -> Array:
    """Return c [1/m] from the two rated lifts; one that keeps its lift with reach counts as parallel."""
    return np.asarray(np.maximum(ends / at_610 - 1, 0.0) / TEST_POINT_M)


def blocks(
    tractors: Tractors, draws: Draws, rows: NDArray[np.intp] | None = None, at_once: int = AT_ONCE
) -> Iterator[Block]:
    """Yield the tractors a block at a time, so that what is worked out at once stays small however many there are.

    Those of one drive and with the same figures stated stand together, in the order of the records among themselves.

    Parameters
    ----------
    tractors : all of them
    draws : the shared draws
    rows : which of them; all when left out
    at_once : how many there are in a block at most
    """
    among = np.arange(len(tractors)) if rows is None else rows
    drives = tractors.drives()[among]
    silent = [np.isnan(tractors.stated(name))[among] for name in sorted(ASSUMABLE)]
    order = np.lexsort([*silent, drives])
    alike = np.stack([*silent, drives == "2wd", drives == "track"])[:, order]
    ends = np.flatnonzero((alike[:, 1:] != alike[:, :-1]).any(axis=0)) + 1
    for group in np.split(among[order], ends) if len(order) else ():
        for start in range(0, len(group), at_once):
            yield Block(tractors, group[start : start + at_once], draws)
