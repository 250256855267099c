"""Columns of powers whose headings alone do not say which: pairs in a cell, and a bare power beside that at the shaft.

"45 hp (37 PTO)" gives two powers, and so does "45/37" under "HP (Eng/PTO)". A column headed HP is the engine's where
another gives the power at the power take-off and its own is larger on every row.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Collection, Iterator

from evener.ingest import findings
from evener.ingest.columns import heading_words
from evener.ingest.columns.headers import Match, bare_power, fold, match
from evener.ingest.columns.understood import Understood, texts_of
from evener.ingest.text import cell_errors, cells
from evener.ingest.text.places import heading_of
from evener.ingest.text.texts import Texts
from evener.schema import fields, units

_NUMBER = r"\d+(?:[.,]\d+)?"
_UNIT = r"hp|ps|kw|ch|cv|pk"
_PAIR = re.compile(
    rf"(?P<engine>{_NUMBER}) ?(?P<unit>{_UNIT})?(?: engine)? ?[(/,] ?"
    rf"(?P<pto>{_NUMBER}) ?(?P<unit2>{_UNIT})? ?(?:at (?:the )?)?"
    rf"(?:pto|zapfwelle|pdf|tdf)(?: ?(?:{_UNIT}))?\)?",
    re.IGNORECASE,
)
_BARE_PAIR = re.compile(
    rf"(?P<first>{_NUMBER}) ?(?P<unit>{_UNIT})? ?(?:/|-|\||\() ?(?P<second>{_NUMBER}) ?(?P<unit2>{_UNIT})?\)?",
    re.IGNORECASE,
)
_PARTS = ("first", "second")
_TWO_UNITS = re.compile(rf"[\[(]?\b(?P<first>{_UNIT}) ?/ ?(?P<second>{_UNIT})\b[\])]?", re.IGNORECASE)
_SAME_ROUNDED = 0.03  # one power in two units, each rounded to whole ones
_ENGINE, _SHAFT = "engine_power_kw", "pto_power_kw"
_SPEEDS = "pto_speeds_rpm"
_SPEED = re.compile(
    r"(?:540|750|1000|1,000)(?: ?e(?:co)?)?(?: ?[/,;&+-] ?(?:540|750|1000)(?: ?e(?:co)?)?)*(?: ?rpm)?", re.IGNORECASE
)
_LEAST, _MOST = 1.02, 1.7  # engine's power over the shaft's: common practice, no source
_SAME = 0.015  # two columns of one power in two units, each rounded


def paired(found: Understood, one: Match, record: str) -> bool:
    """Part a column that gives the engine's power and that at the power take-off in one cell."""
    if record != "tractor" or _SHAFT in found.held:
        return False
    is_power = one.field is not None and one.field.name == _ENGINE
    column = found.columns[one.position]
    order = _both_named(one.header)
    if order is not None:
        pairs = {text: _BARE_PAIR.fullmatch(" ".join(text.split())) for text in texts_of(column)}
        engine, shaft = ("first", "second") if order else ("second", "first")
    elif is_power or (one.field is None and bare_power(heading_of(one.header)) is not None):
        pairs = {text: _PAIR.fullmatch(" ".join(text.split())) for text in texts_of(column)}
        engine, shaft = "engine", "pto"
    else:
        return False
    if not pairs or not all(pair and _is_larger(pair[engine], pair[shaft]) for pair in pairs.values()):
        return False
    heading = one.unit or _unit_in(one.header)

    own = {engine: "unit", shaft: "unit2"} if engine != "second" else {engine: "unit2", shaft: "unit"}

    def part(which: str) -> Texts:
        held = []
        for text in column.distinct:
            pair = pairs.get(text)
            given = pair and (pair[own[which]] or pair["unit"] or pair["unit2"] or heading or "")
            held.append(f"{pair[which]} {given}".strip() if pair else "")
        return Texts(column.codes, held)

    known = fields.of(record)
    found.beside(one, known[_SHAFT], part(shaft), heading or None)
    found.instead(one, known[_ENGINE], part(engine), heading or None)
    return True


