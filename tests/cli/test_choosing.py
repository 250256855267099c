"""`evener list` with --where, --columns and --sort: the common questions, without SQL or with one condition of it."""

import csv
import io
import json
from itertools import pairwise

import pytest

from evener.results import choosing
from evener.results.record_list import records
from evener.schema.store import connection as store
from evener.schema.store import query


@pytest.mark.ci
def test_a_condition_chooses_and_an_order_sorts(library_store):
    """Rows meet the condition, fall by the first field and rise by the next, and what is not stated comes last."""
    rows = records(
        library_store, "implements", where="mass_lb < 900 OR mass_lb IS NULL", sort=["-rated_pto_power_kw", "label"]
    ).rows()
    stated = [row["rated_pto_power_kw"] for row in rows if row["rated_pto_power_kw"] is not None]
    assert stated == sorted(stated, reverse=True)
    assert [row["rated_pto_power_kw"] for row in rows[: len(stated)]] == stated
    assert all(row["mass_kg"] is None or row["mass_kg"] < 900 * 0.4536 for row in rows)
    assert 0 < len(rows) < 491
    for one, other in pairwise(rows):
        if one["rated_pto_power_kw"] == other["rated_pto_power_kw"]:
            assert one["label"].casefold() <= other["label"].casefold()


def test_conditions_and_filters_hold_together(library_store):
    """--family and --where both hold."""
    rows = records(
        library_store, "implements", only={"family": "tedder"}, where="working_width_ft >= 20", columns=["implement_id"]
    ).rows()
    assert rows
    assert all(row["implement_id"].startswith("tedder-") for row in rows)


@pytest.mark.parametrize("name", ["pto_power_kw", "pto_power", "pto_power_hp", "PTO_power_HP", "pto"])
def test_a_field_is_known_by_all_its_names(name):
    """Its stored name, its name without unit or in US units, and its heading of the trade mean one field."""
    assert choosing.field_named("tractor", name).name == "pto_power_kw"
    assert choosing.field_named("implement", "pto_power").name == "rated_pto_power_kw"


def test_an_unknown_field_is_named_with_its_neighbours(evener):
    """A mistyped column to show or to sort by is wrong use, with the near ones."""
    for option in ("--columns", "--sort"):
        ran = evener("list", "tractors", option, "tractor_id,pto_powr_kw")
        assert (ran.returncode, ran.stdout) == (2, "")
        assert "pto_power_kw" in ran.stderr


@pytest.mark.ci
def test_columns_are_shown_in_the_order_and_units_asked(evener):
    """--columns holds for table, CSV and JSON alike; falling order is written with a minus."""
    options = ("--columns", "tractor_id,pto_power,mass", "--sort", "-pto_power", "--where", "pto_power_hp < 80")
    us = evener("list", "tractors", *options, "--format", "csv", "--units", "us")
    rows = list(csv.DictReader(io.StringIO(us.stdout)))
    assert list(rows[0]) == ["tractor_id", "pto_power_hp", "mass_lb"]
    assert [float(row["pto_power_hp"]) for row in rows] == sorted(
        (float(row["pto_power_hp"]) for row in rows), reverse=True
    )
    si = json.loads(evener("list", "tractors", *options, "--format", "json").stdout)
    assert list(si["tractors"][0]) == ["tractor_id", "pto_power_kw", "mass_kg"]
    assert [row["tractor_id"] for row in si["tractors"]] == [row["tractor_id"] for row in rows]
    table = evener("list", "tractors", *options).stdout.splitlines()
    assert table[0].split() == ["id", "PTO,", "hp", "mass,", "lb"]
    assert table[1].split()[0] == rows[0]["tractor_id"]


@pytest.mark.ci
def test_a_condition_runs_where_it_cannot_harm(library_store, evener):
    """--where is asked in the guarded process: a sleep, a file and a second statement end in one line and status 2."""
    for condition in ("true; DROP TABLE implement", "mass_kg IN (SELECT 1 FROM read_csv('/etc/hosts'))", "nosuch = 1"):
        ran = evener("list", "implements", "--where", condition)
        assert (ran.returncode, ran.stdout, ran.stderr.count("\n")) == (2, "", 1)
        assert ran.stderr.startswith("evener: --where: ")
    with pytest.raises(store.StoreError, match="longer"):
        choosing.asking.keys_where(library_store, "implement", "sleep_ms(30000) IS NULL", seconds=0.2)
    assert issubclass(query.QueryRefused, store.StoreError)


@pytest.mark.ci
def test_none_meets_a_condition(evener):
    """A condition nothing meets ends with status 1, like any other empty listing."""
    ran = evener("list", "implements", "--where", "mass_lb > 1e9")
    assert ran.returncode == 1
    assert "None in the store." in ran.stdout


@pytest.mark.ci
def test_every_condition_has_to_hold(evener):
    """--where given twice chooses the records that meet both, not the last one's."""
    both = evener(
        *("list", "implements", "--where", "mass_lb < 900", "--where", "family = 'rotary_cutter'", "--format", "json")
    )
    records = json.loads(both.stdout)["implements"]
    assert records
    assert {record["family"] for record in records} == {"rotary_cutter"}
    assert all(record["mass_kg"] < 900 * 0.45359237 for record in records)
