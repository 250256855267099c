"""Whole files in the wrong unit: the records of one batch, in all their families together, against the other batches.

One rating that is off by a third looks like scatter; thirty of one file that are all off by the same third do not. For
each batch the median deviation from the line through the other batches' records is taken family by family and pooled
over families. Sources differ for good reason too (each has its own habit of rating), so a shift is held against that
habit and not against the scatter of single machines: many records make a shift certain, but not a slip likely.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from evener.scoring.audit.lines import Draft
from evener.scoring.audit.peers import MAD_TO_SD, benjamini_hochberg
from evener.scoring.audit.slips import ALIKE, BUILD_SPREAD, Slip, hypotheses
from evener.scoring.ratings.least_squares import t_quantile, t_two_sided
from evener.scoring.ratings.model import SPARE_RECORDS

Array = NDArray[np.float64]

# One source rates a family 6 % off the others, and all its families together 10 % (practice, no source). Where
# HABIT_FROM batches or more can be compared, their own differences say it, though it is not believed below 6 %.
FAMILY_HABIT, HABIT_OF_FEW, LEAST_HABIT = 0.06, 0.10, 0.06
HABIT_FROM = 6
LEAST_RECORDS = 3
LEAST_OF_BATCH = 8
# Others whose sizes hardly differ determine no line.
MOST_CONDITION = 1e8
NAMED_FROM = 0.5
# The median of a normal sample scatters this much more than its mean does.
OF_MEDIAN = math.pi / 2


@dataclass(frozen=True)
class BatchShift:
    """A batch whose records stand off the other batches' as a whole.

    Attributes
    ----------
    batch_id : the batch
    column : which of its numbers, `rated_pto_power_kw` or `mass_kg`
    families : families compared
    records : its records in them [1]
    others : records of other batches they are compared with [1]
    batches : how many other batches these come from [1]
    factor : its numbers over what the others lead one to expect [1]
    low, high : 95 % interval of the factor, habits of sources included [1]
    share : share of false alarms at which the shift would just be reported [1]
    likeliest : the slip that explains it best
    chance : chance of that slip against the others and another way of rating [1]
    times_better : how many times likelier the shift is with it [1]
    """

    batch_id: str
    column: str
    families: tuple[str, ...]
    records: int
    others: int
    batches: int
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
        """Return what stands against the batch as a whole, in words."""
        what = "masses" if self.column == "mass_kg" else "ratings"
        text = (
            f"its {what} are {self.factor:.2f} times ({self.low:.2f} to {self.high:.2f}) what {self.others} records of "
            f"{self.batches} other batch{'' if self.batches == 1 else 'es'} lead one to expect, over "
            f"{len(self.families)} famil{'y' if len(self.families) == 1 else 'ies'}"
        )
        named, odds = f"{self.likeliest.meant} read as {self.likeliest.read_as}", f"{100 * self.chance:.0f} in 100"
        if self.slip is None:
            return f"{text}; no slip is likelier than another way of rating ({named}: {odds})"
        alone = "; with one other batch only, the slip may be in either" if self.batches == 1 else ""
        return f"{text}; {named} explains it ({odds} against all else){alone}"

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract."""
        return {
            "batch_id": self.batch_id,
            "column": self.column,
            "families": list(self.families),
            "records": self.records,
            "others": self.others,
            "other_batches": self.batches,
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


def shifted_batches(
    drafts: Sequence[Draft], ratios: Sequence[tuple[str, float]], false_share: float
) -> tuple[BatchShift, ...]:
    """Return the batches whose ratings or masses stand off the others' as a whole, furthest first.

    The furthest is set aside and the rest are compared again without it, until no more stand out: otherwise one file
    in the wrong unit would make the sound ones look wrong.

    Parameters
    ----------
    drafts : the families with their lines
    ratios : PTO power over engine power, with the name of the engine rating [1]
    false_share : expected share of false alarms among the batches reported [1]
    """
    found: list[BatchShift] = []
    names = sorted({one.batch_id or "" for draft in drafts for one in draft.data.records})
    if len(names) < 2:
        return ()
    for column in ("rated_pto_power_kw", "mass_kg"):
        families = [one for one in (_dealt(draft, column, names) for draft in drafts) if one is not None]
        slips = [slip for slip in hypotheses((), ratios) if slip.column == column]
        found += _standing_out(families, names, column, slips, false_share)
    return tuple(sorted(found, key=lambda one: -abs(math.log(one.factor))))


def _dealt(draft: Draft, column: str, names: Sequence[str]) -> _Family | None:
    data, of_mass = draft.data, column == "mass_kg"
    peers = draft.mass if of_mass else draft.power
    if peers is None:
        return None
    which = draft.weighed if of_mass else np.ones(data.n, dtype=bool)
    sizes = data.sizes[which]
    logs = np.column_stack([np.log(one) for one in (sizes.first, sizes.second) if one is not None])
    response = np.log((data.mass_kg if of_mass else data.power_kw)[which])
    # About the means, so that sums can be taken from each other without losing digits.
    design = np.column_stack([np.ones(response.size), logs - logs.mean(axis=0)])
    response = response - response.mean()
    place = {name: k for k, name in enumerate(names)}
    batch = np.array([place[one.batch_id or ""] for one in data.records])[which]
    rows = [np.flatnonzero(batch == k) for k in range(len(names))]
    p, nothing = design.shape[1], np.inf
    kept = [row[peers.kept[row]] for row in rows]
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


def _standing_out(
    families: Sequence[_Family], names: Sequence[str], column: str, slips: Sequence[Slip], false_share: float
) -> Iterator[BatchShift]:
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
            yield _told(names[k], column, shift, shift.error(habit), share[k], slips)


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


def _told(name: str, column: str, shift: _Shift, error: float, share: float, slips: Sequence[Slip]) -> BatchShift:
    """Name the slip that explains a shift, if one is likelier than all else: another slip, or another way of rating."""
    seen: list[Slip] = []
    for slip in slips:
        factor = math.log(slip.factor)
        if abs(factor) > ALIKE and all(abs(factor - math.log(other.factor)) > ALIKE for other in seen):
            seen.append(slip)  # of those that cannot be told apart the first is named: commonest first
    as_stated = _log_normal(shift.shift, error)
    fits = np.array([_log_normal(shift.shift + math.log(slip.factor), error) for slip in seen])
    unknown = -abs(shift.shift) / BUILD_SPREAD - math.log(2 * BUILD_SPREAD) + math.log(len(seen))
    top = max(float(fits.max()), unknown)
    weights = np.exp(fits - top)
    best = int(fits.argmax())
    chance = float(weights[best] / (weights.sum() + math.exp(unknown - top)))
    half = t_quantile(0.975, math.inf) * error
    return BatchShift(
        batch_id=name,
        column=column,
        families=shift.families,
        records=shift.records,
        others=shift.others,
        batches=shift.batches,
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
