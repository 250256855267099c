"""The best that can be decided on a sheet: by one who knows the world's tables and prices, but only what is said."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from experiments.decision_world.customers import Customer
from experiments.decision_world.figures import Tractor, tractors
from experiments.decision_world.money import years
from experiments.decision_world.needs import People
from experiments.decision_world.truths import Truth

BOUND = "bound"


def best_on(customer: Customer, drawn: Sequence[Truth], who: People) -> Tractor:
    """Return the class that costs least on the average over truths that agree with what is said.

    Parameters
    ----------
    customer : what is said
    drawn : truths that agree with it
    who : how these people take a tractor that is short
    """
    costs = np.mean([[one.costs for one in years(customer, truth, who).by_class] for truth in drawn], axis=0)
    return tractors()[int(np.argmin(costs))]
