"""The machine a task is done with: of which build and duty, and what its family's records say of such a one.

A machine still to be chosen is one machine: its scatter among makes is a menu, not a risk, so that what counts is the
middle of the records at its size, build and duty. One that is there, its plate unread, may be any.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.carrying import SHEET_NAME, as_usual
from evener.scoring.core.unknowns import of_machine, of_task
from evener.scoring.place.loads import sized_by
from evener.scoring.ratings.builds import attachment_in, build_name, is_usual, kind_in, kinds_of
from evener.scoring.ratings.family_model import model_of
from evener.scoring.ratings.quantity_model import QuantityModel
from evener.scoring.ratings.sizes import size_of

if TYPE_CHECKING:
    from evener.schema.records import Implement, Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.place.sizes import Size
    from evener.scoring.ratings.columns import Quantity

TO_CHOOSE = "the machine is still to be chosen: buy by what the answer prints"
STEMS = "max_stem_m"
USUAL_DUTY = "medium"
LEAST_SPREAD = 0.05
NAMES: dict[str, str] = {
    "power": "rated_pto_power_kw",
    "tractor": "rated_tractor_power_kw",
    "mass": "mass_kg",
    "reach": "centre_of_mass_m",
}


@dataclass(frozen=True)
class Modelled:
    """What a family's records give for the machine of a task.

    Attributes
    ----------
    values : draws [kW, kg or m]
    spread : how sure that is [ln of the unit]
    n : records it rests on
    model : the line
    sizes : what it was taken at
    inside : whether the sizes lie within the records'
    text : in words
    """

    values: Array
    spread: Array
    n: int
    model: QuantityModel
    sizes: tuple[Size | None, ...]
    inside: bool
    text: str


def modelled(setting: Setting, task: Task, quantity: Quantity) -> Modelled | None:
    """Return what the family's records give for the task's machine; None where too few state it or the size is open.

    Parameters
    ----------
    setting, task : the job and the task
    quantity : power [kW], tractor [kW], mass [kg] or reach [m]
    """
    family = model_of(setting.library, task.family)
    model = family.quantities.get(quantity) if family is not None else None
    if model is None:
        return None
    sizes = tuple(sized_by(setting, task, name) for name in model.variables)
    if sizes and sizes[0] is None:
        return None
    drawn = [None if one is None else one.values for one in sizes]
    if STEMS in model.variables[1:] and duty_of(task) is None and setting.record(task) is None:
        least = _medium_stems(setting, task)
        drawn[1:] = [None if one is None else np.maximum(one, least) for one in drawn[1:]]
    level = model.level(drawn)
    stems = dict(zip(model.variables[1:], drawn[1:], strict=True)).get(STEMS)
    effect = _of_build(setting, task, model) + _of_duty(setting, task, model, stems, drawn[0] if drawn else None)
    middle = np.broadcast_to(model.grown(drawn) + effect, (setting.draws.n,))
    if quantity == "power" and task.attachment is None and setting.record(task) is None:
        middle = np.maximum(middle, _where_the_usual_ends(setting, task, model, drawn))
    text = f"{model.n} records of such machines"
    # One machine, drawn whole: of two of a size the heavier is rated higher, as in the records of nearly every family.
    whole = f"task/{task.name}/machine"
    if task.have:
        spread = np.broadcast_to(level.deviation, middle.shape)
        own = of_task(task.name, f"machine_{quantity}", drawn_as=whole, asks=NAMES[quantity], text=text)
    else:
        spread = np.broadcast_to(np.maximum(np.sqrt(level.se**2 + level.between**2), LEAST_SPREAD), middle.shape)
        own = of_task(task.name, f"chosen_{quantity}", drawn_as=whole, stays=TO_CHOOSE, text=text)
    fact = of_machine(setting.job, task, SHEET_NAME.get(NAMES[quantity], NAMES[quantity]), own)
    values = np.exp(middle + spread * setting.unknowns.normal(fact))
    if task.have:
        setting.unknowns.would_tell(fact, values)
    return Modelled(values, spread, model.n, model, sizes, bool(np.all(level.inside)), text)


def kind_of(setting: Setting, task: Task) -> str | None:
    """Return the kind of build a task's machine is of, where it is another than the family's usual one."""
    record, rows = setting.record(task), setting.library.rows("variant", family=task.family)
    for row in rows:
        if row["build"] is not None and task.build == row["build"]:
            return str(row["build"])
    if record is None:
        return None
    return next((str(row["build"]) for row in rows if row["word"] and row["word"] in record.label.casefold()), None)


def alike(setting: Setting, task: Task) -> list[Implement]:
    """Return the records of a task's family that are of the kind of its machine; of the usual one where none is."""
    kind, kinds = kind_of(setting, task), kinds_of(setting.library.rows("variant", family=task.family))
    by_kind: dict[str | None, list[Implement]] = {}
    for one in setting.library.of_family(task.family):
        by_kind.setdefault(kind_in(one.label, kinds), []).append(one)
    return by_kind.get(kind) or by_kind.get(None, [])


