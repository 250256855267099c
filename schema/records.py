"""What the scoring reads: one frozen dataclass per kind of record, SI units inside.

Field names are the store's column names; `fields.csv` gives each its unit, bounds and meaning.
`None` always means "not stated". A record never holds NaN.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from evener.schema.certainty import ABOUT_PCT, STATED, Certainty
from evener.schema.money import Money

TractorKind = Literal["class", "stock", "member"]
Given = Literal["exact", "about", "range", "unknown"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number as a customer gives it, in the SI unit of its key.

    Attributes
    ----------
    low, high : bounds; equal when `given` is exact. None when unknown
    given : exact, about (+-20 %, DESIGN default), range (uniform), unknown (a prior applies)
    text : the words as typed
    """

    low: float | None
    high: float | None
    given: Given
    text: str = ""

    @property
    def middle(self) -> float | None:
        """Midpoint, or None when unknown."""
        return None if self.low is None or self.high is None else (self.low + self.high) / 2

    @property
    def certainty(self) -> Certainty:
        """How sure the middle is, with the words as typed for its basis; stated where nothing is given."""
        if self.given == "about":
            return Certainty("about", spread_pct=ABOUT_PCT, basis=self.text)
        if self.given == "range":
            return Certainty("range", self.low, self.high, basis=self.text)
        return STATED


@dataclass(frozen=True, slots=True)
class Choice:
    """A word from a list as a customer gives it; more than one in `among` is an open answer."""

    among: tuple[str, ...]
    text: str = ""

    @property
    def settled(self) -> str | None:
        """The one word, or None while it is open."""
        return self.among[0] if len(self.among) == 1 else None


@dataclass(frozen=True, slots=True)
class Tractor:
    """One tractor record: a generic class, a dealer's unit or a member's unit."""

    tractor_id: str
    kind: TractorKind
    label: str
    owner: str | None = None
    drive: str | None = None
    transmission: str | None = None
    model_year: int | None = None
    meter_hours_h: float | None = None
    price: float | None = None
    currency: str | None = None
    location: str | None = None
    cab: str | None = None
    attachments: str | None = None
    tyres: str | None = None
    stock_status: str | None = None
    engine_power_kw: float | None = None
    engine_power_kind: str | None = None
    pto_power_kw: float | None = None
    pto_speeds_rpm: tuple[int, ...] = ()
    mass_kg: float | None = None
    max_mass_kg: float | None = None
    front_mass_share: float | None = None
    wheelbase_m: float | None = None
    hitch_category: str | None = None
    hitch_lift_610_kg: float | None = None
    hitch_lift_ends_kg: float | None = None
    loader_lift_kg: float | None = None
    loader_height_m: float | None = None
    front_axle_max_kg: float | None = None
    rear_axle_max_kg: float | None = None
    hydraulic_flow_l_min: float | None = None
    hydraulic_pressure_kpa: float | None = None
    rear_remotes: int | None = None
    rear_tyre_width_m: float | None = None
    rear_tyre_diameter_m: float | None = None
    track_width_m: float | None = None
    overall_width_m: float | None = None
    overall_height_m: float | None = None
    spread_pct: float | None = None
    estimated: dict[str, Certainty] = field(default_factory=dict)
    source_id: str = ""
    status: str = ""
    note: str | None = None
    batch_id: str | None = None
    file_row: int | None = None


@dataclass(frozen=True, slots=True)
class Implement:
    """One implement record: what one machine asks of a tractor, from its maker or from the trade."""

    implement_id: str
    family: str
    label: str
    owner: str | None = None
    maker: str | None = None
    model_year: int | None = None
    size_note: str | None = None
    duty: str | None = None
    price: float | None = None
    currency: str | None = None
    location: str | None = None
    stock_status: str | None = None
    working_width_m: float | None = None
    rated_pto_power_kw: float | None = None
    max_pto_power_kw: float | None = None
    pto_speeds_rpm: tuple[int, ...] = ()
    rated_tractor_power_kw: float | None = None
    mass_kg: float | None = None
    payload_kg: float | None = None
    centre_of_mass_m: float | None = None
    attachment: str | None = None
    hitch_category_min: str | None = None
    hitch_category_max: str | None = None
    remotes_needed: int | None = None
    hydraulic_flow_l_min: float | None = None
    max_stem_m: float | None = None
    bale_width_m: float | None = None
    bale_diameter_m: float | None = None
    bale_height_m: float | None = None
    auger_diameter_m: float | None = None
    tank_l: float | None = None
    electric_power_kw: float | None = None
    brakes: str | None = None
    typical_speed_km_h: float | None = None
    estimated: dict[str, Certainty] = field(default_factory=dict)
    source_id: str = ""
    status: str = ""
    note: str | None = None
    batch_id: str | None = None
    file_row: int | None = None


