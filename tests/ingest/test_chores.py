"""Work as people call it leads to the machine that usually does it (common practice, no source)."""

import csv
from importlib import resources

import pytest

from evener.ingest.jobsheet.chores import usual_machine
from evener.ingest.jobsheet.words import Vocabulary
from evener.interview.named_work import work_of

ROWS = list(
    csv.DictReader(
        resources.files("evener.ingest.jobsheet").joinpath("chores.csv").read_text(encoding="utf-8").splitlines()
    )
)


def test_every_row_finds_its_own_machine(library):
    """Each row of the table leads to its family, which the library has; a status stands beside it."""
    for row in ROWS:
        assert row["family"] in library.families, row
        assert usual_machine(row["chore"]) == row["family"], row
        assert row["status"] == "practice"


@pytest.mark.parametrize(
    ("said", "family"),
    [
        ("mowing the pasture", "rotary_cutter"),
        ("Cut Hay", "disc_mower"),
        ("bale it", "round_baler"),
        ("baling", "round_baler"),
        ("stack round bales", "bale_spear"),
        ("clearing snow from the drive", "front_blade"),
        ("splitting firewood", "log_splitter"),
        ("no-till drilling", "grain_drill"),
        ("carry fruit bins", "pallet_fork"),
        ("cut hay and bale", None),
        ("mow", None),
        ("the hill", None),
    ],
)
def test_any_form_of_the_words_will_do_and_two_chores_are_none(said, family):
    """Verb forms, plurals and small words make no difference; two chores at once, or half of one, name no machine."""
    assert usual_machine(said) == family


def test_a_build_that_the_words_carry_is_kept(library):
    """A no-till drill named in the interview is one, and no other drill or tool for tilling."""
    words = Vocabulary.of(library.families.values(), implements={})
    (named,) = work_of("no-till drilling 10 ft", words, {"grain_drill": "width"}, [])
    assert (named.family, named.build, named.size) == ("grain_drill", "no-till", "10 ft")


@pytest.mark.ci
def test_a_sheet_is_told_the_usual_machine_and_nothing_is_taken(evener, tmp_path):
    """Work in the place of a machine, or a task without one, is refused with the family to write."""
    path = tmp_path / "job.toml"
    for task in ('name = "field one"\nfamily = "mow hay"', 'name = "mow hay"'):
        path.write_text(f'[place]\nname = "Fallow End"\n[[task]]\n{task}\n', encoding="utf-8")
        ran = evener("rank", path)
        assert ran.returncode == 2
        assert 'family = "disc_mower"' in ran.stderr
