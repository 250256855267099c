"""The questions of the interview: what each asks, what an empty line means, and what it can hold."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from evener.ingest.jobsheet.answers import AnswerRefused, check_value
from evener.ingest.jobsheet.words import Vocabulary, match, near_words
from evener.interview.said import NOT_KNOWN, SKIP

_USE_AREA = re.compile(r"(?P<use>[^\d~?]*?)[\s:=]*(?P<area>(?:(?:about|~)\s*)?[\d?].*)")
_HEAD = re.compile(r"(?P<kind>[^\d]+?)[\s:=]*(?P<head>\d+)|(?P<first>\d+)\s*(?P<last>[^\d]+)")


@dataclass(frozen=True)
class Prompt:
    """One question.

    Attributes
    ----------
    text : as it is put
    usual : what an empty line stands for, in words; empty where it ends a list or leaves a thing out
    check : raises AnswerRefused for an answer that cannot be held
    unknown : whether "don't know" is an answer
    needed : what is said where it is passed over and cannot be; empty where it can
    """

    text: str
    usual: str
    check: Callable[[str], Any]
    unknown: bool = False
    needed: str = ""

    def heard(self, said: str) -> str:
        """Return an answer as it is kept: what an empty line stands for, or what was typed.

        Raises
        ------
        AnswerRefused
            One that cannot be held.
        """
        if self.needed and said in {SKIP, NOT_KNOWN}:
            raise AnswerRefused(self.needed, "Say one at least")
        if said == SKIP or (said == NOT_KNOWN and not self.unknown):
            return self.usual
        self.check(said)
        return said

    def shown(self) -> str:
        """Return the question with what an empty line stands for."""
        return f"{self.text} [{self.usual}]" if self.usual else self.text


def key(vocabulary: Vocabulary, section: str, name: str, text: str, usual: str, *, family: str | None = None) -> Prompt:
    """Return a question whose answer is the value of a key of the sheet."""

    def check(said: str) -> None:
        if said != NOT_KNOWN:
            check_value(section, name, said, vocabulary, **({"family": family} if family else {}))

    return Prompt(text, usual, check, unknown=usual == NOT_KNOWN)


def yes_or_no(text: str, usual: str = "no") -> Prompt:
    """Return a question that is answered yes or no."""

    def check(said: str) -> None:
        if said.casefold() not in {"yes", "no", "y", "n"}:
            raise AnswerRefused(f"{said!r} is neither yes nor no", "Type yes or no")

    return Prompt(text, usual, check)


def is_yes(said: str) -> bool:
    """Return whether an answer is a yes."""
    return said.casefold() in {"yes", "y"}


def land_of(said: str, vocabulary: Vocabulary) -> list[tuple[str, str]]:
    """Return uses and areas from "pasture 40 ac, hay 12 ac".

    Raises
    ------
    AnswerRefused
        A use that is not known, an area that is none, or a use named twice.
    """
    found: dict[str, str] = {}
    for part in parts(said):
        read = _USE_AREA.fullmatch(part)
        if read is None or not read["use"].strip():
            raise AnswerRefused(f"{part!r} is no land", 'Write use and area, such as "pasture 40 ac, hay 12 ac"')
        use = match(read["use"].strip(), vocabulary.land_uses)
        if use is None:
            raise _no_word(read["use"].strip(), vocabulary.land_uses)
        if use in found:
            raise AnswerRefused(f"{use} stands twice", "Write each use once, with its whole area")
        check_value("land", "area", read["area"], vocabulary)
        found[use] = read["area"].strip()
    return list(found.items())


def herd_of(said: str, vocabulary: Vocabulary) -> dict[str, int]:
    """Return head of each kind of animal from "cattle 40, sheep 20".

    Raises
    ------
    AnswerRefused
        A kind that is not known, or no number.
    """
    herd: dict[str, int] = {}
    for part in parts(said):
        read = _HEAD.fullmatch(part)
        if read is None:
            raise AnswerRefused(f"{part!r} is no herd", 'Write kind and head, such as "cattle 40, sheep 20"')
        name, head = (read["kind"] or read["last"]).strip(), int(read["head"] or read["first"])
        kind = match(name, vocabulary.animals)
        if kind is None:
            raise _no_word(name, vocabulary.animals)
        if head > 100000:
            raise AnswerRefused(f"{head} head is out of bounds", "Write 0 to 100000")
        herd[kind] = herd.get(kind, 0) + head
    return herd


def parts(said: str) -> list[str]:
    """Return the parts of a list as people write it; a comma within a number parts nothing."""
    return [part.strip() for part in re.split(r"[,;](?!\d{3}\b)", said) if part.strip()]


def _no_word(said: str, words: Any) -> AnswerRefused:
    close = near_words(said, words)
    hint = f"Did you mean {' or '.join(close)}?" if close else f"Use {', '.join(list(words)[:12])}"
    return AnswerRefused(f"{said!r} is not known", hint)


def several_of(said: str, names: Iterable[str]) -> list[str]:
    """Return those of several names that are meant by them, or by their numbers; all of them for "all".

    Raises
    ------
    AnswerRefused
        One that is none of them.
    """
    every = list(names)
    if said.strip().casefold() in {"all", "yes"}:
        return every
    if said.strip().casefold() in {"none", "no"}:
        return []
    found: dict[str, None] = {}
    for part in parts(said):
        whole = match(part, dict.fromkeys(every, ()))
        found |= dict.fromkeys([whole] if whole else [one_of(one, every) for one in _apart(part)])
    return list(found)


def _apart(part: str) -> list[str]:
    """Return "1 3" as two numbers; anything else as it is."""
    return part.split() if part.replace(" ", "").isdigit() else [part]


def numbered(names: Iterable[str]) -> str:
    """Return names with their numbers, as they are picked from."""
    return ", ".join(f"{number} {name}" for number, name in enumerate(names, 1))


def one_of(said: str, names: Iterable[str]) -> str:
    """Return the one of several names that is meant by it, or by its number.

    Raises
    ------
    AnswerRefused
        It is none of them.
    """
    every = list(names)
    said = said.strip()
    if said.isdigit() and 1 <= int(said) <= len(every):
        return every[int(said) - 1]
    found = match(said.strip(), dict.fromkeys(every, ()))
    if found is None:
        raise AnswerRefused(f"{said!r} is none of them", f"Type one of: {', '.join(every)}, or its number")
    return found
