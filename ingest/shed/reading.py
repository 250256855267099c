"""A shed file as it is written: its sections read key by key, each mistake with its line."""

from __future__ import annotations

import stat
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path as File
from typing import Any

from evener.ingest.findings import Finding
from evener.ingest.jobsheet import findings as sheet
from evener.ingest.jobsheet import values as shared
from evener.ingest.jobsheet.keys import Key
from evener.ingest.jobsheet.lines import Lines, Path, deep_key_line
from evener.ingest.jobsheet.reading import syntax
from evener.ingest.jobsheet.values import Reading, kind_of, suggestion
from evener.ingest.jobsheet.words import Vocabulary, near
from evener.ingest.shed import findings as found
from evener.ingest.shed import values
from evener.ingest.shed.keys import SECTIONS, keys_of

LARGEST = 256 * 1024
_READERS: Mapping[str, Callable[[Reading, Path, Key, Any], Any]] = {
    "text": shared.text,
    "number": shared.number,
    "count": shared.count,
    "yes_no": shared.yes_no,
    "measure": values.measure,
    "date": values.date,
    "names": values.names,
    "place": values.place,
    "word": values.word,
}
NEEDED = {
    "shed": ("name", "from", "to"),
    "member": ("name",),
    "road": ("between",),
    "window": ("member", "task", "from", "to"),
    "kept": ("thing",),
    "veto": ("member", "refuses"),
}


@dataclass
class Part:
    """One table of a shed file: its values by field, and where it stands."""

    path: Path
    line: int
    values: dict[str, Any] = field(default_factory=dict)

    def get(self, name: str, other: Any = None) -> Any:
        """Return a value, or another where it is not there."""
        return self.values.get(name, other)


@dataclass
class ShedFile:
    """A shed file as it was read.

    Attributes
    ----------
    file : the file
    reading : what was found so far
    shed : the [shed] table
    members, roads, windows, kept, vetoes : the lists of tables, in the order of the file
    """

    file: File
    reading: Reading
    shed: Part
    members: list[Part]
    roads: list[Part]
    windows: list[Part]
    kept: list[Part]
    vetoes: list[Part]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is wrong or remarkable so far, in the order of its lines."""
        return tuple(sorted(self.reading.findings, key=lambda one: one.row or 0))


def read_shed_file(path: str | File, vocabulary: Vocabulary) -> ShedFile | tuple[Finding, ...]:
    """Return a shed file with what was found in it, or why there is none.

    Parameters
    ----------
    path : a regular file of at most 256 kB, UTF-8
    vocabulary : the words it may use
    """
    file = File(path)
    text = _text(file)
    if not isinstance(text, str):
        return (text,)
    deep = deep_key_line(text)
    if deep is not None:
        return (sheet.SheetNesting(row=deep),)
    try:
        document = tomllib.loads(text)
        reading = Reading(vocabulary, Lines(text))
    except RecursionError:
        return (sheet.SheetNesting(),)
    except ValueError as error:
        return (syntax(text, str(error)),)
    return _parts(file, reading, document)


def _text(file: File) -> str | Finding:
    try:
        if not stat.S_ISREG(file.stat().st_mode):
            return sheet.SheetUnreadable(values={"reason": "it is not a regular file"})
        with file.open("rb") as stream:
            data = stream.read(LARGEST + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "its name cannot be used"
        return sheet.SheetUnreadable(values={"reason": reason.lower()})
    if len(data) > LARGEST:
        return sheet.SheetTooLarge(values={"most": LARGEST})
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        return sheet.SheetEncoding(row=data.count(b"\n", 0, error.start) + 1)


def _parts(file: File, reading: Reading, document: Mapping[str, Any]) -> ShedFile:
    for name in document:
        if name not in SECTIONS:
            hint = suggestion((f"[{one}]" for one in near(name, SECTIONS)), (f"[{one}]" for one in SECTIONS))
            reading.report(sheet.SheetUnknownKey, (name,), hint=hint)
    shed = _part(reading, ("shed",), "shed", document.get("shed", {}))
    lists = {section: _listed(reading, section, document.get(section)) for section in SECTIONS[1:]}
    if not lists["member"]:
        reading.report(found.ShedNoMember, ())
    return ShedFile(file, reading, shed, lists["member"], lists["road"], lists["window"], lists["kept"], lists["veto"])


def _listed(reading: Reading, section: str, tables: object) -> list[Part]:
    if tables is None:
        return []
    if not isinstance(tables, list):
        shape = "one table" if isinstance(tables, dict) else kind_of(tables)
        reading.report(sheet.SheetShape, (section,), found=shape, wanted=f"a list of tables: [[{section}]]")
        return []
    return [_part(reading, (section, index), section, table) for index, table in enumerate(tables)]


def _part(reading: Reading, path: Path, section: str, table: object) -> Part:
    part = Part(path, reading.lines.of(path))
    if not isinstance(table, dict):
        reading.report(sheet.SheetShape, path, found=kind_of(table), wanted=f"a table: [{section}]")
        return part
    allowed = keys_of(section)
    for name, value in table.items():
        key = allowed.get(name)
        if key is None:
            reading.report(sheet.SheetUnknownKey, (*path, name), value, hint=suggestion(near(name, allowed), allowed))
            continue
        one = _READERS[key.kind](reading, (*path, name), key, value)
        if one is not None:
            part.values[key.field] = one
    for name in NEEDED[section]:
        if name not in table:
            reading.report(sheet.SheetMissingKey, (*path, name), hint=f"add {name}: {allowed[name].meaning}")
    return part
