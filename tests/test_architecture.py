"""The shape of the house: imports go one way, nothing points outside, and everything ships."""

import ast
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("schema", "ingest", "scoring", "evener", "cli", "demo_db")
MAY_IMPORT = {
    "schema": {"schema"},
    "ingest": {"ingest", "schema"},
    "scoring": {"scoring", "schema"},
    "evener": {"evener", "scoring", "ingest", "schema"},
    "cli": {"cli", "evener", "scoring", "ingest", "schema"},
    "demo_db": {"demo_db"},
}


def room_of(name):
    """The room a module is in; what stands at the top of the package is the front door's."""
    first = name.split(".")[1]
    return first if first in ROOMS else "evener"


def imported(path: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return {name for name in names if name.startswith("evener.")}


@pytest.mark.parametrize("room", ROOMS)
def test_imports_go_one_way(room):
    """A module imports only rooms at or below its own."""
    for path in sorted((ROOT / room).rglob("*.py")):
        rooms = {room_of(name) for name in imported(path)}
        assert rooms <= MAY_IMPORT[room], f"{path.relative_to(ROOT)} imports {sorted(rooms - MAY_IMPORT[room])}"


def test_mechanics_import_nothing_of_ours():
    """The published formulas depend on no other part of the project."""
    for path in sorted((ROOT / "scoring" / "mechanics").rglob("*.py")):
        assert all(name.startswith("evener.scoring.mechanics") for name in imported(path)), path


def test_only_the_store_knows_duckdb():
    """DuckDB is imported in schema/store/engine.py alone."""
    users = {
        path.relative_to(ROOT).as_posix()
        for room in ROOMS
        for path in (ROOT / room).rglob("*.py")
        if re.search(r"^\s*(import|from) duckdb", path.read_text(encoding="utf-8"), re.MULTILINE)
    }
    assert users == {"schema/store/engine.py"}


SPEAKS_SQL = re.compile(r"\s*(SELECT|INSERT|UPDATE|DELETE|CREATE|DROP|ALTER|WITH|FROM)\s")


def sql_in(source):
    """Lines of a module that run a statement, or hold the text of one."""
    found = []
    for node in ast.walk(ast.parse(source)):
        calls = isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
        runs = calls and node.func.attr in {"execute", "executemany", "sql"}
        holds = isinstance(node, ast.Constant) and isinstance(node.value, str) and SPEAKS_SQL.match(node.value)
        if runs or holds:
            found.append(node.lineno)
    return found


def test_only_schema_speaks_sql():
    """No module outside schema runs a statement or holds the text of one."""
    assert sql_in("con.execute(f'DELETE FROM {table}')") == [1, 1]
    speaking = {
        f"{path.relative_to(ROOT)}:{lines}"
        for room in ROOMS
        if room != "schema"
        for path in sorted((ROOT / room).rglob("*.py"))
        if (lines := sql_in(path.read_text(encoding="utf-8")))
    }
    assert not speaking


@pytest.mark.parametrize("room", ROOMS)
def test_modules_stay_short(room):
    """A file holds one idea: none passes 450 lines."""
    for path in sorted((ROOT / room).rglob("*.py")):
        assert len(path.read_text(encoding="utf-8").splitlines()) <= 450, path.relative_to(ROOT)


def test_wheel_has_everything(tmp_path):
    """Every module and data file of the rooms is in the built wheel, under its package."""
    command = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", tmp_path, ROOT]
    subprocess.run(command, check=True, capture_output=True)
    names = set(zipfile.ZipFile(next(tmp_path.glob("*.whl"))).namelist())
    wanted = {
        path.relative_to(ROOT).as_posix() if room == "evener" else f"evener/{path.relative_to(ROOT).as_posix()}"
        for room in ROOMS
        for path in (ROOT / room).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert wanted <= names, sorted(wanted - names)


def test_no_path_of_a_machine():
    """No shipped or test file names a path outside the project."""
    for suffix in ("*.py", "*.toml", "*.md", "*.csv", "*.json", "*.sh"):
        for path in ROOT.rglob(suffix):
            if {".venv", "build", ".git"} & set(path.relative_to(ROOT).parts) or path.name == "test_architecture.py":
                continue
            text = path.read_text(encoding="utf-8", errors="replace")
            assert not re.search(r"/work/|\.\./shared|/root/", text), path.relative_to(ROOT)


def test_every_test_says_what_it_promises():
    """Each test function opens with one sentence."""
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                assert ast.get_docstring(node), f"{path.relative_to(ROOT)}: {node.name}"
