"""A TOML job sheet into a `JobSheet`, or into every mistake it holds, each with its line and its remedy."""

from __future__ import annotations

import re
import stat
import tomllib
from collections.abc import Callable, Collection, Mapping
from pathlib import Path as File
from typing import Any

from evener.ingest.findings import Finding
from evener.ingest.jobsheet import findings as found
from evener.ingest.jobsheet import money, records, rules, values
from evener.ingest.jobsheet.bales import bale
from evener.ingest.jobsheet.keys import SECTIONS, Key, keys_of
from evener.ingest.jobsheet.lines import Lines, Path, deep_key_line
from evener.ingest.jobsheet.rules import Section
from evener.ingest.jobsheet.values import Reading, kind_of, suggestion
from evener.ingest.jobsheet.words import Vocabulary, keys_meant, near
from evener.schema.records import JobSheet, Policy

LARGEST = 64 * 1024
LONGEST_LINE = 120

_LISTED = ("place.land", "task", "machine", "tractor")
_TOP = ("place", "task", "machine", "tractor", "policy", "prices", "hire")
_READERS: Mapping[str, Callable[[Reading, Path, Key, Any], Any]] = {
    "text": values.text,
    "quantity": values.quantity,
    "slope": values.slope,
    "number": values.number,
    "count": values.count,
    "words": values.words,
    "word": values.word,
    "word_list": values.word_list,
    "family": values.family,
    "implement": values.implement,
    "tractor": values.tractor,
    "animals": values.animals,
    "pto_speeds": values.pto_speeds,
    "tasks": values.task_names,
    "bale": bale,
    "build": values.build,
    "yes_no": values.yes_no,
    "amount": money.amount,
    "rate": money.rate,
    "tractor_prices": money.tractor_prices,
    "machine_prices": money.machine_prices,
    "hire_rates": money.hire_rates,
    "tables": lambda _reading, _path, _key, tables: tables,
}
_AT = re.compile(r"(?P<reason>.*) \(at (?:line (?P<line>\d+), column (?P<place>\d+)|end of document)\)")


