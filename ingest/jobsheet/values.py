"""One value of a job sheet: from what TOML holds to what a record holds, or a finding."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field, replace

from evener.ingest.findings import Finding
from evener.ingest.jobsheet import findings as found
from evener.ingest.jobsheet.chores import usual_machine
from evener.ingest.jobsheet.keys import Key, keys_of
from evener.ingest.jobsheet.lines import Lines, Path
from evener.ingest.jobsheet.words import Vocabulary, fold, match, near, near_words, phrases, terrain, usual
from evener.ingest.text import cell_errors, cells
from evener.schema import former_ids
from evener.schema.records import Choice, Quantity

LONGEST_NAME = 120
SHOWN = 12
_LISTED = re.compile(r"\s*[,;/]\s*|\s+and\s+")
_PARTED = re.compile(r"\s*(?:,|/|\bor\b|\bto\b|\band\b)\s*")


@dataclass
class Reading:
    """What is known while one sheet is read: its words, its lines, and what was found wrong so far."""

    vocabulary: Vocabulary
    lines: Lines
    findings: list[Finding] = field(default_factory=list)

    def report(self, kind: type[Finding], path: Path, raw: object = None, **values: object) -> None:
        """Add a finding at the line of a path; its key is named without the counts of lists."""
        column = one_line(".".join(part for part in path if isinstance(part, str))) or None
        shown = None if raw is None else as_written(raw)
        self.findings.append(kind(row=self.lines.of(path), column=column, raw=shown, values=values))


def one_line(text: str) -> str:
    """Return a text with its control signs spelled out, cut to what a message can show."""
    cut = text if len(text) <= LONGEST_NAME else f"{text[:LONGEST_NAME]}..."
    return "".join(sign if sign.isprintable() else sign.encode("unicode_escape").decode("ascii") for sign in cut)


def as_written(value: object) -> str:
    """Return a TOML value as a person would write it on one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    if isinstance(value, list):
        return one_line(f"[{', '.join(as_written(one) for one in value[:SHOWN])}]")
    if isinstance(value, dict):
        return "{...}"
    return f'"{one_line(value)}"' if isinstance(value, str) else one_line(str(value))


def kind_of(value: object) -> str:
    """Return what TOML calls a value."""
    names: tuple[tuple[type | tuple[type, ...], str], ...] = (
        (bool, "a true-or-false value"),
        ((dt.date, dt.time), "a date or time"),
        (str, "a text"),
        ((int, float), "a number"),
        (list, "a list"),
        (dict, "a table"),
    )
    return next(name for kind, name in names if isinstance(value, kind))


def suggestion(nearest: Iterable[str], allowed: Iterable[str]) -> str:
    """Return "did you mean ...?" for a near miss, and what is allowed for any other."""
    close, every = tuple(nearest), tuple(allowed)
    shown = ", ".join(every[:SHOWN])
    if close:
        asked = f"did you mean {' or '.join(close)}?"
        return asked if len(every) > SHOWN else f"{asked} allowed: {shown}"
    return f"use one of: {shown}{', ...' if len(every) > SHOWN else ''}" if every else "there is none to name"


def text(reading: Reading, path: Path, _key: Key, value: object) -> str | None:
    """Return a name: one line of printable text."""
    if not isinstance(value, str):
        reading.report(
            found.SheetType, path, value, found=kind_of(value), wanted='a text in quotes, such as "North field"'
        )
        return None
    if not value.strip() or len(value) > LONGEST_NAME or not value.isprintable():
        reason = f"a name is one line of 1 to {LONGEST_NAME} printable signs"
        reading.report(found.SheetValue, path, value[:LONGEST_NAME], reason=reason, hint="write a short name")
        return None
    return value.strip()


