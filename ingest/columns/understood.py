"""Columns and their meanings while their cells are looked at: those of the file, and those made of their cells."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from evener.ingest.columns.headers import Match
from evener.ingest.findings import Finding
from evener.ingest.text import cells
from evener.ingest.text.texts import Texts
from evener.schema.fields import Field


@dataclass
class Understood:
    """Columns and their meanings after their cells were looked at."""

    matches: list[Match]
    columns: list[Texts]
    noticed: list[Finding]
    answered: set[str] = dataclasses.field(default_factory=set)

    @property
    def held(self) -> set[str]:
        """Fields that a column fills."""
        return {one.field.name for one in self.matches if one.field is not None}

    def instead(self, old: Match, name: Field, column: Texts, unit: str | None = None) -> None:
        """Let a column of its own stand for one of the file, whose text is left as it is."""
        self.columns.append(column)
        new = Match(old.header, len(self.columns) - 1, name, unit)
        place = self.matches.index(old) if old in self.matches else len(self.matches)
        self.matches[place : place + 1] = [new]

    def beside(self, old: Match, name: Field, column: Texts, unit: str | None = None) -> None:
        """Add a column of its own beside the others."""
        self.columns.append(column)
        self.matches.append(Match(old.header, len(self.columns) - 1, name, unit))


def texts_of(column: Texts) -> list[str]:
    """Return the different texts of a column that say anything."""
    used = set(column.codes.tolist())
    return [text for place, text in enumerate(column.distinct) if place in used and not cells.is_no_figure(text)]
