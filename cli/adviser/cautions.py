"""The cautions of the first screen: the first sentence of as many as there is room for."""

from __future__ import annotations

import textwrap
from collections.abc import Collection

from evener.cli.adviser.fitting import WIDTH


def first(cautions: list[str], names: Collection[str], room: int) -> list[str]:
    """Return the first sentence of as many cautions as there is room for; the last one always.

    Parameters
    ----------
    cautions : as `rank` says them
    names : what a caution may be about, before a colon: tasks and tractors
    room : lines of `WIDTH` columns
    """
    sentences = [_first_sentence(one, names) for one in cautions]
    last = sentences[-1:]
    kept: list[str] = []
    for one in sentences[:-1]:
        if len(textwrap.wrap(" ".join([*kept, one, *last]), WIDTH)) <= room:
            kept.append(one)
    return textwrap.wrap(" ".join([*kept, *last]), WIDTH)


def _first_sentence(text: str, names: Collection[str]) -> str:
    """Return the first sentence, with what it is about, up to a colon where what stands before it says the thing."""
    first = text.split(". ", 1)[0].rstrip(".")
    head, colon, rest = first.partition(": ")
    about = bool(colon) and (head in names or all(one in names for one in head.split(", ")))
    said, cut, _ = (rest if about else first).partition(": ")
    kept = said if cut and len(said) > WIDTH // 2 else rest if about else first
    return f"{head}: {kept}." if about else f"{kept}."
