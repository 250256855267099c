"""The shape of the house: arrows between rooms go one way, no file leads back to itself, and everything ships."""

import ast
import functools
import os
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("schema", "ingest", "scoring", "evener", "cli", "demo_db")
MECHANICS = ("mechanics", "mechanics.engine", "mechanics.stance", "mechanics.tyres", "mechanics.work")


def rooms_of(house: str, *names: str) -> set[str]:
    """Return the full names of rooms in a house."""
    return {f"{house}.{name}" for name in names}


SCHEMA = {"schema", "schema.store"}
KEEPING = {"schema.store.keeping"}
FOUND = {"ingest", "ingest.findings"}
READ = SCHEMA | FOUND | rooms_of("ingest", "text", "files", "columns")
KEPT = rooms_of("ingest", "rows", "rows.checks", "store", "store.put_right")
INGEST = FOUND | KEPT | rooms_of("ingest", "text", "files", "columns", "jobsheet")
FORMULAS = rooms_of("scoring", *MECHANICS)
LINES = {"scoring.ratings.lines"}
SHARED = SCHEMA | FORMULAS | LINES | {"scoring.core", "scoring.ratings"}
SIZING = SHARED | rooms_of("scoring", "place", "asks", "gives", "combinations", "money", "decision", "questions")
ADVICE = rooms_of("scoring", "advice", "audit", "shed", "shed.planning")
ANSWERS = SCHEMA | INGEST | SIZING | ADVICE | {"ingest.shed"}
DOOR = {"evener"} | rooms_of("evener", "enquiry", "results", "ranking", "comparing", "interview", "sheds")
COMMANDS = ANSWERS | DOOR | KEEPING | {"cli", "cli.output", "cli.page", "cli.store"}

# What each room may import beside itself.
MAY_IMPORT: dict[str, set[str]] = {
    "schema": set(),
    "schema.store": {"schema", "schema.store.migrations"},
    "schema.store.keeping": SCHEMA | {"schema.store.migrations"},
    "schema.store.migrations": {"schema", "schema.store"},
    "ingest": SCHEMA | {"ingest.findings", "ingest.jobsheet", "ingest.shed"},
    "ingest.findings": {"ingest"},
    "ingest.text": SCHEMA | FOUND,
    "ingest.files": SCHEMA | FOUND | {"ingest.text"},
    "ingest.columns": SCHEMA | FOUND | {"ingest.text", "ingest.files"},
    "ingest.rows": READ | {"ingest.rows.checks"},
    "ingest.rows.checks": READ | {"ingest.rows"},
    "ingest.store": READ | {"ingest.rows", "ingest.rows.checks", "ingest.store.put_right"},
    "ingest.store.put_right": READ | {"ingest.rows", "ingest.store"},
    "ingest.jobsheet": SCHEMA | FOUND | {"ingest.text"},
    "ingest.shed": SCHEMA | FOUND | {"ingest.text", "ingest.jobsheet"},
    **{room: FORMULAS - {room} for room in FORMULAS},
    "scoring": set(),
    "scoring.core": SCHEMA | FORMULAS,
    "scoring.ratings": SCHEMA | FORMULAS | LINES | {"scoring.core"},
    "scoring.ratings.lines": SCHEMA | FORMULAS | {"scoring.core"},
    "scoring.place": SHARED,
    "scoring.asks": SHARED | {"scoring.place"},
    "scoring.gives": SHARED | {"scoring.place"},
    "scoring.combinations": SHARED | rooms_of("scoring", "place", "asks", "gives"),
    "scoring.money": SHARED,
    "scoring.decision": SHARED | rooms_of("scoring", "place", "asks", "gives", "combinations", "money"),
    "scoring.advice": SIZING - {"scoring.questions", "scoring.money"},
    "scoring.questions": SIZING - {"scoring.questions"},
    "scoring.audit": SHARED,
    "scoring.shed": SIZING - {"scoring.questions"} | {"scoring.advice", "scoring.shed.planning"},
    "scoring.shed.planning": set(),
    "evener.enquiry": ANSWERS,
    "evener.results": ANSWERS | {"evener.enquiry"},
    "evener.ranking": ANSWERS | {"evener.enquiry", "evener.results"},
    "evener.comparing": ANSWERS | {"evener.enquiry", "evener.results", "evener.ranking"},
    "evener.sheds": ANSWERS | {"evener.enquiry", "evener.results", "evener.ranking"},
    "evener.interview": ANSWERS | {"evener.enquiry"},
    "evener": ANSWERS | DOOR | KEEPING,
    "cli": COMMANDS - {"cli"} | rooms_of("cli", "adviser", "analyst", "asking", "shed"),
    "cli.output": SCHEMA | FORMULAS | {"scoring.core"},
    "cli.page": ANSWERS | DOOR | {"cli.output"},
    "cli.store": COMMANDS - {"cli.store"},
    "cli.adviser": COMMANDS,
    "cli.asking": COMMANDS | {"cli.adviser"},
    "cli.analyst": COMMANDS,
    "cli.shed": COMMANDS,
    "demo_db": set(),
}

# What does not hold yet. A row that is no longer needed makes its test fail: the lists only shrink.
ARROWS_TO_TURN: set[tuple[str, str]] = set()
CIRCLES_TO_CUT: list[set[str]] = []
ROOMS_TO_DIVIDE = {"schema.store"}
FILES_TO_SPLIT = {
    "ingest/columns/headers.py",
    "ingest/jobsheet/findings.py",
    "ingest/jobsheet/values.py",
    "schema/records.py",
    "scoring/audit/groups.py",
    "scoring/mechanics/stance/balance.py",
    "scoring/mechanics/tyres/traction.py",
    "scoring/mechanics/work/work_rate.py",
}


