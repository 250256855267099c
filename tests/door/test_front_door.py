"""The library's front door: five lines from nothing to an answer, and refusals that say what is wrong."""

import json
import math
import subprocess
import sys
from dataclasses import FrozenInstanceError, replace
from importlib import resources
from pathlib import Path

import pytest

import evener
from evener import reference
from evener.scoring.core.draws import Draws

DOCS = Path(__file__).resolve().parents[2] / "docs"
RIDGE = resources.files("evener.demo_db").joinpath("jobs", "ridge.toml").read_text(encoding="utf-8")
STEMS = "cut-back-the-scrub.stems"


@pytest.fixture(scope="module")
def store(library_store):
    """The library store, opened."""
    return evener.open(library_store)


@pytest.fixture(scope="module")
def ridge(tmp_path_factory):
    """The demo sheet on disk."""
    path = tmp_path_factory.mktemp("jobs") / "ridge.toml"
    path.write_text(RIDGE, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def answer(store, ridge):
    """The ranking of the demo sheet."""
    return store.rank(ridge)


def test_five_lines_lead_to_an_answer(store, ridge, answer):
    """Open, read, rank, ask and answer: the pick is a record's id, and an answer gives a new ranking."""
    job = store.read_job(ridge)
    assert job.place.name == "Mostly Uphill"
    assert answer.pick == answer.tractors[0].tractor_id
    assert answer.to_frame(units="us")["unit"].isin(["hp", "lb", "lb ft", "ft"]).all()
    assert STEMS in [question.id for question in answer.ask().questions[:3]]
    thick = answer.with_answer(STEMS, "3 in")
    assert thick.size.pto_power > answer.size.pto_power
    assert answer.with_answer(STEMS, "3 in").to_dict() == thick.to_dict()
    assert "Cut back the scrub" not in {one.task for one in thick.open if one.size == "stem_m"}


def test_answers_are_frozen(answer):
    """Nothing of an answer can be changed behind the back of who holds it."""
    with pytest.raises(FrozenInstanceError):
        answer.pick = "another"


@pytest.mark.ci
def test_explanation_and_check_are_what_the_commands_print(evener_command, store, ridge, answer):
    """--format json of explain and check is to_dict of the same call, in both systems."""
    for units in ("si", "us"):
        for command, called in (
            (("explain", ridge, answer.pick), answer.explain(answer.pick)),
            (("check", ridge), store.check(ridge)),
        ):
            printed = json.loads(evener_command(*command, "--format", "json", "--units", units))
            assert printed == json.loads(json.dumps(called.to_dict(units)))


@pytest.fixture
def evener_command(library_store):
    """Run the command line in this process and return what it prints."""
    from typer.testing import CliRunner

    from evener.cli.main import app

    return lambda *arguments: CliRunner().invoke(app, [*map(str, arguments), "--store", str(library_store)]).stdout


def test_a_path_that_is_not_there_is_refused(tmp_path):
    """Opening a store by a mistyped name builds nothing."""
    with pytest.raises(evener.NoStore, match="there is no store at"):
        evener.open(tmp_path / "mistyped.duckdb")
    assert list(tmp_path.iterdir()) == []


def test_a_refused_job_carries_its_findings(store, tmp_path):
    """A sheet with two mistakes is refused with both, each with its line."""
    path = tmp_path / "wrong.toml"
    path.write_text('[place]\nname = "A"\nslop = "3 %"\n[[task]]\nname = "B"\nfamily = "unicorn"\n', encoding="utf-8")
    with pytest.raises(evener.JobRefused) as caught:
        store.read_job(path)
    assert [one.row for one in caught.value.findings] == [3, 6]


@pytest.mark.parametrize("value", [0, -1.0, math.nan, math.inf, True, "much"])
def test_a_capacity_that_is_none_is_refused_by_name(store, value):
    """A capacity of 0, less, NaN or infinity never reaches an answer; the field is named."""
    good = next(one for one in store.holdings.tractors if one.loader_lift_kg)
    with pytest.raises(evener.RecordRefused, match="loader_lift_kg"):
        store.with_records(tractors=[replace(good, loader_lift_kg=value)])


@pytest.mark.ci
def test_records_come_as_objects_frames_and_lists(store, ridge, tmp_path):
    """The same tractor as a record, a DataFrame in US units and a list in a file ranks alike, and nothing is stored."""
    import pandas as pd

    brought = next(one for one in store.holdings.tractors if one.tractor_id == "utility-62-4wd")
    own = replace(brought, tractor_id="MINE", kind="stock", batch_id=None, file_row=None, estimated={}, spread_pct=None)
    said = {"tractor_id": "MINE", "label": "Mine", "pto_power_hp": 62, "mass_lb": 7000, "hitch_category": "2"}
    frame = pd.DataFrame([{**said, "loader_lift_lb": None}])
    file = tmp_path / "mine.csv"
    file.write_text("id,label,PTO hp,weight lb,hitch\nMINE,Mine,62,7000,2\n", encoding="utf-8")
    by_record = evener.rank(ridge, tractors=[own], store=store)
    assert [one.tractor_id for one in by_record.tractors] == ["MINE"]
    by_frame, by_list = (evener.rank(ridge, tractors=given, store=store).tractors[0] for given in (frame, file))
    assert by_frame.pto_power == pytest.approx(by_list.pto_power)
    assert by_frame.limiting == by_list.limiting
    assert "MINE" not in {one.tractor_id for one in store.holdings.tractors}


def test_a_column_that_is_no_field_is_refused_with_the_nearest(store):
    """A DataFrame with a misspelt column is refused, and the field that was meant is named."""
    import pandas as pd

    with pytest.raises(evener.RecordRefused, match="pto_power_hp"):
        store.with_records(tractors=pd.DataFrame([{"tractor_id": "A", "pto_powr_hp": 60}]))


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda store, job: store.rank(job, among="rented"), "among takes class, stock, member, not rented"),
        (lambda store, job: store.rank(job, top=0), "top takes a whole number from 1"),
        (lambda store, job: store.ask(job, seeds=-1), "seeds takes a whole number from 0"),
        (lambda store, job: store.query("SELECT 1", seconds=math.nan), "seconds takes"),
        (lambda store, job: store.explain(job, "utility-50-5"), "there is no tractor 'utility-50-5'.*utility-50-4wd"),
        (lambda store, job: store.list("horses"), "kind takes tractors"),
    ],
)
def test_wrong_use_names_the_argument(store, ridge, call, says):
    """What a call cannot take is refused by the argument's name, with what it takes."""
    with pytest.raises(evener.Refused, match=says):
        call(store, ridge)


