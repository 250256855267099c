"""The register of unknowns: nothing is drawn beside it, and what is in it is asked, or known to be beyond asking."""

import ast
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from evener.schema.records import Choice, JobSheet, Place, Quantity, Task
from evener.scoring.asks.tasks import demands_of
from evener.scoring.core.draws import Draws
from evener.scoring.core.setting import CannotSize, Setting
from evener.scoring.decision.sizing import Sizing
from evener.scoring.place.sizes import SHEET_NAME
from evener.scoring.questions.open_answers import open_answers
from evener.scoring.questions.open_unknowns import open_unknowns, stays_uncertain

ROOT = Path(__file__).resolve().parents[2]
DRAWS = 32
OF_CAPACITIES = {"open_capacities"}
DRAWING = {"uniform", "normal", "published", "quantity", "choice", "happens"}
PLACE = Place(
    "a place", slope=Quantity(0.02, 0.10, "range"), soil=Choice(("firm", "soft")), altitude_m=Quantity(0, 900, "range")
)
UNSAID = Quantity(None, None, "unknown")
EITHER = Choice(("normal", "thick"))


def tasks(library):
    """One task of every family and build, as little told as can be sized, and one of a record of each."""
    found = []
    builds = {(one.family, one.attachment): one for one in library.implements.values()}
    for (family, attachment), record in sorted(builds.items(), key=lambda entry: [str(part) for part in entry[0]]):
        told = {"attachment": attachment, "growth": EITHER, "pace": Choice(("normal", "full"))}
        sizes = {
            field: Quantity(value * 0.9, value * 1.1, "about")
            for column in (
                "working_width_m",
                "bale_width_m",
                "bale_diameter_m",
                "bale_height_m",
                "tank_l",
                "payload_kg",
            )
            if (value := getattr(record, column)) is not None and hasattr(Task, field := SHEET_NAME.get(column, column))
        }
        found.append(Task(f"{family} {attachment} vague", family, **told, **sizes))
        found.append(Task(f"{family} {attachment} named", family, record.implement_id, growth=EITHER))
    found += [
        Task("move", "loader_bucket", material="gravel"),
        Task("stack", "bale_spear", stack_high=UNSAID, soil=Choice(("firm", "tilled"))),
        Task("haul", "tipping_trailer", load_kg=Quantity(2000, 5000, "range"), planned=True, chance=0.4),
    ]
    return found


def sized(library, task, *, seed=1, settled=(), place=PLACE):
    """One task sized on a few draws, or None where too little is told of it."""
    setting = Setting(JobSheet(place, (task,)), library, Draws(DRAWS, seed), settled=dict(settled))
    try:
        return Sizing(setting, (demands_of(setting, task),), (), ())
    except CannotSize:
        return None


def asked(sizing):
    """What a task asks, demand by demand."""
    return [(one.axis, one.alpha, one.beta) for one in sizing.tasks[0].demands]


def middle_of(unknown):
    """A value an unknown may have."""
    return unknown.words[0] if unknown.words else (unknown.low + unknown.high) / 2


@pytest.fixture(scope="module")
def every(library):
    """Every task that can be sized, with its sizing."""
    found = [(task, sizing) for task in tasks(library) if (sizing := sized(library, task)) is not None]
    assert len({task.family for task, _ in found}) == len(library.families)
    return found


@pytest.mark.ci
def test_what_is_not_registered_is_not_drawn(every, library):
    """With every registered unknown settled, two sets of draws ask the same to the last digit."""
    for task, sizing in every:
        settled = {one.fact.key: middle_of(one) for one in sizing.setting.unknowns.of(task.name)}
        first, second = (sized(library, task, seed=seed, settled=settled) for seed in (1, 2))
        for (axis, alpha, beta), (_, other, per_kg) in zip(asked(first), asked(second), strict=True):
            assert np.ptp(alpha) <= 1e-9 * np.max(np.abs(alpha)), (task.name, axis)
            assert (alpha[0], beta[0]) == pytest.approx((other[0], per_kg[0]), rel=1e-12), (task.name, axis)
        assert not open_drawn(first), task.name


def open_drawn(sizing):
    """What is open of a sizing beyond the ranges its sheet gives."""
    return list(sizing.setting.unknowns)


def test_what_is_registered_is_asked_or_known_to_be_beyond_asking(every, library):
    """Every unknown behind a demand has a question that the sheet can answer, or a printed reason."""
    rows = {row["quantity"] for row in library.tables["question"]}
    for task, sizing in every:
        questions = {one.quantity: one for one in open_answers(sizing, "si")}
        beyond = stays_uncertain(sizing)
        for unknown in sizing.setting.unknowns.of(task.name):
            fact = unknown.fact
            if fact.stays:
                assert any(one["why"] == fact.stays for one in beyond), fact
            else:
                assert questions[fact.asks].parts, fact
                assert fact.asks in rows, fact


@pytest.mark.ci
def test_an_answer_in_the_sheet_settles_what_was_asked(every, library):
    """With a question's answer in the sheet, nothing that the question stands for is drawn any more."""
    for task, sizing in every:
        for question in open_answers(sizing, "si"):
            job = question.parts[-1].job
            if not job.tasks:
                continue
            after = sized(library, job.tasks[0], place=job.place)
            if after is None:
                continue
            owner = "task" if question.task else "place"
            left = {
                one.fact.name
                for one in after.setting.unknowns.of(task.name)
                if one.fact.owner == owner and one.fact.asks == question.quantity
            }
            assert not left, (task.name, question.quantity, left)


def test_every_range_a_customer_gives_is_listed(library):
    """A range, an "about" or a choice of words on any key of the sheet is among what is open, drawn or not."""
    cut = Task("cut", "rotary_cutter", width_m=Quantity(1.8, 1.8, "exact"))
    for name in Task.__dataclass_fields__:
        if not name.endswith(("_m", "_kg", "_l", "_ha", "_h", "_m3", "_kw", "slope", "bales", "tools", "stack_high")):
            continue
        low = 0.05 if name in {"stem_m", "slope"} else 1.0
        given = Quantity(low, low * 1.2, "range", "so to so")
        task = Task("bale", "round_baler") if name.startswith("bale_") else cut
        sizing = sized(library, replace(task, **{name: given}), place=Place("a place"))
        assert sizing is not None, name
        open_now = open_unknowns(sizing)
        assert any(SHEET_NAME.get(one.asks, one.asks) == name and one.task for one in open_now), name


def test_only_the_core_draws():
    """No room but the core calls a drawing method of the draws: the register is the only way."""
    for room in ("place", "asks", "questions", "decision"):
        for path in sorted((ROOT / "scoring" / room).rglob("*.py")):
            if path.stem in OF_CAPACITIES:
                continue
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in DRAWING:
                    on = node.func.value
                    name = on.attr if isinstance(on, ast.Attribute) else getattr(on, "id", "")
                    assert name != "draws", f"{path.name}: {ast.unparse(node)}"
