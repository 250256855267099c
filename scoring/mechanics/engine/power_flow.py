"""From the engine to the PTO and to the drawbar by ratios: a first screen where tyres and soil are not known."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "P_pto = ratio P_e",
    source="UAZ",
    clause="power ratios (0.90 from the flywheel, power_ratios.csv)",
    status="published",
    valid={"P_e": "[0, inf)", "ratio": "(0, 1]"},
    note="the ratio belongs to one meaning of engine power: net or gross flywheel",
    checks=("EFF-01",),
)
def pto_from_engine(P_e: Values, *, ratio: Values) -> Values:
    """PTO power from engine power.

    Parameters
    ----------
    P_e : Values
        Engine power at the flywheel [kW].
    ratio : Values
        PTO power over engine power [fraction].

    Returns
    -------
    Values
        P_pto, power at the PTO [kW].
    """
    return P_e * ratio


@formula(
    "P_db = ratio P_pto",
    source="UAZ",
    clause="power ratios by drive and surface (power_ratios.csv)",
    status="published",
    valid={"P_pto": "[0, inf)", "ratio": "(0, 1]"},
    note="for a tractor ballasted and geared for the pull",
    checks=("EFF-01",),
)
def drawbar_from_pto(P_pto: Values, *, ratio: Values) -> Values:
    """Drawbar power that a PTO power becomes on a surface.

    Parameters
    ----------
    P_pto : Values
        Power at the PTO [kW].
    ratio : Values
        Drawbar power over PTO power, by drive and surface [fraction].

    Returns
    -------
    Values
        P_db, power at the drawbar [kW].

    Notes
    -----
    A light tractor runs out of grip before it runs out of power at low speed: check the force too
    (`tractor_pull.pull_at_slip`).
    """
    return P_pto * ratio


@formula(
    "P_pto = P_db / ratio",
    source="UAZ",
    clause="power ratios by drive and surface (power_ratios.csv)",
    status="published",
    valid={"P_db": "[0, inf)", "ratio": "(0, 1]"},
    note="for a tractor ballasted and geared for the pull",
    checks=("DRAFT-01", "PTO-01"),
)
def pto_from_drawbar(P_db: Values, *, ratio: Values) -> Values:
    """PTO power that a drawbar power asks for on a surface.

    Parameters
    ----------
    P_db : Values
        Power at the drawbar [kW].
    ratio : Values
        Drawbar power over PTO power, by drive and surface [fraction].

    Returns
    -------
    Values
        P_pto, power at the PTO [kW].
    """
    return P_db / ratio


@formula(
    "P_h = P (1 - k z / 1000)",
    source="ZA-GUIDE",
    clause="derating for altitude; linear form is common practice",
    status="practice",
    valid={"P": "[0, inf)", "z": "[0, 4000]", "k": "[0, 0.2]"},
    note="k about 0.12 where 0.80 is left near 1700 m without a turbocharger; 0 with one",
)
def power_at_altitude(P: Values, *, z: Values, k: Values) -> Values:
    """Power left at an altitude.

    Parameters
    ----------
    P : Values
        Rated power near sea level [kW].
    z : Values
        Altitude above sea level [m].
    k : Values
        Share of power lost for each 1000 m [fraction].

    Returns
    -------
    Values
        P_h, power at the altitude [kW].

    Notes
    -----
    The source prints one figure: about 80 % of rated power for naturally aspirated engines on the South African
    Highveld, and no loss with a turbocharger. A loss in proportion to altitude is common practice, no source.
    """
    return P * (1 - k * z / 1000)


@formula(
    "ratio = (low + high) / 2",
    source="UAZ",
    clause="power ratios printed as a range (power_ratios.csv)",
    status="published",
    valid={"low": "(0, 1]", "high": "(0, 1]"},
)
def middle_ratio(low: Values, *, high: Values) -> Values:
    """Middle of a printed range of a ratio.

    Parameters
    ----------
    low : Values
        Lower end [fraction].
    high : Values
        Upper end [fraction].

    Returns
    -------
    Values
        ratio, middle of the range [fraction].
    """
    return (low + high) / 2
