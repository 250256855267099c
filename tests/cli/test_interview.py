"""`evener interview` as a user runs it, from a pipe."""

import json

import pytest

from evener.ingest.jobsheet.reading import read_jobsheet

WHOLE = [
    "Bramble End",
    "",
    "pasture 30 ac, hay 14 acres, hedge 1 ac",
    "hilly",
    "",
    "cattle 25, 4 horses",
    "12",
    "rotary cutter",
    "Top pasture",
    "6 ft",
    "don't know",
    "pasture",
    "",
    "20 %",
    "bale spear",
    "Feed",
    "4x5 ft",
    "?",
    "",
    "",
    "",
    "no",  # who cuts the hay
    "no",  # who rakes it
    "no",  # who bales it
    "no",  # who keeps the hedge cut back
    "Old Grey",
    "35 hp",
    "none",
    "1,200 lb",
    "2",
    "",
]


@pytest.fixture
def words(library, classes):
    """The words a sheet may use with the shipped library."""
    from evener.enquiry.holdings import Holdings

    return Holdings(library, tuple(classes)).words


def lines(answers):
    return "".join(f"{one}\n" for one in answers)


def test_from_nothing_to_a_sheet_that_reads_back(evener, tmp_path, words):
    """Plain answers give a sheet that reads without a finding, in the customer's own words, and can be asked about."""
    path = tmp_path / "bramble.toml"
    ran = evener("interview", path, input=lines(WHOLE))
    assert ran.returncode == 0, ran.stderr
    job, findings = read_jobsheet(path, words)
    assert findings == []
    cut, feed = job.tasks
    assert (cut.name, cut.width_m.text, cut.stem_m.given, cut.planned, cut.chance) == (
        "Top pasture",
        "6 ft",
        "unknown",
        True,
        0.2,
    )
    assert (feed.family, feed.stack_high.given, feed.crop.settled) == ("bale_spear", "unknown", "hay")
    assert job.place.animals == {"cattle": 25, "horses": 4}
    assert (job.machines[0].takes, job.machines[0].tractor.hitch_category) == (("Feed",), "none")
    assert [one.name for one in tmp_path.iterdir()] == ["bramble.toml"]
    assert evener("ask", path).returncode in {0, 1}


def test_without_a_file_the_sheet_goes_to_stdout_alone(process, words):
    """Piped without a file name, stdout holds the sheet and nothing else."""
    from evener.ingest.jobsheet.reading import read_jobsheet_text

    ran = process("interview", input=lines(WHOLE))
    assert ran.returncode == 0
    assert read_jobsheet_text(ran.stdout, words)[1] == []


def test_left_and_taken_up_again_it_gives_the_same_sheet(evener, tmp_path):
    """Left anywhere, the interview goes on where it was and comes to the same sheet."""
    whole, parted = tmp_path / "whole.toml", tmp_path / "parted.toml"
    evener("interview", whole, input=lines(WHOLE))
    for first, last in ((0, 6), (6, 17), (17, len(WHOLE))):
        ran = evener("interview", parted, input=lines(WHOLE[first:last]))
        assert ran.returncode == (0 if last == len(WHOLE) else 1)
        assert parted.exists() == (last == len(WHOLE))
    assert parted.read_text(encoding="utf-8") == whole.read_text(encoding="utf-8")
    assert not (tmp_path / "parted.toml.draft").exists()


def test_back_takes_answers_back_across_a_pause(evener, tmp_path):
    """Back goes to the question before, also to one answered before the interview was left."""
    path = tmp_path / "sheet.toml"
    evener("interview", path, input="First name\nsi\n")
    ran = evener("interview", path, input="back\nback\nSecond name\nstop\n")
    assert "Going on after 2 answers" in ran.stderr
    assert json.loads((tmp_path / "sheet.toml.draft").read_text(encoding="utf-8")) == ["Second name"]


def test_an_answer_of_no_meaning_is_asked_again(evener, tmp_path):
    """What cannot be read is refused with its remedy, and the same question comes again."""
    answers = [*WHOLE[:2], "swamp 3 ac", "pasture", *WHOLE[2:7], "mystery", *WHOLE[7:9], "6", *WHOLE[9:]]
    ran = evener("interview", tmp_path / "sheet.toml", input=lines(answers))
    assert ran.returncode == 0, ran.stderr
    for said in (
        "'swamp' is not known",
        "'pasture' is no land",
        "'mystery' is no kind",
        'task.width = "6" has no unit',
    ):
        assert said in ran.stderr


def test_a_yes_to_what_the_place_needs_becomes_a_task(evener, tmp_path, words):
    """A yes to a question about the place asks for that work's sizes and adds it, on the land it was about."""
    path = tmp_path / "sheet.toml"
    answers = [*WHOLE[:21], "no", "no", "yes", "", "4x4 ft", "", "", "", "no", ""]
    assert evener("interview", path, input=lines(answers)).returncode == 0
    job, _ = read_jobsheet(path, words)
    assert [(one.family, one.land) for one in job.tasks][-1] == ("round_baler", "hay")


def test_a_record_is_taken_for_its_sizes(evener, tmp_path, words):
    """Work named by an implement record is not asked for the sizes its record states."""
    path = tmp_path / "sheet.toml"
    ran = evener(
        "interview", path, input=lines(["Here", "", "", "4 %", "", "", "", "rotary-cutter-09", "Cut", "", "", "", ""])
    )
    assert ran.returncode == 0, ran.stderr
    assert "width it works" not in ran.stderr
    job, _ = read_jobsheet(path, words)
    assert job.tasks[0].implement_id == "rotary-cutter-09"


def test_a_sheet_that_is_there_is_never_written_over(evener, sheet):
    """A file that exists is left alone, with status 2."""
    before = sheet.read_bytes()
    ran = evener("interview", sheet, input=lines(WHOLE))
    assert (ran.returncode, sheet.read_bytes()) == (2, before)
    assert "is there already" in ran.stderr


def test_a_draft_that_is_none_is_left_alone(evener, tmp_path):
    """A file in the draft's place that is no draft is said to be none, and is not written over."""
    (tmp_path / "sheet.toml.draft").write_text("[1, 2", encoding="utf-8")
    ran = evener("interview", tmp_path / "sheet.toml", input="stop\n")
    assert "is no draft" in ran.stderr
    assert ran.returncode == 2
    assert (tmp_path / "sheet.toml.draft").read_text(encoding="utf-8") == "[1, 2"
