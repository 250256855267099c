"""One glossary: each word has one meaning, and no second word is used for it."""

import re
from pathlib import Path

import pytest

from evener.cli import glossary

ROOT = Path(__file__).resolve().parents[2]
# The accuracy page cites titles of printed tables.
DOCS = [path for path in sorted((ROOT / "docs").glob("*.md")) if path.name != "accuracy.md"]
PRINTED = [ROOT / "README.md", *DOCS, *sorted((ROOT / "cli").rglob("*.py"))]
PRINTED += [*sorted((ROOT / "evener").rglob("*.py")), *sorted((ROOT / "demo_db" / "jobs").glob("*.toml"))]


def test_the_page_is_what_the_words_and_the_commands_say():
    """docs/glossary.md is written anew from the rows and the commands of today."""
    page = (ROOT / "docs" / "glossary.md").read_text("utf-8")
    assert page == "\n".join(glossary.lines()) + "\n", "run: python -m evener.cli.glossary > docs/glossary.md"


def test_no_word_has_two_meanings():
    """A word has one row, and a word that is not to be used is not itself a word of the glossary."""
    words = [row["word"] for row in glossary.words()]
    assert len(words) == len(set(words))
    instead = [one for row in glossary.words() for one in row["not_said"].casefold().split(";") if one]
    assert not set(instead) & {word.casefold() for word in words}
    assert len(instead) == len(set(instead)) > 10


def test_an_option_that_commands_speak_of_in_several_ways_has_one_meaning():
    """Where two commands describe an option differently, the glossary says what both mean."""
    several = {name for name, said in glossary.options().items() if len(said) > 1}
    rows = {row["word"] for row in glossary.words()}
    assert several <= rows
    assert {one for one in rows if one.startswith("--")} <= set(glossary.options())


@pytest.mark.parametrize("row", glossary.words(), ids=lambda row: row["word"])
def test_no_second_word_is_used(row):
    """What the glossary says by one word is said by no other in the docs, the commands and the demo."""
    for word in filter(None, row["not_said"].split(";")):
        pattern = re.compile(rf"\b{re.escape(word)}s?\b", re.IGNORECASE)
        found = [
            path.name for path in PRINTED if path.name != "glossary.py" and pattern.search(path.read_text("utf-8"))
        ]
        assert found == [], word
