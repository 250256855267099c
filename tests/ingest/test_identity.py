"""A machine is named by its owner and the number the owner gave it."""

import pytest

from evener.schema import identity

HEADER = "No.,Description,Year,Hours,PTO hp,Weight (lb)"


def tractors(rows_of):
    return {row["tractor_id"]: row["owner"] for row in rows_of("tractor") if row["kind"] == "member"}


def test_two_owners_who_number_alike_have_two_machines(load, rows_of):
    """The second owner's number bears his name; the same list again changes nothing."""
    load("1,Barn tractor,1998,5400,45,4000", header=HEADER, kind="member", owner="Cold Spring")
    for _ in range(2):
        report = load("1,Hill tractor,2008,2400,75,7400", header=HEADER, kind="member", owner="Fennel Croft")
        assert report.findings == ()
        assert tractors(rows_of) == {"1": "Cold Spring", "1@Fennel Croft": "Fennel Croft"}
    assert (report.loaded, report.unchanged) == (0, 1)
    owners = tractors(rows_of)
    assert identity.found("1@Cold Spring", owners) == "1"
    assert identity.found("1@fennel  croft", owners) == "1@Fennel Croft"
    assert identity.found("2@Cold Spring", owners) == "2@Cold Spring"


@pytest.mark.ci
def test_an_owner_in_another_spelling_is_the_same_owner(load, rows_of):
    """Case and blanks make no second owner, and it is said."""
    load("1,Barn tractor,1998,5400,45,4000", header=HEADER, kind="member", owner="Fennel Croft")
    report = load("2,Hill tractor,2008,2400,75,7400", header=HEADER, kind="member", owner="Fennel croft")
    assert [finding.id for finding in report.findings] == ["owner-spelled"]
    assert set(tractors(rows_of).values()) == {"Fennel Croft"}


@pytest.mark.ci
def test_a_copied_list_is_asked(load, rows_of):
    """The same machine under another owner is loaded and asked, never taken for two in silence."""
    line = "1,Barn tractor,1998,5400,45,4000"
    load(line, header=HEADER, kind="member", owner="Cold Spring")
    report = load(line, header=HEADER, kind="member", owner="Fennel Croft")
    (finding,) = report.findings
    assert (finding.id, report.loaded) == ("near-copy", 1)
    assert "same machine as 1@Cold Spring?" in finding.message
    assert load("9,Barn tractor,1998,5401,45,4000", header=HEADER, kind="member", owner="X").findings == ()
