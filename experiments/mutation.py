"""How many small faults in formulas and tables the tests notice: each number and sign is spoilt in turn.

    python experiments/mutation.py functions
    python experiments/mutation.py tables --sample 60
    python experiments/mutation.py demands --sample 60

`functions` spoils every constant and sign of `scoring/mechanics`, one at a time: by hand arithmetic first, then by
the suite of the formulas. `tables` spoils a sample of the numbers of `schema/reference` that the sizing reads: against
the double entry alone, then against tests that know nothing of it. `demands` spoils a sample of the constants and signs
of the modules that bring formulas to tasks and tractors. A mutant that no test notices is printed; those that change
nothing (a factor on zero, a bound beyond reach) cannot be noticed.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import copy
import csv
import importlib
import io
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
MECHANICS = ROOT / "scoring" / "mechanics"
REFERENCE = ROOT / "schema" / "reference"
FORMULA_TESTS = ["tests/mechanics", "tests/published", "tests/properties/test_mechanics.py"]
SIZING_TESTS = [
    *(
        f"tests/scoring/test_{name}.py"
        for name in ("families", "pull", "stance", "tow", "work_time", "demands", "fit", "steps")
    ),
    *("tests/properties/test_demands.py", "tests/published/test_alternatives.py"),
]
TABLE_TESTS = ["tests/published/test_reference_tables.py", *SIZING_TESTS]
DEMAND_MODULES = (
    *(
        "altitude",
        "ground",
        "tools",
        "pull",
        "grip",
        "stance",
        "loader_stance",
        "tow",
        "oil",
        "shaft",
        "going",
        "power",
    ),
    *("loads", "lifts", "remedies", "checks", "work_time"),
)
READ_BY_THE_SIZING = (
    *("draft", "rotary_power", "power_ratios", "soil_conditions", "towing", "allowance", "prior", "families"),
    *("crop_throughput", "pto_power_rules", "pto_types", "hitch_categories", "material_density", "bale_mass"),
)
SWAPS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult}


def spoilt(value: float) -> float:
    """Return a number a tenth off, or one where it was nothing."""
    return value * 1.1 if value else 1.0


def mutants(tree: ast.Module) -> Iterator[tuple[str, ast.Module]]:
    """Yield a module's tree with one constant or sign spoilt, and what was done."""
    places = [
        index
        for index, node in enumerate(ast.walk(tree))
        if (isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not isinstance(node.value, bool))
        or (isinstance(node, ast.BinOp) and type(node.op) in SWAPS)
    ]
    for index in places:
        changed = copy.deepcopy(tree)
        node = list(ast.walk(changed))[index]
        line = getattr(node, "lineno", 0)
        if isinstance(node, ast.Constant):
            said = f"line {line}: {node.value} spoilt"
            node.value = spoilt(node.value)
        else:
            said = f"line {line}: {type(node.op).__name__} turned"
            node.op = SWAPS[type(node.op)]()
        yield said, ast.fix_missing_locations(changed)


def in_a_child(passes: Callable[[], bool]) -> bool:
    """Return whether the tests pass, in a process of its own that leaves this one as it was."""
    child = os.fork()
    if child == 0:
        with contextlib.suppress(BaseException), Path(os.devnull).open("w", encoding="utf-8") as quiet:
            os.dup2(quiet.fileno(), 1)
            os.dup2(quiet.fileno(), 2)
            os._exit(0 if passes() else 1)
        os._exit(1)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0


def suite(files: list[str], *more: str) -> bool:
    """Return whether these test files pass."""
    arguments = ["-x", "-q", "-p", "no:cacheprovider", *more, *(str(ROOT / file) for file in files)]
    return pytest.main(arguments) == pytest.ExitCode.OK


def hand_arithmetic() -> bool:
    """Return whether every formula gives what the hand gives, without the cost of collecting tests."""
    from evener.scoring.mechanics import methods

    text = (ROOT / "tests" / "mechanics" / "hand_arithmetic.csv").read_text(encoding="utf-8")
    for case in csv.DictReader(text.splitlines()):
        given = {name: float(value) for name, value in (pair.split("=") for pair in case["arguments"].split("; "))}
        result, hand = methods.METHODS[case["formula_id"]].function(**given), float(case["result"])
        if abs(result - hand) > max(1e-7 * abs(hand), 1e-12):
            return False
    return True


