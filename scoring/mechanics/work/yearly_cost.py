"""What work costs in a year, done or left undone. Money is in the currency of the prices given."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "P = P_1 (x / x_1)^(ln(P_2 / P_1) / ln(x_2 / x_1))",
    source="PRACTICE",
    clause="price between two sizes that are known, by a power law",
    status="practice",
    valid={
        "x": "(0, inf)",
        "x_1": "(0, inf)",
        "P_1": "(0, inf)",
        "x_2": "(0, inf)",
        "P_2": "(0, inf)",
    },
    note="beyond the last two sizes the same law goes on",
)
def price_by_size(x: Values, *, x_1: Values, P_1: Values, x_2: Values, P_2: Values) -> Values:
    """Price of a machine from the prices of a smaller and a larger one.

    Parameters
    ----------
    x : Values
        Its size [row's unit].
    x_1 : Values
        The smaller size [row's unit].
    P_1 : Values
        Its price [money].
    x_2 : Values
        The larger size [row's unit].
    P_2 : Values
        Its price [money].

    Returns
    -------
    Values
        P, price [money].
    """
    return P_1 * (x / x_1) ** (np.log(P_2 / P_1) / np.log(x_2 / x_1))


@formula(
    "C = k t Q p",
    source="EP496",
    clause="fuel, and oil as a share of it",
    status="memory",
    valid={"t": "[0, inf)", "Q": "[0, inf)", "p": "[0, inf)", "k": "[1, 2]"},
    note="k 1.15: oil is 10 to 15 % of the fuel's cost",
)
def fuel_and_oil(t: Values, *, Q: Values, p: Values, k: Values) -> Values:
    """Yearly cost of fuel and oil.

    Parameters
    ----------
    t : Values
        Working time in a year [h/yr].
    Q : Values
        Fuel [L/h].
    p : Values
        Price of fuel [money/L].
    k : Values
        Fuel and oil over fuel alone [1].

    Returns
    -------
    Values
        C, in a year [money/yr].
    """
    return k * t * Q * p


@formula(
    "C = k t w",
    source="EP496",
    clause="labour",
    status="memory",
    valid={"t": "[0, inf)", "w": "[0, inf)", "k": "[1, 2]"},
    note="k 1.1: the driver's hours exceed the machine's by 10 to 20 %",
)
def driver(t: Values, *, w: Values, k: Values) -> Values:
    """Yearly cost of the driver.

    Parameters
    ----------
    t : Values
        Working time in a year [h/yr].
    w : Values
        Wage [money/h].
    k : Values
        Driver's hours over the machine's [1].

    Returns
    -------
    Values
        C, in a year [money/yr].
    """
    return k * t * w


@formula(
    "H = m r q + c n",
    source="PRACTICE",
    clause="hired work of a small place",
    status="practice",
    valid={"q": "[0, inf)", "r": "[0, inf)", "m": "[1, 5]", "c": "[0, inf)", "n": "[0, inf)"},
)
def hired(q: Values, *, r: Values, m: Values, c: Values, n: Values) -> Values:
    """Yearly cost of work that is hired.

    Parameters
    ----------
    q : Values
        Work in a year, in what the rate is charged by [row's unit].
    r : Values
        Custom rate, machine and driver [money/unit].
    m : Values
        What a small place pays over the custom rate [1].
    c : Values
        A call-out [money].
    n : Values
        Times a year that somebody comes [1/yr].

    Returns
    -------
    Values
        H, in a year [money/yr].
    """
    return m * r * q + c * n


@formula(
    "E = max(0, k max(0, O_r - O_t) - H)",
    source="PRACTICE",
    clause="listed work left undone: what it is worth beyond hiring it",
    status="practice",
    valid={"O_r": "[0, inf)", "O_t": "[0, inf)", "H": "[0, inf)", "k": "[0, 20]"},
    note="work that is listed for a tractor is worth at least what the tractor that does it costs more",
)
def undone_beyond_hire(O_r: Values, *, O_t: Values, H: Values, k: Values) -> Values:
    """Worth of a piece of listed work left undone, beyond its hire.

    Parameters
    ----------
    O_r : Values
        Yearly ownership of the cheapest class that does it by itself, held for the usual years [money/yr].
    O_t : Values
        Yearly ownership of the tractor that does not, held for the usual years [money/yr].
    H : Values
        Its hire [money/yr].
    k : Values
        Ownership differences that it is worth [1].

    Returns
    -------
    Values
        E, in a year [money/yr].
    """
    return np.maximum(0, k * np.maximum(0, O_r - O_t) - H)


@formula(
    "Z = (s P + c) / N + y max(0, O_r - O_t)",
    source="PRACTICE",
    clause="change of size: spread over the years held, then the ownership of the larger one",
    status="practice",
    valid={
        "P": "[0, inf)",
        "s": "[0, 1]",
        "c": "[0, inf)",
        "N": "(0, 50]",
        "y": "[0, 1]",
        "O_r": "[0, inf)",
        "O_t": "[0, inf)",
    },
    note="a year with too small a tractor is no saving: for work of today y is 1",
)
def change_of_size(
    P: Values,
    *,
    s: Values,
    c: Values,
    N: Values,
    y: Values,
    O_r: Values,
    O_t: Values,
) -> Values:
    """Yearly cost of changing a tractor that is too small for one that does all.

    Parameters
    ----------
    P : Values
        Price of the tractor that is given up [money].
    s : Values
        Share of the price lost at once [fraction].
    c : Values
        A lost season [money].
    N : Values
        Years held [yr].
    y : Values
        Share of the years in which the larger one is held [fraction].
    O_r, O_t : Values
        Yearly ownership of the larger one and of the one given up [money/yr].

    Returns
    -------
    Values
        Z, in a year [money/yr].
    """
    return (s * P + c) / N + y * np.maximum(0, O_r - O_t)


@formula(
    "y = max(0, N - a + 1) / N",
    source="PRACTICE",
    clause="share of the years held in which a plan is there",
    status="practice",
    valid={"a": "[1, 200]", "N": "(0, 50]"},
)
def share_of_years(a: Values, *, N: Values) -> Values:
    """Share of the years held that a plan is there, from the year in which it comes.

    Parameters
    ----------
    a : Values
        Year of ownership in which it comes, the first being 1 [yr].
    N : Values
        Years held [yr].

    Returns
    -------
    Values
        y, share of the years [fraction].
    """
    return np.maximum(0, N - a + 1) / N


@formula(
    "fit = 100 (C_min / C)",
    source="PRACTICE",
    clause="how near a choice comes to the one that costs least",
    status="practice",
    valid={"C_min": "(0, inf)", "C": "(0, inf)"},
)
def fit(C_min: Values, *, C: Values) -> Values:
    """Least expected yearly cost over that of a choice.

    Parameters
    ----------
    C_min : Values
        Least expected yearly cost [money/yr].
    C : Values
        Its own [money/yr].

    Returns
    -------
    Values
        fit [%].
    """
    return 100 * (C_min / C)


@formula(
    "t_h = t / (v / v_u)",
    source="EP496",
    clause="field capacity, solved for time, at another speed",
    status="memory",
    valid={"t": "[0, inf)", "v": "(0, 1]"},
)
def hours_when_slower(t: Values, *, v: Values) -> Values:
    """Hours of work at the speed that is held.

    Parameters
    ----------
    t : Values
        Hours at the usual speed [h/yr].
    v : Values
        Speed held over the usual one [fraction].

    Returns
    -------
    Values
        t_h, hours [h/yr].
    """
    return t / v
