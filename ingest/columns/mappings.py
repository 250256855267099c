"""A mapping file: what a person settled for the files of one sender, in a small TOML that is written once and edited.

```toml
decimal = ","            # decimal mark of the file: "." or ","
measures = "imperial"    # what a bare gallon, ton, hundredweight or bushel means: "us" or "imperial"
sheet = "Stock"          # sheet of a workbook

[columns]
"HP" = { field = "pto_power_kw", unit = "hp" }
"Bay" = { field = "" }    # left out on purpose
"column F" = { field = "mass_kg", unit = "lb" }    # by its place: the sixth; also "6"

[values."Type"]              # what the words of a column stand for
"Kreiselegge" = "power_harrow"
```
"""

from __future__ import annotations

import json
import stat
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any, ClassVar, cast

from evener.ingest.columns import headers
from evener.ingest.columns.headers import Choice, Match
from evener.ingest.files.readers import Table
from evener.ingest.text.cells import DecimalMark
from evener.ingest.text.places import heading_of, place
from evener.schema import fields, units
from evener.schema.units import Measures

LARGEST = 64 * 1024
_ENGINES = ("gross", "net")
_TOP = {"decimal": (".", ","), "measures": ("us", "imperial"), "sheet": (), "columns": (), "values": ()}
_DEEPEST_KEY = 8


class WrongMapping(Exception):
    """A mapping that cannot be used; the text says what is wrong and what to write."""

    exit_status: ClassVar[int] = 2


@dataclass(frozen=True)
class FileMapping:
    """What is settled by hand for a file.

    Attributes
    ----------
    columns : by heading, what it means
    decimal : decimal mark, or "" when the file's cells shall settle it
    measures : what a bare gallon, ton, hundredweight or bushel means
    sheet : sheet of a workbook
    values : by heading, the word that a cell's text stands for
    """

    columns: Mapping[str, Choice] = field(default_factory=dict)
    decimal: DecimalMark = ""
    measures: Measures = "us"
    sheet: str | None = None
    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)


def read_mapping(path: Path, record: str) -> FileMapping:
    """Return what a mapping file settles for a kind of record.

    Parameters
    ----------
    path : a TOML file of at most 64 kB
    record : kind of record whose fields its columns name

    Raises
    ------
    WrongMapping
        It cannot be read, or says something that does not exist; every mistake is named.
    """
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise WrongMapping(f"{path.name} is no regular file. Name a mapping in TOML.")
        with path.open("rb") as file:
            content = file.read(LARGEST + 1)
    except OSError as error:
        raise WrongMapping(f"{path} cannot be read: {error.strerror}. Check its name and rights.") from None
    if len(content) > LARGEST:
        raise WrongMapping(f"{path.name} is larger than {LARGEST // 1024} kB. A mapping names columns only.")
    try:
        text = content.decode("utf-8-sig")
        # A key of thousands of parts keeps the parser busy for most of a minute.
        if any(line.split("=")[0].count(".") > _DEEPEST_KEY and not _is_quoted(line) for line in text.splitlines()):
            raise WrongMapping(f"{path.name} has a key of many parts. Put headings in quotation marks.")
        held = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        reason = str(error) if isinstance(error, tomllib.TOMLDecodeError) else "it is no UTF-8 text in TOML"
        raise WrongMapping(f"{path.name}: {reason}. Put headings in quotation marks.") from None
    return _mapping(held, record, path.name)


def _is_quoted(line: str) -> bool:
    return line.lstrip().startswith(('"', "'", "#"))


def _mapping(held: dict[str, Any], record: str, name: str) -> FileMapping:
    wrong = [f"{key!r} is no setting; use {', '.join(_TOP)}" for key in held if key not in _TOP] + [
        f"{key} is {held[key]!r}; use {' or '.join(map(repr, allowed))}"
        for key, allowed in _TOP.items()
        if allowed and key in held and held[key] not in allowed
    ]
    if not isinstance(held.get("sheet", ""), str):
        wrong.append("sheet is no text in quotation marks")
    columns = held.get("columns", {})
    choices: dict[str, Choice] = {}
    for header, said in columns.items() if isinstance(columns, dict) else ():
        choice = _choice(header, said, record)
        if isinstance(choice, Choice):
            choices[header] = choice
        else:
            wrong.append(choice)
    if not isinstance(columns, dict):
        wrong.append("columns is no table; write [columns] and under it one line per heading")
    values = held.get("values", {})
    if not isinstance(values, dict) or not all(_are_words(words) for words in values.values()):
        wrong.append('values is no table of words; write [values."HEADING"] and under it "TEXT" = "WORD"')
    if wrong:
        raise WrongMapping(f"{name}: {'; '.join(wrong)}.")
    return FileMapping(
        choices,
        cast("DecimalMark", held.get("decimal", "")),
        cast("Measures", held.get("measures", "us")),
        held.get("sheet"),
        values,
    )


