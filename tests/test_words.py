"""Words that may appear nowhere: what belongs to one maker, one program or one uploader.

`kept_out.txt` lists them as the first twenty hex digits of the SHA-256 of each word, or of two words with a space, in
small letters, so that the list itself names nobody. Add one with: printf '%s' 'the word' | sha256sum | cut -c1-20
"""

import hashlib
import os
import re
from itertools import pairwise
from pathlib import Path

import openpyxl
import pytest

ROOT = Path(__file__).resolve().parent.parent
KEPT_OUT = frozenset((Path(__file__).parent / "kept_out.txt").read_text("ascii").split())
NOT_OURS = {".git", ".venv", "build", "__pycache__", "node_modules"}
BINARY = {".gz", ".png", ".parquet", ".duckdb", ".pyc", ".zip", ".ico"}
WORD = re.compile(r"[^\W_]+")
ADDRESS = re.compile(
    r"(?:https?://|www\.)[\w.-]+|\b[\w-]+(?:\.[\w-]+)*\.(?:com|org|net|edu|gov|info|io)/", re.IGNORECASE
)
# Names of file formats, and a name kept for examples (RFC 2606): written as addresses, they lead nowhere.
FORMATS = {
    "json-schema.org",
    "schemas.openxmlformats.org",
    "purl.oclc.org",
    "www.w3.org",
    "purl.org",
    "creativecommons.org",
    ".example",
}


def files():
    """Return every file of the project."""
    for folder, names, found in os.walk(ROOT):
        names[:] = [name for name in names if name not in NOT_OURS and not name.endswith("egg-info")]
        if Path(folder) == ROOT:
            names[:] = [name for name in names if not name.startswith(".") or name == ".ci"]
        for name in found:
            path = Path(folder) / name
            if path.suffix not in BINARY and not name.startswith(".coverage"):
                yield path


def text_of(path):
    """Return what a file says: its name and its text, of a workbook the text of its cells."""
    if path.suffix == ".xlsx":
        book = openpyxl.load_workbook(path)
        cells = [
            str(cell.value) for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None
        ]
        return "\n".join([path.stem, *book.sheetnames, *cells])
    return f"{path.stem}\n{path.read_text('utf-8', errors='replace')}"


def said(text):
    """Return the words and pairs of words of a text, in small letters."""
    words = [word.casefold() for word in WORD.findall(text)]
    return {*words, *(f"{one} {other}" for one, other in pairwise(words))}


def kept_out(words):
    """Return those of some words that are on the list."""
    return {word for word in words if hashlib.sha256(word.encode()).hexdigest()[:20] in KEPT_OUT}


@pytest.fixture(scope="module")
def texts():
    """Every file of the project with its text."""
    return {path.relative_to(ROOT).as_posix(): text_of(path) for path in files()}


def test_no_word_of_the_list_is_in_the_tree(texts):
    """No file, name of a file, picture or workbook says a word that belongs to one maker, program or uploader."""
    where: dict[str, str] = {}
    for name, text in texts.items():
        for word in said(text):
            where.setdefault(word, name)
    assert {word: where[word] for word in kept_out(where)} == {}


def test_the_list_is_noticed():
    """An invented word and an invented pair of the list are found wherever they stand, and every line is a hash."""
    assert len(KEPT_OUT) > 100
    assert all(re.fullmatch(r"[0-9a-f]{20}", line) for line in KEPT_OUT)
    one, pair = "knarcelbmiuq"[::-1], "knarc elbmiuq"[::-1]
    assert kept_out(said(f"the plate says {one.upper()}, {pair.title()} beside it")) == {one, pair}


def test_no_file_leads_to_a_page(texts):
    """Sources are cited by author, title and year: no file holds the address of a web page."""
    found = {
        name: sorted(addresses)
        for name, text in texts.items()
        if name != "tests/test_words.py" and not name.endswith(".svg")
        if (addresses := {address for address in ADDRESS.findall(text) if not any(one in address for one in FORMATS)})
    }
    assert found == {}
