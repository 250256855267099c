"""Each key's line is found in any TOML the standard reader accepts."""

import tomllib

import pytest

from evener.ingest.jobsheet.lines import Lines, deep_key_line

TEXT = """\
# a comment with [brackets] and key = 1
title = '''
[task]
name = "not a table"
'''
dotted.deep."quoted key" = 1   # [x]
"a=b" = "c # d"

[place]
name = "x\\"[y]"
many = [
  1, 2,
  # a comment ]
  { use = "hay", area = "3 ha" }, [
    5,
  ],
]
when = 1979-05-27 07:32:00

[[place.land]]
use = "a"
[[place.land]]
use = "b"

[[task]]
name = "one"
[task.more]
key = 1
[[task]]
name = \"\"\"two
lines\"\"\"
text = \"\"\"ends in quotes\"\"\"\"\"
last = { a.b = 1, c = [1, 2] }
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 2),
        (("dotted", "deep", "quoted key"), 6),
        (("a=b",), 7),
        (("place",), 9),
        (("place", "name"), 10),
        (("place", "many"), 11),
        (("place", "many", 1), 12),
        (("place", "many", 2, "area"), 14),
        (("place", "many", 3, 0), 15),
        (("place", "when"), 18),
        (("place", "land", 0, "use"), 21),
        (("place", "land", 1), 22),
        (("place", "land", 1, "use"), 23),
        (("task", 0, "name"), 26),
        (("task", 0, "more", "key"), 28),
        (("task", 1), 29),
        (("task", 1, "name"), 30),
        (("task", 1, "text"), 32),
        (("task", 1, "last", "a", "b"), 33),
        (("task", 1, "not written"), 29),
        (("nowhere",), 1),
    ],
)
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_line_of_a_path(path, line, ending):
    """A path's line is that of its key, whatever strings, lists and comments stand around it."""
    text = TEXT.replace("\n", ending)
    assert tomllib.loads(text)
    assert Lines(text).of(path) == line


def test_every_value_of_a_document_has_its_line():
    """No key that the standard reader sees is missed."""

    def paths(value, path=()):
        yield path
        items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        for key, inner in items:
            yield from paths(inner, (*path, key))

    lines = Lines(TEXT)
    assert all(path in lines._lines for path in paths(tomllib.loads(TEXT)))


def test_line_of_a_deep_key():
    """The line of a key with too many dots is told, and ordinary keys, decimals and texts pass."""
    assert deep_key_line("a = 1\nb.c.d = 1\nx = [1.5, 2.5]\ny = 'a.b.c'") is None
    assert deep_key_line("a = 1\n" + "b" + ".b" * 20 + " = 1") == 2
