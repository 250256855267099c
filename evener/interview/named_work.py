"""Work as people name it in one line: "rotary cutter 6 ft on pasture, round baler 30 % in 2029"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.ingest.jobsheet.answers import AnswerRefused, check_value
from evener.ingest.jobsheet.chores import built_as, usual_machine
from evener.ingest.jobsheet.words import fold, match, near_words
from evener.interview.prompts import parts

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from evener.ingest.jobsheet.words import Vocabulary

_YEAR = re.compile(r"\s*\b(?:in\s+)?(20\d\d)\b")
_CHANCE = re.compile(r"\s*\b(\d{1,3})\s*(?:%|per cent|percent)")
_LAND = re.compile(r"\s+on\s+(?:the\s+)?([a-z_ ]+?)\s*$", re.IGNORECASE)
_SIZE = re.compile(r"\s*(?:\babout\s+|~)?\d.*$")


@dataclass(frozen=True)
class Named:
    """One piece of work.

    Attributes
    ----------
    family : kind of implement
    implement : id of its record, where that was named
    size : its size as typed, or None
    land : use of the land, or None
    chance, year : of a plan, as typed, or None
    chore : what the work was called, where no machine was named and the usual one is taken
    build : how the machine is made, where its name says so
    """

    family: str
    implement: str | None = None
    size: str | None = None
    land: str | None = None
    chance: str | None = None
    year: int | None = None
    chore: str | None = None
    build: str | None = None


def work_of(said: str, words: Vocabulary, sized_by: Mapping[str, str], land: Sequence[str]) -> list[Named]:
    """Return the work of one line; an empty line is none.

    Parameters
    ----------
    said : as typed
    words : the words a sheet may use
    sized_by : by family, the key of a sheet that holds the size it is known by
    land : uses of the land that the place has

    Raises
    ------
    AnswerRefused
        A kind of implement that is not known, or a size, a chance or land that cannot be held.
    """
    return [_one(part, words, sized_by, land) for part in parts(said)]


def _one(part: str, words: Vocabulary, sized_by: Mapping[str, str], land: Sequence[str]) -> Named:
    text, chance, year, use = part, None, None, None
    if found := _CHANCE.search(text):
        chance, text = f"{found[1]} %", text[: found.start()] + text[found.end() :]
    if found := _YEAR.search(text):
        year, text = int(found[1]), text[: found.start()] + text[found.end() :]
    if found := _LAND.search(text):
        use, text = match(found[1], words.land_uses), text[: found.start()]
        if use not in land:
            raise AnswerRefused(f"{found[1]!r} is no land of this place", f"Use {', '.join(land) or 'none'}")
    chore = None
    record = next((one for one in words.implements if text.casefold().split()[:1] == [one.casefold()]), None)
    if record is not None:
        return Named(words.implements[record], record, None, use, chance, year)
    size = None
    if found := _SIZE.search(text):
        size, text = found[0].strip(), text[: found.start()]
    family = match(text.strip(), words.families)
    build = None
    if family is None and (built := built_as(text)) is not None and built[0] in words.families:
        (family, build), chore = built, text.strip()
    if family is None and (usual := usual_machine(part)) in words.families:
        family, chore = usual, text.strip()
        use = use or next((one for one in land if one in fold(text).split()), None)
    if family is None:
        close = near_words(text.strip(), words.families)
        hint = f"Did you mean {' or '.join(close)}?" if close else "See: evener list families"
        raise AnswerRefused(f"{text.strip()!r} is no kind of implement and no record", hint)
    if size is not None:
        if family not in sized_by:
            raise AnswerRefused(f"a {family.replace('_', ' ')} is not known by one size", "Leave the size out here")
        check_value("task", sized_by[family], size, words, family=family)
    if chance is not None:
        check_value("task", "chance", chance, words, family=family)
    return Named(family, None, size, use, chance, year, chore, build or None)
