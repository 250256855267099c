"""Invented worlds whose truth is known: what the rating model and the audit find of errors planted in them.

Twelve families of a hundred records by twelve makers; sizes, stems, duty, build, and a habit of each maker. Planted:
single errors of several kinds and strengths, or one maker 25 % low and one 15 % high, or one dirty file. Printed:
recall and precision per kind and strength, false alarms, groups found, and how far a dirty file moves what sizing
would read.

Run: python experiments/rating_worlds.py [WORLDS]
"""

from __future__ import annotations

import math
import sys
from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from evener.schema.records import Family, Implement
from evener.scoring.audit.auditing import AuditReport, audit
from evener.scoring.ratings.columns import from_records
from evener.scoring.ratings.family_model import predict
from evener.scoring.ratings.fitting import fit_family

FAMILIES, RECORDS, MAKERS = 12, 100, 12
NOTHING = {"rotary_power": [], "power_ratios": []}
# Kind of error: the column it falls on, and the factor from the true to the stated value.
ERRORS: dict[str, tuple[str, float]] = {
    "kW read as hp": ("rated_pto_power_kw", 0.7457),
    "digits swapped, x 0.6": ("rated_pto_power_kw", 0.6),
    "digits swapped, x 1.8": ("rated_pto_power_kw", 1.8),
    "decimal point": ("rated_pto_power_kw", 10.0),
    "feet read as metres": ("working_width_m", 1 / 0.3048),
    "engine power for PTO": ("rated_pto_power_kw", 1 / 0.86),
    "pounds read as kilograms": ("mass_kg", 1 / 0.4536),
}


def world(seed: int, scatter: float = 0.1, habit: float = 0.03) -> tuple[list[Family], list[Implement]]:
    """Return invented families and their records."""
    rng = np.random.default_rng(seed)
    families, records = [], []
    habits = rng.normal(0, habit, MAKERS)
    for k in range(FAMILIES):
        name = f"family_{k:02d}"
        families.append(
            Family(name, name, (), "g", "pto", None, "working_width_m", None, *(None,) * 8, source_id="s", status="s")
        )
        level, growth = rng.uniform(math.log(4), math.log(25)), rng.uniform(0.8, 1.4)
        width = np.exp(rng.uniform(math.log(1.2), math.log(8), RECORDS))
        duty, build, maker = (rng.integers(0, n, RECORDS) for n in (3, 2, MAKERS))
        noise = rng.normal(0, 1, (2, RECORDS))
        by_duty, by_build = np.array([-0.21, 0, 0.15])[duty], np.array([0.05, -0.05])[build]
        power = np.exp(level + growth * np.log(width) + by_duty + by_build + habits[maker] + scatter * noise[0])
        mass = np.exp(5.4 + 1.1 * np.log(width) + by_duty + 0.1 * (0.5 * noise[0] + math.sqrt(0.75) * noise[1]))
        for i in range(RECORDS):
            records.append(  # noqa: PERF401 - a record a line reads better
                Implement(
                    f"{name}/{i}",
                    name,
                    f"{name} {i}",
                    maker=f"maker {maker[i]}",
                    duty=("light", "medium", "heavy")[duty[i]],
                    attachment=("mounted", "trailed")[build[i]],
                    working_width_m=float(width[i]),
                    rated_pto_power_kw=float(power[i]),
                    mass_kg=float(mass[i]),
                    batch_id="B0001",
                )
            )
    return families, records


def changed(
    records: list[Implement], which: Callable[[int, Implement], bool], column: str, factor: float
) -> list[Implement]:
    """Return the records with a column of some of them multiplied."""
    return [
        replace(one, **{column: getattr(one, column) * factor}) if which(i, one) else one
        for i, one in enumerate(records)
    ]


def accused(report: AuditReport) -> set[str]:
    """Return the records that the audit says do not belong."""
    return {flag.implement_id for flag in report.flags if flag.kind in ("far_from_peers", "unit_slip", "other_family")}


