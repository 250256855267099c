"""The page of an audit, as people read it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from evener.cli.output import render, words
from evener.schema import units as unit_table
from evener.schema.records import Implement
from evener.scoring.audit.auditing import AuditReport
from evener.scoring.audit.family import SIZE_UNITS, SLOPES, FamilyAudit
from evener.scoring.core.printing import Units, rounded, show

WORST = 3


def fill(
    page: render.Page,
    report: AuditReport,
    files: Mapping[str, str],
    units: Units,
    *,
    top: int,
    records: bool,
    closely: bool,
) -> None:
    """Write an audit on a page: the answer first, then lines, then flags.

    Parameters
    ----------
    page : the page
    report : the audit
    files : name of the file each batch came from
    units : units to print
    top : flags to show at most [1]
    records : with what is measured of every record
    closely : with the ordinary line of each family, and what the model left out
    """
    lined = [one for one in report.families if one.fitted is not None]
    rated = sum(len(one.data.rated) for one in report.families)
    flagged = {flag.implement_id for flag in report.flags}
    count = len(report.flags)
    page.title(f"{_count(rated, 'rated record')} in {_count(len(report.families), 'family')} under audit")
    whole = f", and {_count(len(report.groups), 'whole group')} off the others" if report.groups else ""
    flags = f"{_count(count, 'flag')} on {_count(len(flagged), 'record')}{whole}."
    page.lead(flags if count or report.groups else "Nothing stands out.")
    page.facts(
        (one.group, f"{files.get(one.group, 'a batch') if one.by == 'batch' else one.by}: {one.evidence()}")
        for one in report.groups
    )
    page.facts(
        (flag.implement_id, f"{family.data.family.label}: {flag.evidence(units)}")
        for family, flag in report.worst(WORST)
    )
    if lined:
        page.heading("Lines of rated PTO power on size")
        _lines(page, lined, units)
    _without_line(page, [one for one in report.families if one.fitted is None])
    if closely:
        for one in lined:
            page.heading(f"{one.data.family.label}: the lines beside it")
            page.facts(_beside(one, units))
    if count:
        _flags(page, report, files, units, top)
        accepted = f"{100 * report.false_share:.0f} %"
        told = (
            f"far from peers: at most {accepted} of these are expected to be false alarms, in {report.tests:,} tests."
        )
        page.bullets(
            [
                f"{told} What strength measures is said per kind in docs/audit.md.",
                "A flag is a question to whoever typed the record; nothing is changed.",
            ]
        )
    if records:
        for one in lined:
            page.heading(f"{one.data.family.label}: {one.n} records")
            _records(page, one, units)


def _lines(page: render.Page, lined: Sequence[FamilyAudit], units: Units) -> None:
    rows = []
    forms = list(dict.fromkeys(form for one in lined if one.fitted for form in one.fitted.errors))
    for one in lined:
        fitted = one.fitted
        if fitted is None:
            continue
        off = [fitted.errors.get(form, math.inf) for form in forms]
        flagged = len({flag.implement_id for flag in one.flags})
        rows.append(
            [
                one.family,
                " x ".join(
                    words.SIZE.get(name, name.rsplit("_", 1)[0].replace("_", " ")) for name in one.data.variables
                ),
                str(one.n),
                str(flagged) if flagged else "",
                _line(one, units),
                show(fitted.spread_kw, "kW", units),
                fitted.model.form,
                *(f"{100 * error:.0f} %" if error < 10 else "-" for error in off),
            ]
        )
    header = ["family", "sized by", "n", "flagged", "what the line gives", "scatter", "form"]
    left_out = page.table([*header, *(f"off, {form}" for form in forms)], rows, right={2, 3, 7, 8, 9}, may_drop=True)
    if left_out:
        page.bullets([render.no_room(left_out, "--format markdown")])
    meaning = "how far a rating lies from the line through the others, on average, by the form of the line"
    page.bullets([f"off: {meaning}; of the forms within one standard error of the best the simplest is chosen."])


def _line(one: FamilyAudit, units: Units) -> str:
    """Return what a line gives at two sizes with half of the records between, other sizes at their middle."""
    sizes, name = one.data.sizes, one.data.variables[0]
    first = np.quantile(sizes.first, (0.25, 0.75))
    middle = sizes.middle().second
    powers, *_ = one.interval(first, None if middle is None else np.repeat(middle, 2))
    unit = SIZE_UNITS[name.rsplit("_", 1)[1]]
    return ", ".join(
        f"{rounded(size)} {unit}: {show(power, 'kW', units)}"
        if unit in ("m2", "m3")
        else f"{show(size, unit, units, name)}: {show(power, 'kW', units)}"
        for size, power in zip(first.tolist(), powers.tolist(), strict=True)
    )


def _beside(one: FamilyAudit, units: Units) -> Iterator[tuple[str, str]]:
    """Yield the ordinary straight line with its intervals, and what the model was drawn without."""
    fitted = one.fitted
    if fitted is None:
        return
    told, per = SLOPES[one.data.variables[0].rsplit("_", 1)[1]][units]
    per *= 1.0 if units == "si" else unit_table.factor("kW", "hp")
    if (line := fitted.ordinary) is not None:
        slope, low, high = (rounded(value * per) for value in (line.slope, line.slope_low, line.slope_high))
        ends = (line.intercept_kw, line.intercept_low_kw, line.intercept_high_kw, line.spread_kw)
        start, start_low, start_high, scatter = (show(value, "kW", units) for value in ends)
        drawn = f"{start} ({start_low} to {start_high}) and {slope} ({low} to {high}) {told}"
        how = f"scatter {scatter}, R squared {line.r_squared:.2f}; all records, every kilowatt alike; 95 % intervals"
        yield "ordinary", f"{drawn}, {how}"
    model = fitted.model
    far = [record for record in model.aside if not record.reason.startswith("left out")]
    counted = f"; counted in full they would move it by {model.moved_by_aside - 1:+.1%}" if far else ""
    yield "set aside", f"{len(far)} of {one.n} records stand so far off that the line is drawn without them{counted}"
    if out := [record for record in model.aside if record.reason.startswith("left out")]:
        names = ", ".join(f"{record.record} ({record.reason.removeprefix('left out: ')})" for record in out)
        yield "left out", f"{names}; with them the line would lie {model.moved_by_verdicts - 1:+.1%} off"


def _without_line(page: render.Page, left: Sequence[FamilyAudit]) -> None:
    """Fold the families without a line into one sentence."""
    if not left:
        return
    few = [f"{one.family} ({one.n})" for one in left if one.data.rated and one.data.variables]
    unsized = [one.family for one in left if one.data.rated and not one.data.variables]
    unrated = [one.family for one in left if not one.data.rated]
    parts = [
        f"{why}: {', '.join(names)}"
        for why, names in (
            ("too few records with a PTO rating and a size, or all of one size", few),
            ("no size to go by", unsized),
            ("no record with a PTO rating of its own", unrated),
        )
        if names
    ]
    page.lead(f"Without a line: {_count(len(left), 'family')} ({'; '.join(parts)}).")


def _flags(page: render.Page, report: AuditReport, files: Mapping[str, str], units: Units, top: int) -> None:
    """Print the strongest flags family by family; those that a whole group explains are folded into its line."""
    every = [(family, flag) for family in report.families for flag in family.flags if not report.is_of_group(flag)]
    kept = sorted(range(len(every)), key=lambda place: -every[place][1].strength)[:top]
    used: set[str] = set()
    for family in report.families:
        flags = [every[place][1] for place in sorted(kept) if every[place][0] is family]
        if not flags:
            continue
        stands = {one.implement_id: one for one in family.data.rated}
        first = {flag.implement_id: place for place, flag in reversed(list(enumerate(flags)))}
        order = sorted(range(len(flags)), key=lambda place: (first[flags[place].implement_id], place))
        page.heading(f"Flags: {family.family}")
        rows, before = [], None
        for flag in (flags[place] for place in order):
            record = stands[flag.implement_id]
            used |= {record.batch_id} if record.batch_id else set()
            again = flag.implement_id == before
            before = flag.implement_id
            rows.append(
                [
                    "" if again else flag.implement_id,
                    "" if again else _place(record),
                    flag.kind.replace("_", " "),
                    f"{flag.strength:.2f}",
                    flag.evidence(units),
                ]
            )
        page.table(["record", "batch:row", "flag", "strength", "evidence"], rows, right={3})
    page.lead("")
    if len(kept) < len(every):
        page.lead(f"{_count(len(every) - len(kept), 'weaker flag')} left out here: --top, or --format csv for all.")
    folded = len(report.flags) - len(every)
    if folded:
        names = ", ".join(dict.fromkeys(one.group for one in report.groups))
        page.lead(f"{_count(folded, 'flag')} on records of {names} left out here: the group as a whole explains them.")
    named = [f"{name} is {files[name]}" for name in sorted(used) if name in files]
    if named:
        page.lead(f"Batches: {', '.join(named)}.")


def _place(record: Implement) -> str:
    return f"{record.batch_id}:{record.file_row}" if record.batch_id else ""


def _records(page: render.Page, one: FamilyAudit, units: Units) -> None:
    name = one.data.variables[0]
    unit = SIZE_UNITS[name.rsplit("_", 1)[1]]
    size_unit, factor = unit_table.us(unit, field=name) if units == "us" and unit != "m2" else (unit, 1.0)
    power_unit, power = unit_table.us("kW") if units == "us" else ("kW", 1.0)
    page.table(
        [
            "record",
            f"size, {size_unit}",
            f"rated, {power_unit}",
            "line",
            "95 of 100",
            "t",
            "leverage",
            "moves the line",
            "",
        ],
        [
            [
                row.implement_id,
                rounded(row.sizes[0] * factor),
                rounded(row.rated_kw * power),
                rounded(row.fitted_kw * power),
                f"{rounded(row.low_kw * power)} to {rounded(row.high_kw * power)}",
                f"{row.t:+.1f}",
                f"{row.leverage:.2f}",
                f"{row.line_shift:.2f}",
                "set aside" if row.set_aside else "",
            ]
            for row in one.records()
        ],
        right={1, 2, 3, 4, 5, 6, 7},
    )


def _count(number: int, noun: str) -> str:
    many = {"family": "families", "whole group": "whole groups"}
    return f"{number:,} {noun if number == 1 else many.get(noun, noun + 's')}"
