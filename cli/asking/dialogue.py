"""Asking and hearing in a plain terminal, or from a pipe: what is asked goes to stderr, one answer is one line."""

from __future__ import annotations

import sys

from evener.interview.said import BACK, NOT_KNOWN, SKIP, meant

__all__ = ["BACK", "PASSED", "hear", "say"]

PASSED = frozenset({SKIP, NOT_KNOWN})


def say(text: str) -> None:
    """Write one line to stderr, with what its encoding cannot show replaced."""
    encoding = sys.stderr.encoding or "utf-8"
    sys.stderr.write(f"{text}\n".encode(encoding, "replace").decode(encoding))
    sys.stderr.flush()


def hear(prompt: str) -> str | None:
    """Return the next line typed, "skip" for an empty one and "?" for "don't know"; None at the end or for "stop"."""
    sys.stderr.write(f"{prompt} > ")
    sys.stderr.flush()
    try:
        line = sys.stdin.readline()
    except UnicodeDecodeError:
        line = ""
    if not sys.stdin.isatty() or not line:
        sys.stderr.write("\n")
    return meant(line) if line else None
