"""What a demand asks of tractors: some ask more of a heavier one, of a hitch that bends, of a longer lever."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.trace import Step, step
from evener.scoring.gives.block import TEST_POINT_M
from evener.scoring.gives.stance import lever
from evener.scoring.place.terms import Raised

if TYPE_CHECKING:
    from evener.scoring.core.demand import Demand
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.gives.block import Block
    from evener.scoring.gives.offer import Offer


def asked(demand: Demand, block: Block) -> Array:
    """Return what a demand asks of each tractor, in the axis's unit, at the point its capacity is rated at.

    Of a tractor whose property is not known it is what is asked apart from that property.

    Parameters
    ----------
    demand : what is asked
    block : the tractors

    Returns
    -------
    Array
        Shape (tractors, draws), or (1, draws) where it is the same for all.
    """
    return _at_property(demand, block, (demand.alpha, demand.beta))


def asked_at_least(demand: Demand, block: Block) -> Array:
    """Return what has to be met even at the least useful speed, as `asked` does."""
    return _at_property(demand, block, demand.least)


def _at_property(demand: Demand, block: Block, line: tuple[Array, Array]) -> Array:
    alpha, beta = line[0][None, :], line[1][None, :]
    if demand.depends == "link_per_m":
        return (alpha + beta * block.link) / (1 + TEST_POINT_M * block.link)
    with_property = property_of(demand, block)
    if with_property is None:
        return alpha
    whole = alpha + beta * with_property
    missing = np.isnan(with_property[:, 0])
    return np.where(missing[:, None], alpha, whole) if missing.any() else whole


def property_of(demand: Demand, block: Block) -> Array | None:
    """Return the property a demand grows with, a mass [kg] or a lever [m]: NaN where not known, None for none."""
    if demand.depends == "mass_kg":
        return block.take("mass_kg").values
    if demand.depends == "lever_m" and isinstance(demand.terms, Raised):
        return lever(block, demand.terms)
    return None


def cannot_tell(demand: Demand, block: Block) -> Mask:
    """Return of which tractors it is not known what is asked, because their mass is not."""
    if demand.depends != "mass_kg" or not np.any(demand.beta):
        return np.zeros(len(block), bool)
    return ~block.take("mass_kg").known


def asked_of(demand: Demand, offer: Offer) -> Array:
    """Return what a demand asks of one tractor; shape (draws,)."""
    return np.broadcast_to(asked(demand, offer.block)[0], (offer.draws.n,))


def last_steps(demand: Demand, offer: Offer) -> tuple[Step, ...]:
    """Return the step that brings a demand to this tractor, where one of its properties takes part."""
    result = (asked_of(demand, offer), demand.unit)
    if demand.depends == "link_per_m":
        inputs: dict[str, tuple[Array | float | str, str]] = {
            "m / (1 - reserve)": (demand.alpha, "kg"),
            "x": (demand.beta / demand.alpha, "m"),
            "c of the tractor's hitch": (offer.link, "1/m"),
        }
        formula = "lift asked at 610 mm = m (1 + c x) / (1 + 0.61 c) / (1 - reserve)"
        return (step(formula, inputs, result, source="PRACTICE", status="practice"),)
    known = property_of(demand, offer.block)
    if known is None or np.isnan(known[0, 0]):
        return ()
    if demand.depends == "mass_kg":
        if not np.any(demand.beta):
            return ()
        moved: dict[str, tuple[Array | float | str, str]] = {
            "alpha": (demand.alpha, demand.unit),
            "beta": (demand.beta, f"{demand.unit}/kg"),
            "tractor": (known[0], "kg"),
        }
        formula = f"{'P' if demand.axis == 'pto_power' else 'D'} = alpha + beta x mass of the tractor"
        return (step(formula, moved, result, source="PRACTICE", status="practice"),)
    turned: dict[str, tuple[Array | float | str, str]] = {
        "G": (demand.beta, "kg"),
        "d": (demand.alpha / demand.beta, "m"),
        "hitch from the axle": (known[0], "m"),
    }
    formula = "moment about the axle = G (hitch from the axle + d)"
    return (step(formula, turned, result, source="BALLAST-OM", status="published"),)
