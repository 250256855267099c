"""A calendar for each member, in the form that calendar programs read (RFC 5545); the same bytes every time."""

from __future__ import annotations

import datetime as dt
import hashlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.scoring.core.printing import Units
    from evener.sheds.season import Assignment, DayPlan, TaskPlan

LONGEST = 75
PRODUCT = "-//evener//shed//EN"


def calendar(plan: Assignment, member: str | None = None) -> str:
    """Return the calendar of one member, or of all.

    Parameters
    ----------
    plan : the season
    member : whose work, tractors and machines are meant; everybody's where left out
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}", "CALSCALE:GREGORIAN"]
    lines.append(f"X-WR-CALNAME:{_text(member or plan.shed)}")
    stamp = f"{plan.first.replace('-', '')}T000000Z"
    for one in plan.tasks:
        if member is None or member in (one.member, one.owner, one.machine_owner):
            for day in one.days:
                lines += _event(plan.shed, one, day, stamp, plan.units)
    lines.append("END:VCALENDAR")
    return "".join(f"{_folded(line)}\r\n" for line in lines)


def _event(shed: str, one: TaskPlan, day: DayPlan, stamp: str, units: Units) -> list[str]:
    named = f"{shed}\0{one.member}\0{one.task}\0{one.first}\0{day.date}"
    first = dt.date.fromisoformat(day.date)
    late = ", late" if day.late else ""
    words = f"{one.tractor} of {one.owner} with {one.machine} of {one.machine_owner}"
    return [
        "BEGIN:VEVENT",
        f"UID:{hashlib.sha256(named.encode()).hexdigest()[:32]}@evener",
        f"DTSTAMP:{stamp}",
        f"DTSTART;VALUE=DATE:{first:%Y%m%d}",
        f"DTEND;VALUE=DATE:{first + dt.timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{_text(f'{one.member}: {one.task} ({day.hours:g} h{late})')}",
        f"DESCRIPTION:{_text('; '.join((words, *(said.in_units(units) for said in one.remedies))))}",
        f"LOCATION:{_text(one.member)}",
        "TRANSP:OPAQUE",
        "END:VEVENT",
    ]


def _text(text: str) -> str:
    plain = "".join(sign if sign.isprintable() else " " for sign in text)
    return plain.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")


def _folded(line: str) -> str:
    """Return a line folded so that no part has more than 75 bytes, never within a sign."""
    parts: list[str] = []
    part = ""
    for sign in line:
        if len((part + sign).encode()) > LONGEST - (1 if parts else 0):
            parts.append(part)
            part = ""
        part += sign
    return "\r\n ".join([*parts, part])
