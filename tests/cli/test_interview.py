"""`evener interview` as a user runs it, from a pipe."""

import json
import re

import pytest

from evener.ingest.jobsheet.reading import read_jobsheet

SMALL = """
Bramble End
pasture 6 ac, garden 0.5 ac
rolling
horses 3

the old tractor, 20 hp
rotary cutter 5 ft on pasture
rear blade
rotary tiller 5 ft on garden 30 % in 2029
about 1 in
1
?
none
1
2
none
$30,000
8 ft

"""
HAY = """
Long Meadow
pasture 30 ac, hay 14 acres, hedge 1 ac
hilly
cattle 25, 4 horses
12
Old Grey, 35 hp
disc mower 8 ft on hay
rotary cutter 6 ft on pasture, bale spear 4x5 ft
large square baler 20 % in 2030
1 to 2 in
2
hay
3x3 ft square
1
10 ft
2
1,200 lb
1 3
none
$60,000
10 ft
9 ft

"""
BARE = "\n\n\n\n\n\n20 hp compact\n\ndisking, moving bales\n\n" + 12 * "\n"
LISTED = ("Bramble End", "Long Meadow", "My place")


def answers(script):
    return script.removeprefix("\n")


@pytest.fixture
def words(library, classes):
    """The words a sheet may use with the shipped library."""
    from evener.enquiry.holdings import Holdings

    return Holdings(library, tuple(classes)).words


@pytest.mark.ci
@pytest.mark.parametrize(("script", "most"), [(SMALL, 19), (HAY, 24), (BARE, 20)], ids=LISTED)
def test_from_nothing_to_a_sheet_and_the_size_to_buy(evener, tmp_path, words, script, most):
    """Three places told in under 25 questions give sheets without a finding, the running size, and what `rank` says."""
    path = tmp_path / "place.toml"
    ran = evener("interview", path, input=answers(script))
    assert ran.returncode == 0, ran.stderr
    assert ran.stderr.count(" > ") <= most
    assert read_jobsheet(path, words)[1] == []
    assert ran.stderr.count("so far: about ") >= 4
    assert re.search("[Bb]uy:? about ", ran.stdout)
    assert len(ran.stdout.splitlines()) <= 24
    assert evener("rank", path).stdout.startswith(ran.stdout)
    assert [one.name for one in tmp_path.iterdir()] == ["place.toml"]


@pytest.fixture(scope="module")
def hay(library, classes):
    """The sheet of a hay place, from the interview as an object."""
    from evener.enquiry.holdings import Holdings
    from evener.interview.conversation import Interview

    talk = Interview(Holdings(library, tuple(classes)))
    for said in answers(HAY).splitlines():
        talk.answer(said)
    return talk.job


def test_what_was_told_stands_in_the_sheet(hay):
    """Work, plans, land, what goes on as it is, machines, hire, budget, gate and shed come out as they were told."""
    mow, cut, spear, later, rake = hay.tasks
    assert [one.land for one in hay.tasks] == ["hay", "pasture", None, "hay", "hay"]
    assert (cut.width_m.text, cut.stem_m.text, spear.stack_high.text) == ("6 ft", "1 to 2 in", "2")
    assert (later.planned, later.chance, later.year) == (True, 0.2, 2030)
    assert [one.have for one in hay.tasks] == [True, False, True, False, False]
    assert [one.hire for one in (mow, cut, rake)] == [False, False, False]
    assert (hay.machines[0].takes, hay.machines[0].tractor.label) == (("Bale spear",), "Old Grey")
    assert hay.place.others_do == ("cleared",)
    assert (hay.money.budget, hay.place.gate_m.text, hay.place.shed_m.text) == (60000.0, "10 ft", "9 ft")
    assert hay.place.animals == {"cattle": 25, "horses": 4}


@pytest.mark.ci
def test_without_a_file_the_sheet_goes_to_stdout_alone(process, words):
    """Piped without a file name, stdout holds the sheet and nothing else."""
    from evener.ingest.jobsheet.reading import read_jobsheet_text

    ran = process("interview", input=answers(SMALL))
    assert ran.returncode == 0
    assert read_jobsheet_text(ran.stdout, words)[1] == []
    assert re.search("[Bb]uy:? about ", ran.stderr)


