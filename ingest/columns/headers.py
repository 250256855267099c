"""From column headings to fields of the nomenclature, with the unit a heading gives.

A heading is matched by the spellings of `fields.csv`, with case and punctuation folded. A choice made by hand for an
unusual heading goes before them.
"""

from __future__ import annotations

import dataclasses
import json
import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from itertools import zip_longest

from evener.ingest import findings
from evener.ingest.columns import heading_words
from evener.ingest.findings import Finding
from evener.ingest.text import money
from evener.ingest.text.places import heading_of
from evener.schema import fields, units
from evener.schema.fields import Field
from evener.schema.units import Measures

_BRACKETS = re.compile(r"(?P<stem>[^\[(]*?)\s*[\[(](?P<inside>[^\[\]()]*)[\])]\s*")
# Letters of every script stay, so that a look-alike is no spelling of the trade; raised figures count as letters.
_WORDS = re.compile(r"[^\W\d_]+|\d+")
_RAISED = re.compile(r"[\u00b9\u00b2\u00b3\u2070-\u2079]+")
_ORDINALS = {ord("\u00ba"): "o", ord("\u00b0"): "o", ord("\u2116"): "no"}  # as in Nº, N° and №
_INCH_MARK = re.compile(r"(?<=\d)\s*[\"\u2033]")
_LONGEST_UNIT = 3  # words, as in "US gal min"
_NAMED_BY_UNIT = {"meter_hours_h": "h"}  # a meter of hours counts hours, in any language
_ENGINE_KINDS = ("gross", "net")
PRICE = "price"


_NO_HEADING = re.compile(r"\(column \d+\)|\(section\)")  # reported already
# Headings of the tool's own lists, which say where a row was refused and why.
OWN_HEADING = "evener "


@dataclass(frozen=True)
class Choice:
    """What a person settled for one heading: its field and unit, or no field at all.

    Attributes
    ----------
    field : the field it fills, or None
    unit : unit of its bare numbers
    engine : whether an engine power is gross or net
    """

    field: str | None
    unit: str | None = None
    engine: str | None = None


# Words of a heading that says a power, and neither that it is the engine's nor that it is the shaft's.
_POWER_WORDS = frozenset(
    {"power", "horsepower", "horse", "horses", "rated", "rating", "required", "needed", "requirement"}
    | {"min", "minimum", "max", "maximum", "tractor", "gross", "net"}
)
_SAYS_POWER = frozenset({"power", "horsepower", "horse", "horses"})
_WATT = "w"  # far more often the heading of a width
# What a bare power may mean, as a person says it and as a mapping does.
POWER_CHOICES: dict[str, dict[str, tuple[Choice, ...]]] = {
    "tractor": {
        "engine power": (Choice("engine_power_kw", "hp", "gross"), Choice("engine_power_kw", "hp", "net")),
        "PTO power": (Choice("pto_power_kw", "hp"),),
    },
    "implement": {
        "PTO power": (Choice("rated_pto_power_kw", "hp"),),
        "tractor power": (Choice("rated_tractor_power_kw", "hp"),),
    },
}


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
    """Return a heading or word without case, accents and punctuation, its digits apart from its letters."""
    text = text.translate(_ORDINALS)
    letters = unicodedata.normalize("NFD", text.casefold())
    plain = "".join(sign for sign in letters if not unicodedata.combining(sign))
    return " ".join(_WORDS.findall(_INCH_MARK.sub(" in ", plain)))


def knows(record: str, choices: Mapping[str, Choice] | None = None) -> Callable[[str], bool]:
    """Return what tells whether a text is a heading of a kind of record.

    Parameters
    ----------
    record : kind of record
    choices : settled by hand, by heading
    """
    spelled = _spellings(record)
    settled = {_folded(header) for header in choices or {}}

    def is_heading(text: str) -> bool:
        header = " ".join(text.split())
        return bool(header) and (_folded(header) in settled or _match(header, 0, spelled, record).field is not None)

    return is_heading


