"""`evener cost` and `evener beside` as a user runs them."""

import csv
import io
import json

import pytest

import evener as evener_library


@pytest.fixture(scope="module")
def answer(library_store, tmp_path_factory):
    """A cost sheet of the class that costs least for a small job."""
    path = tmp_path_factory.mktemp("cost") / "job.toml"
    path.write_text(SHEET, encoding="utf-8")
    return evener_library.open(library_store).cost(path)


SHEET = """
[place]
name = "Quince Hollow"
slope = "5 %"
[[place.land]]
use = "pasture"
area = "46 ac"
[[task]]
name = "Top"
family = "rotary cutter"
width = "6 ft"
stems = "1 in"
land = "pasture"
times = 2
[[task]]
name = "Bale"
family = "round baler"
bale = "4x5 ft"
land = "pasture"
when = "planned"
chance = 0.4
year = 2029
[policy]
year = 2026
"""


@pytest.mark.ci
@pytest.mark.parametrize(
    "command", [("cost", ()), ("cost", ("utility-62-4wd",)), ("beside", ("utility-50-4wd", "utility-62-4wd"))]
)
def test_json_is_valid_and_what_the_python_call_returns(evener, tmp_path, library_store, answer_schema, command):
    """What is printed as JSON is the dictionary of the call, and valid against the schema that ships."""
    path = tmp_path / "job.toml"
    path.write_text(SHEET, encoding="utf-8")
    name, tractors = command
    printed = json.loads(evener(name, path, *tractors, "--format", "json").stdout)
    answer_schema(name).validate(printed)
    called = getattr(evener_library.open(library_store), name)(path, *tractors).to_dict()
    assert printed == json.loads(json.dumps(called))


@pytest.mark.ci
def test_the_parts_add_up_by_task_and_by_year(answer):
    """Tasks sum to what is run and hired, the years' mean is the yearly cost, and a plan is there from its year on."""
    one = answer.tractor
    assert sum(task.running + task.there for task in answer.tasks) == pytest.approx(one.running)
    assert sum(task.hired for task in answer.tasks) == pytest.approx(one.hired)
    assert sum(year.total for year in answer.years) / len(answer.years) == pytest.approx(one.a_year)
    assert [year.year for year in answer.years] == list(range(2026, 2034))
    running = [year.running + year.hired for year in answer.years]
    assert running[2] < running[3] == pytest.approx(running[7])


def test_every_figure_says_where_it_comes_from(answer):
    """Terms have a source and a status, and so has the rate of each task and every step."""
    assert all(one.source and one.status for one in (*answer.terms, *answer.steps))
    assert all(one.rate_source and one.rate_status for one in answer.tasks)
    assert [one.machine for one in answer.machines] == ["Top", "Bale"]
    assert all(one.source and one.status for one in answer.machines)
    year = next(one for one in answer.terms if one.name == "year_zero")
    assert (year.value, year.status) == (2026, "customer")


def test_steps_can_be_redone_by_hand(answer):
    """Each step that is printed gives its result when its formula is called with its inputs."""
    from evener.scoring.mechanics.methods import load_all

    catalogue = load_all()
    assert len(answer.steps) > 8
    for step in answer.steps:
        given = {name: one.value for name, one in step.inputs.items()}
        assert catalogue[step.method].function(**given) == pytest.approx(step.result, rel=1e-9)


@pytest.mark.ci
def test_a_page_names_the_money_and_its_basis(evener, tmp_path):
    """The page says the sum, that prices are of custom, and what each task and year takes."""
    path = tmp_path / "job.toml"
    path.write_text(SHEET, encoding="utf-8")
    page = evener("cost", path, "utility-50-4wd", "--steps").stdout
    assert "custom, an order of magnitude" in page
    for heading in ("By task, a year", "By year", "What it rests on", "Step by step, in the middle case"):
        assert heading in page


def test_a_sheet_without_its_currencys_rate_is_told(evener, tmp_path):
    """Euros without what a dollar is worth end with what to say, and status 2."""
    path = tmp_path / "job.toml"
    path.write_text(SHEET + '[prices]\ncurrency = "EUR"\n', encoding="utf-8")
    ran = evener("cost", path)
    assert ran.returncode == 2
    assert "say [prices] usd" in ran.stderr


@pytest.mark.ci
def test_beside_has_the_customers_tasks_as_rows(evener, tmp_path):
    """One row for every task and tractor, and no row of a specification."""
    path = tmp_path / "job.toml"
    path.write_text(SHEET, encoding="utf-8")
    rows = list(
        csv.DictReader(
            io.StringIO(evener("beside", path, "utility-40-4wd", "utility-62-4wd", "--format", "csv").stdout)
        )
    )
    named = [row for row in rows if row["task"] in {"Top", "Bale"}]
    assert {row["tractor_id"] for row in named} == {"utility-40-4wd", "utility-62-4wd"}
    assert len(named) == 4


@pytest.mark.ci
@pytest.mark.parametrize(
    ("tractors", "said"),
    [
        (("utility-50-4wd",), "2 to 5 tractors can stand beside each other, not 1"),
        (("utility-50-4wd", "utility-50-4wd"), "can stand beside others once"),
        (("utility-50-4wd", "U999"), "there is no tractor 'U999'"),
    ],
)
def test_beside_refuses_what_it_cannot_set_side_by_side(evener, tmp_path, tractors, said):
    """Too few, twice the same, or no such record: one line, and status 2."""
    path = tmp_path / "job.toml"
    path.write_text(SHEET, encoding="utf-8")
    ran = evener("beside", path, *tractors)
    assert ran.returncode == 2
    assert said in ran.stderr