@pytest.mark.ci
def test_left_and_taken_up_again_it_gives_the_same_sheet(evener, tmp_path):
    """Left anywhere, the interview goes on where it was and comes to the same sheet."""
    whole, parted = tmp_path / "whole.toml", tmp_path / "parted.toml"
    lines = answers(SMALL).splitlines(keepends=True)
    evener("interview", whole, input="".join(lines))
    for first, last in ((0, 6), (6, 11), (11, len(lines))):
        ran = evener("interview", parted, input="".join(lines[first:last]))
        assert ran.returncode == (0 if last == len(lines) else 1)
        assert parted.exists() == (last == len(lines))
    assert parted.read_text(encoding="utf-8") == whole.read_text(encoding="utf-8")
    assert not (tmp_path / "parted.toml.draft").exists()


@pytest.mark.ci
def test_back_takes_answers_back_across_a_pause(evener, tmp_path):
    """Back goes to the question before, also to one answered before the interview was left."""
    path = tmp_path / "sheet.toml"
    evener("interview", path, input="First name\npasture 3 ac\n")
    ran = evener("interview", path, input="back\nback\nSecond name\nstop\n")
    assert "Going on after 2 answers" in ran.stderr
    kept = json.loads((tmp_path / "sheet.toml.draft").read_text(encoding="utf-8"))
    assert list(kept.values()) == [["Second name"]]


@pytest.mark.ci
def test_an_answer_of_no_meaning_is_asked_again(evener, tmp_path):
    """What cannot be read is refused with its remedy, and the same question comes again."""
    told = answers(SMALL).splitlines()
    wrong = {1: ["swamp 3 ac", "pasture"], 6: ["mystery", "rotary cutter 6", "rotary cutter 6 ft on lava"], 13: ["7"]}
    lines = [line for at, right in enumerate(told) for line in (*wrong.get(at, []), right)]
    ran = evener("interview", tmp_path / "sheet.toml", input="\n".join(lines) + "\n")
    assert ran.returncode == 0, ran.stderr
    for said in (
        "'swamp' is not known",
        "'pasture' is no land",
        "'mystery' is no kind",
        'task.width = "6" has no unit',
        "'lava' is no land of this place",
        "'7' is none of them",
    ):
        assert said in ran.stderr


def test_a_record_is_taken_for_its_sizes(evener, tmp_path, words):
    """Work named by an implement record is not asked for the sizes its record states."""
    path = tmp_path / "sheet.toml"
    ran = evener("interview", path, input="Here\n\n4 %\n\n\n\nrotary-cutter-09\n" + 8 * "\n")
    assert ran.returncode == 0, ran.stderr
    assert "how wide" not in ran.stderr
    job, _ = read_jobsheet(path, words)
    assert job.tasks[0].implement_id == "rotary-cutter-09"


def test_a_sheet_that_is_there_is_never_written_over(evener, sheet):
    """A file that exists is left alone, with status 2."""
    before = sheet.read_bytes()
    ran = evener("interview", sheet, input=answers(SMALL))
    assert (ran.returncode, sheet.read_bytes()) == (2, before)
    assert "is there already" in ran.stderr


@pytest.mark.parametrize("held", ["[1, 2", '["answers of another form"]'])
def test_a_draft_that_is_none_is_left_alone(evener, tmp_path, held):
    """A file in the draft's place that is no draft, or one of other questions, is left as it is, and it is said."""
    (tmp_path / "sheet.toml.draft").write_text(held, encoding="utf-8")
    ran = evener("interview", tmp_path / "sheet.toml", input="stop\n")
    assert "is no draft" in ran.stderr
    assert ran.returncode == 2
    assert (tmp_path / "sheet.toml.draft").read_text(encoding="utf-8") == held


def test_the_last_questions_are_those_worth_most(library, classes):
    """What was not asked and may change the size is asked last; its answer stands in the sheet, and nonsense cannot."""
    from evener.enquiry.holdings import Holdings
    from evener.ingest.jobsheet.answers import AnswerRefused
    from evener.interview.conversation import Interview

    talk = Interview(Holdings(library, tuple(classes)))
    for said in ("Baler Place", "hay 40 ac", "3 %", "", "", "", "round baler 4x5 ft, tedder 17 ft", *7 * [""]):
        talk.answer(said)
    assert talk.prompt.text.startswith("Round baler: which kind of round baler is it, or is it to be: hay, silage")
    before = talk.running_size()
    with pytest.raises(AnswerRefused):
        talk.answer("a nice one")
    talk.answer("silage")
    assert talk.running_size().pto_power_kw > before.pto_power_kw
    while talk.prompt is not None:
        talk.answer("")
    assert talk.job.tasks[0].build == "silage"
    assert len(talk.answers) <= 16
