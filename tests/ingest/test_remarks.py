"""Remarks are kept with the machine, and one that bears on a figure is pointed out; words are mapped by hand."""

import pytest

from evener.ingest.columns.mappings import FileMapping

HEADER = "Stock #,Description,Drive,PTO hp,Lift at ends (lb),Remarks"


def test_a_remark_on_a_figure_is_pointed_out(load, rows_of):
    """The figure stays as stated and the remark with it; who said it is asked what holds."""
    report = load(
        '1,Barn,4wd,45,3100,"lift is weak, reckon on 1500"',
        "2,Hill,4wd,75,,weak lift",
        "3,Far,4wd,75,5100,new tyres",
        header=HEADER,
    )
    (finding,) = report.findings
    assert (finding.id, finding.row, report.loaded) == ("remark-on-figure", 2, 3)
    assert "hitch_lift_ends_kg" in finding.message
    kept = {row["tractor_id"]: row["note"] for row in rows_of("tractor") if row["kind"] == "stock"}
    assert kept == {"1": "lift is weak, reckon on 1500", "2": "weak lift", "3": "new tyres"}


@pytest.mark.ci
def test_words_of_a_list_are_mapped_by_hand(load, rows_of):
    """A mapping says what the words of a column stand for; the file's own text is what a refused row gives back."""
    mapping = FileMapping(values={"Drive": {"front too": "4wd", "rear": "2wd"}})
    report = load("1,Barn,Front too,45,3100,", "2,Hill,rear,75,,", "3,,rear,75,,", header=HEADER, mapping=mapping)
    assert [finding.id for finding in report.findings] == ["missing-value"]
    drives = {row["tractor_id"]: row["drive"] for row in rows_of("tractor") if row["kind"] == "stock"}
    assert drives == {"1": "4wd", "2": "2wd"}
    assert '"Drive": "rear"' in rows_of("quarantine")[0]["raw"]
