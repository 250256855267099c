"""A machine of the sheet that several tasks name: one machine, asked about once, and answered where it stands."""

from __future__ import annotations

import tomllib

import pytest

from evener.enquiry.enquiry import Enquiry
from evener.enquiry.holdings import Holdings
from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.ingest.jobsheet.text import write_jobsheet
from evener.scoring.decision.sizing import size_job
from evener.scoring.questions.open_answers import open_answers
from evener.scoring.questions.open_work import open_work

SHEET = """
[place]
name = "One Cutter"
slope = "3 %"

[[machine]]
name = "The cutter"
family = "rotary cutter"
width = "6 to 8 ft"
have = true

[[task]]
name = "Top"
machine = "The cutter"
stems = "1 in"
hours = 20

[[task]]
name = "Cut scrub"
machine = "The cutter"
stems = "1 to 3 in"
hours = 10

[[task]]
name = "Cut the verges"
machine = "The cutter"
width = "5 ft"
stems = "1 in"
hours = 5
"""


@pytest.fixture(scope="module")
def enquiry(library, classes):
    holdings = Holdings(library, tuple(classes))
    job, findings = read_jobsheet_text(SHEET, holdings.words)
    assert not findings
    return Enquiry(job, holdings, ("class",))


def test_what_a_machine_has_is_one_unknown_asked_once(enquiry, library):
    """Width, plate and build are asked of the machine once; what is the work's, or said of a task, is the task's."""
    sizing = size_job(enquiry.job, library)
    found = [(one.task, one.machine, one.quantity) for one in open_answers(sizing, "us")]
    assert len(set(found)) == len(found)
    of_machine = {quantity for task, machine, quantity in found if machine == "The cutter" and task is None}
    assert {"working_width_m", "rated_pto_power_kw", "mass_kg"} <= of_machine
    assert ("Cut scrub", None, "max_stem_m") in found
    assert not of_machine & {quantity for task, _, quantity in found if task is not None}
    assert [(one.machine, one.quantity) for one in open_work(sizing) if one.machine] == [("The cutter", "build")]
    drawn = [
        next(one.values for one in sizing.setting.unknowns.of(name) if one.fact.name == "working_width_m")
        for name in ("Top", "Cut scrub")
    ]
    assert drawn[0] is drawn[1]


@pytest.mark.parametrize("asked", ["machine.the-cutter", "top", "cut-scrub"])
def test_an_answer_stands_with_the_machine(enquiry, asked):
    """Said of the machine, or of a task that takes it from there, an answer is the machine's and all such tasks'."""
    answered = enquiry.with_answers(
        [f"{asked}.width=7 ft", f"{asked}.rating=40 hp", "machine.the-cutter.build=trailed"]
    )
    said = tomllib.loads(write_jobsheet(answered.job))
    (machine,) = said["machine"]
    assert (machine["width"], machine["rating"], machine["build"]) == ("7 ft", "40 hp", "trailed")
    assert ["width" in task for task in said["task"]] == [False, False, True]
    assert not any({"rating", "build"} & task.keys() for task in said["task"])
    assert [task.width_m.text for task in answered.job.tasks] == ["7 ft", "7 ft", "5 ft"]


def test_what_a_task_says_itself_stays_its_own(enquiry):
    """A task that says its own width is answered for itself."""
    answered = enquiry.with_answer("cut-the-verges.width", "4 ft").job
    assert [task.width_m.text for task in answered.tasks] == ["6 to 8 ft", "6 to 8 ft", "4 ft"]
