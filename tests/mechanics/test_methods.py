"""The registry: every formula is in it, and says what a reader needs to judge it."""

from __future__ import annotations

import ast
import csv
import doctest
import importlib
import inspect
from importlib import resources
from pathlib import Path

import pytest

from evener.scoring import mechanics
from evener.scoring.mechanics import methods

CATALOGUE = methods.load_all()
FOLDER = Path(mechanics.__file__).parent
HOUSEKEEPING = {"__init__", "methods", "validity", "quantities"}
UNITS = {
    *("kW", "kW/kg", "kW/m", "kWh/t", "kWh/L", "kg/kW", "kg/kWh", "kN", "kN/m", "N m", "kPa", "V", "A"),
    *("m", "cm", "m3", "L", "ha", "kg", "kg m", "kg/m3", "kg/L", "kg/s", "t/h", "t/ha"),
    *("km/h", "m/s", "1/min", "1/h", "1/m", "1/yr", "ha/h", "L/h", "L/ha", "L/min", "L/kWh"),
    *(
        "s",
        "h",
        "d",
        "yr",
        "h/yr",
        "rad",
        "fraction",
        "%",
        "1",
        "money",
        "money/yr",
        "money/h",
        "money/L",
        "money/unit",
        "m or 1",
        "row's unit",
    ),
}


def sources():
    """Status of each source by id."""
    text = (resources.files("evener.schema") / "reference" / "sources.csv").read_text(encoding="utf-8")
    return {row["source_id"]: row["status"] for row in csv.DictReader(text.splitlines())}


def test_the_chapters_are_the_modules():
    """Every module of the folder is a chapter or keeps house, and no chapter is missing."""
    found = {path.stem for path in FOLDER.rglob("*.py")}
    assert found == {*(chapter.rpartition(".")[2] for chapter in mechanics.CHAPTERS), *HOUSEKEEPING}


@pytest.mark.parametrize("chapter", mechanics.CHAPTERS)
def test_every_public_function_of_a_chapter_is_registered(chapter):
    """A formula cannot be left out of the method table, but the balance check, which is none."""
    module = importlib.import_module(f"{mechanics.__name__}.{chapter}")
    public = {
        f"{chapter.rpartition('.')[2]}.{name}"
        for name, thing in vars(module).items()
        if inspect.isfunction(thing) and thing.__module__ == module.__name__ and not name.startswith("_")
    }
    assert public - set(CATALOGUE) <= {"balance.require_balance"}


@pytest.mark.parametrize("method", CATALOGUE.values(), ids=CATALOGUE)
def test_a_formula_documents_every_argument_with_its_unit(method):
    """Arguments of docstring and signature are the same, each ends with a known unit, and so does the result."""
    assert list(method.units) == list(inspect.signature(method.function).parameters)
    assert set(method.units.values()) <= UNITS
    assert method.result_units
    assert set(method.result_units.values()) <= UNITS
    assert method.title.endswith(".")


@pytest.mark.parametrize("method", CATALOGUE.values(), ids=CATALOGUE)
def test_a_formula_takes_one_number_by_position(method):
    """All arguments after the first are given by name."""
    first, *rest = inspect.signature(method.function).parameters.values()
    assert first.kind is inspect.Parameter.POSITIONAL_OR_KEYWORD
    assert all(each.kind is inspect.Parameter.KEYWORD_ONLY for each in rest)


@pytest.mark.parametrize("method", CATALOGUE.values(), ids=CATALOGUE)
def test_a_formula_names_a_source_that_bears_its_status(method):
    """The source is in the sources table; published needs a source that was seen, practice one that is practice."""
    status = sources()[method.source_id]
    assert method.equation
    assert method.clause
    assert method.status in {"published", "memory", "practice"}
    if method.status == "published":
        assert status == "published"
    if status == "practice":
        assert method.status == "practice"


@pytest.mark.parametrize("method", CATALOGUE.values(), ids=CATALOGUE)
def test_a_formula_bounds_every_argument(method):
    """Each argument has an interval of its own, so that none is extrapolated unseen."""
    assert set(method.validity) == set(method.units)


def test_the_validity_of_a_formula_reads_in_one_line():
    """The method table prints bounded intervals with their units, then what the source says in words."""
    assert CATALOGUE["power_flow.pto_from_engine"].valid == (
        "ratio (0, 1]; the ratio belongs to one meaning of engine power: net or gross flywheel"
    )
    assert CATALOGUE["drawbar.drawbar_power"].valid == "S [0, 60] km/h"
    assert CATALOGUE["slip.slip_from_times"].valid == "anything above zero"


@pytest.mark.parametrize("module", sorted(FOLDER.glob("*.py")), ids=lambda path: path.stem)
def test_a_chapter_imports_only_numpy_and_the_standard_library(module):
    """The formulas carry no other library with them."""
    allowed = {"__future__", "math", "numpy", "typing", "warnings", "evener"}
    if module.stem in HOUSEKEEPING:
        allowed |= {"collections", "dataclasses", "functools", "importlib", "inspect", "re"}
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        names += [node.module] if isinstance(node, ast.ImportFrom) else []
        assert {name.partition(".")[0] for name in names} <= allowed


def test_an_interval_for_an_argument_that_does_not_exist_is_refused():
    """A slip in a validity range is found when the module is read."""

    def area(w, *, h):
        return w * h

    with pytest.raises(TypeError, match="takes no v"):
        methods.formula("A = w h", source="HANDBOOK", status="memory", valid={"v": "[0, 1]"})(area)


@pytest.mark.parametrize("chapter", mechanics.CHAPTERS)
def test_the_examples_of_a_chapter_run(chapter):
    """Whatever a docstring shows is what the function gives."""
    module = importlib.import_module(f"{mechanics.__name__}.{chapter}")
    assert doctest.testmod(module, optionflags=doctest.ELLIPSIS).failed == 0
