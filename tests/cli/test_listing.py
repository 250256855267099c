"""Where the store is, and listing what is in it."""

import csv
import io
import json
import shutil

import pytest

from evener import opening
from evener.cli.analyst import listing as list_command
from evener.cli.options import Format, Kind, UnitSystem
from evener.cli.output import tables
from evener.cli.store import fields as fields_command
from evener.cli.store.opened import opened
from evener.enquiry.refused import Refused
from evener.ingest.store import batches
from evener.results import tables as result_tables
from evener.results.record_list import RECORDS, records
from evener.schema import fields
from evener.schema.store import connection as store


@pytest.fixture(autouse=True)
def a_wide_screen(monkeypatch):
    """No cell is folded, wherever the tests run."""
    monkeypatch.setenv("COLUMNS", "200")


def test_the_option_goes_before_the_environment_before_the_data_folder(tmp_path, monkeypatch):
    """--store, else EVENER_STORE, else the user's own data folder."""
    monkeypatch.setenv(opening.VARIABLE, str(tmp_path / "env.duckdb"))
    assert opening.location(tmp_path / "option.duckdb") == tmp_path / "option.duckdb"
    assert opening.location() == tmp_path / "env.duckdb"
    monkeypatch.delenv(opening.VARIABLE)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert opening.location().name == "store.duckdb"
    assert "evener" in opening.location().parts


