"""Power at the PTO shaft of a rotary machine: what the machine itself takes, on average, at the shaft."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "P_pto = a + b w + c F",
    source="D497",
    clause="rotary power equation and table 2 (parameters in rotary_power.csv)",
    status="memory",
    valid={"a": "[0, inf)", "b": "[0, inf)", "w": "[0, 40]", "c": "[0, inf)", "F": "[0, inf)"},
    note="average at the shaft: no reserve, no drawbar power, no propulsion",
)
def rotary_power(a: Values, *, b: Values, w: Values, c: Values, F: Values) -> Values:
    """Average power the shaft of a rotary machine takes.

    Parameters
    ----------
    a : Values
        Idle power [kW].
    b : Values
        Power per metre of working width [kW/m].
    w : Values
        Working width [m].
    c : Values
        Power per unit of material flow [kWh/t].
    F : Values
        Material flow while moving, on the basis of the table's row (wet or dry) [t/h].

    Returns
    -------
    Values
        P_pto, average power at the PTO shaft [kW].

    Notes
    -----
    ASABE D497, form seen in print for balers, other rows from memory. F is the flow *while moving*, without field
    efficiency (`work_rate.throughput`). Makers ask two to three times this of the tractor.
    """
    return a + b * w + c * F


@formula(
    "P' = k P",
    source="PRACTICE",
    clause="the +-range of a row is two standard deviations; custom",
    status="practice",
    valid={"P": "[0, inf)", "k": "(0, 3]"},
)
def scattered_power(P: Values, *, k: Values) -> Values:
    """Shaft power of one machine within the printed range of its row.

    Parameters
    ----------
    P : Values
        Shaft power by the row [kW].
    k : Values
        One machine over the row [1].

    Returns
    -------
    Values
        P', shaft power of the machine [kW].
    """
    return P * k