def duty_of(task: Task) -> str | None:
    """Return the duty a task's machine is said to be for, by either of the keys that say it."""
    return task.duty or (task.build if task.build in {"light", "medium", "heavy"} else None)


def carried(setting: Setting, task: Task) -> str | None:
    """Return how a task's machine is carried where sheet, record or its size tell; None where it is as most are."""
    found = setting.attachment(task)
    told = task.attachment is not None or setting.record(task) is not None or found != setting.family(task).attachment
    return found if told else None


def _of_build(setting: Setting, task: Task, model: QuantityModel) -> float:
    """Return the effect of the build that is said, else of the usual kind as such are mixed [ln of the unit]."""
    return _effect(setting, task, model, carried(setting, task))


def _where_the_usual_ends(
    setting: Setting, task: Task, model: QuantityModel, drawn: list[Array | None]
) -> Array | float:
    """Return the level of the largest machine carried the usual way, where a larger one is carried otherwise.

    A machine that nobody said is mounted or trailed asks no less than a smaller one.
    """
    family = setting.family(task)
    if carried(setting, task) is None or family.first_variable is None or not drawn or drawn[0] is None:
        return -math.inf
    sizes = [size_of(one, family.first_variable) for one in as_usual(family, setting.library.of_family(task.family))]
    largest = max((size for size in sizes if size), default=None)
    if largest is None:
        return -math.inf
    level = model.grown([largest, *drawn[1:]]) + _effect(setting, task, model, None)
    return np.where(drawn[0] > largest, level, -math.inf)


def _effect(setting: Setting, task: Task, model: QuantityModel, said: str | None) -> float:
    effects = model.effects("build")
    if not effects:
        return 0.0
    kind = kind_of(setting, task)
    if said is not None and build_name(said, kind) in effects:
        return effects[build_name(said, kind) or ""]
    shares = dict(zip(model.builds, model.build_shares, strict=True))
    alike = [
        name
        for name in effects
        if (is_usual(name) if kind is None else name.endswith(f" {kind}")) and said in {None, attachment_in(name)}
    ]
    whole = sum(shares[name] for name in alike)
    return sum(shares[name] * effects[name] for name in alike) / whole if whole else 0.0


def _of_duty(setting: Setting, task: Task, model: QuantityModel, stems: Array | None, size: Array | None) -> Array:
    """Return the effect of the duty [ln of the unit]: said, else as the stems ask, else the usual one's."""
    effects, n = model.effects("duty"), setting.draws.n
    said = duty_of(task)
    if said in effects:
        return np.full(n, effects[said])
    if stems is not None:
        return _by_stems(setting, task, effects, stems)
    return np.broadcast_to(_by_size(setting, task, model, size), n)


