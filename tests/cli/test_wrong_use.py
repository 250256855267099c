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
    (("rank", "{sheet}", "--price-up-to", "-5"), "--price-up-to takes a number from 0."),
    (("rank", "{sheet}", "--drive", "5wd"), "--drive takes 2wd, 4wd, track, articulated, not 5wd"),
    (("rank", "{sheet}", "--width-up-to", "6"), "--width-up-to: '6' has no unit; write the number with its unit"),
    (("list", "tractors", "--where", "1=1; DROP TABLE x"), "--where: a condition is one expression"),
    (("list", "tractors", "--among", "foo"), "--among takes class, stock, member, not foo"),
    (("list", "tractors", "--family", "tedder"), "--family: tractors have none to go by; leave it out"),
    (("list", "implements", "--family", "foo"), "there is no family 'foo'. See: evener list families"),
    (("query", "SELECT 'a' + 1"), "turn one into the other's kind"),
    (("query", "FROM read_csv('/etc/passwd')"), "'/etc/passwd' is out of reach"),
    (("runs", "utility-50-4wd", "--slope", "8"), '--slope: "8" has no unit; write a slope as'),
    (("beside", "{sheet}", "utility-50-4wd"), "2 to 5 tractors can stand beside each other, not 1"),
    (("predict", "rotary_cutter", "--width", "6"), "--width: '6' has no unit; write it with one"),
    (("predict", "rotary_cutter", "--width", "6 lb"), "lb measures mass, not length; use m,"),
    (("predict", "rotary_cutter", "--width", "6 ft", "--build", "foo"), "--build takes mounted, trailed for a rotary"),
    (("judge", "rotary-cutter-01", "corrected", "--why", "x", "--set", "mass=heavy"), "'heavy' is not a number with a"),
    (("undo", "99"), "evener: there is no ingest '99' in the store."),
    (("list", "quarantine", "--batch", "foo"), "there is no ingest 'foo' in the store; see: evener list batches"),
    (("interview", "/nowhere/at/all.toml"), "there is no folder /nowhere/at to write all.toml into"),
    (("page", "{sheet}"), "--out: a page is written to a file, and none is named; type --out FILE.html"),
]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        pytest.param(typed, said, id=" ".join(typed), marks=pytest.mark.ci if {"query", "--where"} & {*typed} else ())
        for typed, said in WRONG
    ],
)
def test_what_is_typed_wrong_is_said_in_one_line(evener, sheet, typed, said):
    """One line of ours with the name of the argument and what it takes, and status 2."""
    ran = evener(*(str(sheet) if one == "{sheet}" else one for one in typed))
    assert ran.returncode == 2, ran.stdout
    (line,) = ran.stderr.splitlines()
    assert line.startswith("evener: ")
    assert said in line
    assert not re.search(r"Error:|Invalid value|Usage:|Value error|FROM clause|Candidate|Traceback", line)
    assert len(line) < 300


def test_a_sheet_that_is_not_there_is_unreadable_input(evener, tmp_path):
    """`check` and `rank` leave with the same status where there is no sheet to read."""
    for command in ("check", "rank"):
        assert evener(command, tmp_path / "none.toml").returncode == 2
