"""What a database says of a question, in words of ours: what is wrong, and what is near."""

from __future__ import annotations

import re

_NAME = r"\"?([^\"\s!]+)\"?"
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
    wrong = re.fullmatch(r"Parser Error: syntax error at or near (.*)", message, re.DOTALL)
    if wrong:
        return f"this is no SQL from {wrong[1]} on"
    if message.startswith("Parser Error: syntax error at end of input"):
        return "this SQL ends too early"
    return re.sub(r"^[A-Z][\w ]*? Error: ", "", message)