def read_jobsheet(path: str | File, vocabulary: Vocabulary) -> tuple[JobSheet | None, list[Finding]]:
    """Return the job sheet of a TOML file, or None and everything that is wrong with it.

    Parameters
    ----------
    path : a regular file of at most 64 kB, UTF-8
    vocabulary : the words it may use

    Returns
    -------
    tuple
        The sheet with what is to be remarked, or None and the findings that refuse it with the others, in the order of
        their lines. Nothing is raised.
    """
    file = File(path)
    try:
        if not stat.S_ISREG(file.stat().st_mode):
            return None, [found.SheetUnreadable(values={"reason": "it is not a regular file"})]
        with file.open("rb") as stream:
            data = stream.read(LARGEST + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "its name cannot be used"
        return None, [found.SheetUnreadable(values={"reason": reason.lower()})]
    if len(data) > LARGEST:
        return None, [found.SheetTooLarge(values={"most": LARGEST})]
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        return None, [found.SheetEncoding(row=data.count(b"\n", 0, error.start) + 1)]
    return read_jobsheet_text(text, vocabulary, path=str(path))


def read_jobsheet_text(text: str, vocabulary: Vocabulary, *, path: str = "") -> tuple[JobSheet | None, list[Finding]]:
    """Return the job sheet of a TOML text, as `read_jobsheet` does.

    Parameters
    ----------
    text : TOML, at most 64 kB as UTF-8
    vocabulary : the words it may use
    path : where it came from, to be kept with the sheet
    """
    if len(text.encode("utf-8", "surrogatepass")) > LARGEST:
        return None, [found.SheetTooLarge(values={"most": LARGEST})]
    deep = deep_key_line(text)
    if deep is not None:
        return None, [found.SheetNesting(row=deep)]
    try:
        document = tomllib.loads(text)
        reading = Reading(vocabulary, Lines(text))
    except RecursionError:
        return None, [found.SheetNesting()]
    except ValueError as error:
        return None, [syntax(text, str(error))]
    sheet = _sheet(reading, document, path)
    return sheet, sorted(reading.findings, key=lambda finding: finding.row or 0)


def syntax(text: str, message: str) -> Finding:
    """Return the finding of a syntax error, with a hint at the usual slips."""
    where = _AT.fullmatch(message)
    lines = text.splitlines() or [""]
    row = int(where["line"]) if where and where["line"] else len(lines)
    place = int(where["place"]) if where and where["place"] else len(lines[-1]) + 1
    reason = (where["reason"] if where else message.partition(";")[0]).lower()
    line = lines[row - 1] if row <= len(lines) else ""
    hint = "check the quotes and brackets of that line"
    if "digits" in reason:
        reason = "a number of too many digits"
    elif "key part" in reason:
        hint = "keep an inline table { } on one line, without a comma at its end"
    elif "overwrite" in reason or "twice" in reason:
        hint = "keep one of the two; a second task or machine begins with its own [[task]] or [[machine]]"
    elif unquoted := re.match(r"\s*([\w-]+)\s*=\s*([^\"'\[{#\s][^#]*)", line[:LONGEST_LINE]):
        hint = f'put a value with words or a unit in quotes: {unquoted[1]} = "{unquoted[2].strip()}"'
    return found.SheetSyntax(row=row, values={"place": place, "reason": reason, "hint": hint})


def _belongs(name: str, close: Collection[str]) -> str:
    """Return where a key belongs that stands in a section that has none like it; nothing where no section has it."""
    homes = [SECTIONS[section] for section in SECTIONS if name in keys_of(section)]
    if close or not homes:
        return ""
    return f"it belongs under {' or '.join(f'[[{one}]]' if one in _LISTED else f'[{one}]' for one in homes)}"


def _sheet(reading: Reading, document: Mapping[str, Any], path: str) -> JobSheet | None:
    meant = set(document)
    for name in [one for one in document if one not in _TOP]:
        close = near(name, _TOP)
        meant.update(close)
        hint = _belongs(name, close) or suggestion((f"[{one}]" for one in close), (f"[{one}]" for one in _TOP))
        reading.report(found.SheetUnknownKey, (name,), hint=hint)
    place = _section(reading, ("place",), "place", document.get("place"))
    if "place" in document or "place" not in meant:
        rules.require(reading, place, "name", hint="add [place] with the name of the place")
    land = _sections(reading, ("place", "land"), "land", place.fields.pop("land", None))
    tasks = _sections(reading, ("task",), "task", document.get("task"))
    tractors = _sections(reading, ("tractor",), "tractor", document.get("tractor"))
    machines, older = _machines(reading, document.get("machine"))
    tractors += older
    policy, prices, hire = (
        _section(reading, (name,), name, document.get(name)) for name in ("policy", "prices", "hire")
    )
    if "task" not in meant:
        reading.report(found.SheetNoTask, ())
    rules.check_place(reading, land)
    whole = "place" in document and not place.broken and not any(one.broken for one in land)
    rules.check_machines(reading, machines)
    rules.check_tasks(reading, tasks, machines, land if whole else None)
    rules.check_tractors(reading, tractors, tasks)
    money.check_policy(reading, policy)
    said_of_money = money.money(reading, policy, prices, hire)
    if any(finding.refuses for finding in reading.findings):
        return None
    implements = tuple(records.machine(one, line=reading.lines.of(one.path)) for one in machines)
    return JobSheet(
        place=records.place(place, land),
        tasks=tuple(records.task(one, implements, line=reading.lines.of(one.path)) for one in tasks),
        machines=tuple(
            records.tractor(one, number, line=reading.lines.of(one.path)) for number, one in enumerate(tractors, 1)
        ),
        implements=implements,
        policy=Policy(**policy.fields),
        money=said_of_money,
        path=path,
    )


def _machines(reading: Reading, tables: object) -> tuple[list[Section], list[Section]]:
    """Return the machines of a sheet, and what earlier sheets called so: the tractors that are there."""
    listed = tables if isinstance(tables, list) else [tables] if isinstance(tables, dict) else []
    older = {index for index, table in enumerate(listed) if isinstance(table, dict) and rules.is_tractor(table)}
    if not older:
        return _sections(reading, ("machine",), "machine", tables), []
    machines, tractors = [], []
    for index, table in enumerate(listed):
        path = ("machine", index)
        if index in older:
            tractors.append(_section(reading, path, "tractor", table))
            reading.report(found.SheetTractorThere, path)
        else:
            machines.append(_section(reading, path, "machine", table))
    return machines, tractors


def _section(reading: Reading, path: Path, section: str, table: object) -> Section:
    """Return what one table holds, key by key; what cannot be read is reported and left out."""
    result = Section(path)
    if table is None:
        return result
    if not isinstance(table, dict):
        brackets = "[{}]" if len(path) == 1 else "[[{}]]"
        name = brackets.format(SECTIONS[section])
        reading.report(found.SheetShape, path, found=kind_of(table), wanted=f"a table: {name}")
        result.broken = True
        return result
    result.said.update(table)
    allowed = keys_of(section)
    writers: dict[str, str] = {}
    for name, value in table.items():
        key = allowed.get(name)
        if key is None:
            close = keys_meant(name, allowed)
            result.said.update(dict.fromkeys(close[:1], value))
            hint = _belongs(name, close) or suggestion(close, allowed).replace(
                ", ...", "; all of them: evener fields sheet"
            )
            reading.report(found.SheetUnknownKey, result.at(name), value, hint=hint)
            continue
        if key.field in writers:
            reading.report(
                found.SheetTwoWays, result.at(name), value, other=f"{SECTIONS[section]}.{writers[key.field]}"
            )
            continue
        writers[key.field] = name
        one = _READERS[key.kind](reading, result.at(name), key, value)
        if one is not None:
            result.fields[key.field] = one
    return result


def _sections(reading: Reading, path: Path, section: str, tables: object) -> list[Section]:
    """Return what each table of a list of tables holds."""
    if tables is None:
        return []
    if not isinstance(tables, list):
        shape = "one table" if isinstance(tables, dict) else kind_of(tables)
        reading.report(found.SheetShape, path, found=shape, wanted=f"a list of tables: [[{SECTIONS[section]}]]")
        return []
    return [_section(reading, (*path, index), section, table) for index, table in enumerate(tables)]
