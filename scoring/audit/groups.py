"""Whole groups of records, by file, maker, owner or whatever else, against the other groups, all families together.

One rating that is off by a third looks like scatter; thirty of one file that are all off by the same third do not. For
each group the median deviation from the line through the other groups' records is taken family by family, build and
duty allowed for, and pooled over families. Groups differ for good reason too (each source has its own habit of rating),
so a shift is held against that habit and not against the scatter of single machines: many records make a shift certain,
but not a slip likely. To be told at all, a shift is held against what the groups themselves show; to be named a slip,
against a habit that is believed of any source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple

import numpy as np
from numpy.typing import NDArray

from evener.schema import fields
from evener.schema.records import Implement
from evener.scoring.audit.draft import Draft
from evener.scoring.audit.false_alarms import benjamini_hochberg
from evener.scoring.audit.slips import ALIKE, BUILD_SPREAD, Slip, hypotheses
from evener.scoring.ratings.fitting import SPARE_RECORDS
from evener.scoring.ratings.lines.least_squares import t_quantile, t_two_sided

Array = NDArray[np.float64]

# One source rates a family 6 % off the others, and all its families together 10 % (practice, no source). Where
# HABIT_FROM groups or more can be compared, their own differences say it, though it is not believed below 2 %; a slip
# is named only beyond a habit of 6 %.
FAMILY_HABIT, HABIT_OF_FEW, LEAST_HABIT, HABIT_OF_SLIPS = 0.06, 0.10, 0.02, 0.06
HABIT_FROM = 6
# A normal sample's median absolute deviation, times this, is its standard deviation.
MAD_TO_SD = 1.4826
LEAST_RECORDS = 3
LEAST_OF_BATCH = 8
# Others whose sizes hardly differ determine no line.
MOST_CONDITION = 1e8
NAMED_FROM = 0.5
# The median of a normal sample scatters this much more than its mean does.
OF_MEDIAN = math.pi / 2


@dataclass(frozen=True)
class GroupShift:
    """A group whose records stand off the other groups' as a whole.

    Attributes
    ----------
    by : what the records are grouped by
    group : the group
    column : which of its numbers, `rated_pto_power_kw` or `mass_kg`
    families : families compared
    records : its records in them [1]
    others : records of other groups they are compared with [1]
    groups : how many other groups these are of [1]
    factor : its numbers over what the others lead one to expect [1]
    low, high : 95 % interval of the factor, habits of sources included [1]
    share : share of false alarms at which the shift would just be reported [1]
    likeliest : the slip that explains it best
    chance : chance of that slip against the others and another way of rating [1]
    times_better : how many times likelier the shift is with it [1]
    """

    by: str
    group: str
    column: str
    families: tuple[str, ...]
    records: int
    others: int
    groups: int
    factor: float
    low: float
    high: float
    share: float
    likeliest: Slip
    chance: float
    times_better: float

    @property
    def slip(self) -> Slip | None:
        """The slip that explains the shift, None where it is no likelier than everything else together."""
        return self.likeliest if self.chance >= NAMED_FROM else None

    def evidence(self) -> str:
        """Return what stands against the group as a whole, in words."""
        what = "masses" if self.column == "mass_kg" else "ratings"
        others = "batch" if self.by == "batch" else self.by.replace("_", " ")
        plural = "" if self.groups == 1 else "es" if others == "batch" else "s"
        text = (
            f"its {what} are {self.factor:.2f} times ({self.low:.2f} to {self.high:.2f}) what {self.others} records of "
            f"{self.groups} other {others}{plural} lead one to expect, over "
            f"{len(self.families)} famil{'y' if len(self.families) == 1 else 'ies'}"
        )
        named, odds = f"{self.likeliest.meant} read as {self.likeliest.read_as}", f"{100 * self.chance:.0f} in 100"
        if self.slip is None:
            return f"{text}; no slip is likelier than another way of rating ({named}: {odds})"
        alone = f"; with one other {others} only, the slip may be in either" if self.groups == 1 else ""
        slipped = 1 / self.slip.factor
        alike = (
            f"; a source that rates {abs(1 - self.factor):.0%} {'low' if self.factor < 1 else 'high'} looks alike here "
            f"({slipped:.3g} and {self.factor:.2g}): a dated test or one plate decides"
        )
        return f"{text}; {named} explains it ({odds} against all else){alone}{alike}"

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract."""
        return {
            "by": self.by,
            "group": self.group,
            "column": self.column,
            "families": list(self.families),
            "records": self.records,
            "others": self.others,
            "other_groups": self.groups,
            "factor": self.factor,
            "low": self.low,
            "high": self.high,
            "share": self.share,
            "read_as": self.slip and self.slip.read_as,
            "meant": self.slip and self.slip.meant,
            "corrected_by": self.slip and self.slip.factor,
            "chance": round(self.chance, 3),
            "times_better": self.times_better,
            "evidence": self.evidence(),
        }


