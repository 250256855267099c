"""A size beyond its family's records is named with the slip of the pen that is likely."""

from __future__ import annotations

import pytest

from evener.schema.records import Quantity, Task
from evener.scoring.place.unlikely import ONE_FOR_ALL, unlikely


def said(value, text):
    return Quantity(value, value, "exact", text)


@pytest.mark.parametrize(
    ("task", "slip"),
    [
        (Task("cut", "rotary_cutter", width_m=said(30.48, "100 ft")), "inches written as feet"),
        (Task("spray", "mounted_sprayer", tank_l=said(7571.0, "2,000 gal")), "a decimal point too far right"),
        (Task("plough", "moldboard_plow", width_m=said(0.4064, "16 in"), tools=said(4, "4")), ONE_FOR_ALL),
    ],
)
def test_a_size_there_is_none_of_is_named_with_the_likely_slip(library, task, slip):
    """A 100 ft cutter, a 2,000 gal mounted sprayer and four furrows on 16 in are beyond what there is."""
    (found,) = unlikely(library, task)
    assert found.slip == slip
    assert not found.low <= found.value <= found.high


def test_sizes_that_machines_have_are_not_remarked(library):
    """No record of the library would be remarked, were its sizes said in a sheet."""
    for one in library.implements.values():
        width = one.working_width_m and said(one.working_width_m, "so wide")
        tank = one.tank_l and said(one.tank_l, "so much")
        task = Task("t", one.family, width_m=width, tank_l=tank)
        assert list(unlikely(library, task)) == [], one.implement_id


def test_thin_stems_are_no_slip_and_thick_ones_are(library):
    """Grass is what every cutter cuts, and what nobody said is never remarked; stems thicker than any takes are."""
    for row in library.rows("prior", quantity="max_stem_m"):
        for stems in (row["low"], row["usual"]):
            assert list(unlikely(library, Task("t", row["family"], stem_m=said(stems, "so thin")))) == [], row
    assert [one.name for one in unlikely(library, Task("t", "rotary_cutter", stem_m=said(0.5, "thick")))]
