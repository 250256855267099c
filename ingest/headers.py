"""From column headings to fields of the nomenclature, with the unit a heading gives.

A heading is matched by the spellings of `fields.csv`, with case and punctuation folded. A choice made by hand for an
unusual heading goes before them.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from evener.ingest import findings
from evener.ingest.findings import Finding
from evener.schema import fields, units
from evener.schema.fields import Field

_BRACKETS = re.compile(r"(?P<stem>[^\[(]*?)\s*[\[(](?P<inside>[^\[\]()]*)[\])]\s*")
_INCH_MARK = re.compile(r"(?<=\d)\s*[\"\u2033]")
_LONGEST_UNIT = 3  # words, as in "US gal min"
# A power that is neither said to be the engine's nor the shaft's.
_BARE_POWER = frozenset(
    {
        "power",
        "rated power",
        "horsepower",
        "horse power",
        "required power",
        "power required",
        "min power",
        "minimum power",
    }
)
_POWER_CHOICES = {"tractor": ("engine power", "PTO power"), "implement": ("PTO power", "tractor power")}
_ENGINE_KINDS = ("gross", "net")


@dataclass(frozen=True)
class Choice:
    """What a person settled for one heading: its field and unit, or no field at all."""

    field: str | None
    unit: str | None = None


@dataclass(frozen=True)
class Match:
    """What one column means.

    Attributes
    ----------
    header : the heading as written
    position : which column, counted from 0
    field : the field it fills, or None
    unit : unit of its bare numbers, or None when each cell must give one
    implies : other fields the heading settles, such as the kind of engine power
    """

    header: str
    position: int
    field: Field | None
    unit: str | None = None
    implies: dict[str, str] = dataclasses.field(default_factory=dict)


def fold(text: str) -> str:
    """Return a heading or word without case and punctuation, its digits apart from its letters."""
    return " ".join(re.findall(r"[a-z]+|\d+", _INCH_MARK.sub(" in ", text.casefold())))


def match(
    headers: Sequence[str], record: str, choices: Mapping[str, Choice] | None = None
) -> tuple[list[Match], list[Finding]]:
    """Return what each column means, and what is wrong with the headings.

    Parameters
    ----------
    headers : headings as written
    record : kind of record the rows are
    choices : settled by hand, by heading

    Raises
    ------
    KeyError
        A choice names a field the record does not have.
    """
    known = fields.of(record)
    spelled = _spellings(record)
    matches: list[Match] = []
    noticed: list[Finding] = []
    for position, header in enumerate(headers):
        chosen = (choices or {}).get(header)
        if chosen is not None:
            one = Match(header, position, known[chosen.field] if chosen.field else None, chosen.unit)
        else:
            one = _match(header, position, spelled)
            if one.field is None:
                noticed.append(_unmatched(header, record, spelled))
        if one.field is not None and one.unit is not None:
            problem = _unit_problem(one)
            if problem is not None:
                noticed.append(problem)
                continue
        matches.append(one)
    return matches, noticed + _doubles(matches)


def _spellings(record: str) -> dict[str, Field]:
    spelled: dict[str, Field] = {}
    for one in fields.of(record).values():
        for spelling in (one.name, one.plain_name, *one.spellings):
            if spelled.setdefault(fold(spelling), one) is not one:
                raise ValueError(f"fields.csv: {spelling!r} is spelled for two fields of a {record}")
    return spelled


def _match(header: str, position: int, spelled: Mapping[str, Field]) -> Match:
    for stem, unit in _parted(header):
        kind = next((word for word in _ENGINE_KINDS if word in stem.split()), None)
        plain = " ".join(word for word in stem.split() if word != kind)
        for words, implies in ((stem, {}), (plain, {"engine_power_kind": kind} if kind else {})):
            one = spelled.get(words)
            if one is None or (implies and one.name != "engine_power_kw"):
                continue
            within = _unit_within(words, one) if unit is None else unit
            return Match(header, position, one, within if one.unit else None, implies)
    return Match(header, position, None)


def _unit_within(heading: str, one: Field) -> str | None:
    """Return the unit that is part of a heading's own words: a field's full name, or "engine hours"."""
    if not one.is_measured:
        return None
    if heading == fold(one.name):
        return one.unit
    last = heading.rsplit(maxsplit=1)[-1]
    fits = units.known(last) and units.known(one.unit) and units.find(last).dimension == units.find(one.unit).dimension
    return last if fits else None


def _parted(header: str) -> list[tuple[str, str | None]]:
    """Return the ways to part a heading into its name, folded, and its unit, the plainest first."""
    ways: list[tuple[str, str | None]] = []
    bracketed = _BRACKETS.fullmatch(header)
    if bracketed and bracketed["inside"].strip():
        ways.append((fold(bracketed["stem"]), bracketed["inside"].strip()))
    ways.append((fold(header), None))
    if "," in header:
        stem, unit = header.rsplit(",", 1)
        ways.append((fold(stem), unit.strip()))
    words = [word for word in re.split(r"[\s_]+", header) if word]
    for count in range(min(_LONGEST_UNIT, len(words) - 1), 0, -1):
        stem = fold(" ".join(words[:-count]))
        for joint in ("/", " "):
            unit = joint.join(words[-count:])
            if units.known(unit):
                ways += [(stem, unit), (stem.removesuffix(" in"), unit)]
    return ways


def _unmatched(header: str, record: str, spelled: Mapping[str, Field]) -> Finding:
    stems = {stem for stem, _ in _parted(header)}
    bare = stems & _BARE_POWER or (units.known(header) and units.find(header).dimension == "power")
    if bare and record in _POWER_CHOICES:
        return findings.BarePower(column=header, values={"choices": " or ".join(_POWER_CHOICES[record])})
    near = [spelling for stem in sorted(stems) for spelling in get_close_matches(stem, list(spelled), n=2, cutoff=0.75)]
    names = list(dict.fromkeys(spelled[spelling].name for spelling in near))
    hint = f"; did you mean {' or '.join(names)}?" if names else ""
    return findings.UnknownColumn(column=header, values={"record": record, "near": hint})


def _unit_problem(one: Match) -> Finding | None:
    if one.field is None or one.unit in (None, one.field.unit) or one.field.unit == "currency":
        return None
    try:
        units.checked_factor(one.unit, one.field.unit)
    except units.UnitError as error:
        return findings.WrongHeaderUnit(
            column=one.header,
            values={
                "field": one.field.name,
                "unit": one.unit,
                "problem": str(error),
                "units": ", ".join(units.symbols(one.field.unit)[:6])
                if units.known(one.field.unit)
                else one.field.unit,
            },
        )
    return None


def _doubles(matches: Sequence[Match]) -> list[Finding]:
    first: dict[str, str] = {}
    doubles: list[Finding] = []
    for one in matches:
        if one.field is None:
            continue
        other = first.setdefault(one.field.name, one.header)
        if other is not one.header or [m.header for m in matches].count(one.header) > 1:
            doubles.append(findings.DoubleColumn(column=one.header, values={"field": one.field.name, "other": other}))
    return doubles
