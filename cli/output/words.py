"""The trade's words for axes, bases and sizes, and numbers as people read them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from evener.scoring.core.printing import rounded

AXIS = {
    "pto_power": "PTO power",
    "drawbar_pull": "drawbar pull",
    "rear_lift": "rear lift",
    "front_axle": "front axle",
    "rear_axle": "rear axle",
    "loader_lift": "loader lift",
    "loader_height": "loader height",
    "hydraulic_flow": "oil flow",
    "tow_mass": "towed mass",
    "hitch_category": "hitch category",
    "pto_speed": "PTO speed",
    "remotes": "rear remotes",
    "drive": "drive",
}
BASIS = {
    "rated": "its record's rating",
    "fitted": "ratings of such machines",
    "computed": "published formula",
    "carried": "its full weight",
    "pulled": "tool, rolling and grade",
    "towed": "loaded mass, by brakes",
    "listed": "its record or the nearest",
}
FIELD = {
    "mass_kg": "mass",
    "pto_power_kw": "PTO power",
    "hitch_lift_610_kg": "rear lift",
    "loader_lift_kg": "loader lift",
    "loader_height_m": "loader height",
    "hydraulic_flow_l_min": "oil flow",
    "front_mass_share": "axle share",
    "wheelbase_m": "wheelbase",
    "rear_tyre_width_m": "tyres",
    "rear_tyre_diameter_m": "tyres",
    "hitch_category": "hitch category",
    "pto_speeds_rpm": "PTO speed",
    "rear_remotes": "remotes",
}
SIZE = {
    "working_width_m": "working width",
    "max_stem_m": "thickest stem",
    "payload_kg": "load",
    "tank_l": "tank",
    "slope": "slope along the work",
    "plan": "plan",
    "stack_high": "layers stacked",
    "lift_height_m": "height to lift to",
    "bale_width_m": "bale width",
    "bale_diameter_m": "bale diameter",
    "bale_height_m": "bale height",
    "auger_diameter_m": "auger diameter",
    "volume_m3": "bucket volume",
    "throughput_t_h": "crop taken up",
    "yield_t_ha": "crop yield",
    "depth_m": "working depth",
    "tool_spacing_m": "spacing of the tools",
    "snow_depth_m": "depth of snow",
    "electric_power_kw": "electric power",
    "mass_kg": "mass of the machine",
    "rated_pto_power_kw": "rating of the machine",
    "centre_of_mass_m": "centre of mass from the hitch",
    "tools": "tools or rows",
    "hours_a_day_h": "hours in a day",
    "hours_h": "hours at a time",
    "area_ha": "area",
    "speed_km_h": "speed",
    "snow_days": "days with snow",
    "texture": "soil texture",
    "brakes": "brakes of the machine",
}
DONE_BY = {
    "pick": "{who}",
    "there": "{who}, which is there",
    "hired": "hired",
    "claimed": "{who}, by the sheet's word",
}
STATUS = {
    "practice": "custom of the trade",
    "memory": "quoted from memory",
    "customer": "said on the sheet",
}
KINDS = {"class": "generic sizes", "stock": "units for sale", "member": "members' units"}
WHEELS = {"front_axle": "front wheels", "rear_axle": "rear wheels"}
WEIGHTS = {"front_axle": "front weights", "rear_axle": "a weight behind"}
FAR_MORE = 1.0
NO_UNIT = ("1", "fraction", "row's unit", "m or 1")
FITS = {True: "fits", False: "does not fit"}
PRICE_BASIS = {
    "stated": "its own price",
    "sheet": "the sheet's prices",
    "custom": "custom, an order of magnitude",
}


def money(amount: float) -> str:
    """Return money to two or three figures."""
    return f"{round(amount, -2 if abs(amount) >= 1000 else -1):,.0f}"


def step(one: dict[str, Any]) -> str:
    """Return one worked step with its inputs, its result and its source."""
    given = ", ".join(f"{name} = {figure(each['value'], each['unit'])}" for name, each in one["inputs"].items())
    where = f" [{given}]" if given else ""
    return f"{one['formula']}{where} -> {figure(one['result'], one['unit'])}  ({sourced(one['source'], one['status'])})"


def sourced(source: str, status: str) -> str:
    """Return where a number comes from, in words; what is custom has no source to name."""
    said = STATUS.get(status, status)
    named = [one for one in source.split("; ") if one not in ("PRACTICE", "")]
    return said if status == "customer" or not named else f"{', '.join(named)}, {said}"


def figure(value: float | str, unit: str) -> str:
    """Return a number of a step to four figures with its unit; a row's own unit is told by what the row is of."""
    shown = value if isinstance(value, str) else f"{value:,.0f}" if abs(value) >= 10_000 else f"{value:.4g}"
    return shown if unit in NO_UNIT else f"{shown} {unit}"


def percent(share: float) -> str:
    """Return a share in whole per cent; only certainty is 100."""
    shown = round(share * 100)
    return "over 99 %" if shown == 100 and share < 1 else f"{shown} %"


def to_spare(margin: float | None) -> str:
    """Return a margin in words."""
    if margin is None:
        return "not known"
    if margin > FAR_MORE:
        return "far more than enough"
    if margin < 0:
        return f"{max(1, round(-margin * 100))} % short"
    return f"{round(margin * 100)} % to spare"


def cases(share: float) -> str:
    """Return a share of draws as cases in a hundred; only certainty is all of them."""
    hundred = round(share * 100)
    if share >= 1:
        return "in every case worked through"
    if share <= 0:
        return "in no case worked through"
    return f"in {'over 99' if hundred == 100 else 'fewer than 1' if hundred == 0 else hundred} of 100 cases"