def in_two_units(found: Understood, one: Match, record: str) -> bool:
    """Take the first of two numbers in a cell that say one power in the two units of the heading: "55/75", kW/PS."""
    units_of = _TWO_UNITS.search(one.header)
    if one.field is not None or units_of is None:
        return False
    texts = texts_of(found.columns[one.position])
    if not texts:
        return False
    factors = [units.factor(units_of[part], "kW") for part in ("first", "second")]
    pairs = {text: _BARE_PAIR.fullmatch(" ".join(text.split())) for text in texts}
    for pair in pairs.values():
        if pair is None or pair["unit"] or pair["unit2"]:
            return False
        first, second = (
            float(pair[part].replace(",", ".")) * factor for part, factor in zip(_PARTS, factors, strict=True)
        )
        if abs(first - second) > _SAME_ROUNDED * second:
            return False
    stem = " ".join(_TWO_UNITS.sub(" ", one.header).split())
    meant = match([f"{stem} ({units_of['first']})"], record)[0][0]
    column = found.columns[one.position]
    held = [pair["first"] if (pair := pairs.get(text)) else "" for text in column.distinct]
    found.columns.append(Texts(column.codes, held))
    new = Match(one.header, len(found.columns) - 1, meant.field, units_of["first"], meant.implies)
    found.matches[found.matches.index(one)] = new
    if meant.field is not None:
        found.answered.add(one.header)
    return True


def of_speeds(found: Understood, one: Match, record: str) -> bool:
    """Take a column headed PTO for the speeds of the shaft, where its cells are speeds and its heading no power's."""
    shaft = one.field is not None and one.field.name in (_SHAFT, "rated_pto_power_kw") and one.unit is None
    if not shaft or _SPEEDS in found.held:
        return False
    texts = texts_of(found.columns[one.position])
    if not texts or not all(_SPEED.fullmatch(" ".join(text.split())) for text in texts):
        return False
    found.matches[found.matches.index(one)] = dataclasses.replace(one, field=fields.of(record)[_SPEEDS], unit="rpm")
    return True


def _both_named(header: str) -> bool | None:
    """Tell whether a heading names the engine before the shaft; None where it does not name both."""
    words = fold(header).split()
    engine = [place for place, word in enumerate(words) if word in heading_words.words(heading_words.ENGINE)]
    shaft = [place for place, word in enumerate(words) if word in heading_words.words(heading_words.SHAFT)]
    return engine[0] < shaft[0] if engine and shaft else None


def _unit_in(header: str) -> str:
    given = [word for word in fold(header).split() if len(word) > 1 and units.known(word)]
    named = [word for word in given if units.find(word).dimension == "power"]
    return named[0] if len(named) == 1 else ""


def _is_larger(one: str, other: str) -> bool:
    return float(one.replace(",", ".")) > float(other.replace(",", "."))


def beside_shaft(found: Understood, record: str, chosen: Collection[str]) -> None:
    """Take a column of bare powers for the engine's, where another gives the shaft's and every row bears it out."""
    if record != "tractor" or _ENGINE in found.held:
        return
    shaft = next((one for one in found.matches if one.field is not None and one.field.name == _SHAFT), None)
    loose = [one for one in found.matches if one.field is None and one.header not in chosen]
    bare = [one for one in loose if (one.unit or bare_power(heading_of(one.header)))]
    if shaft is None or not bare:
        return
    at_shaft = list(_powers(found.columns[shaft.position], shaft.unit))
    taken: list[float | None] = []
    for one in bare:
        unit = one.unit or bare_power(heading_of(one.header))
        powers = list(_powers(found.columns[one.position], unit))
        if taken:
            both = [(a, b) for a, b in zip(taken, powers, strict=True) if a and b]
            if both and all(abs(a / b - 1) <= _SAME for a, b in both):
                continue  # the same once more
            return
        both = [(a, b) for a, b in zip(powers, at_shaft, strict=True) if a and b]
        if not both or not all(_LEAST <= a / b <= _MOST for a, b in both):
            return
        taken = powers
    place = found.matches.index(bare[0])
    unit = bare[0].unit or bare_power(heading_of(bare[0].header))
    found.matches[place] = dataclasses.replace(bare[0], field=fields.of(record)[_ENGINE], unit=unit)
    found.answered |= {one.header for one in bare}
    found.noticed.append(findings.EngineBesideShaft(column=bare[0].header, values={"other": shaft.header}))


def _powers(column: Texts, unit: str | None) -> Iterator[float | None]:
    """Yield what each row says in kW, or None where it says no one power."""
    held: list[float | None] = []
    for text in column.distinct:
        try:
            quantity = cells.read_quantity(text, "kW", default_unit=unit, decimal="")
        except cell_errors.CellError:
            held.append(None)
        else:
            held.append(quantity.low if quantity.given == "exact" else None)
    for code in column.codes.tolist():
        yield held[code]
