"""What a machine costs to own and to keep. Money is in the currency of the prices given."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values
from evener.scoring.mechanics.validity import OutOfRange


@formula(
    "RV = (C_1 - C_2 sqrt(n) - C_3 sqrt(h))^2",
    source="D497",
    clause="remaining value and table of coefficients (costs.csv)",
    status="memory",
    valid={"n": "[1, 40]", "h": "[0, 3000]", "C_1": "(0, 2]", "C_2": "[0, 1]", "C_3": "[0, 0.1]"},
    note="ends where the bracket reaches zero",
    checks=("COST-04", "TABLE-RV-TRACTOR"),
)
def remaining_value(n: Values, *, h: Values, C_1: Values, C_2: Values, C_3: Values) -> Values:
    """Value left of a machine, as a share of today's list price of one like it.

    Parameters
    ----------
    n : Values
        Age [yr].
    h : Values
        Mean use [h/yr].
    C_1, C_2, C_3 : Values
        Coefficients of the machine's row [1].

    Returns
    -------
    Values
        RV, remaining value over current list price [fraction].

    Raises
    ------
    OutOfRange
        When the machine is older or harder used than the equation reaches: squared, it would gain value again.
    """
    root = C_1 - C_2 * np.sqrt(n) - C_3 * np.sqrt(h)
    if np.any(root < 0):
        raise OutOfRange(
            "cost.remaining_value: the age and use are beyond the equation, which has reached zero. Use no value."
        )
    value: Values = root**2
    return value


@formula(
    "C_rm = RF_1 P (h / 1000)^RF_2",
    source="D497",
    clause="repair and maintenance (factors in field_operations.csv)",
    status="memory",
    valid={"h": "[0, inf)", "P": "[0, inf)", "RF_1": "[0, 1]", "RF_2": "[1, 3]"},
    note="P the CURRENT list price, not the historic one",
    checks=("TABLE-RM-TRACTOR", "TABLE-RM-COMBINE"),
)
def repair_to_date(h: Values, *, P: Values, RF_1: Values, RF_2: Values) -> Values:
    """Repair and maintenance up to an age in hours.

    Parameters
    ----------
    h : Values
        Accumulated use [h].
    P : Values
        Current list price [money].
    RF_1, RF_2 : Values
        Repair factors of the machine's row [1].

    Returns
    -------
    Values
        C_rm, accumulated repair and maintenance [money].
    """
    return RF_1 * P * (h / 1000) ** RF_2


@formula(
    "C_rm(h_2) - C_rm(h_1)",
    source="D497",
    clause="repair and maintenance between two ages",
    status="memory",
    valid={"h_1": "[0, inf)", "h_2": "[0, inf)", "P": "[0, inf)", "RF_1": "[0, 1]", "RF_2": "[1, 3]"},
    checks=("TABLE-RM-TRACTOR",),
)
def repair_between(h_1: Values, *, h_2: Values, P: Values, RF_1: Values, RF_2: Values) -> Values:
    """Repair and maintenance between two ages in hours, as for a machine bought used.

    Parameters
    ----------
    h_1, h_2 : Values
        Accumulated use at the start and the end [h].
    P : Values
        Current list price [money].
    RF_1, RF_2 : Values
        Repair factors of the machine's row [1].

    Returns
    -------
    Values
        Repair and maintenance in between [money].
    """
    return repair_to_date(h_2, P=P, RF_1=RF_1, RF_2=RF_2) - repair_to_date(h_1, P=P, RF_1=RF_1, RF_2=RF_2)


@formula(
    "C_o = (1 - S_v) / L + i (1 + S_v) / 2 + K_2",
    source="EP496",
    clause="annual ownership cost",
    status="memory",
    valid={"S_v": "[0, 1]", "L": "(0, 50]", "i": "[0, 0.5]", "K_2": "[0, 0.2]"},
    note="K_2 0.020: taxes 0.0100, housing 0.0075, insurance 0.0025",
)
def ownership_share(S_v: Values, *, L: Values, i: Values, K_2: Values) -> Values:
    """Yearly cost of owning a machine as a share of its price.

    Parameters
    ----------
    S_v : Values
        Salvage value over price [fraction].
    L : Values
        Years it is kept [yr].
    i : Values
        Real interest rate [fraction].
    K_2 : Values
        Taxes, housing and insurance over price [fraction].

    Returns
    -------
    Values
        C_o, ownership cost over price in a year [fraction].
    """
    return (1 - S_v) / L + i * (1 + S_v) / 2 + K_2


@formula(
    "S = RV P_list",
    source="ISU-A329",
    clause="salvage value",
    status="published",
    valid={"P_list": "[0, inf)", "RV": "[0, 1]"},
    note="a share of the list price of an equivalent NEW machine, even if bought below it",
    checks=("COST-01",),
)
def salvage(P_list: Values, *, RV: Values) -> Values:
    """Salvage value of a machine.

    Parameters
    ----------
    P_list : Values
        Current list price of an equivalent new machine [money].
    RV : Values
        Remaining value over list price [fraction].

    Returns
    -------
    Values
        S, salvage value [money].
    """
    return RV * P_list


@formula(
    "i = r - f",
    source="ISU-A329",
    clause="real interest rate by subtraction",
    status="published",
    valid={"r": "[0, 0.5]", "f": "[0, 0.5]"},
    checks=("COST-01",),
)
def real_interest(r: Values, *, f: Values) -> Values:
    """Real interest rate.

    Parameters
    ----------
    r : Values
        Nominal interest rate [fraction].
    f : Values
        Inflation [fraction].

    Returns
    -------
    Values
        i, real interest rate [fraction].
    """
    return r - f


@formula(
    "CRF = i / (1 - (1 + i)^-n), 1 / n where i = 0",
    source="ISU-A329",
    clause="capital recovery factor",
    status="memory",
    valid={"i": "[0, 0.5]", "n": "[1, 50]"},
)
def capital_recovery_factor(i: Values, *, n: Values) -> Values:
    """Yearly payment that repays one unit of money with interest.

    Parameters
    ----------
    i : Values
        Real interest rate [fraction].
    n : Values
        Years [yr].

    Returns
    -------
    Values
        CRF, payment over sum [1/yr].
    """
    discount: Values = -np.expm1(-n * np.log1p(i))
    free = np.asarray(i) == 0
    factor: Values = np.where(free, 1 / n, i / np.where(free, 1.0, discount))[()]
    return factor


@formula(
    "C = (P - S) CRF + S i",
    source="ISU-A329",
    clause="capital recovery",
    status="memory",
    valid={"P": "[0, inf)", "S": "[0, inf)", "CRF": "(0, 1.5]", "i": "[0, 0.5]"},
)
def capital_recovery(P: Values, *, S: Values, CRF: Values, i: Values) -> Values:
    """Yearly depreciation and interest of a machine.

    Parameters
    ----------
    P : Values
        Purchase price [money].
    S : Values
        Salvage value [money].
    CRF : Values
        Capital recovery factor [1/yr].
    i : Values
        Real interest rate [fraction].

    Returns
    -------
    Values
        C, capital recovery in a year [money/yr].
    """
    return (P - S) * CRF + S * i


@formula(
    "TIH = k (P + S) / 2",
    source="ISU-A329",
    clause="taxes, insurance and housing on the mean value",
    status="memory",
    valid={"P": "[0, inf)", "S": "[0, inf)", "k": "[0, 0.2]"},
)
def taxes_insurance_housing(P: Values, *, S: Values, k: Values) -> Values:
    """Yearly taxes, insurance and housing.

    Parameters
    ----------
    P : Values
        Purchase price [money].
    S : Values
        Salvage value [money].
    k : Values
        Their sum over the mean value [fraction].

    Returns
    -------
    Values
        TIH, in a year [money/yr].
    """
    return k * (P + S) / 2