def value_text(reading: Reading, path: Path, value: object, example: str) -> str | None:
    """Return the text of a value that may be written as a text or as a bare TOML number."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        reading.report(found.SheetType, path, value, found=kind_of(value), wanted=f"a value such as {example}")
        return None
    if isinstance(value, float) and not math.isfinite(value):
        reading.report(found.SheetNotFinite, path, value)
        return None
    return value if isinstance(value, str) else repr(value)


def checked(
    reading: Reading, path: Path, key: Key, raw: object, read: Callable[[], Quantity], *, hint: str = ""
) -> Quantity | None:
    """Return a quantity within its bounds, or report why there is none."""
    try:
        quantity = read()
    except cell_errors.MissingUnit as error:
        reading.report(found.SheetNoUnit, path, raw, hint=error.remedy)
    except cell_errors.WrongUnit as error:
        of_volume = key.of == "kg" and "volume" in error.message and "volume" in keys_of(str(path[0]))
        hint = f'{error.remedy}; or say how much room it takes: volume = "{raw}"' if of_volume else error.remedy
        reading.report(found.SheetUnit, path, raw, reason=error.message, hint=hint)
    except cell_errors.NegativeValue:
        reading.report(found.SheetNegative, path, raw, allowed=key.allowed())
    except cell_errors.CellError as error:
        reading.report(found.SheetValue, path, raw, reason=error.message, hint=hint or error.remedy)
    else:
        if all(end is None or key.holds(end) for end in (quantity.low, quantity.high)):
            return quantity
        reading.report(found.SheetBounds, path, raw, allowed=key.allowed())
    return None


def quantity(reading: Reading, path: Path, key: Key, value: object) -> Quantity | None:
    """Return a quantity in the key's unit: exact, a range, about, or unknown."""
    said = value_text(reading, path, value, '"8 ft"' if key.of == "m" else f'"10 {key.of}"' if key.of != "1" else "3")
    if said is None:
        return None
    bare = said.strip()
    for noun in sorted(key.nouns, key=len, reverse=True):
        bare = bare.removesuffix(noun).strip()

    def read() -> Quantity:
        below = key.low is not None and key.low < 0
        one = cells.read_quantity(bare, key.of, default_unit=key.default_unit, negative=below)
        return replace(one, text=said.strip())

    return checked(reading, path, key, value, read)


def slope(reading: Reading, path: Path, key: Key, value: object) -> Quantity | None:
    """Return a slope from per cent, degrees or one-in-so-many, or from words for the lie of the land."""
    said = value_text(reading, path, value, '"8 %"')
    if said is None:
        return None
    spans, spellings = terrain(), usual("terrain")
    words = [match(part, spellings) for part in _PARTED.split(said)]
    if all(words):
        chosen = [spans[word] for word in words if word]
        return Quantity(min(one.low for one in chosen), max(one.high for one in chosen), "range", said.strip())
    if not any(sign.isdigit() or sign == "?" for sign in said) and near_words(said, spellings):
        reading.report(found.SheetWord, path, value, hint=suggestion(near_words(said, spellings), spans))
        return None
    return checked(reading, path, key, value, lambda: cells.read_slope(said))


def number(reading: Reading, path: Path, key: Key, value: object) -> float | None:
    """Return one number within its bounds; a share may be written in per cent."""
    said = value_text(reading, path, value, "0.3")
    if said is None:
        return None
    hint = f"write {key.allowed()}"
    one = checked(reading, path, key, value, lambda: cells.read_quantity(said, "1", negative=True), hint=hint)
    if one is None:
        return None
    if one.given != "exact":
        reading.report(found.SheetValue, path, value, reason=f"{said!r} is not one number", hint=hint)
        return None
    return one.low


def count(reading: Reading, path: Path, key: Key, value: object) -> int | None:
    """Return a whole number within its bounds."""
    one = number(reading, path, key, value)
    if one is not None and one != int(one):
        reading.report(found.SheetValue, path, value, reason="a count is a whole number", hint=f"write {key.allowed()}")
        return None
    return None if one is None else int(one)