def test_the_first_reading_command_builds_the_library_and_says_so(tmp_path, capsys, monkeypatch):
    """In the user's own folder a store is built, once, with its ratings fitted, and only stderr hears of it."""
    monkeypatch.delenv("EVENER_STORE", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    path = opening.location()
    assert opened(None).path == path
    said = capsys.readouterr()
    assert said.out == ""
    assert str(path) in said.err
    with store.open_read(path) as con:
        assert store.read_rating_models(con)
    opened(None)
    assert capsys.readouterr().err == ""


def test_what_is_no_store_is_left_for_the_reader(tmp_path):
    """Nothing is built in the place of another file."""
    path = tmp_path / "notes.txt"
    path.write_text("mine")
    assert opened(path).path == path
    assert path.read_text() == "mine"


def shown(capsys, kind, path, output, **options):
    """What a listing prints."""
    status = list_command.run(Kind(kind), output=output, unit_choice=options.pop("units", None), store=path, **options)
    return status, capsys.readouterr().out


@pytest.mark.parametrize("kind", RECORDS)
def test_json_is_what_the_call_returns(kind, library_store, capsys):
    """Every listing's JSON is the Python call's rows, in SI, with every field of the nomenclature."""
    status, out = shown(capsys, kind, library_store, Format.json)
    answer = json.loads(out)
    rows = records(library_store, kind).rows()
    assert status == 0
    assert (answer["schema"], answer["units"], len(answer[kind])) == (1, "si", len(rows))
    assert list(answer[kind][0]) == list(fields.of(RECORDS[kind]))
    assert json.loads(json.dumps(rows, default=lambda value: value.isoformat())) == answer[kind]


@pytest.mark.ci
@pytest.mark.parametrize("kind", RECORDS)
@pytest.mark.parametrize("output", [Format.table, Format.markdown, Format.csv])
def test_every_listing_has_a_row_for_each_record(kind, output, library_store, capsys):
    """Table, Markdown and CSV show every record by its name; the library's own ingests are counted on a page."""
    _, out = shown(capsys, kind, library_store, output)
    key = fields.keys(RECORDS[kind])[0]
    if kind == "batches" and output is not Format.csv:
        assert "None of your own in the store." in out
        assert "ingests of the library are not shown" in out
        return
    for row in records(library_store, kind).rows():
        assert row[key] in out


def test_us_units_are_in_the_names(library_store, capsys):
    """In US units a class has the round figures of the trade, and the names say so."""
    where = "tractor_id = 'utility-50-4wd'"
    _, out = shown(capsys, "tractors", library_store, Format.csv, units=UnitSystem.us, where=where)
    (row,) = csv.DictReader(io.StringIO(out))
    assert (row["pto_power_hp"], row["mass_lb"], row["hitch_lift_610_lb"]) == ("50.0", "5800.0", "3100.0")
    assert (row["wheelbase_in"], row["hydraulic_flow_gpm"]) == ("82.0", "10.8")


@pytest.mark.ci
def test_a_narrow_screen_leaves_out_columns_whole_words_and_says_which(library_store, capsys, monkeypatch):
    """At 80 columns no word is broken; what has no room is named, with how to see it."""
    monkeypatch.setenv("COLUMNS", "80")
    for kind in RECORDS.keys() - {"batches"}:
        _, out = shown(capsys, kind, library_store, Format.table)
        table, _, note = out.partition("- No room here")
        assert max(map(len, out.splitlines())) <= 80
        assert ("--format csv" in note) == bool(note)
        key = fields.keys(RECORDS[kind])[0]
        for row in records(library_store, kind).rows():
            label = row.get("label", "") if kind in ("tractors", "implements") else ""
            assert {*f"{row[key]} {label}".split()} <= {*table.split()}


def test_a_number_keeps_its_unit_on_its_line():
    """However narrow a column is, no line of it ends between a number and its unit."""
    lines = tables.drawn(["what", "much"], [["said of it at some length", "100 % of 12 hp, 3 lb"]], (), 22)
    assert len(lines) > 3
    assert not [line for line in lines if line.rstrip()[-1:].isdigit()]
    assert "12 hp" in "\n".join(lines)


def test_only_what_is_asked_is_listed(library_store, capsys):
    """A filter leaves its own; none left is said, with status 1, and a filter that cannot hold is wrong use."""
    rows = records(library_store, "implements", only={"family": "tedder"}).rows()
    assert {row["family"] for row in rows} == {"tedder"}
    status, out = shown(capsys, "tractors", library_store, Format.table, among="member")
    assert status == 1
    assert "None in the store." in out
    with pytest.raises(Refused, match="family: tractors have none"):
        list_command.run(Kind.tractors, family="tedder", store=library_store)


@pytest.mark.ci
def test_records_cannot_drive_a_terminal_or_a_spreadsheet(library_store, tmp_path, capsys):
    """Control characters are escaped on screen, a formula is neutralised in CSV, and estimates are marked."""
    path = shutil.copy(library_store, tmp_path / "own.duckdb")
    file = tmp_path / "stock.csv"
    file.write_text("id,label,engine (hp)\n'=1+1,\x1b[2Jred,73\n")
    assert batches.ingest_file(path, file, kind="stock").loaded == 1
    _, screen = shown(capsys, "tractors", path, Format.table, among="stock")
    assert "\x1b" not in screen
    assert "\\x1b[2Jred" in screen
    assert "~63" in screen
    _, sheet = shown(capsys, "tractors", path, Format.csv, among="stock")
    (row,) = csv.DictReader(io.StringIO(sheet))
    assert row["tractor_id"] == "'=1+1"


def test_fields_are_listed_in_every_format(capsys):
    """The nomenclature prints as table, Markdown, JSON and CSV, with unit, bounds, headings and meaning."""
    for output in Format:
        assert fields_command.run("tractor", output=output) == 0
        out = capsys.readouterr().out
        assert "pto_power_kw" in out
        assert "rated power at the rear power take-off" in out.replace("\n", " ") or output is Format.table
    assert fields_command.run(None, output=Format.json) == 0
    entries = json.loads(capsys.readouterr().out)["fields"]
    assert {entry["record"] for entry in entries} == set(fields.nomenclature())
    assert entries == result_tables.fields().to_dict()["fields"]


def test_the_keys_of_a_job_sheet_are_listed(capsys):
    """Every key with its section, its unit, what it may hold and what people call it."""
    assert fields_command.run("sheet", output=Format.json) == 0
    entries = {(one["record"], one["name"]): one for one in json.loads(capsys.readouterr().out)["fields"]}
    assert entries["task", "width"]["unit"] == "m"
    assert "pasture" in entries["place.land", "use"]["choices"]
    assert "acres" in entries["place.land", "area"]["spellings"]


def test_an_unknown_kind_of_record_is_wrong_use():
    """Fields of what is no record: status 2 and the list of those there are."""
    with pytest.raises(Refused, match="tractor, implement, family"):
        fields_command.run("horse")
