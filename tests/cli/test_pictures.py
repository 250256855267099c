"""Every picture in the documentation shows what the tool says today."""

import importlib.util
import re
from pathlib import Path

import pytest

pytestmark = pytest.mark.ci

ROOT = Path(__file__).resolve().parents[2]


def test_the_readmes_picture_is_current(library_store):
    """What stands beside the picture that README.md opens with is what the top of the demo's page says."""
    spec = importlib.util.spec_from_file_location("pictures", ROOT / "benchmarks" / "pictures.py")
    pictures = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(pictures)
    shown = (pictures.FOLDER / "page.txt").read_text("utf-8")
    assert shown == pictures.says(pictures.demo_page(library_store)), "run: python benchmarks/pictures.py"


def test_the_readme_opens_with_a_picture_that_is_there():
    """The first thing under the title is a picture, with an alternative in words, and its file is there."""
    opening = (ROOT / "README.md").read_text("utf-8").split("\n")[2]
    words, file = re.fullmatch(r"!\[(.{40,})\]\((docs/pictures/[\w.]+)\)", opening).groups()
    assert words[-1] == "."
    assert (ROOT / file).read_bytes().startswith(b"\x89PNG")
