"""Prints docs/glossary.md, each word with its one meaning: `python -m evener.cli.glossary > docs/glossary.md`."""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterator
from importlib import resources
from typing import Any

import typer

from evener.cli.main import app


def words() -> list[dict[str, str]]:
    """Return the rows of the glossary."""
    text = resources.files("evener.cli").joinpath("glossary.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def options() -> dict[str, set[str]]:
    """Return what each option and argument is said to be by the commands that take it."""
    found: dict[str, set[str]] = {}
    for command in _commands().values():
        for one in command.params:
            name = one.opts[0] if one.param_type_name == "option" else (one.metavar or one.name).strip("[]. ").upper()
            found.setdefault(name, set()).add(one.help or "")
    return found


def _commands() -> dict[str, Any]:
    return dict(sorted(typer.main.get_command(app).commands.items()))  # type: ignore[attr-defined]


def lines() -> Iterator[str]:
    """Return the lines of the page."""
    rows = words()
    own = {row["word"]: row["meaning"] for row in rows}
    yield "# Words, each with one meaning\n"
    yield "Written by `python -m evener.cli.glossary` from `cli/glossary.csv` and the commands.\n"
    yield "| word | meaning |\n|---|---|"
    for row in sorted(rows, key=lambda one: one["word"].casefold()):
        if row["word"] == "PTO" or not (row["word"].startswith("--") or row["word"].isupper()):
            yield f"| {row['word']} | {row['meaning']} |"
    yield "\n## Commands\n\n| command | what it does |\n|---|---|"
    for name, command in _commands().items():
        yield f"| `{name}` | {(command.help or '').split(chr(10))[0].split('. ')[0].rstrip('.')} |"
    yield "\n## Options and arguments\n\n| option | meaning |\n|---|---|"
    for name, said in sorted(options().items()):
        yield f"| `{name}` | {own.get(name) or min(said).rstrip('.')} |".replace("; several", ", several")


if __name__ == "__main__":
    sys.stdout.write("\n".join(lines()) + "\n")
