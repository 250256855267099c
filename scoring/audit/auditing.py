"""The audit of implement power ratings: which records an analyst should look at, on what evidence.

Per family the fitted model of rated PTO power, the one that sizing goes by; every record against what the others lead
one to expect of it; and the records that stand out tested for the slips that would explain them. The tests of all
families and both columns (power and mass) are taken together by Benjamini and Hochberg's procedure, which keeps the
expected share of false alarms among the records reported: an analyst looks at those, so their share is what costs time.
A rule against a single false alarm among thousands of records would find next to nothing. Whole groups of records, by
file, maker or whatever else, are compared as well: a file in the wrong unit shows where its single records do not.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evener.schema.records import Family, Implement
from evener.scoring.audit.draft import Draft, collect, draft
from evener.scoring.audit.false_alarms import FALSE_SHARE, benjamini_hochberg
from evener.scoring.audit.family import FamilyAudit, fitted
from evener.scoring.audit.flags import Flag
from evener.scoring.audit.groups import GroupShift, labels_of, shifted_groups
from evener.scoring.audit.published import Reference, against_published
from evener.scoring.audit.records import engine_stated, same_machine
from evener.scoring.audit.suspects import Tests, engine_ratios, influence, suspicions
from evener.scoring.core.printing import Units
from evener.scoring.ratings.lines.least_squares import NotDetermined
from evener.scoring.ratings.verdicts import Verdicts

Array = NDArray[np.float64]

# What groups are compared by unless asked otherwise.
BY = ("batch",)
# Worth a look, but no sign of a wrong number by themselves; and those that say what is wrong rather than that it is.
SOFT = frozenset({"influential", "power_per_width"})
TELLING = frozenset({"unit_slip", "other_family", "engine_given_as_pto", "below_shaft_power", "two_ratings"})


@dataclass(frozen=True)
class AuditReport:
    """The audit of some families.

    Attributes
    ----------
    families : each family's line and flags
    false_share : expected share of false alarms among the records said to be far from their peers [1]
    tests : how many records and columns were tested for it [1]
    groups : groups of records whose numbers stand off the others' as a whole, furthest first
    """

    families: tuple[FamilyAudit, ...]
    false_share: float
    tests: int
    groups: tuple[GroupShift, ...] = ()
    labels: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    @property
    def flags(self) -> tuple[Flag, ...]:
        """All flags, family by family."""
        return tuple(flag for family in self.families for flag in family.flags)

    def worst(self, count: int) -> list[tuple[FamilyAudit, Flag]]:
        """Return the records to look at first, each by the flag that says most, with its family.

        Records of a group that is off as a whole are left out: the group is what to look at.

        Parameters
        ----------
        count : how many [1]
        """
        every = [(family, flag) for family in self.families for flag in family.flags if not self.is_of_group(flag)]
        every.sort(key=lambda one: (one[1].kind in SOFT, -one[1].strength))
        records = list(dict.fromkeys(flag.implement_id for _, flag in every))[:count]
        says_most = sorted(every, key=lambda one: (one[1].kind not in TELLING, one[1].kind in SOFT, -one[1].strength))
        return [next(one for one in says_most if one[1].implement_id == record) for record in records]

    def is_of_group(self, flag: Flag) -> bool:
        """Whether a flag is what a group that is off as a whole leads one to expect of its records."""
        if flag.kind not in ("far_from_peers", "unit_slip"):
            return False
        record, column = flag.implement_id, getattr(flag, "column", None)
        return any(one.column == column and self.labels[one.by].get(record) == one.group for one in self.groups)

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
            "groups": [group.as_dict() for group in self.groups],
            "families": [family.as_dict(units, records=records) for family in self.families],
        }


def audit(
    implements: Iterable[Implement],
    families: Iterable[Family],
    reference: Reference,
    *,
    by: Sequence[str] = BY,
    labels: Mapping[str, Mapping[str, str]] | None = None,
    verdicts: Verdicts | None = None,
    false_share: float = FALSE_SHARE,
) -> AuditReport:
    """Audit the rated PTO powers of some implement records, family by family.

    Parameters
    ----------
    implements : records; each is measured against the others given here
    families : families to audit
    reference : the store's published tables by name; `rotary_power` and `power_ratios` are used
    by : what whole groups of records are compared by: batch, build, or any field that holds words or a year
    labels : for other groupings, by name, the group of each record
    verdicts : what analysts hold of the records: left out ones take no part, corrected ones as corrected, and sound
        ones are not accused
    false_share : expected share of false alarms among the records said to be far from their peers [1]

    Raises
    ------
    NoSuchGroup
        Records cannot be grouped so.
    """
    records = list(implements if verdicts is None else verdicts.apply(implements))
    grouped = {name: (labels or {}).get(name) or labels_of(records, name) for name in dict.fromkeys(by)}
    held: dict[str, list[Implement]] = {}
    for implement in records:
        held.setdefault(implement.family, []).append(implement)
    collected = [collect(family, held.get(family.family, []), verdicts) for family in families]
    drafts: dict[str, Draft] = {}
    reasons: dict[str, str] = {}
    for data in collected:
        reason = data.too_few()
        try:
            if reason is None:
                drafts[data.family.family] = draft(data)
        except NotDetermined as error:
            reason = str(error)
        if reason is not None:
            reasons[data.family.family] = reason
    share = _shares(drafts)
    ratios = engine_ratios(reference)
    tests = Tests(false_share, ratios, drafts)
    audits = []
    for data in collected:
        name = data.family.family
        flags: list[Flag] = [*against_published(data.family, data.rated, reference), *engine_stated(data.rated)]
        flags += same_machine(data.rated, [data.family])
        if name in drafts:
            flags += influence(drafts[name])
            flags += suspicions(drafts[name], share[name], tests)
        flags.sort(key=lambda flag: (-flag.strength, flag.implement_id, flag.kind))
        line = fitted(drafts[name]) if name in drafts else None
        audits.append(FamilyAudit(data, reasons.get(name), line, tuple(flags)))
    every = tuple(drafts.values())
    shifted = [one for name, of in grouped.items() for one in shifted_groups(every, name, of, ratios, false_share)]
    tested = sum(int(np.count_nonzero(np.isfinite(one.p))) for one in every)
    return AuditReport(tuple(audits), false_share, tested, tuple(shifted), grouped)


def _shares(drafts: Mapping[str, Draft]) -> dict[str, Array]:
    """Return for each test the share of false alarms at which it is reported, all families taken together."""
    if not drafts:
        return {}
    p = np.concatenate([one.p for one in drafts.values()])
    adjusted, tested = np.ones(p.size), np.isfinite(p)
    adjusted[tested] = benjamini_hochberg(p[tested])
    ends = np.cumsum([one.p.size for one in drafts.values()])[:-1]
    return dict(zip(drafts, np.split(adjusted, ends), strict=True))
