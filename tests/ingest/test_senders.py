"""A sender is remembered: the next list of an owner is read as his last one was settled."""

import json

import pytest

from evener.ingest.columns.headers import Choice
from evener.ingest.columns.mappings import FileMapping
from evener.ingest.store import lists, senders, undo
from evener.schema.store import connection as store

SETTLED = FileMapping(
    {"HP": Choice("pto_power_kw", "hp"), "Paint": Choice(None)}, values={"Drive": {"front too": "4wd"}}
)
LINES = ("No;Name;HP;Drive;Paint", "7;Barn;45,5;front too;red")


@pytest.fixture
def send(path, tmp_path):
    """Load a list of an owner."""

    def run(*lines, owner="Cold Spring", name="list.csv", **options):
        file = tmp_path / name
        file.write_text("\n".join(lines) + "\n")
        (report,) = lists.ingest_list(path, file, kind="member", owner=owner, **options)
        return report

    return run


def tractors(path):
    with store.open_read(path) as con:
        return {row["tractor_id"]: row for row in store.read_rows(con, "tractor") if row["kind"] == "member"}


def test_the_next_list_of_an_owner_needs_no_mapping(send, path):
    """Headings, words and columns left out on purpose hold for the owner's next list, and for nobody else's."""
    assert send(*LINES, mapping=SETTLED).findings == ()
    assert send(LINES[0], "8;Hill;75,5;Front too;blue", owner="cold  spring", name="next.csv").loaded == 1
    held = tractors(path)["8"]
    assert (held["drive"], round(held["pto_power_kw"] / 0.7457, 1)) == ("4wd", 75.5)
    other = send(LINES[0], "9;Far;75,5;front too;blue", owner="Fennel Croft", name="other.csv")
    assert "bare-power" in [finding.id for finding in other.findings]
    assert other.loaded == 0


@pytest.mark.ci
def test_what_is_remembered_is_told_and_forgotten(send, path):
    """What is remembered can be read, and is gone when it is forgotten or its ingest taken back."""
    report = send(*LINES, mapping=SETTLED)
    assert [(one.owner, one.what, one.heading) for one in senders.remembered(path)] == [
        ("Cold Spring", "column", "HP"),
        ("Cold Spring", "column", "Paint"),
        ("Cold Spring", "value", "Drive"),
    ]
    assert senders.forget(path, "Fennel Croft") == 0
    assert senders.forget(path, "Cold Spring") == 3
    assert senders.remembered(path) == []
    again = send(*LINES, "8;Hill;75,5;front too;red", mapping=SETTLED)
    assert len(senders.remembered(path)) == 3
    undo.undo(path, again.batch_id)
    assert senders.remembered(path) == []
    assert report.batch_id is not None


@pytest.mark.ci
def test_what_is_said_for_a_list_goes_before_what_is_remembered(send, path):
    """A mapping given with a list is taken, and remembered in the place of the one before."""
    send(*LINES, mapping=SETTLED)
    send(LINES[0], "8;Hill;75,5;front too;blue", mapping=FileMapping({"HP": Choice("pto_power_kw", "PS")}))
    assert tractors(path)["8"]["pto_power_kw"] == pytest.approx(75.5 * 0.73549875)
    assert ["pto_power_kw", "PS", None] in [json.loads(one.said) for one in senders.remembered(path)]
