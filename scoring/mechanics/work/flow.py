"""The flow through a machine while it moves, from rates that count its stops."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "F = F_mean / eta_f",
    source="EP496",
    clause="field efficiency",
    status="memory",
    valid={"F_mean": "[0, inf)", "eta_f": "(0, 1]"},
)
def flow_while_moving(F_mean: Values, *, eta_f: Values) -> Values:
    """Flow while a machine moves, from a rate that counts its stops.

    Parameters
    ----------
    F_mean : Values
        Rate with turns and stops [t/h].
    eta_f : Values
        Field efficiency [fraction].

    Returns
    -------
    Values
        F, flow while moving [t/h].
    """
    return F_mean / eta_f


@formula(
    "F = m / (1000 t)",
    source="PRACTICE",
    clause="one load in its time",
    status="practice",
    valid={"m": "[0, inf)", "t": "(0, inf)"},
)
def batch_flow(m: Values, *, t: Values) -> Values:
    """Flow of a machine that is emptied or mixed load by load.

    Parameters
    ----------
    m : Values
        Mass of one load [kg].
    t : Values
        Time for one load [h].

    Returns
    -------
    Values
        F, flow [t/h].
    """
    return m / 1000 / t
