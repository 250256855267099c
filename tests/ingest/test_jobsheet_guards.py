"""No file and no text breaks the reader of job sheets: each is a sheet or one line that says what is wrong."""

import os

import pytest

from evener.ingest.jobsheet.reading import LARGEST, read_jobsheet, read_jobsheet_text
from evener.ingest.jobsheet.words import Vocabulary

WORDS = Vocabulary({"rotary_cutter": ()}, implements={})
FULL = LARGEST - 200


def only_finding(text):
    """Return id and line of the one finding of a text."""
    job, findings = read_jobsheet_text(text, WORDS)
    assert job is None
    assert len(findings) == 1
    assert "\n" not in findings[0].message + findings[0].what_to_do
    return findings[0].id, findings[0].row


@pytest.mark.parametrize(
    "text",
    [
        "a" + ".a" * (FULL // 2) + " = 1",
        "[" + "a" + ".a" * (FULL // 2) + "]",
        '"a"' + '."a"' * (FULL // 4) + " = 1",
        "a" + " . a" * (FULL // 4) + " = 1",
        "x = {a" + ".a" * (FULL // 2) + " = 1}",
    ],
    ids=["bare", "header", "quoted", "spaced", "inline"],
)
def test_long_dotted_keys_are_refused_before_the_reader_stalls(text):
    """A dotted key of tens of thousands of parts, for which the standard reader needs a minute, is refused at once."""
    assert only_finding(text) == ("sheet-nesting", 1)


@pytest.mark.parametrize("text", ["x = " + "[" * 30000 + "]" * 30000, "x = " + "{a = " * 9000 + "1" + "}" * 9000])
def test_deep_nesting_is_a_finding(text):
    """Lists and tables nested beyond the reader's depth are a finding."""
    assert only_finding(text) == ("sheet-nesting", None)


def test_dots_in_a_text_are_no_deep_key():
    """A name may hold dots."""
    _, findings = read_jobsheet_text('[place]\nname = "' + "a." * 50 + '"\n', WORDS)
    assert [finding.id for finding in findings] == ["sheet-no-task"]


QUOTE = 'put a value with words or a unit in quotes: width = "{}"'
TWICE = "keep one of the two; a second task or machine begins with its own [[task]] or [[machine]]"
CHECK = "check the quotes and brackets of that line"


@pytest.mark.parametrize(
    ("text", "row", "place", "remedy"),
    [
        ("[place]\nwidth = 8 ft\n", 2, 11, QUOTE.format("8 ft")),
        ("[place]\nwidth = about 2 in # inches\n", 2, 9, QUOTE.format("about 2 in")),
        ("[place]\nname = 'a'\nname = 'b'\n", 3, 11, TWICE),
        ("[place]\nname = 'a\n", 2, 10, CHECK),
        ("x = " + "9" * 5000, 1, 5005, CHECK),
        ('x = """abc', 1, 11, CHECK),
    ],
    ids=["unit", "about", "twice", "quote", "digits", "open"],
)
def test_syntax_errors_name_line_column_and_the_usual_slip(text, row, place, remedy):
    """A syntax error is one finding with line and column, and a remedy for the usual slips."""
    job, (finding,) = read_jobsheet_text(text, WORDS)
    assert job is None
    assert (finding.id, finding.row, finding.values["place"], finding.what_to_do) == (
        "sheet-syntax",
        row,
        place,
        remedy,
    )


def test_size_cap(tmp_path):
    """A file beyond 64 kB is refused unread, as text and as file."""
    text = "#" * (LARGEST + 1)
    assert only_finding(text) == ("sheet-too-large", None)
    file = tmp_path / "large.toml"
    file.write_text(text)
    _, (finding,) = read_jobsheet(file, WORDS)
    assert finding.id == "sheet-too-large"


@pytest.mark.parametrize(
    ("data", "row"), [(b"[place]\nname = 'caf\xe9'\n", 2), ("[place]\n".encode("utf-16"), 1), (b"\x00\xff", 1)]
)
def test_bytes_that_are_not_utf8(tmp_path, data, row):
    """Bytes in another encoding are refused with their line, never read as other letters."""
    file = tmp_path / "job.toml"
    file.write_bytes(data)
    _, (finding,) = read_jobsheet(file, WORDS)
    assert (finding.id, finding.row) == ("sheet-encoding", row)


def test_what_is_no_file(tmp_path):
    """A missing file, a folder, a pipe and a dangling link are each one finding, and nothing hangs."""
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    for name in ("missing.toml", "", "pipe", "dangling", "nul\0"):
        job, (finding,) = read_jobsheet(tmp_path / name, WORDS)
        assert (job, finding.id) == (None, "sheet-unreadable")


def test_a_sheet_of_mistakes_only_is_read_quickly_and_whole():
    """Thousands of unknown keys are thousands of findings."""
    text = "[place]\n" + "".join(f"k{number} = 1\n" for number in range(4000))
    _, findings = read_jobsheet_text(text, WORDS)
    assert sum(finding.id == "sheet-unknown-key" for finding in findings) == 4000


def test_control_signs_never_reach_a_message():
    """Names and values with control signs are shown on one line, with the signs spelled out."""
    _, findings = read_jobsheet_text('[place]\n"na\\u001bme" = 1\nname = "x"\nsoil = """a\nb\\u0007"""\n', WORDS)
    shown = [f"{finding.column} {finding.raw} {finding.message}" for finding in findings]
    assert all(text.isprintable() for text in shown)
    assert any("na\\x1bme" in text for text in shown)


def test_a_kind_of_machine_under_the_key_of_a_record_is_told_its_key():
    """A family's name as `implement` is refused with the key that takes it."""
    _, findings = read_jobsheet_text(
        '[place]\nname = "x"\n[[task]]\nname = "mow"\nimplement = "rotary cutter"\n', WORDS
    )
    assert [(one.id, one.row) for one in findings] == [("sheet-implement", 5)]
    assert 'family = "rotary cutter"' in findings[0].what_to_do
