"""What the cells of a column say of its meaning, where the heading says little: yes and no, pairs, other words.

Each gives columns of its own, which stand behind those of the file and are never written back as its text.
"""

from __future__ import annotations

import csv
import dataclasses
import re
from collections.abc import Collection, Mapping, Sequence
from functools import lru_cache
from importlib import resources

from evener.ingest import findings
from evener.ingest.columns import naming, powers
from evener.ingest.columns.families import TYPE_HEADINGS, family_called, family_named
from evener.ingest.columns.field_cells import DATED, without_date
from evener.ingest.columns.headers import Match, fold
from evener.ingest.columns.understood import Understood, texts_of
from evener.ingest.files.sections import HEADING
from evener.ingest.text.texts import Texts
from evener.schema import fields
from evener.schema.fields import Field

_YES = frozenset(["y", "yes", "ja", "oui", "si", "sí", "x", "true", "wahr", "vrai", "1", "✓", "✔"])
_NO = frozenset(["n", "no", "nein", "non", "false", "falsch", "faux", "0", "none"])
_ASKED = re.compile(
    r"[(\[ ]*(?:\by ?/ ?n\b|\byes ?/ ?no\b|\bja ?/ ?nein\b|\boui ?/ ?non\b|\bs[ií] ?/ ?no\b)[)\]]*|\?", re.IGNORECASE
)
_FEWEST_WORDS = 1
_MOST_KNOWN = 0.5
FAMILY, LABEL = "family", "label"
_PRICE, _STATE = "price", "stock_status"
_TOOLS_OWN = "status"  # of the record


def understood(
    matches: Sequence[Match],
    columns: Sequence[Texts],
    record: str,
    chosen: Collection[str] = (),
    families: Mapping[str, str] | None = None,
) -> Understood:
    """Return what columns mean by their cells too.

    Parameters
    ----------
    matches : what the headings say
    columns : the cells of each column
    record : kind of record
    chosen : headings that a person settled
    families : family by folded name
    """
    found = Understood(list(matches), list(columns), [])
    if record not in ("tractor", "implement"):
        return found
    for one in [match for match in matches if match.header not in chosen]:
        if one not in found.matches:
            continue  # another column took its place
        (
            _answered(found, one, record)
            or powers.paired(found, one, record)
            or powers.of_speeds(found, one, record)
            or _sold(found, one, record)
            or _other_words(found, one, record)
        )
    powers.beside_shaft(found, record, chosen)
    if record == "implement":
        _kind_in_label(found, families or {})
        _two_kinds(found, families or {}, chosen)
        _by_section(found, families or {})
    return found


def _two_kinds(found: Understood, families: Mapping[str, str], chosen: Collection[str]) -> None:
    """Of two columns that say kinds, take the one whose words are all known, and the other for what it is called."""
    kinds = [one for one in found.matches if one.field is not None and one.field.name == FAMILY]
    loose = [one for one in kinds if one.header not in chosen]
    at = {one.position for one in kinds}
    # Where nothing else says what a machine is called, its kind does, until the other column is known to.
    lent = [one for one in found.matches if one.position in at and one not in kinds]
    said = {one.field.name for one in found.matches if one.field is not None and one not in lent}
    if len(kinds) != 2 or not loose or "label" in said or len(lent) > 1:
        return
    texts = {one.header: texts_of(found.columns[one.position]) for one in kinds}
    known = [one for one in kinds if all(family_named(text, families) for text in texts[one.header])]
    other = next((one for one in loose if one not in known), None)
    if len(known) == len(kinds) and _agree([found.columns[one.position] for one in kinds], families):
        known, other = known[:1], next((one for one in loose if fold(one.header) not in TYPE_HEADINGS), None)
    if len(known) == 1 and other is not None:
        found.matches = [one for one in found.matches if one not in lent]
        place = found.matches.index(other)
        found.matches[place] = dataclasses.replace(other, field=fields.of("implement")["label"])


def _agree(columns: Sequence[Texts], families: Mapping[str, str]) -> bool:
    """Tell whether two columns of kinds name the same kind on every row."""
    one, other = columns
    meant = [[family_named(text, families) for text in column.distinct] for column in columns]
    return all(meant[0][a] == meant[1][b] for a, b in zip(one.codes.tolist(), other.codes.tolist(), strict=True))


def _by_section(found: Understood, families: Mapping[str, str]) -> None:
    """Take the title of its section for the kind of an implement that says none itself."""
    title = next((one for one in found.matches if one.header == HEADING), None)
    if title is None:
        return
    sections = found.columns[title.position]
    named = [family_named(text, families) or "" for text in sections.distinct]
    own = next((one for one in found.matches if one.field is not None and one.field.name == FAMILY), None)
    if own is None:
        if any(named):
            found.beside(title, fields.of("implement")[FAMILY], Texts(sections.codes, named))
        return
    cells_of = found.columns[own.position]
    blank = [not text.strip() for text in cells_of.distinct]
    if any(named) and any(blank):
        texts = [
            named[section] if blank[cell] else cells_of.distinct[cell]
            for section, cell in zip(sections.codes.tolist(), cells_of.codes.tolist(), strict=True)
        ]
        found.instead(own, fields.of("implement")[FAMILY], Texts.of(texts))


