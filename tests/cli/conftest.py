"""A job sheet of its own for the command line's tests."""

from __future__ import annotations

import pytest

SHEET = """
[place]
name = "Quince Hollow"
slope = "6 to 12 %"
soil = "firm"

[[place.land]]
use = "pasture"
area = "46 ac"

[[place.land]]
use = "orchard"
area = "9 ac"

[[task]]
name = "top the pasture"
family = "rotary_cutter"
width = "6 ft"
stems = "1 to 3 in"
land = "pasture"
growth = "normal or thick"

[[task]]
name = "feed bales"
family = "bale_spear"
bale = "4x5 ft"
crop = "hay"
stack = "1 to 2"

[[task]]
name = "spray the orchard"
implement = "mounted-sprayer-05"
land = "orchard"
"""


@pytest.fixture
def sheet(tmp_path):
    """A job sheet on disk."""
    path = tmp_path / "quince.toml"
    path.write_text(SHEET, encoding="utf-8")
    return path


@pytest.fixture(scope="session")
def answer_schema():
    """A validator for one command's answer, from the schema that ships."""
    import json
    from importlib import resources

    import jsonschema

    schema = json.loads((resources.files("evener.cli") / "answers.schema.json").read_text(encoding="utf-8"))
    return lambda name: jsonschema.Draft202012Validator({**schema, "$ref": f"#/$defs/{name}"})
