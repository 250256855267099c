"""What a person puts right stays right, and what is no machine stays none, until the list says another thing."""

import csv
import io
from pathlib import Path

import pytest

from evener.ingest.columns.mappings import FileMapping
from evener.ingest.store import lists, quarantine, senders, undo
from evener.ingest.store.put_right import amending, dismissing
from evener.opening import open_store
from evener.schema.store import connection as store
from evener.scoring.core.draws import Draws
from evener.scoring.gives.offer import offer

HEADER = "No,Name,PTO hp,Weight (lb),Remarks"
BARN = '12,Barn,45,"4,100",lift is weak'
OWNER = "Cold Spring"
JOB = Path(__file__).parents[2] / "demo_db" / "jobs" / "ridge.toml"


@pytest.fixture
def send(path, tmp_path):
    """Load a list of an owner, and return its report."""

    def run(*lines, header=HEADER, name="list.csv", **options):
        file = tmp_path / name
        file.write_text("\n".join((header, *lines)) + "\n")
        (report,) = lists.ingest_list(path, file, **{"kind": "member", "owner": OWNER, "whole": None, **options})
        return report

    return run


def held(path, name="12"):
    with store.open_read(path) as con:
        (row,) = [row for row in store.read_rows(con, "tractor") if row["tractor_id"] == name]
    return row


def asked(report):
    return {one.id for one in report.findings}


def pounds(row, name="mass_kg"):
    return round(row[name] / 0.45359237)


@pytest.mark.ci
def test_a_correction_holds_until_the_list_says_another_thing(send, path):
    """The next list changes nothing while it says the same; what it comes to say stands, and is asked."""
    send(BARN)
    done = amending.amend(path, f"12@{OWNER}", {"weight": "5,200 lb"}, why="weighed")
    assert [(one.field, one.now) for one in done.changes] == [("mass_kg", "2,359 kg")]
    for line in (BARN, BARN.replace('"4,100"', "4100 lb"), BARN.replace('"4,100"', "")):
        report = send(line, "13,Hill,75,7400,", name=f"{len(line)}.csv")
        assert asked(report) == {"corrections-hold"}
        assert pounds(held(path)) == 5200
        assert held(path)["estimated"]["mass_kg"]["kind"] == "corrected"
    report = send(BARN.replace('"4,100"', '"4,400"'), name="next.csv")
    (one,) = [one for one in report.findings if one.id == "corrected-before"]
    assert (one.row, pounds(held(path))) == (2, 4400)
    assert "amend 12 mass_kg=VALUE" in one.what_to_do
    assert asked(send(BARN.replace('"4,100"', '"5,200"'), name="agrees.csv")) == set()


@pytest.mark.ci
def test_a_correction_can_be_taken_back(send, path):
    """The correction before holds again when one is undone, and the list's own word when it is taken back."""
    send(BARN)
    amending.amend(path, "12", {"weight": "5200 lb"}, why="weighed")
    second = amending.amend(path, "12", {"weight": "5300 lb"}, why="weighed again")
    undo.undo(path, second.batch_id)
    assert asked(send(BARN, name="next.csv")) == {"corrections-hold"}
    assert pounds(held(path)) == 5200
    amending.amend(path, "12", {}, why="", as_listed=["weight"])
    assert (pounds(held(path)), held(path)["estimated"]) == (4100, None)
    assert asked(send(BARN, name="again.csv")) == set()
    assert senders.corrected(path) == []


@pytest.mark.ci
def test_a_figure_no_column_gives_is_corrected_too(send, path):
    """What the list is silent on holds, and a power that was worked out follows a corrected engine."""
    header = "No,Name,Engine net hp,Weight (lb)"
    send("12,Barn,50,4100", header=header)
    amending.amend(
        path, "12", {"hitch_lift_610": "about 1500 lb", "engine_power": "60 hp"}, why="the plate; lift is weak"
    )
    report = send("12,Barn,50,4100", header=header, name="next.csv")
    assert (asked(report), report.unchanged) == ({"corrections-hold"}, 1)
    row = held(path)
    assert row["pto_power_kw"] / row["engine_power_kw"] == pytest.approx(0.87, abs=0.05)
    assert row["estimated"]["hitch_lift_610_kg"]["basis"] == "the plate; lift is weak"
    assert row["estimated"]["hitch_lift_610_kg"]["spread_pct"] == 20


@pytest.mark.ci
@pytest.mark.parametrize(
    ("given", "options", "said"),
    [
        ({"weight": "heavy"}, {}, "cannot be kept"),
        ({"weight": "5200 lb"}, {"why": " "}, "--why"),
        ({"weight": None}, {}, "--doubt"),
        ({"colour": "red"}, {}, "cannot be corrected"),
        ({"owner": "X"}, {}, "cannot be corrected"),
        ({}, {}, "evener amend MACHINE"),
        ({}, {"as_listed": ["weight"]}, "was not corrected"),
    ],
)
def test_a_correction_that_cannot_be_kept_is_refused(send, path, given, options, said):
    """What cannot be read, names no figure or gives no reason changes nothing, and says what to type."""
    send(BARN)
    with pytest.raises(amending.CannotAmend, match=said):
        amending.amend(path, "12", given, **{"why": "weighed", **options})
    with pytest.raises(amending.CannotAmend, match="library"):
        amending.amend(path, "utility-50-4wd", {"weight": "5200 lb"}, why="weighed")
    assert pounds(held(path)) == 4100


