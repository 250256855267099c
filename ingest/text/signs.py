"""Every sign a cell may hold: what is the same as an ASCII sign, what marks a footnote, what is refused by name.

A sign has one meaning at one place or none. A raised two makes an area of a metre and is a footnote behind a number;
a half stands behind a whole number and never before another digit.
"""

from __future__ import annotations

import re
import unicodedata

_FRACTIONS = " 1/4, 1/2, 3/4, 1/3, 2/3, 1/8, 3/8, 5/8, 7/8, 1/5, 2/5, 3/5, 4/5, 1/6, 5/6"
_VULGAR = "¼½¾⅓⅔⅛⅜⅝⅞⅕⅖⅗⅘⅙⅚"
# Marks that mean the same as an ASCII one. Digits of other scripts are left alone, so that they are refused.
_SAME = str.maketrans(
    {
        **dict.fromkeys("\u00a0\u2007\u2009\u200a\u202f\t", " "),
        **dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2212", "-"),
        **dict.fromkeys("\u2018\u2019\u2032\u00b4\u02b9", "'"),
        **dict.fromkeys("\u201c\u201d\u2033\u02ba", '"'),
        **dict(zip("\u2044\u2248", "/~", strict=True)),
        **dict(zip(_VULGAR, _FRACTIONS.split(","), strict=True)),
    }
)
_POWER_OF_UNIT = re.compile(r"(?<=[A-Za-z])[\u00b2\u00b3](?![\u00b2\u00b3\u00b9\u2070-\u209f])")
_PLAIN_POWER = {"\u00b2": "2", "\u00b3": "3"}

# Each pattern stands for a text that would read as another number than the one it shows.
_NO_READING = (
    (re.compile(rf"[{_VULGAR}] ?[\d{_VULGAR}]"), "a fraction before another digit", "write the number with a point"),
    (re.compile(r"\d[\u2032\u00b4\u02b9]\d{3}(?!\d)"), "a foot mark that may part thousands", "write plain digits"),
    (
        re.compile(r"\d[^\S\n]*[\n\r\v\f\x1c-\x1f\x85\u2028\u2029\t]\s*\d"),
        "two lines or columns in one cell",
        "write one value",
    ),
)
_ALONE = r"(?<![\d/.,])(?<!\d[ -])"  # no whole number before it
_FRACTION = re.compile(rf"{_ALONE}(\d+) ?[/\u2044] ?(\d+)(?![\d/\u2044])")
_FINEST = 64  # parts of an inch that are written as a fraction
_NOTE_SIGNS = "*\u2020\u2021\u00a7\u00b6\u2217\u204e\uff0a"
_NOTE = re.compile(
    rf"[{re.escape(_NOTE_SIGNS)}]+|\[(?:[a-z]|\d{{1,2}})\]|(?<=[\w\"'%.]) ?\((?:[a-z]|\d)\)$|\^(?:[a-z]|\d{{1,2}})\b",
    re.IGNORECASE,
)


def tidied(text: str) -> str:
    """Return a text in lower case with ASCII signs for those that mean the same, and single spaces.

    Parameters
    ----------
    text : as written
    """
    powers = _POWER_OF_UNIT.sub(lambda found: _PLAIN_POWER[found[0]], text)
    return " ".join(powers.translate(_SAME).replace("''", '"').casefold().split())


def footnote(text: str) -> str | None:
    """Return the mark of a footnote in a text, or None: a raised or lowered sign, a star, a dagger, "[1]".

    Parameters
    ----------
    text : as written
    """
    if text.lstrip().startswith("="):  # a formula, in which a star multiplies
        return None
    bare = _POWER_OF_UNIT.sub("", text)
    raised = next((sign for sign in bare if unicodedata.decomposition(sign).startswith(("<super>", "<sub>"))), None)
    if raised is not None and any(sign.isdigit() or sign.isalpha() for sign in bare.replace(raised, "")):
        return raised
    marked = _NOTE.search(bare)
    if marked is None or not any(sign.isalnum() for sign in _NOTE.sub("", bare)):
        return None
    return marked[0].strip()


def no_reading(text: str) -> tuple[str, str] | None:
    """Return why a text has no reading that its signs would give, and what to write, or None.

    Parameters
    ----------
    text : as written
    """
    shown = text.strip()
    for pattern, problem, remedy in _NO_READING:
        if pattern.search(shown):
            return f"{shown!r} holds {problem}", remedy
    for above, below in _FRACTION.findall(shown):
        # 11/2 may be one and a half, and 75/56 is two powers.
        if (int(above) >= int(below) > 0 and len(above) > 1) or int(below) > _FINEST or int(above) == int(below):
            return f"{shown!r} may be two values or a whole number and a fraction", 'write one value, such as "1 1/2"'
    return None


def strange(text: str) -> str | None:
    """Return the first sign that is no part of a number or a unit, described, or None.

    Parameters
    ----------
    text : tidied
    """
    for sign in text:
        if (not sign.isascii() and sign != "°") or (sign < " "):
            name = unicodedata.name(sign, "")
            return f"{sign!r}" + (f" ({name.casefold()})" if name else "")
    return None
