"""Hydraulic power, and the liquid flow of a spray boom."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "P_hyd = p q / 60000",
    source="EP496",
    clause="hydraulic power (p q / 1000 with q in L/s)",
    status="memory",
    valid={"p": "[0, 50000]", "q": "[0, 1000]"},
    checks=("HYD-01",),
)
def hydraulic_power(p: Values, *, q: Values) -> Values:
    """Power in a flow of oil or spray liquid.

    Parameters
    ----------
    p : Values
        Pressure [kPa].
    q : Values
        Flow [L/min].

    Returns
    -------
    Values
        P_hyd, hydraulic power [kW].
    """
    return p * q / 60000


@formula(
    "q = r S w / 600",
    source="HANDBOOK",
    clause="area covered in a minute times the rate",
    status="memory",
    valid={"r": "[0, 5000]", "S": "[0, 40]", "w": "[0, 60]"},
    checks=("HYD-03",),
)
def boom_flow(r: Values, *, S: Values, w: Values) -> Values:
    """Flow that a spray boom gives out.

    Parameters
    ----------
    r : Values
        Rate [L/ha].
    S : Values
        Travel speed [km/h].
    w : Values
        Boom width [m].

    Returns
    -------
    Values
        q, flow of all nozzles [L/min].
    """
    return r * S * w / 600


@formula(
    "q' = k q",
    source="PRACTICE",
    clause="a machine asks about what the next one in size asks",
    status="practice",
    valid={"q": "[0, inf)", "k": "(0, 3]"},
)
def flow_near(q: Values, *, k: Values) -> Values:
    """Oil flow of a machine, from the record nearest in size.

    Parameters
    ----------
    q : Values
        Oil flow of the record [L/min].
    k : Values
        The machine over the record [1].

    Returns
    -------
    Values
        q', oil flow of the machine [L/min].
    """
    return q * k
