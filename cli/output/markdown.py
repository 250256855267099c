"""Text inside Markdown: what a record or a file says is shown as it stands, and does nothing."""

from __future__ import annotations

import re

from evener.schema import printable

_PUNCTUATION = r"""!"#$%&'()*+,\-./:;<=>?@[\\\]^_`{|}~"""
# A heading, quotation, list, or line under a heading, which only a line can begin with.
_BEGINNING = re.compile(r"^(\s*\d*)((?<=\d)[.)](?!\S)|(?<!\d)(?:[#>=]|[+-](?!\S)|-(?=-)))")
_ESCAPED = (
    (re.compile(rf"\\(?=[{_PUNCTUATION}])"), r"\\\\"),
    (re.compile(r"`"), r"\\`"),
    (re.compile(r"&(?=#?\w+;)"), "&amp;"),
    (re.compile(r"<(?=[A-Za-z/!?])"), "&lt;"),
    # A star with blanks on both sides is one; so is a low line within a word.
    (re.compile(r"(?<! )\*|\*(?! )"), r"\\*"),
    (re.compile(r"(?<!\w)_|_(?!\w)"), r"\\_"),
    (re.compile(r"~(?=~)|(?<=~)~"), r"\\~"),
    (re.compile(r"\[(?=\^)|!\[|\[(?=[^\]]*\](?:\(|:|\[))"), lambda found: found[0].replace("[", r"\[")),
    (re.compile(r"(?<=:)//|\bwww\."), lambda found: "\\" + found[0] if found[0] == "//" else "www\\."),
    (re.compile(r"\$(?=.*\$)|(?<=\$)\$"), r"\\$"),
    (re.compile(r"\|"), r"\\|"),
)


class Marked(str):
    """The program's own words with marks in them, which are meant as such."""

    __slots__ = ()


def inert(text: str, *, begins_line: bool = True) -> str:
    """Return one line of text as Markdown that shows it: no markup, link, table cell or HTML comes of it.

    Parameters
    ----------
    text : one line; what is `Marked` stays as it is
    begins_line : whether it stands where a heading or a list could begin
    """
    if isinstance(text, Marked):
        return text
    text = printable.one_line(text)
    for found, instead in _ESCAPED:
        text = found.sub(instead, text)
    return _BEGINNING.sub(r"\1\\\2", text) if begins_line else text