@dataclass(frozen=True, slots=True)
class Family:
    """A kind of implement with its demand models; the numbers come from `families.csv`.

    `rotary_row` names the row of `rotary_power.csv` ("machine|variant") that gives the average shaft power;
    `second_variable` is the implement column that stands beside width (or alone) in the fitted rating; `draft_row`
    names the row of `draft.csv` ("implement|variant") that gives its pull; more than one word in `brakes` has to be
    asked; `holds` names what it carries, the usual material first.
    """

    family: str
    label: str
    names: tuple[str, ...]
    group: str
    power: str
    rotary_row: str | None
    first_variable: str | None
    second_variable: str | None
    attachment: str | None
    peak_factor: float | None
    peak_spread_pct: float | None
    speed_low_km_h: float | None
    speed_typical_km_h: float | None
    speed_high_km_h: float | None
    field_efficiency: float | None
    throughput_row: str | None
    draft_row: str | None = None
    hydraulics: str | None = None
    brakes: tuple[str, ...] = ()
    batch_low_h: float | None = None
    batch_high_h: float | None = None
    dry_matter_low: float | None = None
    dry_matter_high: float | None = None
    holds: tuple[str, ...] = ()
    source_id: str = ""
    status: str = ""
    note: str | None = None
    batch_id: str | None = None
    file_row: int | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """An analyst's word on an implement record, or on one field of it."""

    implement_id: str
    set_field: str | None
    verdict: Literal["sound", "corrected", "left_out"]
    set_value: str | None
    why: str
    by_whom: str
    judged_on: str
    source_id: str = ""
    status: str = ""
    note: str | None = None
    batch_id: str | None = None
    file_row: int | None = None


@dataclass(frozen=True, slots=True)
class LandUse:
    """One use of the place's land, with its usual slope, its steepest stretch and its soil where they are its own."""

    use: str
    area_ha: Quantity
    slope: Quantity | None = None
    steepest: Quantity | None = None
    soil: Choice | None = None


