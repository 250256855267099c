"""Diesel and oil a tractor uses."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "Q_avg = 0.223 P_pto",
    source="GRISSO-EXT",
    clause="average annual diesel consumption",
    status="published",
    valid={"P_pto": "[0, inf)"},
    note="an average over a year's work, not for one task",
    checks=("FUEL-06", "TABLE-DIESEL"),
)
def average_diesel(P_pto: Values) -> Values:
    """Diesel an hour, averaged over a year of any work.

    Parameters
    ----------
    P_pto : Values
        Rated PTO power [kW].

    Returns
    -------
    Values
        Q_avg, diesel [L/h].
    """
    return 0.223 * P_pto


@formula(
    "Q = (0.22 X + 0.096) P_pto",
    source="GRISSO-04",
    clause="diesel consumption at full throttle",
    status="memory",
    valid={"P_pto": "[0, inf)", "X": "[0, 1]"},
    note="form seen in print, coefficients from memory",
    checks=("PTO-01", "FUEL-06"),
)
def diesel_at_load(P_pto: Values, *, X: Values) -> Values:
    """Diesel an hour at a load, at full throttle.

    Parameters
    ----------
    P_pto : Values
        Rated PTO power [kW].
    X : Values
        Load over rated PTO power [fraction].

    Returns
    -------
    Values
        Q, diesel [L/h].
    """
    return (0.22 * X + 0.096) * P_pto


@formula(
    "1 - N_red (0.00877 - 0.0045 X)",
    source="GRISSO-04",
    clause="fuel at reduced throttle",
    status="memory",
    valid={"N_red": "[0, 40]", "X": "[0, 1]"},
)
def throttle_factor(N_red: Values, *, X: Values) -> Values:
    """Factor on the fuel use at full throttle when the engine is slowed and the gear raised.

    Parameters
    ----------
    N_red : Values
        Reduction of engine speed [%].
    X : Values
        Load over rated PTO power [fraction].

    Returns
    -------
    Values
        Factor on the fuel use [fraction].
    """
    return 1 - N_red * (0.00877 - 0.0045 * X)


@formula(
    "q = 2.64 X + 3.91 - 0.203 sqrt(738 X + 173)",
    source="D497.4",
    clause="specific diesel consumption, older form",
    status="memory",
    valid={"X": "(0, 1]"},
    note="includes 15 % over test values for field conditions",
)
def older_specific_diesel(X: Values) -> Values:
    """Diesel per unit of PTO work, by the older equation.

    Parameters
    ----------
    X : Values
        Load over rated PTO power [fraction].

    Returns
    -------
    Values
        q, diesel [L/kWh].
    """
    litres: Values = 2.64 * X + 3.91 - 0.203 * np.sqrt(738 * X + 173)
    return litres


@formula(
    "Q = P / e",
    source="HANDBOOK",
    clause="fuel economy, as test reports print it",
    status="memory",
    valid={"P": "[0, inf)", "e": "(0, 20]"},
    checks=("FUEL-01",),
)
def fuel_from_economy(P: Values, *, e: Values) -> Values:
    """Fuel an hour from the work a litre does.

    Parameters
    ----------
    P : Values
        Power given [kW].
    e : Values
        Work per volume of fuel [kWh/L].

    Returns
    -------
    Values
        Q, fuel [L/h].
    """
    return P / e


@formula(
    "Q = P b_e / rho",
    source="HANDBOOK",
    clause="specific fuel consumption by mass",
    status="memory",
    valid={"P": "[0, inf)", "b_e": "(0, 1]", "rho": "[0.4, 1]"},
    note="diesel is about 0.84 kg/L",
    checks=("FUEL-02",),
)
def fuel_from_specific(P: Values, *, b_e: Values, rho: Values) -> Values:
    """Fuel an hour from the specific consumption by mass.

    Parameters
    ----------
    P : Values
        Power given [kW].
    b_e : Values
        Fuel mass per work [kg/kWh].
    rho : Values
        Density of the fuel [kg/L].

    Returns
    -------
    Values
        Q, fuel [L/h].
    """
    return P * b_e / rho


@formula(
    "q_a = Q / C_a",
    source="EP496",
    clause="fuel per area",
    status="memory",
    valid={"Q": "[0, inf)", "C_a": "(0, inf)"},
    checks=("FUEL-03",),
)
def fuel_per_area(Q: Values, *, C_a: Values) -> Values:
    """Fuel for each hectare.

    Parameters
    ----------
    Q : Values
        Fuel [L/h].
    C_a : Values
        Effective field capacity [ha/h].

    Returns
    -------
    Values
        q_a, fuel per area [L/ha].
    """
    return Q / C_a


@formula(
    "Q_i = 0.00059 P + 0.02169",
    source="D497",
    clause="crankcase oil, diesel engines",
    status="memory",
    valid={"P": "[0, 500]"},
)
def oil_diesel(P: Values) -> Values:
    """Crankcase oil an hour of a diesel engine, with changes.

    Parameters
    ----------
    P : Values
        Rated engine power [kW].

    Returns
    -------
    Values
        Q_i, oil [L/h].
    """
    return 0.00059 * P + 0.02169


@formula(
    "Q_i = 0.000566 P + 0.02487",
    source="D497",
    clause="crankcase oil, gasoline engines",
    status="memory",
    valid={"P": "[0, 500]"},
)
def oil_gasoline(P: Values) -> Values:
    """Crankcase oil an hour of a gasoline engine, with changes.

    Parameters
    ----------
    P : Values
        Rated engine power [kW].

    Returns
    -------
    Values
        Q_i, oil [L/h].
    """
    return 0.000566 * P + 0.02487
