"""Where each key of a TOML text stands, for messages that name a line.

The TOML reader of the standard library gives values without their lines. This scan walks a text which that reader has
accepted, so it only has to know where values begin and end.
"""

from __future__ import annotations

import re
from bisect import bisect_right

Path = tuple[str | int, ...]

DEEPEST = 16
_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_KEY_PART = re.compile(r"""[ \t]*(?P<part>[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*')[ \t]*""")
_STRING = re.compile(
    r'"""(?:[^"\\]|\\[\s\S]|"(?!""))*"{3,5}|'
    r"'''(?:[^']|'(?!''))*'{3,5}|"
    r'"(?:[^"\\\n]|\\.)*"|'
    r"'[^'\n]*'"
)
_SCALAR = re.compile(r"[^,\]}#\n]+")
# Anchored where a key begins and never backing up, so that it stays linear on any text.
_PART = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_DOTTED = re.compile(rf"""(?<![\w"'.-]){_PART}(?:[ \t]*+\.[ \t]*+{_PART}){{{DEEPEST},}}+""")


def deep_key_line(text: str) -> int | None:
    """Return the line of the first key with more dots than any sheet has, or None.

    The TOML reader takes three quarters of a minute over a dotted key that fills 64 kB.
    """
    found = _DOTTED.search(text)
    return None if found is None else text.count("\n", 0, found.start()) + 1


class Lines:
    """The line of every key, table and list item of an accepted TOML text.

    Parameters
    ----------
    text : TOML text the standard reader has accepted
    """

    def __init__(self, text: str) -> None:
        self._text = text
        self._starts = [0, *(found.end() for found in re.finditer("\n", text))]
        self._lines: dict[Path, int] = {(): 1}
        self._counts: dict[Path, int] = {}
        self._walk()

    def of(self, path: Path) -> int:
        """Return the line [1] on which a path is written, or that of the nearest thing around it."""
        while path not in self._lines:
            path = path[:-1]
        return self._lines[path]

    def _mark(self, path: Path, position: int) -> None:
        self._lines.setdefault(path, bisect_right(self._starts, position))

    def _blank(self, position: int) -> int:
        found = _BLANK.match(self._text, position)
        return found.end() if found else position

    def _walk(self) -> None:
        text, position = self._text, self._blank(0)
        table: Path = ()
        while position < len(text):
            if text.startswith("[[", position):
                names, end = self._key(position + 2)
                path = self._resolve(names[:-1])
                index = self._counts.get((*path, names[-1]), 0)
                self._counts[*path, names[-1]] = index + 1
                self._mark((*path, names[-1]), position)
                table = (*path, names[-1], index)
                self._mark(table, position)
                position = end + 2
            elif text[position] == "[":
                names, end = self._key(position + 1)
                table = self._resolve(names)
                self._mark(table, position)
                position = end + 1
            else:
                position = self._pair(position, table)
            position = self._blank(position)

    def _resolve(self, names: list[str]) -> Path:
        """Return the path a header means: under a list of tables it is the last item so far."""
        path: Path = ()
        for name in names:
            path = (*path, name)
            if path in self._counts:
                path = (*path, self._counts[path] - 1)
        return path

    def _key(self, position: int) -> tuple[list[str], int]:
        names = []
        while found := _KEY_PART.match(self._text, position):
            names.append(found["part"].strip("\"'"))
            position = found.end()
            if not self._text.startswith(".", position):
                break
            position += 1
        return names, position

    def _pair(self, position: int, table: Path) -> int:
        names, end = self._key(position)
        for depth in range(1, len(names) + 1):
            self._mark((*table, *names[:depth]), position)
        return self._value(self._blank(end + 1), (*table, *names))

    def _value(self, position: int, path: Path) -> int:
        text, opening = self._text, self._text[position : position + 1]
        closing = {"[": "]", "{": "}"}.get(opening)
        if closing is None:
            found = (_STRING if opening in ("'", '"') else _SCALAR).match(text, position)
            return found.end() if found else position + 1
        position, index = self._blank(position + 1), 0
        while position < len(text) and text[position] != closing:
            if opening == "[":
                self._mark((*path, index), position)
                position = self._value(position, (*path, index))
            else:
                position = self._pair(position, path)
            position, index = self._blank(position), index + 1
            if text.startswith(",", position):
                position = self._blank(position + 1)
        return position + 1