def match(
    headers: Sequence[str],
    record: str,
    choices: Mapping[str, Choice] | None = None,
    units_row: Sequence[str | None] = (),
    measures: Measures = "us",
) -> tuple[list[Match], list[Finding]]:
    """Return what each column means, and what is wrong with the headings.

    Parameters
    ----------
    headers : headings as written
    record : kind of record the rows are
    choices : settled by hand, by heading
    units_row : unit that a row of units gives each column, or None
    measures : what a bare gallon, ton, hundredweight or bushel means

    Raises
    ------
    KeyError
        A choice names a field the record does not have.
    """
    known = fields.of(record)
    spelled = _spellings(record)
    settled = {_folded(header): choice for header, choice in (choices or {}).items()}
    present = {_folded(said) for header in headers for said in (header, heading_of(header))}
    matches: list[Match] = []
    noticed: list[Finding] = [
        findings.UnusedMapping(column=header) for header in choices or {} if _folded(header) not in present
    ]
    for position, (header, below) in enumerate(zip_longest(headers, units_row[: len(headers)])):
        heading = heading_of(header)
        chosen = settled.get(_folded(header), settled.get(_folded(heading)))
        if chosen is not None:
            implies = {"engine_power_kind": chosen.engine} if chosen.engine else {}
            one = Match(header, position, known[chosen.field] if chosen.field else None, chosen.unit, implies)
        else:
            one = dataclasses.replace(_match(heading, position, spelled, record), header=header)
            if one.field is None and not header.startswith(OWN_HEADING) and not _NO_HEADING.fullmatch(header):
                noticed.append(dataclasses.replace(_unmatched(heading, record, spelled), column=header))
            if one.field is None and below is not None and bare_power(f"{heading} {below}"):
                one = dataclasses.replace(one, unit=below)
        if one.field is not None and one.field.unit and below is not None:
            is_money = one.field.unit == "currency"
            if one.unit is not None and chosen is None and not is_money and not _same_unit(one.unit, below):
                noticed.append(findings.UnitsDiffer(column=header, values={"unit": below, "field": one.field.name}))
                matches.append(Match(header, position, None))
                continue
            one = dataclasses.replace(one, unit=one.unit or below)
        if one.field is not None and one.unit is not None:
            problem = _unit_problem(one, measures)
            if problem is not None:
                noticed.append(problem)
                matches.append(Match(header, position, None))
                continue
        matches.append(one)
    return matches, noticed


def _folded(header: str) -> str:
    return " ".join(header.split()).casefold()


def _same_unit(one: str, other: str) -> bool:
    return units.known(one) and units.known(other) and units.find(one) == units.find(other)


@lru_cache(maxsize=64)
def _spellings(record: str) -> dict[str, Field]:
    spelled: dict[str, Field] = {}
    for one in fields.of(record).values():
        for spelling in (one.name, one.plain_name, *one.spellings):
            if spelled.setdefault(fold(spelling), one) is not one:
                raise ValueError(f"fields.csv: {spelling!r} is spelled for two fields of a {record}")
    return spelled


def _match(header: str, position: int, spelled: Mapping[str, Field], record: str) -> Match:
    ways = _parted(header)
    found = _spelled(header, position, spelled, ways)
    if found is not None and not _is_of_another_kind(found):
        return found
    told = _in_other_words(header, position, spelled, record, ways)
    return told if told is not None else found or Match(header, position, None)


def _is_of_another_kind(found: Match) -> bool:
    """Tell whether a heading's unit measures something else than the field it names: "PTO rpm" is no power."""
    if found.field is None or found.unit is None or not found.field.is_measured or not units.known(found.unit):
        return False
    return units.known(found.field.unit) and units.find(found.unit).dimension != units.find(found.field.unit).dimension


def _in_other_words(
    header: str, position: int, spelled: Mapping[str, Field], record: str, ways: Sequence[tuple[str, str | None]]
) -> Match | None:
    """Return what a heading means by short forms, without words that stand beside, or with its words in any order."""
    for stem, unit in ways:
        for words, may_name in heading_words.shorter(stem, record):
            found = _spelled(header, position, spelled, [(words, unit)])
            if found is not None and found.field is not None and (may_name or not found.field.key):
                return found
    for stem, unit in ways:
        found = _spelled(header, position, spelled, [(heading_words.without_money(stem), unit)])
        if found is not None and found.field is not None and found.field.unit == "currency":
            return found
    for stem, unit in _behind_unit(header):
        one = spelled.get(stem) or _in_any_order(record).get(heading_words.in_any_order(stem))
        if one is not None and one.is_measured and not _is_of_another_kind(Match(header, position, one, unit)):
            return Match(header, position, one, unit)
    for stem, unit in ways:
        one = _in_any_order(record).get(heading_words.in_any_order(stem))
        if one is not None:
            return Match(header, position, one, unit if one.unit else None)
    if header.strip() in money.SIGNS and PRICE in fields.of(record):
        return Match(header, position, fields.of(record)[PRICE], header.strip())
    return None


@lru_cache(maxsize=64)
def _in_any_order(record: str) -> Mapping[frozenset[str], Field]:
    """Return the fields by the words of their headings in any order, where these are two or more and of one field."""
    found: dict[frozenset[str], set[str]] = {}
    for spelling, one in _spellings(record).items():
        words = heading_words.in_any_order(spelling)
        plain = words - _SAYS_POWER if one.unit == "kW" else words
        for said in {words, plain}:
            # A single word may be a field's own in one order alone: that of a list that spells it so.
            if not one.key and (len(said) > 1 or (said != words and len(said) == 1)):
                found.setdefault(said, set()).add(one.name)
    known = fields.of(record)
    return {words: known[min(names)] for words, names in found.items() if len(names) == 1}


