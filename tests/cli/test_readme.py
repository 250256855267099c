"""What the README shows is what the tool does."""

import os
import re
from pathlib import Path

README = (Path(__file__).resolve().parents[2] / "README.md").read_text(encoding="utf-8")
RIDGE = Path(__file__).resolve().parents[2] / "demo_db" / "jobs" / "ridge.toml"

SCREEN = {**os.environ, "COLUMNS": "120"}


def block(opening):
    """The text of the fenced block that begins with these words."""
    start = README.index(opening) + len(opening.split("\n", 1)[0]) + 1
    return README[start : README.index("\n```", start)].strip("\n")


def test_the_first_answer_is_printed_as_shown(process):
    """The README's first command prints, to the letter, what the README shows."""
    ran = process("rank", RIDGE, env=SCREEN)
    assert ran.stdout.rstrip("\n") == block("```\nMostly Uphill")


def test_the_first_question_is_printed_as_shown(evener):
    """Every line of the README's question is among what `evener ask` prints, in that order."""
    said = evener("ask", RIDGE, env=SCREEN).stdout.splitlines()
    shown = [line for line in block("```\n$ evener ask").splitlines()[1:] if line]
    places = [said.index(line) for line in shown]
    assert places == sorted(places)


def test_the_shown_job_sheet_is_a_job_sheet(evener, tmp_path):
    """The README's job sheet has no mistakes, and every one of its tasks can be sized."""
    path = tmp_path / "shown.toml"
    path.write_text(block("```toml\n"), encoding="utf-8")
    ran = evener("rank", path)
    assert ran.stderr == ""
    assert "NOT IN THIS ANSWER" not in ran.stdout


def test_every_command_of_the_table_is_there(evener):
    """Each command the README's table names answers to --help with an example, and in no programmer's notation."""
    commands = [one.split()[2].strip("`") for one in README.splitlines() if one.startswith("| `evener ")]
    assert len(commands) > 10
    for command in commands:
        ran = evener(command, "--help", store=None)
        assert ran.returncode == 0, command
        assert "Example: evener" in ran.stdout, command
        assert not re.search(r"[<>{}]|<=|\blist\[", ran.stdout.partition('such as "')[0]), command