def _by_size(setting: Setting, task: Task, model: QuantityModel, drawn: Array | None) -> Array | float:
    """Return the usual duty's effect [ln of the unit]: medium, but what there is at sizes and of kinds without it.

    Below the smallest medium machine it runs to the next light one's, above the largest to the next heavy one's, unless
    a larger machine would then be less than a smaller one.
    """
    effects = model.effects("duty")
    name = setting.family(task).first_variable
    sizes: dict[str, list[float]] = {}
    for one in alike(setting, task):
        if one.duty in effects and (name is None or size_of(one, name)):
            sizes.setdefault(one.duty, []).append(math.log(size_of(one, name) or 1.0) if name else 0.0)
    if USUAL_DUTY not in sizes:
        return effects[max(sizes, key=lambda duty: len(sizes[duty]))] if sizes else effects.get(USUAL_DUTY, 0.0)
    least, most = min(sizes[USUAL_DUTY]), max(sizes[USUAL_DUTY])
    if drawn is None:
        return effects[USUAL_DUTY]
    smaller = [at for at in sizes.get("light", []) if at < least]
    larger = [at for at in sizes.get("heavy", []) if at > most]

    def grown(at: float) -> float:
        return float(np.ravel(model.grown([math.exp(at), *[None] * (len(model.variables) - 1)]))[0])

    points = {least: effects[USUAL_DUTY], most: effects[USUAL_DUTY]}
    if smaller and grown(least) + effects[USUAL_DUTY] >= grown(max(smaller)) + effects["light"]:
        points[max(smaller)] = effects["light"]
    if larger and grown(min(larger)) + effects["heavy"] >= grown(most) + effects[USUAL_DUTY]:
        points[min(larger)] = effects["heavy"]
    return np.interp(np.log(drawn), sorted(points), [points[at] for at in sorted(points)])


def _by_stems(setting: Setting, task: Task, effects: dict[str, float], stems: Array) -> Array:
    """Return the duty's effect between those of the duties whose usual stems lie on either side [ln of the unit]."""
    usual = sorted((math.log(at), effects[duty]) for duty, at in _usual_stems(setting, task).items() if duty in effects)
    if not usual:
        return np.zeros(stems.size)
    return np.interp(np.log(stems), [at for at, _ in usual], [effect for _, effect in usual])


def _medium_stems(setting: Setting, task: Task) -> float:
    """Return the stems that medium machines of a family are built for [m]: one for less is not chosen in silence."""
    return _usual_stems(setting, task).get(USUAL_DUTY, 0.0)


def _usual_stems(setting: Setting, task: Task) -> dict[str, float]:
    """Return the middle of the stems that records of each duty are built for [m]."""
    known: dict[str, list[float]] = {}
    for one in setting.library.of_family(task.family):
        if one.max_stem_m is not None and one.duty is not None:
            known.setdefault(one.duty, []).append(one.max_stem_m)
    return {duty: float(np.median(stems)) for duty, stems in known.items()}


def nearest(setting: Setting, task: Task) -> Implement | None:
    """Return the library's record nearest in size to a task that names none, of its kind and carried the same way."""
    return setting.once(task, _nearest)


def _nearest(setting: Setting, task: Task) -> Implement | None:
    found = _by_distance(setting, task, setting.attachment(task))
    return found[0][2] if found else None


def _by_distance(setting: Setting, task: Task, attachment: str | None) -> list[tuple[float, str, Implement]]:
    family = setting.family(task)
    names = [name for name in (family.first_variable, family.second_variable) if name is not None]
    wanted = {
        name: float(np.log(np.median(one.values)))
        for name in names
        if (one := sized_by(setting, task, name)) is not None
    }
    if not wanted:
        return []
    peers = setting.library.of_family(task.family)
    found = []
    for peer in peers:
        sizes = [size_of(peer, name) for name in wanted]
        if attachment in {None, peer.attachment} and all(sizes):
            apart = sum((math.log(has or 1.0) - wanted[name]) ** 2 for name, has in zip(wanted, sizes, strict=True))
            # A size typed in other units is not another size: what rounds apart is a tie.
            found.append((round(apart, ndigits=9), peer.implement_id, peer))
    return sorted(found)
