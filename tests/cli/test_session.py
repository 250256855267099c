"""The analyst's session in the documentation is what the commands print."""

import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from evener.cli.main import app

PAGE = Path(__file__).resolve().parents[2] / "docs" / "analyst.md"
SHOWN = re.findall(
    r"^```console\n\$ evener (.*?)\n(.*?)\n```$", PAGE.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL
)


@pytest.mark.ci
@pytest.mark.parametrize(("command", "printed"), SHOWN, ids=[command[:30] for command, _ in SHOWN])
def test_the_session_prints_what_it_shows(library_store, monkeypatch, command, printed):
    """Each command of the session, run on the library, prints the lines that stand below it."""
    monkeypatch.setenv("COLUMNS", "100")
    ran = CliRunner().invoke(app, [*shlex.split(command), "--store", str(library_store)])
    # A batch is named by how many were loaded before it.
    plain = [re.sub(r"B\d{4}", "BATCH", text.rstrip()) for text in (ran.stdout, printed)]
    assert plain[0] == plain[1]


def test_the_session_has_its_commands():
    """The page shows an audit, a list with a condition and a question in SQL."""
    assert {command.split()[0] for command, _ in SHOWN} == {"audit", "list", "query"}