class _Family(NamedTuple):
    """One family's records that state a number, dealt to batches: their own, and the sums a line through others needs.

    `own` holds each batch's records, as logs of size and number about the family's means; the sums, one per batch, are
    of the records that did not stand out by themselves.
    """

    family: str
    own: Sequence[tuple[Array, Array]]
    n: Array
    xx: Array
    xy: Array
    yy: Array
    low: Array
    high: Array


class _Shift(NamedTuple):
    """What is measured of one batch: its pooled shift, and that shift's variance without the habits of whole sources.

    `concentration` is 1 over the number of other batches, as if each gave as many records: their habits do not cancel.
    """

    shift: float
    variance: float
    concentration: float
    families: tuple[str, ...]
    records: int
    others: int
    batches: int

    def error(self, habit: float) -> float:
        """Return the standard error of the shift, habits of its source and of the others included."""
        return math.sqrt(self.variance + habit**2 * (1 + self.concentration))


def labels_of(records: Iterable[Implement], by: str) -> dict[str, str]:
    """Return the group of each record that says it, by a field of the nomenclature, or by batch or build.

    Parameters
    ----------
    records : the records
    by : batch, build, or the name of a field

    Raises
    ------
    NoSuchGroup
        Records have no such field, or it holds no words and no year.
    """
    name = {"batch": "batch_id", "build": "attachment"}.get(by, by)
    known = fields.of("implement").get(name)
    if known is None or known.kind not in ("text", "choice", "integer"):
        raise NoSuchGroup(f"records cannot be grouped by {by!r}: use batch, maker, owner, duty, build, model_year")
    stated = ((one.implement_id, getattr(one, name)) for one in records)
    return {record: str(value) for record, value in stated if value not in (None, "")}


class NoSuchGroup(ValueError):
    """Something that records cannot be grouped by."""

    exit_status: ClassVar[int] = 2


def shifted_groups(
    drafts: Sequence[Draft],
    by: str,
    labels: Mapping[str, str],
    ratios: Sequence[tuple[str, float]],
    false_share: float,
) -> tuple[GroupShift, ...]:
    """Return the groups whose ratings or masses stand off the others' as a whole, furthest first.

    The furthest is set aside and the rest are compared again without it, until no more stand out: otherwise one file
    in the wrong unit would make the sound ones look wrong. False alarms are counted over all groups looked at.

    Parameters
    ----------
    drafts : the families with their lines
    by : what the records are grouped by
    labels : by record, its group; a record without one is compared with, and never accused
    ratios : PTO power over engine power, with the name of the engine rating [1]
    false_share : expected share of false alarms among the groups reported [1]
    """
    found: list[GroupShift] = []
    names = sorted({labels.get(one.implement_id, "") for draft in drafts for one in draft.data.records})
    if len(names) < 2:
        return ()
    for column in ("rated_pto_power_kw", "mass_kg"):
        families = [one for one in (_dealt(draft, column, names, by, labels) for draft in drafts) if one is not None]
        slips = [slip for slip in hypotheses((), ratios) if slip.column == column]
        found += _standing_out(families, names, by, column, slips, false_share)
    return tuple(sorted(found, key=lambda one: -abs(math.log(one.factor))))


