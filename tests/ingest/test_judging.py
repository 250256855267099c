"""Verdicts of analysts: kept, exported, read back, undone, and obeyed."""

from __future__ import annotations

import shutil

import pytest

from evener.ingest.store import batches
from evener.ingest.store.export import export
from evener.ingest.store.judging import CannotJudge, judge
from evener.ingest.store.undo import undo
from evener.schema.store import connection as store
from evener.scoring.ratings import verdicts as read_verdicts
from evener.scoring.ratings.columns import from_records
from evener.scoring.ratings.fitting import fit_family


@pytest.fixture
def path(library_store, tmp_path):
    """A store of one's own with the library."""
    own = tmp_path / "own.duckdb"
    shutil.copy(library_store, own)
    return own


def held(path):
    """Return the verdicts of a store, as a fit reads them, and the rows."""
    with store.open_read(path) as con:
        rows = store.read_verdicts(con)
    return read_verdicts.read(rows), rows


def mixers(path):
    """Return the model of the feed mixers."""
    with store.open_read(path) as con:
        family = store.read_families(con)["feed_mixer"]
        records = [one for one in store.read_implements(con) if one.family == "feed_mixer"]
    words, _ = held(path)
    columns = from_records(family, words.apply(records), left_out=words.left_out, sound=words.sound)
    return fit_family(columns).quantities["power"]


def test_a_record_left_out_is_out_of_the_fit_until_undone(path):
    """The reel mixer is named as left out with the reason; undone, it counts again as before."""
    before = mixers(path)
    batch = judge(path, "feed-mixer-09", "left_out", why="a reel mixer among augers", by_whom="A. Nalyst").batch_id
    left = mixers(path)
    assert ("feed-mixer-09", "left out: a reel mixer among augers") in [(one.record, one.reason) for one in left.aside]
    undo(path, batch)
    assert held(path)[1] == []
    assert mixers(path).coefficients == before.coefficients


@pytest.mark.ci
def test_a_correction_is_read_as_a_list_is_read_and_kept_in_the_stores_unit(path):
    """45 kW under the rating's plain name is 45 in the store, and the fit sees it; the record itself stays."""
    judge(path, "feed-mixer-09", "corrected", why="the plate says kilowatts", corrections={"rated pto power": "45 kW"})
    words, rows = held(path)
    assert (rows[0].set_field, rows[0].set_value) == ("rated_pto_power_kw", "45")
    assert words.corrected == {"feed-mixer-09": {"rated_pto_power_kw": 45.0}}
    with store.open_read(path) as con:
        (as_filed,) = store.read_implements(con, ["feed-mixer-09"])
    assert as_filed.rated_pto_power_kw == pytest.approx(45 * 0.7457, rel=1e-3)
    (corrected,) = words.apply([as_filed])
    assert corrected.rated_pto_power_kw == 45.0
    assert "feed-mixer-09" not in {one.record for one in mixers(path).aside}


@pytest.mark.ci
def test_a_later_verdict_takes_the_place_of_the_earlier_one(path):
    """Left out, then vouched for: one verdict stands, and undoing the second brings the first back."""
    judge(path, "feed-mixer-09", "left_out", why="looks wrong")
    second = judge(path, "feed-mixer-09", "sound", why="weighed and read").batch_id
    assert held(path)[0].sound == {"feed-mixer-09"}
    assert held(path)[0].left_out == {}
    undo(path, second)
    assert held(path)[0].left_out == {"feed-mixer-09": "looks wrong"}


@pytest.mark.ci
def test_the_same_verdict_again_changes_nothing(path):
    """Judged twice on one day: the first ingest is named, and there is one row."""
    first = judge(path, "feed-mixer-09", "sound", why="read on the plate", on="2026-01-05")
    again = judge(path, "feed-mixer-09", "sound", why="read on the plate", on="2026-01-05")
    assert again.batch_id == first.batch_id
    assert len(held(path)[1]) == 1


@pytest.mark.ci
def test_exported_verdicts_read_back(path, library_store, tmp_path):
    """A list of verdicts, ingested into a fresh store, gives the same verdicts and the same list again."""
    judge(path, "feed-mixer-09", "left_out", why="reel, not augers; 2 bearings")
    judge(
        path, "feed-mixer-01", "corrected", why="typed from memory", corrections={"duty": "heavy", "mass": "2,200 lb"}
    )
    text = export(path, "verdict")
    file = tmp_path / "verdicts.csv"
    file.write_text(text)
    other = tmp_path / "other.duckdb"
    shutil.copy(library_store, other)
    assert batches.ingest_file(other, file, record="verdicts").loaded == 3
    assert export(other, "verdict") == text
    assert held(other)[0] == held(path)[0]


@pytest.mark.parametrize(
    ("implement", "verdict", "corrections", "said"),
    [
        ("FX-99", "sound", {}, "no implement 'FX-99'"),
        ("feed-mixer-09", "corrected", {}, "only `corrected` takes it"),
        ("feed-mixer-09", "sound", {"duty": "heavy"}, "only `corrected` takes it"),
        ("feed-mixer-09", "corrected", {"colour": "green"}, "no field of an implement"),
        ("feed-mixer-09", "corrected", {"family": "tedder"}, "no field that a verdict can correct"),
        ("feed-mixer-09", "corrected", {"rated pto power": "many"}, "is not a number"),
        ("feed-mixer-09", "corrected", {"rated pto power": "45 ft"}, "measures length, not power"),
        ("feed-mixer-09", "corrected", {"rated pto power": ""}, "there is no value"),
    ],
)
def test_a_verdict_that_cannot_be_kept_is_refused_whole(path, implement, verdict, corrections, said):
    """No such record, no such field, a value in the wrong unit: the text says which, and nothing is kept."""
    with pytest.raises(CannotJudge, match=said):
        judge(path, implement, verdict, why="because", corrections=corrections)
    assert held(path)[1] == []


def test_a_verdict_needs_a_reason(path):
    """A blank reason is refused."""
    with pytest.raises(CannotJudge, match="reason"):
        judge(path, "feed-mixer-09", "sound", why=" ")