def short(name: str) -> str:
    """Return a module's name as the tree has it: `schema.units` for `evener.schema.units`."""
    inner = name.removeprefix("evener.")
    return inner if inner.split(".")[0] in ROOMS else name


@functools.cache
def files() -> dict[str, Path]:
    """All modules by their name in the tree."""
    return {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path
        for room in ROOMS
        for path in (ROOT / room).rglob("*.py")
    }


@functools.cache
def imported(name: str) -> frozenset[str]:
    """Return the modules that a module imports, for types only or within a function too."""
    found = set()
    for node in ast.walk(ast.parse(files()[name].read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {short(alias.name) for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.module, f"{name}: import by the whole name"
            inner = {short(f"{node.module}.{alias.name}") for alias in node.names}
            found |= {short(node.module) if other not in files() else other for other in inner}
    return frozenset(found & set(files()) - {name})


def is_door(name: str) -> bool:
    return files()[name].name == "__init__.py"


def room_of(name: str) -> str:
    return name if is_door(name) else name.rpartition(".")[0]


def circles() -> set[frozenset[str]]:
    """Return the largest groups of modules in which each leads to every other."""
    reach = {name: set(imported(name)) for name in files()}
    for between, beyond in reach.items():
        for seen in reach.values():
            if between in seen:
                seen.update(beyond)
    return {frozenset(x for x in seen if name in reach[x]) for name, seen in reach.items() if name in seen}


def test_every_room_is_on_the_plan():
    """Each room that holds modules has a row that says what it may import, and no row is left of a room that went."""
    assert {room_of(name) for name in files()} | {"scoring"} == set(MAY_IMPORT)


def test_arrows_between_rooms_go_one_way():
    """A module imports only what its room's row allows; an arrow still to be turned is listed, and gone when turned."""
    arrows = {
        (room_of(name), room_of(other)): f"{name} imports {other}" for name in files() for other in imported(name)
    }
    wrong = {
        (room, other): said for (room, other), said in arrows.items() if room != other and other not in MAY_IMPORT[room]
    }
    assert set(wrong) - ARROWS_TO_TURN == set(), "\n".join(wrong[arrow] for arrow in set(wrong) - ARROWS_TO_TURN)
    assert ARROWS_TO_TURN - set(wrong) == set(), "turned: strike it off"


def test_the_plan_itself_has_no_circle():
    """No two rooms may import each other, but for a root and its own rooms, and the formulas among themselves."""
    for room, allowed in MAY_IMPORT.items():
        for other in allowed - FORMULAS:
            root = room in other or other in room
            assert root or room not in MAY_IMPORT[other], f"{room} and {other}"


def test_no_file_leads_back_to_itself():
    """No circle of imports between modules, type-only imports counted, but for those still to be cut."""
    found = circles()
    assert [circle for circle in found if not any(circle <= known for known in CIRCLES_TO_CUT)] == []
    assert [known for known in CIRCLES_TO_CUT if not any(circle <= known for circle in found)] == [], (
        "cut: strike it off"
    )


def test_only_the_matrix_of_a_shed_sizes():
    """Of the shed's modules matrix.py alone knows how a combination is sized; the others plan with what it says."""
    sizing = rooms_of("scoring", "place", "asks", "gives", "combinations", "decision", "core")
    users = {
        name
        for name in files()
        if room_of(name).startswith("scoring.shed") and {room_of(other) for other in imported(name)} & sizing
    }
    assert users == {"scoring.shed.matrix"}


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


@pytest.mark.ci
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


def test_files_stay_short():
    """A file holds one idea: none passes 300 lines, but for those still to be split."""
    long = {
        path.relative_to(ROOT).as_posix()
        for path in files().values()
        if len(path.read_text(encoding="utf-8").splitlines()) > 300
    }
    assert long == FILES_TO_SPLIT


def test_rooms_stay_small():
    """No room holds more than 15 modules beside its door, but for those still to be divided."""
    held = {room: [name for name in files() if room_of(name) == room and not is_door(name)] for room in MAY_IMPORT}
    assert {room for room, names in held.items() if len(names) > 15} == ROOMS_TO_DIVIDE


def test_the_developers_page_names_every_room():
    """DEVELOPERS.md says of every room below a house where it is."""
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = {room.rpartition(".")[2] for room in MAY_IMPORT if "." in room} - {
        name.rpartition(".")[2] for name in MECHANICS[1:]
    }
    assert {name for name in named if not re.search(rf"\b{name}/", page)} == set()


def test_every_room_has_a_line_on_its_door():
    """Each folder with modules opens with one line that says what is inside."""
    for folder in {path.parent for path in files().values()}:
        door = folder / "__init__.py"
        assert door.exists(), folder.relative_to(ROOT)
        line = ast.get_docstring(ast.parse(door.read_text(encoding="utf-8"))) or ""
        assert line.split("\n")[0].endswith("."), door.relative_to(ROOT)


@pytest.mark.ci
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
    suffixes = {".py", ".toml", ".md", ".csv", ".json", ".sh"}
    for folder, inner, names in os.walk(ROOT):
        inner[:] = [name for name in inner if name != "build" and not name.startswith(".")]
        for path in (Path(folder) / name for name in names):
            if path.suffix in suffixes and path != Path(__file__):
                text = path.read_text(encoding="utf-8", errors="replace")
                assert not re.search(r"/work/|\.\./shared|/root/", text), path.relative_to(ROOT)


def test_every_test_says_what_it_promises():
    """Each test function opens with one sentence."""
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                assert ast.get_docstring(node), f"{path.relative_to(ROOT)}: {node.name}"