def functions() -> tuple[int, int]:
    """Spoil the formulas; return how many mutants there were, and how many were noticed."""
    from evener.scoring.mechanics import CHAPTERS, methods

    methods.load_all()
    made = noticed = 0
    for chapter in CHAPTERS:
        module = importlib.import_module(f"evener.scoring.mechanics.{chapter}")
        tree = ast.parse((MECHANICS / f"{chapter}.py").read_text(encoding="utf-8"))
        for said, changed in mutants(tree):

            def passes(module=module, changed=changed) -> bool:  # noqa: ANN001
                exec(compile(changed, module.__file__, "exec"), module.__dict__)  # noqa: S102
                return hand_arithmetic() and suite(FORMULA_TESTS)

            made += 1
            if in_a_child(passes):
                sys.stdout.write(f"not noticed: {chapter}, {said}\n")
            else:
                noticed += 1
    return made, noticed


def cells() -> list[tuple[str, int, str]]:
    """Return every number of the tables that the sizing reads: table, row from 0, column."""
    found = []
    for table in READ_BY_THE_SIZING:
        rows = csv.DictReader((REFERENCE / f"{table}.csv").read_text(encoding="utf-8").splitlines())
        for place, row in enumerate(rows):
            for column, cell in row.items():
                if column not in {"note", "source_id", "status"}:
                    with contextlib.suppress(ValueError):
                        float(cell)
                        found.append((table, place, column))
    return found


def with_spoilt(table: str, place: int, column: str) -> str:
    """Return the text of a table with one number spoilt."""
    rows = list(csv.DictReader((REFERENCE / f"{table}.csv").read_text(encoding="utf-8").splitlines()))
    rows[place][column] = f"{spoilt(float(rows[place][column])):.10g}"
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def tables(sample: int, seed: int) -> tuple[int, int]:
    """Spoil numbers of the tables; return how many of the sample there were, and how many were noticed."""
    every = cells()
    chance = random.Random(seed)  # noqa: S311 - a sample, no secret
    for files, share in ((["tests/schema/test_parameters.py"], sample), (TABLE_TESTS, sample)):
        chosen = chance.sample(every, min(share, len(every)))
        missed = [cell for cell in chosen if holds(cell, files)]
        for table, place, column in missed:
            sys.stdout.write(f"not noticed: {table}, row {place + 1}, {column}\n")
        sys.stdout.write(f"{', '.join(files)}: {len(chosen) - len(missed)} of {len(chosen)} noticed\n")
    return len(chosen), len(chosen) - len(missed)


def holds(cell: tuple[str, int, str], files: list[str]) -> bool:
    """Return whether tests pass on a package whose table has one number spoilt."""
    return passes_with(Path("schema", "reference", f"{cell[0]}.csv"), with_spoilt(*cell), files)


def demands(sample: int, seed: int) -> tuple[int, int]:
    """Spoil the modules that bring the formulas to tasks and tractors; return how many, and how many were noticed."""
    every = []
    for name in DEMAND_MODULES:
        tree = ast.parse((ROOT / "scoring" / f"{name}.py").read_text(encoding="utf-8"))
        every += [(name, said, ast.unparse(changed)) for said, changed in mutants(tree)]
    chosen = random.Random(seed).sample(every, min(sample, len(every)))  # noqa: S311 - a sample, no secret
    noticed = 0
    for name, said, text in chosen:
        if passes_with(Path("scoring", f"{name}.py"), text, SIZING_TESTS):
            sys.stdout.write(f"not noticed: {name}, {said}\n")
        else:
            noticed += 1
    return len(chosen), noticed


def passes_with(file: Path, text: str, tests: list[str]) -> bool:
    """Return whether tests pass on a package in which one file reads otherwise."""
    folder = Path(tempfile.mkdtemp())
    try:
        package = folder / "evener"
        package.mkdir()
        for room in ("schema", "ingest", "scoring", "cli", "demo_db"):
            if room == file.parts[0]:
                shutil.copytree(ROOT / room, package / room)
            else:
                (package / room).symlink_to(ROOT / room)
        (package / file).write_text(text, encoding="utf-8")
        command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests]
        ran = subprocess.run(command, env={**os.environ, "PYTHONPATH": str(folder)}, capture_output=True, check=False)
        return ran.returncode == pytest.ExitCode.OK
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def main() -> None:
    """Run one part and print the score."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("part", choices=["functions", "tables", "demands"])
    parser.add_argument("--sample", type=int, default=60)
    parser.add_argument("--seed", type=int, default=4)
    asked = parser.parse_args()
    sampled = {"tables": tables, "demands": demands}
    made, noticed = sampled[asked.part](asked.sample, asked.seed) if asked.part in sampled else functions()
    sys.stdout.write(f"{asked.part}: {noticed} of {made} noticed\n")


if __name__ == "__main__":
    os.chdir(ROOT)
    main()