def singles(worlds: int) -> None:
    """Print recall per kind of error and the precision of all, 40 planted in 1,200 records."""
    planted, found = Counter[str](), Counter[str]()
    said = false = sound = 0
    for seed in range(worlds):
        families, records = world(seed)
        rng = np.random.default_rng([seed, 1])
        wrong = dict(
            zip(rng.choice(len(records), 40, replace=False).tolist(), np.resize(list(ERRORS), 40), strict=True)
        )
        for place, kind in wrong.items():
            column, factor = ERRORS[str(kind)]
            records[place] = replace(records[place], **{column: getattr(records[place], column) * factor})
        names = accused(audit(records, families, NOTHING, by=("maker",)))
        truth = {records[place].implement_id: str(kind) for place, kind in wrong.items()}
        planted.update(truth.values())
        found.update(kind for name, kind in truth.items() if name in names)
        said, false, sound = said + len(names), false + len(names - set(truth)), sound + len(records) - len(truth)
    print("single errors: found of planted")
    for kind in ERRORS:
        print(f"  {kind:<26} {found[kind]:>4} of {planted[kind]:<4} {found[kind] / planted[kind]:.0%}")
    print(f"  precision {1 - false / said:.1%}; false alarms {false} of {sound:,} sound records ({false / sound:.2%})")


def groups(worlds: int) -> None:
    """Print in how many worlds a maker 25 % low and one 15 % high are both found and named, and others accused."""
    both = others = 0
    for seed in range(worlds):
        families, records = world(100 + seed)
        for maker, factor in (("maker 2", 0.75), ("maker 7", 1.15)):
            records = changed(records, lambda _, one, maker=maker: one.maker == maker, "rated_pto_power_kw", factor)
        report = audit(records, families, NOTHING, by=("maker",))
        named = {one.group for one in report.groups if one.column == "rated_pto_power_kw"}
        both += {"maker 2", "maker 7"} <= named
        others += len(named - {"maker 2", "maker 7"})
    print(f"makers 25 % low and 15 % high: both named in {both} of {worlds} worlds; {others} sound makers named")


def dirty(worlds: int) -> None:
    """Print how far sizing moves when a twelfth of the records is replaced by a dirty file."""
    moved: dict[str, list[float]] = {}
    for seed in range(worlds):
        families, records = world(200 + seed)
        for kind, column, factor in (
            ("one maker's file in kilowatts", "rated_pto_power_kw", 0.7457),
            ("one maker's file in feet", "working_width_m", 1 / 0.3048),
        ):
            spoiled = changed(records, lambda _, one: one.maker == "maker 5", column, factor)
            moved.setdefault(kind, []).extend(_moved(families, records, spoiled))
        rng = np.random.default_rng([seed, 2])
        some = set(rng.choice(len(records), 40, replace=False).tolist())
        spoiled = changed(
            records, lambda i, _, some=some: i in some, "rated_pto_power_kw", float(rng.choice([0.3, 3.0]))
        )
        moved.setdefault("40 ratings by a factor of 3", []).extend(_moved(families, records, spoiled))
    print("what sizing reads at a middle size, over what it read before")
    for kind, values in moved.items():
        print(f"  {kind:<30} median {np.median(values):.2%}, 95 of 100 under {np.quantile(values, 0.95):.2%}")


def _moved(families: list[Family], before: list[Implement], after: list[Implement]) -> list[float]:
    found = []
    for family in families:
        levels = []
        for records in (before, after):
            own = [one for one in records if one.family == family.family]
            level = predict(fit_family(from_records(family, own)), (3.0,), "mounted", "medium")
            levels.append(math.nan if level is None else float(level.mean_ln[0]))
        found.append(abs(math.expm1(levels[1] - levels[0])))
    return found


if __name__ == "__main__":
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    singles(wanted)
    groups(wanted)
    dirty(wanted)