def _kind_in_label(found: Understood, families: Mapping[str, str]) -> None:
    """Take what implements are called for their kind, where no column says it and most are called by one."""
    label = next((one for one in found.matches if one.field is not None and one.field.name == LABEL), None)
    titled = any(one.header == HEADING for one in found.matches)
    if label is None or FAMILY in found.held or (titled and _is_named_by_section(found, families)):
        return
    column = found.columns[label.position]
    named = {text: family_called(text, families) for text in texts_of(column)}
    if named and _MOST_KNOWN * len(named) <= sum(name is not None for name in named.values()):
        texts = [named.get(text) or text for text in column.distinct]
        found.beside(label, fields.of("implement")[FAMILY], Texts(column.codes, texts))


def _is_named_by_section(found: Understood, families: Mapping[str, str]) -> bool:
    title = next(one for one in found.matches if one.header == HEADING)
    return any(family_named(text, families) for text in found.columns[title.position].distinct)


@lru_cache(maxsize=1)
def _asked() -> Mapping[tuple[str, str], Mapping[str, str]]:
    text = resources.files("evener.ingest.columns").joinpath("yes_no.csv").read_text(encoding="utf-8")
    return {(row["record"], fold(row["heading"])): row for row in csv.DictReader(text.splitlines())}


def _answered(found: Understood, one: Match, record: str) -> bool:
    """Read a column that answers its heading with yes and no."""
    row = _asked().get((record, fold(_ASKED.sub(" ", one.header))))
    column = found.columns[one.position]
    said = {text.strip().casefold() for text in texts_of(column)}
    if row is None or not said or not said <= _YES | _NO:
        return False
    name = fields.of(record)[row["field"]]
    if name.name in found.held - ({one.field.name} if one.field else set()):
        return False

    def meant(text: str) -> str:
        word = text.strip().casefold()
        return row["yes"] if word in _YES else row["no"] if word in _NO else ""

    found.instead(one, name, Texts(column.codes, [meant(text) for text in column.distinct]))
    return True


def _sold(found: Understood, one: Match, record: str) -> bool:
    """Take a word such as "sold" in the place of a price for what it says of the unit, which then has no price."""
    if one.field is None or one.field.name != _PRICE or _STATE in found.held:
        return False
    state, column = fields.of(record)[_STATE], found.columns[one.position]
    said = {text for text in texts_of(column) if _reads(state, text)}
    if not said:
        return False
    words = Texts(column.codes, [text if text in said else "" for text in column.distinct])
    own = next((other for other in found.matches if other.field is not None and other.field.name == _TOOLS_OWN), None)
    if own is not None and any(_reads(state, text) for text in texts_of(found.columns[own.position])):
        stated = found.columns[own.position]
        both = [stated[row].strip() or words[row] for row in range(len(stated))]
        found.instead(own, state, Texts.of(both))
    else:
        found.beside(one, state, words)
    found.columns.append(Texts(column.codes, ["" if text in said else text for text in column.distinct]))
    found.matches[found.matches.index(one)] = dataclasses.replace(one, position=len(found.columns) - 1)
    return True


def _other_words(found: Understood, one: Match, record: str) -> bool:
    """Take a column of words for the one field whose words they all are, where they are none of its own."""
    if one.field is None or one.field.kind != "choice" or one.field.name == "kind":
        return False
    said = texts_of(found.columns[one.position])
    if len(said) < _FEWEST_WORDS or any(_reads(one.field, text) for text in said):
        return False
    place = found.matches.index(one)
    others = [
        other
        for other in fields.of(record).values()
        if other.kind == "choice" and other.name not in found.held and all(_reads(other, text) for text in said)
    ]
    if len(others) == 1:
        found.matches[place] = dataclasses.replace(one, field=others[0], unit=None)
        if one.field.name != _TOOLS_OWN:  # a seller's status is that of the unit, and nothing to wonder at
            values = {"field": others[0].name, "usual": one.field.name}
            found.noticed.append(findings.ColumnByCells(column=one.header, values=values))
        return True
    state = fields.of(record)[_STATE]
    if one.field.name == _TOOLS_OWN and _STATE not in found.held and any(_reads(state, text) for text in said):
        found.matches[place] = dataclasses.replace(one, field=state)
        return True
    if one.field.name == _TOOLS_OWN or naming.is_loose(one):
        found.matches[place] = dataclasses.replace(one, field=None)
        found.noticed.append(findings.UnknownColumn(column=one.header, values={"record": record, "near": ""}))
        return True
    return False


def _reads(one: Field, text: str) -> bool:
    words = {fold(word) for word in one.choice_spellings}
    return fold(text) in words or (one.name in DATED and fold(without_date(text)) in words)
