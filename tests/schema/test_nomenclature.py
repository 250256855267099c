"""The nomenclature is one: tables, models, dataclasses and shipped files all follow it."""

import csv
import dataclasses
import math
from importlib import resources

import duckdb
import numpy as np
import pandas as pd
import pandera.errors
import pytest

from evener.ingest.columns.headers import fold
from evener.schema import fields, records, tables, units
from evener.schema.store import connection as store

COMPOUND_UNITS = {"kg/m3", "kg/kW", "kW/m", "kWh/t", "N", "N/(km/h)", "N/(km/h)2", "N m", "currency"}
DATACLASSES = {
    "tractor": records.Tractor,
    "implement": records.Implement,
    "verdict": records.Verdict,
    "family": records.Family,
}


@pytest.mark.parametrize("record", fields.nomenclature())
def test_columns_models_and_nomenclature_agree(record, library_store):
    """A store's columns, the pandera model and the nomenclature name the same fields in the same order."""
    with store.open_read(library_store) as con:
        columns = [row[0] for row in con.execute(f'DESCRIBE "{record}"').fetchall()]
    assert columns == list(fields.of(record)) == list(tables.model(record).columns)


@pytest.mark.parametrize(("record", "kind"), DATACLASSES.items())
def test_dataclasses_have_the_fields_of_the_nomenclature(record, kind):
    """What scoring reads has exactly the fields of the nomenclature, in its order."""
    assert [column.name for column in dataclasses.fields(kind)] == list(fields.of(record))


@pytest.mark.parametrize("record", ["family", "source", *fields.reference_records()])
def test_shipped_tables_are_headed_by_field_names(record):
    """Every parameter table is headed by the nomenclature's names, and no column is left over."""
    file = resources.files("evener.schema").joinpath("reference", f"{fields.file_name(record)}.csv")
    headings = next(csv.reader(file.read_text(encoding="utf-8").splitlines()))
    assert set(headings) <= set(fields.of(record)) - {"batch_id", "file_row"}


def test_every_unit_is_known_and_ends_its_name():
    """A measured field's unit is in the unit table or a compound of them, and its name ends in it."""
    for record in fields.nomenclature():
        for field in fields.of(record).values():
            if not field.unit:
                continue
            assert units.known(field.unit) or field.unit in COMPOUND_UNITS, field
            if units.known(field.unit) and field.is_measured and not field.name.endswith(("_min", "_max", "_typ")):
                assert field.plain_name != field.name, field


def test_bounds_run_upwards():
    """A lower bound is below the upper one, and a range's upper end has a field of the same unit."""
    for record in fields.nomenclature():
        for field in fields.of(record).values():
            if field.low is not None and field.high is not None:
                assert field.low < field.high, field
            if field.upper:
                assert fields.of(record)[field.upper].unit == field.unit, field


def test_every_field_has_a_meaning():
    """No field goes without its one line."""
    assert all(field.meaning for record in fields.nomenclature() for field in fields.of(record).values())


def test_no_heading_means_two_fields():
    """Within a kind of record a heading's spelling belongs to one field only."""
    for record in fields.loaded_records():
        owner = {}
        for field in fields.of(record).values():
            for spelling in {fold(spelling) for spelling in (field.name, field.plain_name, *field.spellings)}:
                assert owner.setdefault(spelling, field.name) == field.name, spelling


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_tables_refuse_numbers_that_are_none(value):
    """NaN and infinity never enter a number column, whatever route they take."""
    con = duckdb.connect()
    con.execute(tables.ddl("prior"))
    with pytest.raises(duckdb.ConstraintException):
        con.execute(
            "INSERT INTO prior (quantity, low, high, shape, unit, source_id, status)"
            " VALUES ('slope', ?, 1, 'uniform', '1', 'PRACTICE', 'practice')",
            [value],
        )


def frame(**changed):
    row = {
        "quantity": "slope",
        "family": None,
        "land": None,
        "animals": None,
        "low": 0.0,
        "usual": None,
        "high": 0.1,
        "shape": "uniform",
        "unit": "1",
        "source_id": "PRACTICE",
        "status": "practice",
        "note": None,
        "batch_id": "B0001",
        "file_row": 2,
        **changed,
    }
    types = {name: tables.frame_type(field) for name, field in fields.of("prior").items()}
    return pd.DataFrame({name: pd.Series([value], dtype=types[name]) for name, value in row.items()})


def test_model_takes_a_plain_row():
    """A row within bounds and words passes the model."""
    assert len(tables.model("prior").validate(frame())) == 1


@pytest.mark.parametrize(
    "changed",
    [{"low": np.nan}, {"low": np.inf}, {"status": "verified"}, {"quantity": None}, {"file_row": 0}],
)
def test_model_refuses(changed):
    """A blank or infinite required number, an unknown word, a blank name and a line before the first are refused."""
    with pytest.raises(pandera.errors.SchemaError):
        tables.model("prior").validate(frame(**changed))
