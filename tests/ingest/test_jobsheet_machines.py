"""Machines of a job sheet: named once, used by many tasks, with build and plate, beside the tractors that are there."""

from __future__ import annotations

import pytest

from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.ingest.jobsheet.text import write_jobsheet
from evener.ingest.jobsheet.words import Vocabulary

PLACE = '[place]\nname = "Hollow"\n'
CUTTER = (
    '[[machine]]\nname = "The cutter"\nfamily = "pull-type cutter"\nwidth = "10 ft"\nstems = "2 in"\nhave = true\n'
    'rating = "40 hp"\nmass = "2,050 lb"\npto_speed = "540"\n'
)


@pytest.fixture(scope="module")
def words(library):
    """The words of the shipped library."""
    return Vocabulary.of(
        library.families.values(), implements={one.implement_id: one.family for one in library.implements.values()}
    )


@pytest.fixture
def read(words):
    """Read a sheet that has to hold no mistake."""

    def reading(text):
        job, findings = read_jobsheet_text(PLACE + text, words)
        assert job is not None, [(one.row, one.message) for one in findings]
        return job

    return reading


def mistakes(words, text):
    """Return id and line of every finding."""
    return [(one.id, one.row) for one in read_jobsheet_text(PLACE + text, words)[1]]


def test_a_machine_named_once_serves_every_task_that_names_it(read):
    """Tasks take family, sizes, build and plate from the machine they name, whatever the case of its name."""
    job = read(
        CUTTER + '[[task]]\nname = "Top"\nmachine = "the cutter"\n[[task]]\nname = "Clear"\nmachine = "The cutter"\n'
    )
    for task in job.tasks:
        assert (task.family, task.attachment, task.machine) == ("rotary_cutter", "trailed", "The cutter")
        assert task.width_m.low == pytest.approx(3.048)
        assert task.rated_pto_power_kw.low == pytest.approx(29.828, abs=1e-3)
        assert (task.pto_speeds_rpm, task.have) == ((540,), True)


def test_what_a_task_says_itself_goes_before_its_machine(read):
    """A task may cut thinner stems than its machine is built for."""
    job = read(CUTTER + '[[task]]\nname = "Top"\nmachine = "the cutter"\nstems = "1 in"\n')
    assert job.tasks[0].stem_m.low == pytest.approx(0.0254)


@pytest.mark.parametrize(
    ("said", "built"),
    [
        ('family = "no-till drill"\nwidth = "7 ft"', ("grain_drill", None, "no-till", None)),
        ('family = "grain drill"\nwidth = "7 ft"\nbuild = "direct drill"', ("grain_drill", None, "no-till", None)),
        (
            'family = "grain drill"\nwidth = "7 ft"\nbuild = "no till, mounted"',
            ("grain_drill", "mounted", "no-till", None),
        ),
        ('family = "disk harrow"\nwidth = "8 ft"\nattachment = "pull type"', ("disk_harrow", "trailed", None, None)),
        (
            'family = "pull-type cutter"\nwidth = "8 ft"\nbuild = "heavy duty"',
            ("rotary_cutter", "trailed", None, "heavy"),
        ),
    ],
)
def test_a_build_is_read_from_its_words(words, said, built):
    """How a machine is carried, which kind it is and its duty are told apart, from one text or the family's phrase."""
    job, _ = read_jobsheet_text(f'{PLACE}[[task]]\nname = "Work"\n{said}\n', words)
    task = job.tasks[0]
    assert (task.family, task.attachment, task.build, task.duty) == built


def test_what_is_wrong_with_machines_is_found_at_its_line(words):
    """A machine that is not there, a family beside a machine, and a machine without a name are each one finding."""
    text = (
        CUTTER
        + '[[task]]\nname = "Top"\nmachine = "The mower"\n'
        + '[[task]]\nname = "Mow"\nmachine = "The cutter"\nfamily = "disc mower"\n'
    )
    assert mistakes(words, text) == [("sheet-machine", 14), ("sheet-said-twice", 18)]
    assert mistakes(
        words, '[[machine]]\nfamily = "disc mower"\n[[task]]\nname = "x"\nfamily = "disc mower"\nwidth = "8 ft"\n'
    ) == [("sheet-missing-key", 3)]


def test_tractors_under_the_older_word_are_still_read(words):
    """A [[machine]] that takes tasks is a tractor that is there, with a remark and no refusal."""
    text = (
        '[[task]]\nname = "Top"\nfamily = "rotary cutter"\nwidth = "6 ft"\n'
        '[[machine]]\nlabel = "the old one"\ntakes = ["Top"]\n'
    )
    job, findings = read_jobsheet_text(PLACE + text, words)
    assert [(one.id, one.row, one.refuses) for one in findings] == [("sheet-tractor-there", 7, False)]
    assert job.machines[0].takes == ("Top",)


def test_machines_slopes_and_plates_are_written_and_read_back(read):
    """A sheet with machines, a slope of its own for each land, and a plate reads back the same."""
    text = (
        'steepest = "15 %"\n[[place.land]]\nuse = "hay"\narea = "4 ha"\n'
        'slope = "3 %"\nsteepest = "8 %"\nsoil = "firm"\n'
        + CUTTER
        + '[[task]]\nname = "Top"\nmachine = "the cutter"\nhire = true\n'
    )
    job = read(text)
    again, _ = read_jobsheet_text(write_jobsheet(job), _words_of(job))
    assert (again.implements[0].rated_pto_power_kw, again.tasks[0].hire) == (job.implements[0].rated_pto_power_kw, True)
    assert (again.place.steepest, again.place.land[0].steepest) == (job.place.steepest, job.place.land[0].steepest)
    assert again.tasks[0].width_m == job.tasks[0].width_m


def _words_of(job):
    return Vocabulary(families={one.family: () for one in job.tasks}, implements={})
