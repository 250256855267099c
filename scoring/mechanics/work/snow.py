"""Snow: the power to throw it and the force to push it. Common practice; no standard gives either."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import GRAVITY, Values


@formula(
    "q_m = rho w h S / 3.6",
    source="PRACTICE",
    clause="blower mass flow",
    status="practice",
    valid={"rho": "(0, 917]", "w": "[0, 10]", "h": "[0, 3]", "S": "[0, 30]"},
)
def blower_flow(rho: Values, *, w: Values, h: Values, S: Values) -> Values:
    """Mass of snow a blower takes in each second.

    Parameters
    ----------
    rho : Values
        Density of the snow as it lies [kg/m3].
    w : Values
        Working width [m].
    h : Values
        Depth of the snow, at most the intake's height [m].
    S : Values
        Travel speed [km/h].

    Returns
    -------
    Values
        q_m, mass flow [kg/s].
    """
    return rho * w * h * S / 3.6


@formula(
    "P = q_m v_t^2 / (2000 eta)",
    source="PRACTICE",
    clause="blower throw power",
    status="practice",
    valid={"q_m": "[0, inf)", "v_t": "[0, 40]", "eta": "(0, 1]"},
    note="v_t 15 to 25 m/s and eta 0.3 to 0.5 are usual",
)
def throw_power(q_m: Values, *, v_t: Values, eta: Values) -> Values:
    """Shaft power that throws a flow of snow.

    Parameters
    ----------
    q_m : Values
        Mass flow of snow [kg/s].
    v_t : Values
        Speed at which the snow leaves the chute [m/s].
    eta : Values
        Efficiency from shaft to thrown snow [fraction].

    Returns
    -------
    Values
        P, power at the PTO shaft [kW].
    """
    return q_m * v_t**2 / (2000 * eta)


@formula(
    "m = rho w h l",
    source="PRACTICE",
    clause="prism of snow ahead of a blade",
    status="practice",
    valid={"rho": "(0, 917]", "w": "[0, 10]", "h": "[0, 3]", "length": "[0, 20]"},
)
def prism_mass(rho: Values, *, w: Values, h: Values, length: Values) -> Values:
    """Mass of the snow a blade pushes ahead of it.

    Parameters
    ----------
    rho : Values
        Density of the pushed snow [kg/m3].
    w : Values
        Width of the blade [m].
    h : Values
        Height of the snow at the blade [m].
    length : Values
        Length of the prism ahead of the blade, l in the equation [m].

    Returns
    -------
    Values
        m, mass pushed [kg].
    """
    return rho * w * h * length


@formula(
    "F = f m g / 1000 + k w",
    source="PRACTICE",
    clause="push force of a blade",
    status="practice",
    valid={"m": "[0, inf)", "f": "[0, 1]", "k": "[0, 5]", "w": "[0, 10]"},
    note="f 0.1 to 0.3 and k 0.5 to 2 kN/m are usual; traction is the limit",
)
def push_force(m: Values, *, f: Values, k: Values, w: Values) -> Values:
    """Force that pushes snow with a blade.

    Parameters
    ----------
    m : Values
        Mass of the snow ahead of the blade [kg].
    f : Values
        Friction of the pushed snow, as a share of its weight [fraction].
    k : Values
        Resistance of the cutting edge [kN/m].
    w : Values
        Width of the blade [m].

    Returns
    -------
    Values
        F, push force [kN].
    """
    return f * m * GRAVITY / 1000 + k * w


@formula(
    "F = mu m g / 1000",
    source="PRACTICE",
    clause="grip on snow",
    status="practice",
    valid={"m": "[0, inf)", "mu": "[0, 1]"},
    note="mu 0.15 to 0.25 on packed snow, 0.3 to 0.5 with chains",
)
def grip(m: Values, *, mu: Values) -> Values:
    """Push that driven wheels give on snow.

    Parameters
    ----------
    m : Values
        Mass on the driven wheels [kg].
    mu : Values
        Push over weight on the driven wheels [fraction].

    Returns
    -------
    Values
        F, push at the slip limit [kN].
    """
    return mu * m * GRAVITY / 1000
