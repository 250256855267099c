"""A page of headings, facts, tables and bullets, kept as it is filled, to be written as one HTML file."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field

from evener.cli.output import render


@dataclass(frozen=True)
class Block:
    """One thing under a heading: sentences, points, facts by name, or a table; the rest of it is empty."""

    said: str = ""
    points: tuple[str, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()
    header: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()


@dataclass
class Part:
    """A heading, empty above the first one, and what stands under it."""

    heading: str
    blocks: list[Block] = field(default_factory=list)


class Printed(render.Page):
    """Takes what a screen takes, and keeps it in parts."""

    def __init__(self) -> None:
        super().__init__()
        self.name = ""
        self.parts = [Part("")]

    def title(self, text: str) -> None:
        """Take the page's title."""
        self.name = text

    def heading(self, text: str) -> None:
        """Begin a part."""
        self.parts.append(Part(text))

    def lead(self, text: str) -> None:
        """Add a sentence."""
        self._add(Block(said=text))

    def facts(self, facts: Iterable[tuple[str, str]]) -> None:
        """Add facts by name."""
        self._add(Block(facts=tuple(facts)))

    def bullets(self, texts: Iterable[str]) -> None:
        """Add a list."""
        self._add(Block(points=tuple(texts)))

    def table(
        self,
        header: Sequence[str],
        rows: Sequence[Sequence[str]],
        right: Collection[int] = (),  # noqa: ARG002  a page is read, not added up
        *,
        may_drop: bool = False,  # noqa: ARG002  nothing has to go
    ) -> list[str]:
        """Add a table; paper has room for every column."""
        self._add(Block(header=tuple(map(_headed, header)), rows=tuple(map(tuple, rows))))
        return []

    def _add(self, block: Block) -> None:
        self.parts[-1].blocks.append(block)


def _headed(name: str) -> str:
    """Return a heading with a capital; an id stays as it is typed."""
    return name if any(char.isdigit() for char in name) else f"{name[:1].upper()}{name[1:]}"