@dataclass(frozen=True, slots=True)
class Place:
    """The customer's land and conditions.

    `slope` is rise over run along the work, as it usually is, and `steepest` its worst stretch; `altitude_m` above sea
    level. `soil` is what the wheels run on and
    `texture` what tools work in; a texture nobody said may be any. `others_do` names work of the place, by the rules of
    `reconcile.csv`, that somebody else does. `gate_m` is the width and `shed_m` the height that a tractor has to pass.
    """

    name: str
    land: tuple[LandUse, ...] = ()
    slope: Quantity = Quantity(0.0, 0.0, "exact")
    steepest: Quantity | None = None
    soil: Choice = Choice(("firm",))
    texture: Choice = Choice(("fine", "medium", "coarse"), "not said")
    altitude_m: Quantity = Quantity(0.0, 0.0, "exact")
    animals: dict[str, int] = field(default_factory=dict)
    snow_days: Quantity | None = None
    hours_a_day_h: Quantity | None = None
    others_do: tuple[str, ...] = ()
    gate_m: Quantity | None = None
    shed_m: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Machine:
    """One implement of the place, shared by all tasks that name it: had, or still to choose.

    Sizes, build and plate are fields of `Task` of the same names, so that a task may say them in place too.
    `attachment` says how it is carried, `build` which of its family it is (no-till, sickle, offset), and `duty` light,
    medium or heavy.
    """

    name: str
    family: str
    implement_id: str | None = None
    attachment: str | None = None
    build: str | None = None
    duty: str | None = None
    have: bool | None = None
    width_m: Quantity | None = None
    tools: Quantity | None = None
    stem_m: Quantity | None = None
    bale_width_m: Quantity | None = None
    bale_diameter_m: Quantity | None = None
    bale_height_m: Quantity | None = None
    tank_l: Quantity | None = None
    volume_m3: Quantity | None = None
    auger_diameter_m: Quantity | None = None
    load_kg: Quantity | None = None
    machine_mass_kg: Quantity | None = None
    centre_of_mass_m: Quantity | None = None
    electric_power_kw: Quantity | None = None
    rated_pto_power_kw: Quantity | None = None
    hitch_category: str | None = None
    pto_speeds_rpm: tuple[int, ...] = ()
    brakes: Choice | None = None
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Task:
    """One piece of work: an implement record, or a family and a size, and how it is done.

    Sizes not given stay None and come from the record, the family or a prior, in that order. `machine` names the
    implement of the sheet that does it, whose sizes, build and plate are the task's then. `hire` says that it may be
    hired, `have` that the machine is there; None where nobody said.
    """

    name: str
    family: str
    implement_id: str | None = None
    attachment: str | None = None
    machine: str | None = None
    build: str | None = None
    duty: str | None = None
    have: bool | None = None
    rated_pto_power_kw: Quantity | None = None
    hitch_category: str | None = None
    pto_speeds_rpm: tuple[int, ...] = ()
    hire: bool | None = None
    land: str | None = None
    area_ha: Quantity | None = None
    hours_h: Quantity | None = None
    times_per_year: float = 1.0
    days: Quantity | None = None
    width_m: Quantity | None = None
    depth_m: Quantity | None = None
    tools: Quantity | None = None
    stem_m: Quantity | None = None
    bale_width_m: Quantity | None = None
    bale_diameter_m: Quantity | None = None
    bale_height_m: Quantity | None = None
    crop: Choice | None = None
    tank_l: Quantity | None = None
    liquid: str | None = None
    material: str | None = None
    volume_m3: Quantity | None = None
    auger_diameter_m: Quantity | None = None
    snow_depth_m: Quantity | None = None
    load_kg: Quantity | None = None
    bales: Quantity | None = None
    machine_mass_kg: Quantity | None = None
    centre_of_mass_m: Quantity | None = None
    stack_high: Quantity | None = None
    lift_height_m: Quantity | None = None
    speed_km_h: Quantity | None = None
    yield_t_ha: Quantity | None = None
    throughput_t_h: Quantity | None = None
    electric_power_kw: Quantity | None = None
    slope: Quantity | None = None
    steepest: Quantity | None = None
    soil: Choice | None = None
    growth: Choice = Choice(("normal",))
    pace: Choice = Choice(("normal",))
    drive: str | None = None
    brakes: Choice | None = None
    tyres: str | None = None
    planned: bool = False
    chance: float = 1.0
    year: int | None = None
    line: int | None = None


@dataclass(frozen=True, slots=True)
class OwnedMachine:
    """A machine the customer has already, with the tasks it is said to take.

    `tractor_id` names a record; `tractor` is one described in the sheet. With neither nothing is known of it.
    """

    label: str
    tractor_id: str | None = None
    implement_id: str | None = None
    takes: tuple[str, ...] = ()
    tractor: Tractor | None = None
    line: int | None = None

    @property
    def needs_tractor(self) -> bool:
        """Whether it is an implement alone, which takes no work off the list."""
        return self.implement_id is not None and self.tractor_id is None and self.tractor is None


@dataclass(frozen=True, slots=True)
class Policy:
    """What decides, how sure, how much in hand, and in which units to print.

    `rule` is "cost", the choice that costs least when one is wrong, or "sure", the smallest that is sure enough;
    `confidence` acts with the second alone.
    """

    rule: Literal["cost", "sure"] = "cost"
    confidence: float = 0.70
    reserve_power: float = 0.15
    reserve_lift: float = 0.10
    units: Literal["us", "si"] = "us"


@dataclass(frozen=True, slots=True)
class JobSheet:
    """One customer's place, tasks, machines and policy, as read from a TOML job sheet."""

    place: Place
    tasks: tuple[Task, ...]
    machines: tuple[OwnedMachine, ...] = ()
    implements: tuple[Machine, ...] = ()
    policy: Policy = Policy()
    money: Money = field(default_factory=Money)
    path: str = ""
