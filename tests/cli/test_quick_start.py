"""Help and ranking stay light: heavy libraries are imported only by the commands that need them."""

import subprocess
import sys

import pytest

HEAVY = ("pandas", "pandera", "pint", "sklearn", "scipy", "matplotlib")


def modules_after(arguments):
    """Names of all modules a run of the command line has imported by its end."""
    code = (
        "import sys\nfrom evener.cli.main import main\n"
        f"sys.argv = ['evener', *{arguments!r}]\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "sys.stderr.write('\\n'.join(sys.modules))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return {name.split(".")[0] for name in ran.stderr.split()}


@pytest.mark.parametrize(
    "command",
    [
        [],
        ["rank"],
        ["explain"],
        ["ask"],
        ["interview"],
        ["check"],
        ["method"],
        ["demo"],
        ["list"],
        ["fields"],
        ["ingest"],
        ["undo"],
        ["export"],
        ["recover"],
        ["audit"],
        ["query"],
    ],
)
def test_help_imports_nothing_heavy(command):
    """Help of every command imports none of the data libraries, nor duckdb."""
    assert modules_after([*command, "--help"]) & {*HEAVY, "duckdb", "numpy"} == set()


@pytest.mark.parametrize("command", ["rank", "ask"])
def test_rank_imports_no_data_library(command, sheet, library_store):
    """Ranking and asking import duckdb and numpy, and none of pandas, pandera, pint, scikit-learn, scipy."""
    imported = modules_after([command, str(sheet), "--store", str(library_store)])
    assert imported & set(HEAVY) == set()
    assert {"duckdb", "numpy"} <= imported