def words(reading: Reading, path: Path, key: Key, value: object) -> Choice | None:
    """Return a choice from the key's list: one word, several with "or" between them, or all of them for "?"."""
    if not isinstance(value, str):
        reading.report(found.SheetType, path, value, found=kind_of(value), wanted="a word in quotes")
        return None
    allowed = reading.vocabulary.words(key.of)
    if cells.is_unknown(value):
        return Choice(tuple(allowed), value.strip())
    whole = match(value, allowed)
    if whole is not None:
        return Choice((whole,), value.strip())
    among: list[str] = []
    for part in _PARTED.split(value.strip()):
        one = match(part, allowed)
        if one is None:
            reading.report(found.SheetWord, path, part, hint=suggestion(near_words(part, allowed), allowed))
            return None
        among.append(one)
    if re.search(r"\bto\b", value):
        steps = list(allowed)
        first, last = sorted((steps.index(among[0]), steps.index(among[-1])))
        among = steps[first : last + 1]
    return Choice(tuple(dict.fromkeys(among)), value.strip())


def word(reading: Reading, path: Path, key: Key, value: object) -> str | None:
    """Return one word of the key's list."""
    if isinstance(value, int) and not isinstance(value, bool):
        value = str(value)
    if not isinstance(value, str):
        reading.report(found.SheetType, path, value, found=kind_of(value), wanted="a word in quotes")
        return None
    allowed = reading.vocabulary.words(key.of)
    one = match(value, allowed)
    if one is None:
        reading.report(found.SheetWord, path, value, hint=suggestion(near_words(value, allowed), allowed))
    return one


def word_list(reading: Reading, path: Path, key: Key, value: object) -> tuple[str, ...] | None:
    """Return some words of the key's list, each once."""
    if not isinstance(value, list):
        return None if (one := word(reading, path, key, value)) is None else (one,)
    found_words = [word(reading, (*path, index), key, one) for index, one in enumerate(value)]
    return tuple(dict.fromkeys(one for one in found_words if one is not None))


@dataclass(frozen=True, slots=True)
class Named:
    """A family named by a phrase of the trade that tells its build too."""

    family: str
    build: str


@dataclass(frozen=True, slots=True)
class Build:
    """How a machine is made and carried, as a sheet says it in one text.

    Attributes
    ----------
    attachment : how it is carried, or None
    kind : which of its family it is, or None
    duty : light, medium or heavy, or None
    """

    attachment: str | None = None
    kind: str | None = None
    duty: str | None = None
    text: str = ""


DUTIES = ("light", "medium", "heavy")


def build(reading: Reading, path: Path, _key: Key, value: object) -> Build | None:
    """Return a build from one text: how it is carried, which kind it is, and its duty, in any order."""
    if not isinstance(value, str):
        reading.report(found.SheetType, path, value, found=kind_of(value), wanted="a word in quotes")
        return None
    carried, kinds = usual("attachment"), usual("build")
    whole = match(value, carried) or match(value, kinds)
    parts = [value] if whole is not None else [part for part in _LISTED.split(value.strip()) if part]
    result = Build(text=value.strip())
    for part in parts:
        attachment, kind = match(part, carried), match(part, kinds)
        if attachment is not None and result.attachment is None:
            result = replace(result, attachment=attachment)
        elif kind in DUTIES and result.duty is None:
            result = replace(result, duty=kind)
        elif kind is not None and kind not in DUTIES and result.kind is None:
            result = replace(result, kind=kind)
        else:
            allowed = {**carried, **kinds}
            reading.report(found.SheetWord, path, part, hint=suggestion(near_words(part, allowed), allowed))
            return None
    return result


def both(said: Build | None, carried: Build | None) -> Build | None:
    """Return the build a sheet says, filled in with what the family's own phrase carries."""
    if said is None or carried is None:
        return said or carried
    return replace(
        said,
        attachment=said.attachment or carried.attachment,
        kind=said.kind or carried.kind,
        duty=said.duty or carried.duty,
    )


