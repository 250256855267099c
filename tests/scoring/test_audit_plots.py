"""The plots of an audit: one per family with a line, flagged records by id, the same file every time."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from evener.schema.records import Family, Implement
from evener.scoring.audit.auditing import audit

pytest.importorskip("matplotlib", reason="plots need matplotlib")

from evener.scoring.audit.flags import KINDS
from evener.scoring.audit.plots import MARKS, plots

WORDS = "{http://www.w3.org/2000/svg}text"


def family(name, first="working_width_m"):
    """Return a family with only what an audit needs."""
    return Family(name, name, (), "g", "pto", None, first, None, *(None,) * 8, source_id="s", status="invented")


def report(name="mower", identifier="odd_$one$"):
    """Return the audit of thirty mowers of about 17 kW per metre, one more rated double, and an empty family."""
    records = [
        Implement(f"M{i}", name, "x", working_width_m=1 + i / 6, rated_pto_power_kw=(1 + i / 6) * (16 + i % 3))
        for i in range(30)
    ]
    records.append(Implement(identifier, name, "x", working_width_m=3.0, rated_pto_power_kw=102.0))
    return audit(records, [family(name), family("empty")], {"rotary_power": [], "power_ratios": []})


def words(path):
    """Return all text of an SVG file."""
    return [one.text for one in ET.parse(path).getroot().iter(WORDS)]  # noqa: S314  our own file


def test_each_family_with_a_line_gets_a_plot_that_names_its_flagged_records(tmp_path):
    """One file per family with a line; a flagged record's id stands in it letter by letter, a sound one's does not."""
    (path,) = plots(report(), tmp_path / "new")
    assert path.name == "mower.svg"
    said = words(path)
    assert "odd_$one$" in said
    assert "M3" not in said
    assert "rated PTO power [kW]" in said
    assert "working width [m]" in said


def test_axes_are_in_the_reader_s_units(tmp_path):
    """US units give feet and horsepower."""
    (path,) = plots(report(), tmp_path, units="us")
    assert {"rated PTO power [hp]", "working width [ft]"} <= set(words(path))


def test_the_same_audit_gives_the_same_file(tmp_path):
    """Drawing twice gives the same bytes, and leaves nothing else in the folder."""
    (first,) = plots(report(), tmp_path / "a")
    (second,) = plots(report(), tmp_path / "b")
    assert first.read_bytes() == second.read_bytes()
    assert list((tmp_path / "a").iterdir()) == [first]


def test_a_family_name_is_no_path(tmp_path):
    """A family called ../up is drawn inside the folder."""
    (path,) = plots(report("../up"), tmp_path / "in", suffix="png")
    assert path.parent == tmp_path / "in"
    assert path.read_bytes().startswith(b"\x89PNG")


def test_a_file_in_the_folder_s_place_is_an_error(tmp_path):
    """Where a file stands at the folder's name nothing is written."""
    (tmp_path / "file").write_text("mine")
    with pytest.raises(OSError, match="file"):
        plots(report(), tmp_path / "file")
    assert (tmp_path / "file").read_text() == "mine"


def test_every_kind_of_flag_has_a_mark_of_its_own():
    """No two kinds share marker and colour, and no kind is left undrawn."""
    assert set(MARKS) == set(KINDS)
    assert len({(mark.marker, mark.colour) for mark in MARKS.values()}) == len(MARKS)
    assert len({mark.marker for mark in MARKS.values()}) == len(MARKS)
