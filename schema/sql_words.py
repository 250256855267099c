"""What a database says of a question, in words of ours: what is wrong, and what is near."""

from __future__ import annotations

import re

_NAME = r"\"?([^\"\s!]+)\"?"
_NUMBERS = r"(?:U?INT\d+|(?:TINY|SMALL|BIG|HUGE)?INT(?:EGER)?|DOUBLE|FLOAT|DECIMAL.*)"
_SENTENCES = (
    (
        r"Parser Error: syntax error at or near (.*)",
        r"this is no SQL from \1 on; look at what stands before it, or quote a text as 'text'",
    ),
    (r"Parser Error: syntax error at end of input.*", "this SQL ends too early; write the rest"),
    (
        r".*Cannot have any modifiers in the expression list.*",
        "a condition is one expression; end it before ; or ORDER",
    ),
    (
        rf"Conversion Error: Could not convert string '(.*)' to {_NUMBERS}.*",
        r"'\1' is no number; compare a text with a text, as status = 'practice'",
    ),
    (
        r"Binder Error: (?:Could not choose a best candidate function|No function matches).*\"(.+?)\".*",
        r"values of these kinds do not go together in \1; turn one into the other's kind, as CAST(value AS DOUBLE)",
    ),
    (
        r"Binder Error: No function matches the given name and argument types '(.+?)'.*",
        r"values of these kinds do not go together in \1; turn one into the other's kind, as CAST(value AS DOUBLE)",
    ),
    (
        r"Binder Error: Cannot compare values of type (.+?) and type (.+?) .*",
        r"\1 and \2 cannot be compared; turn one into the other's kind, as CAST(value AS DOUBLE)",
    ),
    (
        rf"Binder Error: column {_NAME} must appear in the GROUP BY clause.*",
        r"column '\1' is not grouped by; add it to GROUP BY, or take max(\1)",
    ),
    (r"Binder Error: WHERE clause cannot contain aggregates!.*", "WHERE cannot hold counts or sums; use HAVING"),
    (rf"Binder Error: Ambiguous reference to column name {_NAME}.*", r"more than one table has '\1'; write table.\1"),
    (
        r".*Cannot access file \"(.*)\" - file system operations are disabled.*",
        r"'\1' is out of reach: a question reaches the store and nothing else",
    ),
)
_SAID = (
    (rf"Binder Error: Referenced column {_NAME} not found.*?(?:Candidate bindings: (.*))?", "column"),
    (rf"Binder Error: Referenced table {_NAME} not found.*?(?:Candidate tables: (.*))?", "table"),
    (rf"Catalog Error: Table with name {_NAME} does not exist!(?:.*?Did you mean (.*?)\??)?", "table"),
    (rf"Catalog Error: Scalar Function with name {_NAME} does not exist!(?:.*?Did you mean (.*?)\??)?", "function"),
)


def plain(message: str) -> str:
    """Return a database's message without its own way of speaking.

    Parameters
    ----------
    message : its first lines, joined
    """
    for pattern, what in _SAID:
        found = re.fullmatch(pattern, message, re.DOTALL)
        if found:
            near = [one.strip().strip('"') for one in (found[2] or "").split(",") if one.strip()]
            hint = f"; did you mean {', '.join(near[:-1])}{' or ' if near[:-1] else ''}{near[-1]}?" if near else ""
            return f"there is no {what} '{found[1]}'{hint}"
    for pattern, words in _SENTENCES:
        if wrong := re.fullmatch(pattern, message, re.DOTALL):
            return wrong.expand(words)
    return re.sub(r"^[A-Z][\w ]*? Error: ", "", message)