def yes_no(reading: Reading, path: Path, _key: Key, value: object) -> bool | None:
    """Return yes or no, as TOML's true and false or as a word."""
    if isinstance(value, bool):
        return value
    word_said = fold(value) if isinstance(value, str) else None
    if word_said in {"yes", "y", "true"}:
        return True
    if word_said in {"no", "n", "false"}:
        return False
    reading.report(found.SheetType, path, value, found=kind_of(value), wanted="true or false")
    return None


def family(reading: Reading, path: Path, _key: Key, value: object) -> str | Named | None:
    """Return a family id by its id, its name, a trade spelling, or a phrase that carries the build with it."""
    allowed = reading.vocabulary.families
    named = phrases().get(fold(value)) if isinstance(value, str) else None
    if named is not None and named[0] in allowed:
        return Named(*named)
    one = match(value, allowed) if isinstance(value, str) else None
    if one is None:
        usual = usual_machine(str(value))
        hint = suggestion(near_words(str(value), allowed), allowed)
        if usual in allowed:
            hint = f'that is work; its usual machine: family = "{usual}"'
        reading.report(found.SheetFamily, path, value, hint=hint)
    return one


def implement(reading: Reading, path: Path, _key: Key, value: object) -> str | None:
    """Return the id of an implement record; where a family is named the finding says which key takes it."""
    ids = reading.vocabulary.implements
    if isinstance(value, str) and former_ids.found(value, ids) not in ids and match(value, reading.vocabulary.families):
        reading.report(
            found.SheetImplement, path, value, hint=f'for a machine known by its kind write family = "{value}"'
        )
        return None
    return _record(reading, path, found.SheetImplement, ids, value)


def tractor(reading: Reading, path: Path, _key: Key, value: object) -> str | None:
    """Return the id of a tractor record."""
    return _record(reading, path, found.SheetTractor, reading.vocabulary.tractors, value)


def _record(reading: Reading, path: Path, kind: type[Finding], ids: Collection[str], value: object) -> str | None:
    said = former_ids.found(value, ids) if isinstance(value, str) else ""
    if said in ids:
        return said
    exact = next((one for one in ids if isinstance(value, str) and fold(one) == fold(value)), None)
    if exact is None:
        every = sorted(ids)
        reading.report(kind, path, value, hint=suggestion(near(str(value), every), every))
    return exact


def animals(reading: Reading, path: Path, key: Key, value: object) -> dict[str, int] | None:
    """Return head of each kind of animal."""
    if not isinstance(value, dict):
        reading.report(found.SheetType, path, value, found=kind_of(value), wanted="a table such as { cattle = 40 }")
        return None
    herd: dict[str, int] = {}
    allowed = reading.vocabulary.words("animal")
    for name, head in value.items():
        kind = match(name, allowed)
        if kind is None:
            reading.report(found.SheetWord, (*path, name), name, hint=suggestion(near_words(name, allowed), allowed))
            continue
        many = count(reading, (*path, name), key, head)
        if many is not None:
            herd[kind] = herd.get(kind, 0) + many
    return herd


def pto_speeds(reading: Reading, path: Path, _key: Key, value: object) -> tuple[int, ...] | None:
    """Return PTO speeds [rpm] from 540, "540 and 1000" or a list."""
    parts = value if isinstance(value, list) else _PARTED.split(str(value).replace("rpm", " ").strip())
    speeds = [int(part) for part in map(str, parts) if part in {"540", "750", "1000", "1300", "2000"}]
    if len(speeds) != len(parts) or not speeds:
        reading.report(found.SheetWord, path, value, hint='write "540", "1000" or "540 and 1000"')
        return None
    return tuple(speeds)


def task_names(reading: Reading, path: Path, _key: Key, value: object) -> tuple[str, ...] | None:
    """Return the names of tasks a machine takes; whether they exist is settled when all tasks are read."""
    names = [value] if isinstance(value, str) else value
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        reading.report(
            found.SheetType, path, value, found=kind_of(value), wanted='a list of names, such as ["Feed bales"]'
        )
        return None
    return tuple(name.strip() for name in names)
