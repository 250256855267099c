"""Owners have further names: said by hand that two are one, asked where they are near, never guessed."""

import pytest

from evener.enquiry.enquiry import tractor_of
from evener.enquiry.sheds import read_shed
from evener.ingest.columns.headers import Choice
from evener.ingest.columns.mappings import FileMapping
from evener.ingest.store import lists, undo
from evener.ingest.store.put_right import amending, owning
from evener.opening import open_store
from evener.schema.store import aliases, senders
from evener.schema.store import connection as store

HEADER = "No.,Description,Year,Hours,PTO hp,Weight (lb),Colour"
BARN, HILL = "1,Barn tractor,1998,5400,45,4000,red", "2,Hill tractor,2008,2400,75,7400,blue"


def tractors(rows_of):
    return {row["tractor_id"]: row["owner"] for row in rows_of("tractor") if row["kind"] == "member"}


@pytest.fixture
def member(load):
    """Load a list of a member."""
    return lambda line, owner, **said: load(line, header=HEADER, kind="member", owner=owner, **said)


@pytest.mark.ci
def test_two_names_are_one_owner(member, path, rows_of):
    """Records of both names are one owner's, found by either, and so is his next list; taking it back parts them."""
    member(BARN, "Cold Spring")
    member(HILL.replace("2,", "1,", 1), "Spring, cold")
    assert tractors(rows_of) == {"1": "Cold Spring", "1@Spring, cold": "Spring, cold"}
    with pytest.raises(owning.CannotJoin, match="numbered 1"):
        owning.join(path, "Cold Spring", ["Spring, cold"])
    member(HILL, "The Spring")
    done = owning.join(path, "cold spring", ["The Spring"])
    assert (done.owner, done.also, done.moved) == ("Cold Spring", ("The Spring",), 1)
    assert tractors(rows_of)["2"] == "Cold Spring"
    assert '"Colour": "blue"' in " ".join(
        row["raw"] for row in rows_of("unplaced") if row["batch_id"] == done.batch_ids[0]
    )
    report = member(HILL, "The spring", name="next.csv")
    assert ([one.id for one in report.findings], report.unchanged) == (["unknown-column"], 1)
    held = open_store(path).holdings
    assert tractor_of("2@the  spring", held.tractors, held.aliases).tractor_id == "2"
    assert amending.amend(path, "2@The Spring", {"weight": "7500 lb"}, why="weighed").name == "2"
    undo.undo(path, amending.amend(path, "2", {"weight": "7600 lb"}, why="again").batch_id)
    with pytest.raises(owning.CannotJoin, match="already"):
        owning.join(path, "Cold Spring", ["the spring"])


@pytest.mark.ci
def test_what_was_joined_can_be_parted(member, path, rows_of, tmp_path):
    """Undo gives each name its records back, and what was remembered of its lists and further names."""
    member(BARN, "Cold Spring")
    (tmp_path / "fennel.csv").write_text(f"{HEADER}\n{HILL.replace('2,', '1,', 1)}\n")
    settled = FileMapping({"Colour": Choice(None)})
    lists.ingest_list(path, tmp_path / "fennel.csv", kind="member", owner="Fennel Croft", mapping=settled)
    owning.join(path, "Fennel Croft", ["The Fennels"])
    before = remembered(path)
    done = owning.join(path, "Old Croft", ["Fennel Croft"])
    assert [owner for owner, *_ in remembered(path)] == ["Old Croft"] * len(before)
    assert tractors(rows_of) == {"1": "Cold Spring", "1@Old Croft": "Old Croft"}
    undo.undo(path, done.batch_ids[0])
    assert tractors(rows_of) == {"1": "Cold Spring", "1@Fennel Croft": "Fennel Croft"}
    assert remembered(path) == before
    with store.open_read(path) as con:
        assert aliases.aliases(con) == {"The Fennels": "Fennel Croft"}


def remembered(path):
    """What is remembered of lists, by owner."""
    with store.open_read(path) as con:
        return [(one.owner, one.heading, one.said) for one in senders.every(con)]


@pytest.mark.ci
@pytest.mark.parametrize(
    ("new", "asked"),
    [("Cold Spring Farm", True), ("Cold Sprng", True), ("Cold Spring 2", False), ("Fennel Croft", False)],
)
def test_a_near_name_is_asked_once(member, rows_of, new, asked):
    """A new owner with a near name stays an owner of his own, and is asked at his first list alone."""
    member(BARN, "Cold Spring")
    for name, expected in (("a.csv", asked), ("b.csv", False)):
        found = [one.id for one in member(HILL, new, name=name).findings if one.id != "unknown-column"]
        assert found == (["owner-near"] if expected else [])
    assert tractors(rows_of)["2"] == new


@pytest.mark.ci
def test_a_shed_may_use_either_name(member, path, tmp_path):
    """A member whom the shed calls by a further name has the tractors of the owner."""
    member(BARN, "Cold Spring")
    owning.join(path, "Cold Spring", ["The Spring"])
    (tmp_path / "shed.toml").write_text(
        '[shed]\nname = "Q"\nfrom = 2027-06-01\nto = 2027-07-31\n\n[[member]]\nname = "The Spring"\nat = [0, 0]\n'
    )
    shed = read_shed(tmp_path, open_store(path).holdings, path).usable()
    assert [(one.tractor_id, one.owner) for one in shed.tractors] == [("1", "The Spring")]