@pytest.mark.ci
def test_lists_go_in_and_out_and_back(library_store, tmp_path):
    """Ingest, list, export, quarantine and undo are one call each, and leave the store as it was."""
    import shutil

    held = evener.open(shutil.copy(library_store, tmp_path / "own.duckdb"))
    file = tmp_path / "stock.csv"
    file.write_text("id,label,PTO hp\nS1,One,61\nS2,,48\n", encoding="utf-8")
    loaded = held.ingest(file, record="tractors", kind="stock")
    assert (loaded.report.loaded, loaded.report.quarantined) == (1, 1)
    assert [row["tractor_id"] for row in held.list("tractors", only={"kind": "stock"}).rows()] == ["S1"]
    assert held.export("tractors", tractor_kind="stock").count("\n") == 2
    assert len(held.quarantine().refused) == 1
    assert held.undo(loaded.report.batch_id).removed == 1
    assert held.list("tractors", only={"kind": "stock"}).to_frame().empty


def test_an_interview_is_an_object(store):
    """An interview asks, takes back, and ends in a job that can be ranked."""
    talk = store.interview()
    talk.answer("Bramble End")
    assert talk.answers == ("Bramble End",)
    talk.back()
    assert talk.answers == ()
    with pytest.raises(ValueError, match="not at its end"):
        talk.sheet()


def test_opening_imports_nothing_heavy():
    """Importing the front door imports neither numpy nor pandas nor duckdb."""
    code = "import sys, evener; evener.open; print(sorted({'numpy', 'pandas', 'duckdb'} & set(sys.modules)))"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout == "[]\n"


def test_every_public_name_is_there():
    """Each name of __all__ can be reached and says what it is; nothing else is offered."""
    assert all(getattr(evener, name) is not None for name in evener.__all__)
    assert dir(evener) == sorted(evener.__all__)
    assert Draws().n == 4096
    with pytest.raises(AttributeError, match="tractor_of_the_year"):
        _ = evener.tractor_of_the_year


def test_the_reference_is_current():
    """docs/api.md is what the docstrings say: python -m evener.reference > docs/api.md."""
    assert (DOCS / "api.md").read_text(encoding="utf-8") == reference.page()
