"""Help and ranking stay light: heavy libraries are imported only by the commands that need them."""

import subprocess
import sys

import pytest

from evener.cli.main import app

HEAVY = ("pandas", "pandera", "pint", "sklearn", "scipy", "matplotlib")


def modules_after(*lines):
    """Names of all modules that runs of the command line, one after the other, have imported by their end."""
    code = (
        "import sys\nfrom evener.cli.main import main\n"
        f"for line in {lines!r}:\n"
        "    sys.argv = ['evener', *line]\n"
        "    try:\n        main()\n    except SystemExit as ended:\n        assert not ended.code, line\n"
        "sys.stderr.write('\\n'.join(sys.modules))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return {name.split(".")[0] for name in ran.stderr.split()}


def test_help_imports_nothing_heavy():
    """Help of the program and of every command imports none of the data libraries, nor duckdb, nor numpy."""
    commands = [command.name or command.callback.__name__ for command in app.registered_commands]
    assert len(commands) > 10
    helps = [["--help"], *([command, "--help"] for command in commands)]
    assert modules_after(*helps) & {*HEAVY, "duckdb", "numpy"} == set()


@pytest.mark.ci
def test_rank_and_ask_import_no_data_library(sheet, library_store):
    """Ranking and asking import duckdb and numpy, and none of pandas, pandera, pint, scikit-learn, scipy."""
    imported = modules_after(*([command, str(sheet), "--store", str(library_store)] for command in ("rank", "ask")))
    assert imported & set(HEAVY) == set()
    assert {"duckdb", "numpy"} <= imported