def _dealt(draft: Draft, column: str, names: Sequence[str], by: str, labels: Mapping[str, str]) -> _Family | None:
    data, of_mass = draft.data, column == "mass_kg"
    peers = draft.mass if of_mass else draft.power
    if peers is None:
        return None
    which = np.flatnonzero(np.isfinite(peers.t))
    model = draft.fit.model.quantities["mass" if of_mass else "power"]
    sizes = data.sizes.of(which)
    logs = np.log(sizes.first)[:, None]
    if len(model.variables) > 1 and sizes.second is not None:
        logs = np.column_stack([logs, np.log(sizes.second)])
        stated = np.isfinite(logs).all(axis=1)
        which, logs = which[stated], logs[stated]
    response = np.log((data.mass_kg if of_mass else data.power_kw)[which]) - _of_levels(draft, of_mass, by)[which]
    # About the means, so that sums can be taken from each other without losing digits.
    design = np.column_stack([np.ones(response.size), logs - logs.mean(axis=0)])
    response = response - response.mean()
    place = {name: k for k, name in enumerate(names)}
    batch = np.array([place[labels.get(one.implement_id, "")] for one in data.records])[which]
    rows = [np.flatnonzero(batch == k) for k in range(len(names))]
    p, nothing = design.shape[1], np.inf
    kept = [row[peers.kept[which][row]] for row in rows]
    return _Family(
        data.family.family,
        own=[(design[row], response[row]) for row in rows],
        n=np.array([row.size for row in kept], float),
        xx=np.stack([design[row].T @ design[row] for row in kept]),
        xy=np.stack([design[row].T @ response[row] for row in kept]),
        yy=np.array([float(response[row] @ response[row]) for row in kept]),
        low=np.stack([design[row].min(axis=0) if row.size else np.full(p, nothing) for row in kept]),
        high=np.stack([design[row].max(axis=0) if row.size else np.full(p, -nothing) for row in kept]),
    )


def _of_levels(draft: Draft, of_mass: bool, by: str) -> Array:
    """Return what build and duty add to each record's level, but not what it is grouped by [ln of the unit]."""
    model, columns = draft.fit.model.quantities["mass" if of_mass else "power"], draft.data.columns
    effects, at = np.asarray(model.coefficients), len(model.growth.names)
    added = np.zeros(draft.data.n)
    for factor, names, field in ((columns.build, model.builds, "build"), (columns.duty, model.duties, "duty")):
        level = dict(zip(names, effects[at : at + len(names)], strict=True))
        at += len(names)
        if by not in (field, "attachment" if field == "build" else field):
            added += factor.of(np.array([level.get(name, 0.0) for name in factor.names]))
    return added


def _standing_out(
    families: Sequence[_Family],
    names: Sequence[str],
    by: str,
    column: str,
    slips: Sequence[Slip],
    false_share: float,
) -> Iterator[GroupShift]:
    tested = [k for k, name in enumerate(names) if name]
    aside: list[int] = []
    while True:
        measured = _all_measured(families, [k for k in tested if k not in aside], aside, len(names))
        habit, freedom = _habit([one.shift for one in measured.values()])
        share = _shares(measured, habit, freedom, tests=len(measured) + len(aside))
        out = [k for k in measured if share[k] <= false_share]
        if not out:
            break
        aside.append(min(out, key=lambda k: (share[k], measured[k].records, names[k])))
    last = _all_measured(families, aside, aside, len(names))
    share = _shares(last, habit, freedom, tests=len(measured) + len(aside))
    for k, shift in last.items():
        if share[k] <= false_share:
            yield _told((by, names[k], column), shift, habit, share[k], slips)


def _all_measured(
    families: Sequence[_Family], wanted: Sequence[int], aside: Sequence[int], batches: int
) -> dict[int, _Shift]:
    found = ((k, _measure(families, k, aside, batches)) for k in wanted)
    return {k: shift for k, shift in found if shift is not None}