def sentences(message: str, what_to_do: str) -> str:
    """Return what is wrong and what to do as sentences; a question keeps its own mark."""
    said = f"{what_to_do[:1].upper()}{what_to_do[1:]}"
    return f"{message}. {said}{'' if said.endswith(('?', '...')) else '.'}"


def days(value: float) -> str:
    """Return days as people say them."""
    if value < 0.3:
        return "a few hours"
    if value < 0.75:
        return "half a day"
    if value < 1.25:
        return "a day"
    return f"{rounded(round(2 * value) / 2)} days" if value < 10 else f"{value:.0f} days"


def joined(parts: Sequence[str]) -> str:
    """Return parts as a list in a sentence."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}" if parts else ""


def margin(one: Mapping[str, Any]) -> str:
    """Return what is to spare on an axis of a task; of an axle's share only whether it is kept."""
    if one["axle_share"] is not None and one["margin"] is not None:
        return FITS[one["margin"] >= 0]
    return to_spare(one["margin"])


def asks(one: Mapping[str, Any]) -> str:
    """Return what a task asks on an axis: of an axle the share of the weight it has to keep, no moment."""
    share = one["axle_share"]
    return (
        span(one["demand"], one["unit"]) if share is None else f"{share['least']:.0%}".replace("%", " % of the weight")
    )


def has(one: Mapping[str, Any]) -> str:
    """Return what the tractor has on an axis, and whether a like tractor stands in for its record."""
    taken = " (not on its record)" if one["assumed_from"] else ""
    share = one["axle_share"]
    if share is None:
        return quantity(one["capacity"], one["unit"]) + taken
    fitted = f" with {WEIGHTS[one['axis']]}" if share["weights"] > 0 else ""
    return f"{max(0.0, share['kept']) * 100:.0f} %{fitted}{taken}"


def quantity(value: float | None, unit: str) -> str:
    """Return a value with its unit, or that it is not stated."""
    return "not stated" if value is None else f"{rounded(value)} {unit}".strip()


def span(demand: dict[str, float], unit: str) -> str:
    """Return the low and high of a demand, or one number where they print alike."""
    low, high = rounded(demand["low"]), rounded(demand["high"])
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def limit(one: dict[str, Any] | None) -> str:
    """Return a limiting axis or gate in words: task, axis, and how far."""
    if one is None:
        return "nothing asked"
    where = f"{one['task']}: {AXIS.get(one['axis'], one['axis'])}"
    if "asked" in one:
        return f"{where} asks {one['asked']}, has {one['offered']}"
    return f"{where} {to_spare(one['margin'])}"


def assumed(names: list[str]) -> str:
    """Return what was assumed of a tractor in the trade's words, each once."""
    return ", ".join(dict.fromkeys(FIELD.get(name, name) for name in names))


def remedy(one: Mapping[str, Any]) -> str:
    """Return a remedy with its amount."""
    if one["amount"] is None:
        return f"{one['text']}"
    of_now = " of what it is" if one["unit"] == "%" else ""
    return f"{one['text']} {quantity(one['amount'], one['unit'])}{of_now}"


def buy_by(one: dict[str, Any]) -> str:
    """Return what a machine still to be bought must not pass, to stand behind its name; nothing where that is open."""
    said = [] if one["pto_power"] is None else [f", rated at most {quantity(one['pto_power'], one['unit'])}"]
    said += [] if one["mass"] is None else [f", under {quantity(one['mass']['amount'], one['mass']['unit'])}"]
    return "".join(said)


def measured(one: dict[str, Any] | None) -> str:
    """Return a measured value with its unit, or nothing."""
    return "" if one is None else quantity(one["middle"], one["unit"])


def rate(one: dict[str, Any]) -> str:
    """Return how fast a task goes: area in an hour, bales in an hour, or both."""
    parts = [measured(one["rate"])]
    parts += [] if one["bales_per_hour"] is None else [f"{one['bales_per_hour']:.0f} bales/h"]
    return ", ".join(filter(None, parts))


def window(one: dict[str, Any]) -> str:
    """Say that a task does not fit its days, and the width or speed that would."""
    said = f"{one['task']} does not fit its days: it does {cases(one['chance'])}."
    if one["width_needed"] is None:
        return f"{said} A second machine, longer days or a contractor would."
    wider, faster = measured(one["width_needed"]), measured(one["speed_needed"])
    return f"{said} A working width of {wider}, or {faster}, would."


def hinge(one: Mapping[str, Any]) -> str:
    """Return the size by answer of what the pick hangs on: "50 hp if bales are stacked no more than 2 high"."""
    return _by_answer(one, one["bands"])


def hinges(found: Sequence[Mapping[str, Any]], pick: str) -> str:
    """Return all that the pick hangs on: the first with every answer, of the others those that change the pick."""
    others = (_by_answer(one, [band for band in one["bands"] if band["tractor_id"] != pick]) for one in found[1:])
    return "; ".join([*(hinge(one) for one in found[:1]), *others])


def _by_answer(one: Mapping[str, Any], bands: Sequence[Mapping[str, Any]]) -> str:
    sizes = {band["tractor_id"]: quantity(band["pto_power"], band["unit"]) for band in one["bands"]}
    alike = len(set(sizes.values())) < len(sizes)
    said = []
    for band in bands:
        own = sizes[band["tractor_id"]] if band["tractor_id"] else "nothing listed"
        own += f" ({band['tractor_id']})" if alike and band["tractor_id"] else ""
        others = "".join(f" or {sizes.get(other, other)}" for other in band["or_else"])
        said.append(f"{own}{others} if {band['when']}")
    return f"{one['task']}: {'; '.join(said)}" if one["task"] else "; ".join(said)
