"""Whatever is typed wrong is said in one style: what, where, what to do; never by a parser or a database."""

import re

import pytest

WRONG = [
    (("rank", "{sheet}", "--top", "0"), "--top takes a number from 1. See: evener rank --help"),
    (("rank", "{sheet}", "--top", "few"), "--top takes a whole number. See: evener rank --help"),
    (("rank", "{sheet}", "--format", "pdf"), "--format takes table, json, csv, markdown, not pdf."),
    (("rank", "{sheet}", "--units", "metric"), "--units takes us, si, not metric."),
    (("rank", "{sheet}", "--among", "cows"), "--among takes class, stock, member, not cows"),
    (("rank", "{sheet}", "--topp", "3"), "there is no option --topp; did you mean"),
    (("rank", "{sheet}", "more"), "more is more than it takes"),
    (("explain", "{sheet}"), "TRACTOR is missing; type evener explain [OPTIONS] JOB TRACTOR"),
    (("rnak", "{sheet}"), "there is no command rnak; did you mean rank. See: evener --help"),
    (("list", "foo"), "KIND takes tractors, implements,"),
    (("list", "tractors", "--where", "mass > 3"), "--where: there is no column 'mass'; did you mean mass_kg"),
    (("list", "tractors", "--where", "mass_kg > "), "--where: this is no SQL"),
    (("ingest", "a.csv", "--as", "cows"), "--as: 'cows' cannot be loaded; it takes tractors, implements,"),
    (("export", "tractors", "--kind", "foo"), "--kind takes class, stock, member, not foo"),
    (("query", "DROP TABLE tractor"), "a question is one SELECT"),
    (("query", "SELECT foo FROM tractor"), "there is no column 'foo'"),
    (("page", "{sheet}"), "--out: a page is written to a file, and none is named; type --out FILE.html"),
]


@pytest.mark.parametrize(("typed", "said"), WRONG, ids=[" ".join(typed) for typed, _ in WRONG])
def test_what_is_typed_wrong_is_said_in_one_line(evener, sheet, typed, said):
    """One line of ours with the name of the argument and what it takes, and status 2."""
    ran = evener(*(str(sheet) if one == "{sheet}" else one for one in typed))
    assert ran.returncode == 2, ran.stdout
    (line,) = ran.stderr.splitlines()
    assert line.startswith("evener: ")
    assert said in line
    assert not re.search(r"Error:|Invalid value|Usage:|Value error|FROM clause|Candidate|Traceback", line)
    assert len(line) < 300