def _are_words(words: Any) -> bool:
    return isinstance(words, dict) and all(isinstance(word, str) for word in words.values())


def _choice(header: str, said: Any, record: str) -> Choice | str:
    """Return what a line of the mapping says, or what is wrong with it."""
    if not isinstance(said, dict) or not all(isinstance(value, str) for value in said.values()):
        return f'column {header!r} needs {{ field = "...", unit = "..." }}'
    strange = set(said) - {"field", "unit", "engine"}
    if strange or "field" not in said:
        return f"column {header!r} may say field, unit and engine, and must say field"
    known, name = fields.of(record), said["field"]
    if name and name not in known:
        near = get_close_matches(name, list(known), n=2, cutoff=0.5)
        hint = f"; did you mean {' or '.join(near)}?" if near else ""
        return f"column {header!r} names {name!r}, which is no field of a {record}{hint}"
    unit = said.get("unit") or None
    if unit and not units.known(unit) and (not name or known[name].unit != unit) and known[name].unit != "currency":
        return f"column {header!r} has the unit {unit!r}, which is not known"
    engine = said.get("engine") or None
    if engine and (engine not in _ENGINES or name != "engine_power_kw"):
        return f"column {header!r}: engine is gross or net, of an engine_power_kw"
    return Choice(name or None, unit, engine)


def said_column(text: str, record: str) -> tuple[str, Choice]:
    """Return a heading, or a place, and what it means, from one text: "column C=mass_kg lb", "Bay=".

    Parameters
    ----------
    text : HEADING=FIELD, with the unit of bare numbers behind it where there is one
    record : kind of record whose field it names

    Raises
    ------
    WrongMapping
        It says no such thing; the text says what to type.
    """
    heading, equals, said = text.rpartition("=")
    name, _, unit = said.strip().partition(" ")
    if not equals or not heading.strip():
        raise WrongMapping(f"{text!r} names no column: write --column 'HEADING=FIELD UNIT', or 'column C=FIELD UNIT'.")
    choice = _choice(heading.strip(), {"field": name, **({"unit": unit.strip()} if unit.strip() else {})}, record)
    if isinstance(choice, str):
        raise WrongMapping(f"{choice}. See: evener fields {record}.")
    return heading.strip(), choice


def placed(mapping: FileMapping, table: Table) -> FileMapping:
    """Return a mapping with headings alone, where it says columns by their place in the file.

    Parameters
    ----------
    mapping : what is settled, by heading or by place: "column C", "3"
    table : the file
    """
    held = {" ".join(header.split()).casefold() for name in table.headers for header in (name, heading_of(name))}
    at = dict(zip(table.places, table.headers, strict=False))

    def heading(said: str) -> str:
        # A heading that looks like a place goes before it.
        number = None if " ".join(said.split()).casefold() in held else place(said)
        return at.get(number, said) if number is not None else said

    columns = {heading(said): choice for said, choice in mapping.columns.items()}
    values = {heading(said): words for said, words in mapping.values.items()}
    return replace(mapping, columns=columns, values=values)


def written(matches: list[Match], record: str, mapping: FileMapping) -> str:
    """Return a mapping as TOML, to be edited and used again.

    Parameters
    ----------
    matches : what each column of a file is taken for
    record : kind of record
    mapping : the settings it was read with
    """
    lines = [
        f"# What the columns of a list of {record}s mean. Edit it, and use it with: evener ingest FILE --mapping THIS",
        '# field is a name that "evener fields" lists, or "" to leave the column out on purpose;',
        "# unit is that of bare numbers.",
    ]
    if mapping.decimal:
        lines.append(f"decimal = {json.dumps(mapping.decimal)}")
    else:
        lines.append('# decimal = ","           # decimal mark, where the cells do not settle it')
    lines.append(f"measures = {json.dumps(mapping.measures)}        # bare gallons and tons: us or imperial")
    if mapping.sheet is not None:
        lines.append(f"sheet = {json.dumps(mapping.sheet, ensure_ascii=False)}")
    lines += ["", "[columns]"]
    seen: set[str] = set()
    for one in matches:
        if one.header not in seen:  # a description that names the rows too stands once more behind the headings
            lines += _lines(one, record)
        seen.add(one.header)
    return "\n".join(lines) + "\n"


def _lines(one: Match, record: str) -> list[str]:
    if one.field is not None:
        return [headers.said(one.header, Choice(one.field.name, one.unit, one.implies.get("engine_power_kind")))]
    unit = headers.bare_power(one.header)
    if unit is None or record not in headers.POWER_CHOICES:
        return [f"# not loaded: {headers.said(one.header, Choice(None))}"]
    options = [choice for some in headers.POWER_CHOICES[record].values() for choice in some]
    return [
        "# says a power, but not which: take the # from the line that is right",
        *(f"# {headers.said(one.header, Choice(choice.field, unit or None, choice.engine))}" for choice in options),
    ]