def test_a_corrected_row_stays_corrected(send, path, tmp_path):
    """Rows put right in the list of refused rows are loaded from the next raw list as they were put right."""
    raw = ("12,Barn,45,4100,", "12,Hill,75,7400,", "14,,60,5000,")
    assert send(*raw).quarantined == 3
    with store.open_read(path) as con:
        rows = [one.to_correct() for one in quarantine.waiting(con)]
    assert [row["No"] for row in rows] == ["12", "12", "14"]
    rows[1]["No"], rows[2]["Name"] = "13", "Far"
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    file = tmp_path / "put_right.csv"
    file.write_text(text.getvalue())
    (report,) = lists.ingest_list(path, file)
    assert report.loaded == 3
    again = send(*raw, name="next.csv")
    assert (again.quarantined, again.unchanged, "corrections-hold" in asked(again)) == (0, 3, True)
    changed = send(raw[0], raw[1].replace("7400", "7500"), raw[2].replace(",,", ",Fen,", 1), name="later.csv")
    assert (changed.quarantined, "corrected-before" in asked(changed)) == (2, True)


@pytest.mark.ci
def test_a_dismissed_row_stays_dismissed(send, path):
    """A row that is no machine is not asked again while it says the same; taking it back lets it wait again."""
    raw = (BARN, ",Parts and tyres,,,", "TOTAL of the yard")
    report = send(*raw)
    lines = [one.row for one in report.findings if one.stops]
    assert report.quarantined == len(lines) > 0
    made = dismissing.dismiss(path, report.batch_id, lines)
    again = send(*raw, name="next.csv")
    assert (again.quarantined, again.unchanged) == (0, 1)
    assert asked(again) - {"footer", "note-lines", "remark-on-figure"} == {"dismissed-rows"}
    assert send(raw[0], ",Parts and rims,,,", name="later.csv").quarantined == 1
    undo.undo(path, made)
    assert send(*raw, name="fourth.csv").quarantined == len(lines)
    with pytest.raises(dismissing.CannotDismiss, match="line 99"):
        dismissing.dismiss(path, report.batch_id, [99])


@pytest.mark.ci
def test_a_remark_becomes_a_correction_or_a_doubt(send, path):
    """What the remark is worth is what the tractor offers, with its doubt, and `explain` says whose word it is."""
    send(BARN, "13,Hill,75,7400,", "14,Far,75,7400,")
    amending.amend(path, "12", {"hitch_lift_610": "1500 lb"}, why="lift is weak, reckon on 1500")
    amending.amend(path, "13", {"hitch_lift_ends": "3000 lb"}, why="weak lift", doubt_pct=30)
    amending.amend(path, "13", {"weight": None}, why="never weighed", doubt_pct=10)
    held = open_store(path).holdings
    known = {one.tractor_id: one for one in held.tractors}
    classes = [one for one in known.values() if one.kind == "class"]
    lifts = {name: offer(known[name], classes, Draws(n=256)).take("hitch_lift_610_kg") for name in ("12", "13")}
    assert (lifts["12"].assumed_from, set(lifts["12"].draws.tolist())) == (None, {lifts["12"].value})
    spread = lifts["13"].draws / lifts["13"].value
    assert (spread.min(), spread.max()) == (pytest.approx(0.7, abs=0.03), pytest.approx(1.3, abs=0.03))
    assert "hitch_lift_610_kg" not in offer(known["12"], classes, Draws(n=1)).assumed(())
    told = open_store(path).explain(JOB, "12").to_dict()["tasks"]
    notes = {note for one in told if one["axis"] == "rear_lift" for note in one["notes"]}
    assert any(note.endswith("of 12 is corrected by hand: lift is weak, reckon on 1500") for note in notes)
    assert "remark-on-figure" not in asked(send(BARN, "13,Hill,75,7400,", "14,Far,75,7400,", name="next.csv"))


@pytest.mark.ci
def test_forgetting_an_owner_forgets_corrections(send, path):
    """--forget drops corrections and dismissals with what columns meant; the next list is read as it stands."""
    send(BARN, mapping=FileMapping(values={"Name": {"Barn": "Barn"}}))
    amending.amend(path, "12", {"weight": "5200 lb"}, why="weighed")
    assert senders.forget(path, OWNER) == 2
    assert asked(send(BARN, name="next.csv")) == set()
    assert pounds(held(path)) == 4100