def _behind_unit(header: str) -> Iterator[tuple[str, str]]:
    """Yield the words of a heading without the one unit among them: "PS Motor", "HP req'd (PTO)"."""
    words = [(word, word.strip("()[]{},.:;'")) for word in header.split()]
    given = [
        (word, bare)
        for word, bare in words
        if not bare.isdigit() and units.known(bare) and (len(bare) > 1 or word[0] in "([")
    ]
    if len(given) == 1 and len(words) > 1:
        yield _stem(" ".join(word for word, _ in words if word != given[0][0])), given[0][1]


def _spelled(
    header: str, position: int, spelled: Mapping[str, Field], ways: Sequence[tuple[str, str | None]]
) -> Match | None:
    """Return what a heading means where one of the ways to part it is spelled so for a field."""
    for stem, unit in ways:
        kind = next((word for word in _ENGINE_KINDS if word in stem.split()), None)
        plain = " ".join(word for word in stem.split() if word != kind)
        for words, implies in ((stem, {}), (plain, {"engine_power_kind": kind} if kind else {})):
            one = spelled.get(words)
            if one is None or (implies and one.name != "engine_power_kw"):
                continue
            within = _unit_within(words, one) or _NAMED_BY_UNIT.get(one.name) if unit is None else unit
            return Match(header, position, one, within if one.unit else None, implies)
    return None


def _unit_within(heading: str, one: Field) -> str | None:
    """Return the unit that is part of a heading's own words: a field's full name, or "engine hours"."""
    if not one.is_measured:
        return None
    if heading == fold(one.name):
        return one.unit
    if not units.known(one.unit):
        return None
    meant = units.find(one.unit).dimension
    return next(
        (word for word in heading.split()[::-1] if units.known(word) and units.find(word).dimension == meant), None
    )


def _stem(text: str) -> str:
    # A heading may bear the mark of a footnote; it means the same.
    return fold(_RAISED.sub(" ", text))


def _parted(header: str) -> list[tuple[str, str | None]]:
    """Return the ways to part a heading into its name, folded, and its unit, the plainest first."""
    ways: list[tuple[str, str | None]] = []
    bracketed = _BRACKETS.fullmatch(header)
    if bracketed and bracketed["inside"].strip():
        ways.append((_stem(bracketed["stem"]), bracketed["inside"].strip()))
    ways.append((_stem(header), None))
    if "," in header:
        stem, unit = header.rsplit(",", 1)
        ways.append((_stem(stem), unit.strip()))
    words = [word for word in re.split(r"[\s_]+", header) if word]
    for count in range(min(_LONGEST_UNIT, len(words) - 1), 0, -1):
        stem = _stem(" ".join(words[:-count]))
        for joint in ("/", " "):
            unit = joint.join(words[-count:])
            if units.known(unit):
                ways += [(stem, unit), (stem.removesuffix(" in"), unit)]
    return ways


def bare_power(header: str) -> str | None:
    """Return the unit of a heading that says a power but not which, "" where it names none; None for other headings."""
    words = fold(header).split()
    given = [word for word in words if _is_power(word)]
    known = _POWER_WORDS | {fold(word) for word in heading_words.words(heading_words.POWER)}
    says = given or any(word in _SAYS_POWER for word in words)
    if not says or any(word not in known and word not in given for word in words):
        return None
    unit = next(iter(given), "")
    return "hp" if unit in _SAYS_POWER else unit


def _is_power(word: str) -> bool:
    return word != _WATT and units.known(word) and units.find(word).dimension == "power"


def said(header: str, choice: Choice) -> str:
    """Return a choice as the line of a mapping."""
    parts = [("field", choice.field), ("unit", choice.unit), ("engine", choice.engine)]
    held = ", ".join(f"{name} = {_quoted(value)}" for name, value in parts if value) or 'field = ""'
    return f"{_quoted(header)} = {{ {held} }}"


def _quoted(text: str) -> str:
    # JSON leaves this one sign as it stands, and TOML does not take it.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _unmatched(header: str, record: str, spelled: Mapping[str, Field]) -> Finding:
    unit = bare_power(header)
    if unit is not None and record in POWER_CHOICES:
        choices = POWER_CHOICES[record]
        lines = [said(header, dataclasses.replace(one, unit=unit or None)) for some in choices.values() for one in some]
        return findings.BarePower(column=header, values={"choices": " or ".join(choices), "lines": " or ".join(lines)})
    stems = {stem for stem, _ in _parted(header)}
    near = [spelling for stem in sorted(stems) for spelling in get_close_matches(stem, list(spelled), n=2, cutoff=0.75)]
    names = list(dict.fromkeys(spelled[spelling].name for spelling in near))
    hint = f"; did you mean {' or '.join(names)}?" if names else ""
    return findings.UnknownColumn(column=header, values={"record": record, "near": hint})


def _unit_problem(one: Match, measures: Measures) -> Finding | None:
    if one.field is None or one.unit is None or one.unit == one.field.unit:
        return None
    if one.field.unit == "currency":
        return findings.PriceInThousands(column=one.header) if money.in_thousands(one.unit) else None
    try:
        units.settled_factor(one.unit, one.field.unit, measures=measures)
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
