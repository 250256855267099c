"""A stock list as a snapshot: what is new, changed, cheaper and gone; and what is in doubt stays."""

import pytest

from evener.enquiry import holdings
from evener.ingest.store import lists, undo
from evener.ingest.store.report import WholeList
from evener.schema.store import connection as store

HEADER = "Stock #,Description,PTO hp,Price,Status"
DAY_ONE = ["1,Utility 62,62,15900,available", "2,Utility 75,75,21500,available", "3,Utility 48,48,8200,available"]


@pytest.fixture
def day(path, tmp_path):
    """Load a day's list of a yard as its whole stock."""

    def run(*lines, most_gone=False, owner="Cold Spring", dry_run=False):
        file = tmp_path / "stock.csv"
        file.write_text("\n".join([HEADER, *lines]) + "\n")
        (report,) = lists.ingest_list(
            path, file, kind="stock", owner=owner, whole=WholeList(most_gone), dry_run=dry_run
        )
        return report

    return run


def stock(path):
    with store.open_read(path) as con:
        return {row["tractor_id"]: row for row in store.read_rows(con, "tractor") if row["kind"] == "stock"}


def test_a_days_difference_is_told(day, path):
    """New, changed and gone units are named, a cut price with both prices; a unit that is gone is in the history."""
    first = day(*DAY_ONE)
    assert [one.name for one in first.difference.new] == ["1", "2", "3"]
    second = day("1,Utility 62,62,14900,available", "2,Utility 75,75,21500,pending", "4,Utility 36,36,5900,available")
    told = second.difference
    assert [one.name for one in told.new] == ["4"]
    assert [(one.name, one.price_before, one.price, one.fields) for one in told.changed] == [
        ("1", 15900, 14900, ("price",)),
        ("2", 21500, 21500, ("stock_status",)),
    ]
    assert [(one.name, one.label, one.price) for one in told.gone] == [("3", "Utility 48", 8200)]
    assert set(stock(path)) == {"1", "2", "4"}
    with store.open_read(path) as con:
        assert "3" in [row["key"] for row in store.read_rows(con, "history")]
    assert second.findings == ()


@pytest.mark.ci
def test_gone_units_come_back_when_the_list_is_taken_back(day, path):
    """Taking back a whole list brings back what it found gone."""
    day(*DAY_ONE)
    before = stock(path)
    undo.undo(path, day(*DAY_ONE[:2]).batch_id)
    assert stock(path) == before


@pytest.mark.ci
def test_a_dry_run_names_what_would_go(day, path):
    """What would be gone is told before it is."""
    day(*DAY_ONE)
    assert [one.name for one in day(*DAY_ONE[1:], dry_run=True).difference.gone] == ["1"]
    assert set(stock(path)) == {"1", "2", "3"}


@pytest.mark.ci
def test_another_owners_units_are_not_gone(day, path):
    """A list is the whole of its own owner's units and of nobody else's."""
    day(*DAY_ONE)
    day("9,Utility 90,90,30000,available", owner="Fennel Croft")
    assert set(stock(path)) == {"1", "2", "3", "9"}


@pytest.mark.ci
def test_a_list_cut_short_takes_nothing_out(day, path):
    """Where most units are missing, or a row has no name, what is not named stays and it is asked."""
    many = [f"{number},Utility,62,15900,available" for number in range(20)]
    day(*many)
    report = day(*many[:3])
    assert [finding.id for finding in report.findings] == ["gone-in-doubt"]
    assert len(report.difference.in_doubt) == 17
    assert len(stock(path)) == 20
    assert len(day(*many[:3], most_gone=True).difference.gone) == 17
    assert len(stock(path)) == 3


@pytest.mark.ci
def test_a_refused_row_is_not_gone(day, path):
    """A unit whose row is refused today was named today, and stays as it was."""
    day(*DAY_ONE)
    report = day(*DAY_ONE[:2], "3,,48,8200,available")
    assert (report.quarantined, report.difference.gone) == (1, ())
    assert set(stock(path)) == {"1", "2", "3"}
    assert day(*DAY_ONE[:2], "odd,row").difference.in_doubt[0].name == "3"


def test_a_sold_unit_is_listed_and_in_no_answer(day, path, tmp_path):
    """Sold stays as a state of the unit; what answers are made from does not hold it."""
    day(*DAY_ONE[:2], "3,Utility 48,48,8200,sold")
    assert stock(path)["3"]["stock_status"] == "sold"
    assert {one.tractor_id for one in holdings.read(path).tractors if one.kind == "stock"} == {"1", "2"}
    file = tmp_path / "tools.csv"
    file.write_text("Stock #,Type,Width (ft),Status\n21,rotary cutter,5,sold\n22,rotary cutter,6,available\n")
    lists.ingest_list(path, file, record="implements", owner="Cold Spring")
    assert {"21", "22"} & set(holdings.read(path).library.implements) == {"22"}
