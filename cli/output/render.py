"""Pages, tables, JSON and CSV on stdout, safe for a terminal and a spreadsheet."""

from __future__ import annotations

import csv
import io
import json
import shutil
import sys
import textwrap
from collections.abc import Collection, Iterable, Sequence
from typing import Any

from evener.cli.output import markdown, streams, tables
from evener.schema import printable

WIDEST = 132
NAMES = 15
plain = printable.one_line


def complain(text: str) -> None:
    """Write one line to stderr."""
    streams.tell(text)


def json_out(answer: Any) -> None:
    """Write an answer as JSON; a number that is none would be a defect, and is refused."""
    _write_data(printable.json_escaped(json.dumps(answer, ensure_ascii=False, allow_nan=False, indent=2)) + "\n")


def csv_out(rows: Sequence[dict[str, Any]], header: Sequence[str] = ()) -> None:
    """Write rows as CSV; a cell that a spreadsheet would run as a formula begins with an apostrophe."""
    names = list(header or (rows[0] if rows else ()))
    if not names:
        return
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, names, lineterminator="\n")
    writer.writerow({name: _cell(name) for name in names})
    writer.writerows([{key: _cell(value) for key, value in row.items()} for row in rows])
    _write_data(printable.lines(buffer.getvalue()))


def list_out(text: str) -> None:
    """Write a list that reads back: the same bytes everywhere; a terminal is shown what would drive it."""
    if sys.stdout.isatty():
        sys.stdout.write(text)
        return
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode())
    sys.stdout.buffer.flush()


def text_out(text: str) -> None:
    """Write text for another program as it stands."""
    _write_data(text)


def lines_out(lines: Sequence[str], *, markdown: bool = False) -> None:
    """Write lines as they stand; what the terminal's encoding cannot show is replaced, never refused."""
    shown = [plain(line) for line in lines]
    text = "\n".join(["```", *shown, "```", ""] if markdown else shown) + "\n"
    encoding = sys.stdout.encoding or "utf-8"
    sys.stdout.write(text.encode(encoding, "replace").decode(encoding))


def _write_data(text: str) -> None:
    """Write what programs read: in UTF-8 where the terminal's own encoding would lose something."""
    try:
        text.encode(sys.stdout.encoding or "utf-8")
    except UnicodeEncodeError:
        sys.stdout.reconfigure(encoding="utf-8")  # type: ignore[union-attr]
    sys.stdout.write(text)


def _cell(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and printable.runs_as_formula(value) else value


def no_room(names: Sequence[str], other: str) -> str:
    """Say which columns a screen had no room for, and how to see them."""
    counted = "this column" if len(names) == 1 else f"these {len(names)} columns"
    return f"No room here for {counted}: {', '.join(names)}. See them with {other}, a wider window, or --format csv."


class Page:
    """A page of headings, facts, tables and bullets, as plain text or Markdown."""

    def __init__(self, *, markdown: bool = False) -> None:
        self._markdown = markdown
        self._lines: list[str] = []
        self._width = min(WIDEST, shutil.get_terminal_size((120, 24)).columns)

    def title(self, text: str) -> None:
        """Add the page's title."""
        self._lines += [f"# {self._safe(text)}" if self._markdown else plain(text), ""]

    def heading(self, text: str) -> None:
        """Add a heading."""
        self._lines += ["", f"## {self._safe(text)}" if self._markdown else plain(text)]
        if self._markdown:
            self._lines.append("")

    def lead(self, text: str) -> None:
        """Add a sentence that stands out."""
        self._wrapped(f"**{self._safe(text)}**" if self._markdown and text else plain(text))

    def facts(self, facts: Iterable[tuple[str, str]]) -> None:
        """Add lines of a short name and what is to be said of it."""
        for name, text in facts:
            if self._markdown:
                self._lines.append(f"- {self._safe(name)}: {self._safe(text)}")
            else:
                shown = f"{plain(name)}  " if len(name) > NAMES - 1 else f"{plain(name):<{NAMES}}"
                self._wrapped(plain(text), first=f"  {shown}", rest=" " * (NAMES + 2))

    def bullets(self, texts: Iterable[str]) -> None:
        """Add a list."""
        for text in texts:
            self._wrapped(self._safe(text, begins_line=True), first="- ", rest="  ")

    def table(
        self,
        header: Sequence[str],
        rows: Sequence[Sequence[str]],
        right: Collection[int] = (),
        *,
        may_drop: bool = False,
    ) -> list[str]:
        """Add a table; columns in `right` are aligned to the right. Return the headings of what had no room.

        Parameters
        ----------
        header, rows, right : what the table holds
        may_drop : whether a screen that is too narrow leaves out columns, the last ones first
        """
        safe = [[self._safe(cell) for cell in row] for row in (header, *rows)]
        if self._markdown:
            self._lines.append(f"| {' | '.join(safe[0])} |")
            self._lines.append(f"|{'|'.join('---:' if i in right else '---' for i in range(len(header)))}|")
            self._lines += [f"| {' | '.join(row)} |" for row in safe[1:]]
            return []
        kept = tables.fitting(safe[0], safe[1:], self._width) if may_drop else len(header)
        self._lines += tables.drawn(safe[0][:kept], [row[:kept] for row in safe[1:]], right, self._width)
        return list(safe[0][kept:])

    def show(self) -> None:
        """Write the page to stdout; what its encoding cannot show is replaced, never refused."""
        encoding = sys.stdout.encoding or "utf-8"
        sys.stdout.write(self.text().encode(encoding, "replace").decode(encoding))

    def text(self) -> str:
        """Return the page as it is written."""
        return "\n".join(self._lines) + "\n"

    def _safe(self, text: str, *, begins_line: bool = False) -> str:
        return markdown.inert(text, begins_line=begins_line) if self._markdown else plain(text)

    def _wrapped(self, text: str, first: str = "", rest: str = "") -> None:
        if self._markdown:
            self._lines.append(first + text)
        else:
            self._lines += textwrap.wrap(text, self._width, initial_indent=first, subsequent_indent=rest) or [first]
