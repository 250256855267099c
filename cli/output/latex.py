"""Text inside LaTeX: what a record or a file says is set as it stands, and commands nothing."""

from __future__ import annotations

from evener.schema import printable

_SET = {
    "\\": r"\textbackslash{}",
    "{": r"\{",
    "}": r"\}",
    "$": r"\$",
    "&": r"\&",
    "#": r"\#",
    "%": r"\%",
    "_": r"\_",
    "^": r"\textasciicircum{}",
    "~": r"\textasciitilde{}",
    "<": r"\textless{}",
    ">": r"\textgreater{}",
    "|": r"\textbar{}",
    "`": r"\textasciigrave{}",
    '"': r"\textquotedbl{}",
}


def inert(text: str) -> str:
    """Return text as LaTeX that sets it and does nothing.

    Parameters
    ----------
    text : from whatever source
    """
    return "".join(_SET.get(char, char) for char in printable.one_line(text))