def _measure(families: Sequence[_Family], batch: int, aside: Sequence[int], batches: int) -> _Shift | None:
    """Pool a batch's shifts over its families; None where it is too small or there is nothing to compare it with."""
    against = np.ones(batches, dtype=bool)
    against[[batch, *aside]] = False
    shifts, variances, used, records, sources = [], [], [], 0, np.zeros(batches)
    for one in families:
        design, response = one.own[batch]
        others = one.n * against
        freedom = others.sum() - design.shape[1]
        if response.size < LEAST_RECORDS or freedom < SPARE_RECORDS:
            continue
        # Beyond the others' sizes a bent line would look like a shift.
        low, high = one.low[against].min(axis=0), one.high[against].max(axis=0)
        within = ((design >= low - 1e-9) & (design <= high + 1e-9)).all(axis=1)
        n = np.count_nonzero(within)
        xx, xy = one.xx[against].sum(axis=0), one.xy[against].sum(axis=0)
        if n < LEAST_RECORDS or np.linalg.cond(xx) > MOST_CONDITION:
            continue
        line, middle = np.linalg.solve(xx, xy), design[within].mean(axis=0)
        spread = max(float(one.yy[against].sum() - xy @ line), 0.0) / freedom
        # Student's t about a line of few records is wider than the normal by this.
        scatter = spread * freedom / (freedom - 2)
        shifts.append(float(np.median((response - design @ line)[within])))
        habits = FAMILY_HABIT**2 * (1 + _concentration(others))
        variances.append(scatter * (OF_MEDIAN / n + float(middle @ np.linalg.solve(xx, middle))) + habits)
        used.append(one.family)
        records += int(n)
        sources += others
    if records < LEAST_OF_BATCH:
        return None
    weights = 1 / np.array(variances)
    return _Shift(
        shift=float(weights @ np.array(shifts) / weights.sum()),
        variance=float(1 / weights.sum()),
        concentration=_concentration(sources),
        families=tuple(used),
        records=records,
        others=int(sources.sum()),
        batches=int(np.count_nonzero(sources)),
    )


def _concentration(records: Array) -> float:
    return float(((records / records.sum()) ** 2).sum())


def _habit(shifts: Sequence[float]) -> tuple[float, float]:
    """Return how far sources differ by habit, from the batches themselves where there are enough, and how sure."""
    if len(shifts) < HABIT_FROM:
        return HABIT_OF_FEW, math.inf
    seen = MAD_TO_SD * float(np.median(np.abs(np.array(shifts) - np.median(shifts))))
    return (LEAST_HABIT, math.inf) if seen <= LEAST_HABIT else (seen, len(shifts) - 1.0)


def _shares(measured: dict[int, _Shift], habit: float, freedom: float, *, tests: int) -> dict[int, float]:
    if not measured:
        return {}
    t = np.array([one.shift / one.error(habit) for one in measured.values()])
    p = t_two_sided(t, freedom)
    # Batches set aside were tests too: they stand at the front of the order.
    adjusted = benjamini_hochberg(np.concatenate([p, np.zeros(tests - p.size)]))[: p.size]
    return dict(zip(measured, adjusted.tolist(), strict=True))


def _told(named: tuple[str, str, str], shift: _Shift, habit: float, share: float, slips: Sequence[Slip]) -> GroupShift:
    """Name the slip that explains a shift, if one is likelier than all else: another slip, or another way of rating."""
    seen: list[Slip] = []
    for slip in slips:
        factor = math.log(slip.factor)
        if abs(factor) > ALIKE and all(abs(factor - math.log(other.factor)) > ALIKE for other in seen):
            seen.append(slip)  # of those that cannot be told apart the first is named: commonest first
    of_slips = shift.error(max(habit, HABIT_OF_SLIPS))
    as_stated = _log_normal(shift.shift, of_slips)
    fits = np.array([_log_normal(shift.shift + math.log(slip.factor), of_slips) for slip in seen])
    unknown = -abs(shift.shift) / BUILD_SPREAD - math.log(2 * BUILD_SPREAD) + math.log(len(seen))
    top = max(float(fits.max()), unknown)
    weights = np.exp(fits - top)
    best = int(fits.argmax())
    chance = float(weights[best] / (weights.sum() + math.exp(unknown - top)))
    half = t_quantile(0.975, math.inf) * shift.error(habit)
    by, name, column = named
    return GroupShift(
        by=by,
        group=name,
        column=column,
        families=shift.families,
        records=shift.records,
        others=shift.others,
        groups=shift.batches,
        factor=math.exp(shift.shift),
        low=math.exp(shift.shift - half),
        high=math.exp(shift.shift + half),
        share=share,
        likeliest=seen[best],
        chance=chance,
        times_better=math.exp(min(float(fits[best]) - as_stated, 700.0)),
    )


def _log_normal(value: float, error: float) -> float:
    return -0.5 * (value / error) ** 2 - math.log(error) - 0.5 * math.log(2 * math.pi)
