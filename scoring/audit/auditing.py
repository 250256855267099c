"""The audit of implement power ratings: which records an analyst should look at, on what evidence.

Per family a line of rated PTO power on size, in the form that cross-validation supports; every record against the line
through its peers; and the records that stand out tested for the slips that would explain them. The tests of all
families and both columns (power and mass) are taken together by Benjamini and Hochberg's procedure, which keeps the
expected share of false alarms among the records reported: an analyst looks at those, so their share is what costs time.
A rule against a single false alarm among thousands of records would find next to nothing. Whole batches are compared
as well, since a file in the wrong unit shows where its single records do not.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evener.schema.records import Family, Implement
from evener.scoring.audit.batches import BatchShift, shifted_batches
from evener.scoring.audit.family import FamilyAudit, collect
from evener.scoring.audit.flags import Flag
from evener.scoring.audit.lines import Draft, draft, fitted_lines, robust_lines
from evener.scoring.audit.peers import FALSE_SHARE, benjamini_hochberg
from evener.scoring.audit.published import Reference, against_published
from evener.scoring.audit.records import engine_stated, same_machine
from evener.scoring.audit.suspects import engine_ratios, influence, suspicions
from evener.scoring.core.printing import Units
from evener.scoring.ratings.least_squares import NotDetermined
from evener.scoring.ratings.model import is_rated

Array = NDArray[np.float64]

# Worth a look, but no sign of a wrong number by themselves; and those that say what is wrong rather than that it is.
SOFT = frozenset({"influential", "power_per_width"})
TELLING = frozenset({"unit_slip", "engine_given_as_pto", "below_shaft_power", "two_ratings"})


@dataclass(frozen=True)
class AuditReport:
    """The audit of some families.

    Attributes
    ----------
    families : each family's line and flags
    false_share : expected share of false alarms among the records said to be far from their peers [1]
    tests : how many records and columns were tested for it [1]
    batches : batches whose numbers stand off the others' as a whole, furthest first
    """

    families: tuple[FamilyAudit, ...]
    false_share: float
    tests: int
    batches: tuple[BatchShift, ...] = ()

    @property
    def flags(self) -> tuple[Flag, ...]:
        """All flags, family by family."""
        return tuple(flag for family in self.families for flag in family.flags)

    def worst(self, count: int) -> list[tuple[FamilyAudit, Flag]]:
        """Return the records to look at first, each by the flag that says most, with its family.

        Records of a batch that is off as a whole are left out: the batch is what to look at.

        Parameters
        ----------
        count : how many [1]
        """
        every = [
            (family, flag) for family in self.families for flag in family.flags if not self.is_of_batch(family, flag)
        ]
        every.sort(key=lambda one: (one[1].kind in SOFT, -one[1].strength))
        records = list(dict.fromkeys(flag.implement_id for _, flag in every))[:count]
        says_most = sorted(every, key=lambda one: (one[1].kind not in TELLING, one[1].kind in SOFT, -one[1].strength))
        return [next(one for one in says_most if one[1].implement_id == record) for record in records]

    def is_of_batch(self, family: FamilyAudit, flag: Flag) -> bool:
        """Whether a flag is what a batch that is off as a whole leads one to expect of its records."""
        if flag.kind not in ("far_from_peers", "unit_slip"):
            return False
        batch = family.batch_of.get(flag.implement_id)
        return any(one.batch_id == batch and one.column == getattr(flag, "column", None) for one in self.batches)

    def as_dict(self, units: Units = "si", *, records: bool = False) -> dict[str, Any]:
        """Return the keys of the JSON contract.

        Parameters
        ----------
        units : of the words of the evidence; numbers are SI, as their names say
        records : with what is measured of each record
        """
        return {
            "schema": 1,
            "units": units,
            "false_share": self.false_share,
            "tests": self.tests,
            "batches": [batch.as_dict() for batch in self.batches],
            "families": [family.as_dict(units, records=records) for family in self.families],
        }


def audit(
    implements: Iterable[Implement],
    families: Iterable[Family],
    reference: Reference,
    *,
    false_share: float = FALSE_SHARE,
) -> AuditReport:
    """Audit the rated PTO powers of some implement records, family by family.

    Parameters
    ----------
    implements : records; each is measured against the others given here
    families : families to audit
    reference : the store's published tables by name; `rotary_power` and `power_ratios` are used
    false_share : expected share of false alarms among the records said to be far from their peers [1]
    """
    rated: dict[str, list[Implement]] = {}
    for implement in implements:
        if is_rated(implement):
            rated.setdefault(implement.family, []).append(implement)
    collected = [collect(family, rated.get(family.family, [])) for family in families]
    drafts: dict[str, Draft] = {}
    reasons: dict[str, str] = {}
    for data in collected:
        reason = data.too_few()
        try:
            if reason is None:
                drafts[data.family.family] = draft(data, false_share)
        except NotDetermined:
            reason = "all records are of one size"
        if reason is not None:
            reasons[data.family.family] = reason
    robust = robust_lines(drafts)
    share = _shares(drafts)
    ratios = engine_ratios(reference)
    audits = []
    for data in collected:
        name = data.family.family
        flags: list[Flag] = [*against_published(data.family, data.rated, reference), *engine_stated(data.rated)]
        flags += same_machine(data.rated)
        fitted = None
        if name in drafts:
            fitted = fitted_lines(drafts[name], robust[name])
            flags += influence(data, fitted)
            flags += suspicions(drafts[name], share[name], false_share, ratios)
        flags.sort(key=lambda flag: (-flag.strength, flag.implement_id, flag.kind))
        audits.append(FamilyAudit(data, reasons.get(name), fitted, tuple(flags)))
    shifted = shifted_batches(tuple(drafts.values()), ratios, false_share)
    return AuditReport(tuple(audits), false_share, sum(one.p.size for one in drafts.values()), shifted)


def _shares(drafts: Mapping[str, Draft]) -> dict[str, Array]:
    """Return for each test the share of false alarms at which it is reported, all families taken together."""
    if not drafts:
        return {}
    adjusted = benjamini_hochberg(np.concatenate([one.p for one in drafts.values()]))
    ends = np.cumsum([one.p.size for one in drafts.values()])[:-1]
    return dict(zip(drafts, np.split(adjusted, ends), strict=True))
