"""Whether a tractor's hitch, PTO, remotes and drive fit what a task asks of them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.scoring.core.demand import Gate
    from evener.scoring.core.draws import Mask
    from evener.scoring.gives.block import Block

OF_GATE = {
    "hitch_category": "hitch_category",
    "pto_speed": "pto_speeds_rpm",
    "remotes": "rear_remotes",
    "drive": "drive",
}
SLOW, FAST = 540, 1000
BUSHINGS, PTO_GEAR = "hitch_bushings", "pto_gear"
SILENT = (None, ())


def pass_gate(block: Block, gate: Gate) -> Mask:
    """Return which tractors of a block meet a gate; where a record is silent, its class's word counts."""
    known: dict[object, bool] = {}
    return np.array([known.setdefault(word, fits(gate, word)) for word in _words(block, gate)], bool)


def needs_fitted(block: Block, gate: Gate) -> list[str | None]:
    """Return what each tractor of a block needs fitted to meet a gate, as `fitted` does."""
    return [fitted(gate, word) for word in _words(block, gate)]


def passes(gate: Gate, tractor: Tractor) -> bool:
    """Return whether a tractor meets a gate; what its record does not state is not shown to be met."""
    return fits(gate, getattr(tractor, OF_GATE[gate.axis]))


def fits(gate: Gate, word: object) -> bool:
    """Return whether what a record says at a gate meets it."""
    if word in SILENT:
        return False
    if gate.axis == "hitch_category":
        return _hitch(gate.accepts, str(word))
    if gate.axis == "pto_speed":
        asked, has = _asked_speeds(gate), _speeds(word)
        return bool(asked & has) or _geared_down(asked, has)
    if gate.axis == "remotes":
        return gate.least is not None and isinstance(word, int | float) and int(word) >= gate.least
    return word in gate.accepts


def fitted(gate: Gate, word: object) -> str | None:
    """Return what has to be fitted for a gate to be met, by its row of prices; None where nothing or where it is not.

    Parameters
    ----------
    gate : hitch category or PTO speed
    word : what the tractor's record says there
    """
    if not fits(gate, word):
        return None
    if gate.axis == "hitch_category" and _number(str(word)) > _number(gate.accepts[-1]):
        return BUSHINGS
    if gate.axis == "pto_speed" and not _asked_speeds(gate) & _speeds(word):
        return PTO_GEAR
    return None


def _asked_speeds(gate: Gate) -> set[int]:
    return {int(speed) for speed in gate.accepts}


def _speeds(word: object) -> set[int]:
    """Return the PTO speeds that a record states [rpm]."""
    return set(word) if isinstance(word, tuple | list) else set()


def _geared_down(asked: set[int], has: set[int]) -> bool:
    """Return whether a reduction gear on the stub gives what a machine asks; nothing gears a slow stub up."""
    return SLOW in asked and FAST in has


def offered(gate: Gate, tractor: Tractor) -> str:
    """Return what a tractor offers at a gate, in words to print."""
    if gate.axis == "hitch_category":
        return f"category {tractor.hitch_category}" if tractor.hitch_category else "not stated"
    if gate.axis == "pto_speed":
        if not tractor.pto_speeds_rpm:
            return "not stated"
        gear = f", with a reduction gear to {SLOW} (both manuals)" if fitted(gate, tractor.pto_speeds_rpm) else ""
        return f"{' or '.join(map(str, tractor.pto_speeds_rpm))} rpm{gear}"
    if gate.axis == "remotes":
        return "not stated" if tractor.rear_remotes is None else str(tractor.rear_remotes)
    return tractor.drive or "not stated"


def _words(block: Block, gate: Gate) -> list[object]:
    name = OF_GATE[gate.axis]
    pairs = zip(block.records, block.models, strict=True)
    # A class stands in at the gates it is believed at; its drive is not the tractor's.
    stands_in = gate.axis != "drive"
    return [
        getattr(model, name) if stands_in and model is not None and getattr(own, name) in SILENT else getattr(own, name)
        for own, model in pairs
    ]


def _hitch(accepts: tuple[str, ...], category: str) -> bool:
    """Return whether a tractor's hitch takes an implement's category.

    The tractor's own category must not be below the implement's least, and at most one above its greatest: that step is
    bridged with bushings or turnable balls (common practice, no source). Narrow (N) categories count as their number.
    """
    number = _number(category)
    return _number(accepts[0]) <= number <= _number(accepts[-1]) + 1


def _number(category: str) -> int:
    digits = re.match(r"\d", category)
    return int(digits.group()) if digits else -1
