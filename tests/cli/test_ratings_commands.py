"""The family card, predictions and verdicts as the analyst types them."""

from __future__ import annotations

import json
import re
import shutil

import pytest

from evener.cli.analyst import judge, predict, ratings
from evener.cli.options import CardFormat, Format, Judgement
from evener.enquiry.refused import WrongUse
from evener.ingest.rows.single import CannotRead
from evener.ingest.store.judging import CannotJudge
from evener.results.auditing import audited
from evener.results.families import UnknownFamily


@pytest.fixture
def card(library_store, capsys):
    """Print the card of a family, and return the status and the text."""

    def run(family="rotary_cutter", quantity="power", output=CardFormat.json, plots=None):
        status = ratings.run(family, quantity, plots=plots, output=output, units=None, store=library_store)
        return status, capsys.readouterr()

    return run


def test_a_card_can_be_worked_with_by_another(card):
    """JSON has the form, each coefficient with its error, the covariance, n, ranges, bands and checks."""
    told = json.loads(card()[1].out)
    assert [one["name"] for one in told["coefficients"]][:2] == ["a", "c"]
    assert told["n"] == 30
    size = len(told["coefficients"])
    assert [len(row) for row in told["covariance"]] == [size] * size
    for k, one in enumerate(told["coefficients"]):
        assert one["standard_error"] == pytest.approx(told["covariance"][k][k] ** 0.5)
    assert {"ranges", "bands", "checks", "influence", "spread", "set_aside", "moved_by_verdicts"} <= set(told)
    for band in told["bands"]:
        assert band["low"] < band["mean_low"] < band["middle"] < band["mean_high"] < band["high"]


@pytest.mark.parametrize(
    ("output", "said"),
    [
        (CardFormat.table, "rotary cutter: PTO power by working width and thickest stem"),
        (CardFormat.markdown, "| a "),
        (CardFormat.csv, "family,quantity,form,name,value,standard_error,n,spread"),
        (CardFormat.latex, "\\begin{tabular}{lrr}"),
    ],
)
def test_a_card_in_every_form(card, output, said):
    """Screen, Markdown, CSV and LaTeX say the same coefficients."""
    status, text = card(output=output)
    assert status == 0
    assert said in text.out


@pytest.mark.ci
def test_a_card_of_mass_and_its_plots(card, tmp_path):
    """--of mass is the model of mass; --plots draws line, residuals and quantiles into one file, the same each time."""
    assert json.loads(card("disc mower", "mass", plots=tmp_path / "a")[1].out)["unit"] == "kg"
    card("disc_mower", "mass", plots=tmp_path / "b")
    (first,), (second,) = (sorted((tmp_path / name).iterdir()) for name in "ab")
    assert first.name == "disc_mower_mass.svg"
    assert first.read_bytes() == second.read_bytes()


def test_a_family_without_a_model_says_why(card):
    """Ploughs state no PTO power: status 1 and the reason; a family that is none is wrong use."""
    status, text = card("moldboard_plow")
    assert status == 1
    assert "0 records state it and a size" in text.err
    with pytest.raises(UnknownFamily, match="Did you mean round_baler"):
        card("round_bailer")


@pytest.mark.ci
def test_a_prediction_says_how_sure_it_is(library_store):
    """A 6 ft cutter for 2 in stems: rating, mass and reach with intervals; a wider one lies outside the records."""
    given = {"working_width_m": "6 ft", "max_stem_m": "2 in"}
    answer = predict.predictions(library_store, "rotary cutter", given, "mounted", "medium")
    rows = {row["quantity"]: row for row in answer["predictions"]}
    assert list(rows) == ["power", "mass", "reach"]
    assert rows["power"]["low"] < rows["power"]["middle"] < rows["power"]["high"]
    assert rows["power"]["middle"] == pytest.approx(30 * 0.7457, rel=0.2)
    assert rows["power"]["inside"]
    wide = predict.predictions(library_store, "rotary cutter", given | {"working_width_m": "40 ft"}, None, None)
    assert not wide["predictions"][0]["inside"]


@pytest.mark.parametrize(
    ("given", "build", "said"),
    [
        ({}, None, "width is missing"),
        ({"working_width_m": "6 hp"}, None, "measures power, not length"),
        ({"girth": "6 ft"}, None, "no field of an implement"),
        ({"working_width_m": "6 ft"}, "loader", "build takes mounted, trailed"),
    ],
)
def test_what_cannot_be_predicted_is_refused(library_store, given, build, said):
    """A missing size, one in another unit, a size that is none, a build that no record has."""
    with pytest.raises((CannotRead, WrongUse), match=said):
        predict.predictions(library_store, "rotary_cutter", given, build, None)


@pytest.mark.ci
def test_a_verdict_from_the_command_line_reaches_the_audit(library_store, tmp_path, capsys):
    """Left out, the reel mixer is named with the reason and what it moved; the command says how to take it back."""
    path = tmp_path / "own.duckdb"
    shutil.copy(library_store, path)
    options = {"why": "a reel among augers", "corrections": [], "by_whom": None, "store": path}
    assert judge.run("feed-mixer-09", Judgement.left_out, output=Format.table, **options) == 0
    assert re.search(r"evener undo B\d{4}$", capsys.readouterr().out, re.MULTILINE)
    assert audited(path, ["feed_mixer"]).report.flags == ()
    (one,) = audited(path, ["feed_mixer"]).report.families
    assert [aside.record for aside in one.fitted.model.aside] == ["feed-mixer-09"]
    assert one.fitted.model.moved_by_verdicts != 1.0
    with pytest.raises(CannotJudge, match="has no value"):
        judge.run("feed-mixer-09", Judgement.corrected, output=Format.table, **options | {"corrections": ["duty"]})
