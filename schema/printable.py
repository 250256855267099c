"""Text as it may be shown: what would drive a terminal or run in a spreadsheet is made plain to see and inert."""

from __future__ import annotations

import unicodedata

# With a full-width form of its sign a cell is run as a formula too.
_SIGNS = tuple("=+-@\uff1d\uff0b\uff0d\uff20")
_MOVES = ("\t", "\r")


def one_line(text: str) -> str:
    """Return text on one line, with everything escaped that is not seen: controls, line ends, marks of direction.

    Parameters
    ----------
    text : from whatever source
    """
    return text if text.isprintable() else "".join(map(_shown, text))


def lines(text: str) -> str:
    """Return text with its line ends and tabs, everything else that is not seen escaped.

    Parameters
    ----------
    text : from whatever source
    """
    return "\n".join("\t".join(map(one_line, line.split("\t"))) for line in text.split("\n"))


def json_escaped(text: str) -> str:
    """Return JSON in which everything that is not seen is escaped as JSON escapes it; it means the same.

    Parameters
    ----------
    text : JSON
    """
    return "\n".join(
        line if line.isprintable() else "".join(char if _is_shown(char) else _in_json(char) for char in line)
        for line in text.split("\n")
    )


def runs_as_formula(text: str) -> bool:
    """Tell whether a spreadsheet would run a cell with this text as a formula.

    Parameters
    ----------
    text : the cell
    """
    return text.startswith(_MOVES) or text.lstrip().startswith(_SIGNS)


def _is_shown(char: str) -> bool:
    return char.isprintable() or unicodedata.category(char) == "Zs"


def _shown(char: str) -> str:
    return char if _is_shown(char) else char.encode("unicode_escape").decode()


def _in_json(char: str) -> str:
    units = char.encode("utf-16-be", "surrogatepass").hex()
    return "".join(f"\\u{units[at : at + 4]}" for at in range(0, len(units), 4))
