"""What people type in place of an answer."""

from __future__ import annotations

BACK = "back"
SKIP = "skip"
NOT_KNOWN = "?"
STOP = frozenset({"stop", "quit", "exit"})
_NOT_KNOWN = frozenset({NOT_KNOWN, "don't know", "dont know", "do not know", "unknown", "not sure", "no idea"})


def meant(line: str) -> str | None:
    """Return an answer as typed, "skip" for an empty one, "?" for "don't know", "back"; None for "stop"."""
    said = line.strip()
    if said.casefold() in STOP:
        return None
    if said.casefold() in _NOT_KNOWN:
        return NOT_KNOWN
    if said.casefold() in {BACK, SKIP}:
        return said.casefold()
    return said or SKIP
