"""What the first screen has room for: each thing in two lines at most, and what matters least dropped."""

from __future__ import annotations

import textwrap

WIDTH = 80
NAME = 12
DROPPED, NEEDED = 4, 9
LONGEST = 4


class Said:
    """One thing the screen says, in two lines at most, and how much it matters where there is no room for all."""

    def __init__(
        self, name: str, text: str, matters: int, table: list[str] | None = None, *, whole: bool = False
    ) -> None:
        self.name = name
        self.text = text
        self.matters = matters
        self.whole = whole
        self.lines = fact(name, text, most=LONGEST if whole else 2) if table is None else table

    def shorten(self) -> bool:
        """Say it in one line, and tell whether it took two."""
        longer = len(self.lines) == 2 and not self.whole
        if longer:
            self.lines = fact(self.name, self.text)
        return longer


def fitted(said: list[Said], room: int) -> list[Said]:
    """Return what there is room for: what matters least is dropped, the rest shortened, and more of it dropped then."""
    kept = list(said)
    by_need = sorted(said, key=lambda one: one.matters)
    while sum(len(one.lines) for one in kept) > room and by_need:
        least = by_need.pop(0)
        if least.matters <= DROPPED:
            kept.remove(least)
        else:
            least.shorten()
    while (
        sum(len(one.lines) for one in kept) > room
        and (least := min(kept, key=lambda one: one.matters)).matters < NEEDED
    ):
        kept.remove(least)
    return kept


def fact(name: str, text: str, most: int = 1) -> list[str]:
    """Return a short name and what is to be said of it, in so many lines at most."""
    if not text:
        return []
    wrapped = textwrap.wrap(text, WIDTH - NAME - 2)
    if len(wrapped) > most:
        wrapped = [*wrapped[: most - 1], f"{wrapped[most - 1][: WIDTH - NAME - 5].rstrip()}..."]
    return [f"  {name if at == 0 else '':<{NAME}}{one}" for at, one in enumerate(wrapped)]


def cut(text: str) -> str:
    """Return as much of a line as the screen is wide."""
    return text if len(text) <= WIDTH else f"{text[: WIDTH - 3].rstrip()}..."
