"""Text that others wrote, through every output: nothing drives a terminal, runs in a spreadsheet or marks up a page."""

import csv
import io
import json
import os
import re
import shutil
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from matplotlib import rc_context
from matplotlib.figure import Figure

from evener.cli.output import latex
from evener.cli.output.markdown import inert
from evener.ingest.store import batches
from evener.ingest.store import export as exports
from evener.schema import printable
from evener.scoring.audit import plots

ESCAPES = "\x1b[31mred\x07\x9b2J\u202eback\u2066\x7f"
UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2028\u2029\u2066-\u2069\ud800-\udfff]")
HOSTILE = f"N1 {ESCAPES} | <b>x</b> [a](http://b.example) `c` *d*"
SHEET = f"""
[place]
name = {json.dumps(HOSTILE, ensure_ascii=True)}

[[place.land]]
use = "pasture"
area = "46 ac"

[[task]]
name = {json.dumps(HOSTILE, ensure_ascii=True)}
family = "rotary_cutter"
width = "6 ft"
land = "pasture"
"""
SHEET = SHEET.replace("\\u007f", "\\u007F")


@pytest.mark.parametrize("code", [*range(0x20), *range(0x7F, 0xA0), 0x202E, 0x2066, 0x200F, 0x2028, 0xFEFF, 0xD800])
def test_every_control_is_escaped(code):
    """Each control, mark of direction, separator and lone surrogate is shown as its code, in a line and in a page."""
    char = chr(code)
    for shown in (printable.one_line, printable.lines):
        if shown is printable.lines and char in "\n\t":
            continue
        assert shown(f"a{char}b") == f"a{char.encode('unicode_escape').decode()}b"
    if code != 0xD800:
        raw = json.dumps(f"a{char}b", ensure_ascii=False)
        assert UNSEEN.search(printable.json_escaped(raw)) is None
        assert json.loads(printable.json_escaped(raw)) == f"a{char}b"


def test_what_people_write_stays():
    """Letters of any language, degree signs, primes and blanks of any width are shown as they are."""
    text = "Grün 12\u00a0\u00b0 5\u2032 \u201cЁлка\u201d 畑 é\u3000x"
    assert printable.one_line(text) == text


@pytest.mark.ci
@pytest.mark.parametrize(
    "text",
    [
        "=1+1",
        " =1+1",
        "\u00a0=1",
        "\t=1",
        "\r=1",
        "\n=1",
        "\uff1d1",
        " \uff0b1",
        "\uff0dx",
        "\uff20x",
        "@x",
        "-x",
        "\tx",
    ],
)
def test_a_formula_is_one_in_every_spelling(evener, text):
    """With a blank before it or a full-width sign, a cell that a spreadsheet would run begins with an apostrophe."""
    assert printable.runs_as_formula(text)
    ran = evener("query", f"SELECT {' || '.join(f'chr({ord(char)})' for char in text)} AS said", "--format", "csv")
    ((cell,),) = list(csv.reader(io.StringIO(ran.stdout)))[1:]
    assert cell.startswith("'")


@pytest.mark.parametrize(
    ("text", "inert_text"),
    [
        ("rotary_cutter 6 ft, x 2 * y", "rotary_cutter 6 ft, x 2 * y"),
        ("# heading", "\\# heading"),
        ("1. list", "1\\. list"),
        ("- list", "\\- list"),
        ("-3 % and 1.5 kW [kW]", "-3 % and 1.5 kW [kW]"),
        ("> quoted", "\\> quoted"),
        ("*a* _b_ `c` ~~d~~", "\\*a\\* \\_b\\_ \\`c\\` \\~\\~d\\~\\~"),
        ("[a](b) ![c](d) [e]: f", "\\[a](b) !\\[c](d) \\[e]: f"),
        ("<script>&lt;", "&lt;script>&amp;lt;"),
        ("a|b", "a\\|b"),
        ("http://x.example www.y.example", "http:\\//x.example www\\.y.example"),
        ("\\*", "\\\\\\*"),
    ],
)
def test_markdown_shows_text_and_does_nothing(text, inert_text):
    """No heading, list, link, picture, HTML or table cell comes of a text; what is harmless stays as it is."""
    assert inert(text) == inert_text


@pytest.fixture
def hostile(library_store, tmp_path):
    """A store with a record whose every text is hostile, and a job sheet of the same kind."""
    path = shutil.copy(library_store, tmp_path / "own.duckdb")
    listed = tmp_path / f"list {ESCAPES.replace(chr(0x7F), '')}.csv"
    row = ["id,label,engine (hp),PTO hp,weight (lb),owner", f"EV1,{HOSTILE},60,51,5900,{HOSTILE}", f"{HOSTILE},x,y,z,,"]
    listed.write_text("\n".join(row) + "\n", encoding="utf-8")
    batches.ingest_file(path, listed, kind="stock")
    (tmp_path / "job.toml").write_text(SHEET, encoding="utf-8")
    return path, listed


@pytest.mark.ci
def test_every_output_is_safe(evener, hostile, tmp_path):
    """Every reading command in every format, with hostile records, sheets and file names: no control gets out."""
    path, listed = hostile
    reading = [
        ("list", "tractors"),
        ("list", "batches"),
        ("list", "sources"),
        ("list", "quarantine"),
        ("query", "SELECT * FROM tractor WHERE kind = 'stock'"),
        ("query", 'SELECT label AS "' + HOSTILE.replace('"', "") + '" FROM tractor'),
        ("check", "job.toml"),
        ("rank", "job.toml", "--among", "stock,class"),
        ("ask", "job.toml"),
        ("explain", "job.toml", "EV1"),
        ("ingest", listed.name, "--as", "tractors", "--kind", "stock", "--dry-run"),
    ]
    assert "\\x1b[31mred" in evener("list", "tractors", "--format", "csv", store=path, cwd=tmp_path).stdout
    for arguments in reading:
        for shape in ("table", "json", "csv", "markdown"):
            if arguments[0] == "explain" and shape == "csv":
                continue
            ran = evener(*arguments, "--format", shape, store=path, cwd=tmp_path)
            assert UNSEEN.search(ran.stdout) is None, (arguments, shape, UNSEEN.search(ran.stdout))
            assert UNSEEN.search(ran.stderr) is None, (arguments, shape)
            if shape == "json" and ran.stdout:
                json.loads(ran.stdout)
            if shape == "markdown":
                assert "<b>" not in ran.stdout
                assert re.search(r"(?<!\\)\[a\]\(http", ran.stdout) is None


@pytest.mark.ci
def test_every_refusal_is_safe(evener, hostile, tmp_path):
    """File names, options and values that are refused are repeated without what would drive a terminal."""
    path, listed = hostile
    name = ESCAPES.replace("\x7f", "")
    for arguments in (
        ("rank", name),
        ("explain", "job.toml", name),
        ("list", "tractors", "--where", name),
        ("query", f"SELECT '{name}"),
        ("undo", name),
        ("export", "tractors", "--out", f"{name}/x.csv"),
        ("ingest", name, "--as", "tractors"),
        ("ingest", listed.name, "--as", name),
        ("ask", "job.toml", "--answer", name),
        (name,),
        ("rank", f"--{name}"),
        ("list", name),
    ):
        ran = evener(*arguments, store=path, cwd=tmp_path)
        assert ran.returncode == 2, (arguments, ran.stderr)
        assert UNSEEN.search(ran.stderr) is None, arguments
        assert UNSEEN.search(ran.stdout) is None, arguments
    ran = evener("list", "tractors", store=tmp_path / name, cwd=tmp_path)
    assert (ran.returncode, UNSEEN.search(ran.stderr)) == (2, None)


@pytest.mark.ci
def test_a_name_that_is_no_text_is_shown(process, tmp_path):
    """A file name that is no UTF-8 is refused in one line, not in a traceback."""
    ran = process("rank", os.fsdecode(b"sheet\xff.toml"), cwd=tmp_path)
    assert ran.returncode == 2
    assert "Traceback" not in ran.stderr
    assert "\\udcff" in ran.stderr


@pytest.mark.ci
@pytest.mark.parametrize("table", ["duckdb_settings()", "duckdb_databases()"])
def test_settings_tell_no_path_of_home(evener, library_store, table):
    """The database's own tables, asked in SQL, hold no path of the user's home nor the folder of the store."""
    ran = evener("query", f"SELECT * FROM {table}", "--rows", "1000", "--format", "csv")
    assert ran.returncode == 0
    assert str(Path.home()) not in ran.stdout
    assert str(library_store.parent) not in ran.stdout
    assert library_store.name in ran.stdout


@pytest.mark.ci
def test_an_export_reads_back_with_its_formulas(library_store, tmp_path):
    """A name that would run as a formula is exported behind an apostrophe, and reads back without it."""
    path = shutil.copy(library_store, tmp_path / "own.duckdb")
    (tmp_path / "list.csv").write_text("id,label,engine (hp),weight (lb)\nEV1,\uff1d1+1,60,5900\n", encoding="utf-8")
    batches.ingest_file(path, tmp_path / "list.csv", kind="stock")
    text = exports.export(path, "tractor", {"kind": "stock"})
    assert "'\uff1d1+1" in text
    again = shutil.copy(library_store, tmp_path / "again.duckdb")
    (tmp_path / "again.csv").write_text(text, encoding="utf-8")
    batches.ingest_file(again, tmp_path / "again.csv")
    assert exports.export(again, "tractor", {"kind": "stock"}) == text


@pytest.mark.parametrize(
    ("text", "set_as"),
    [
        ("a_b & 50 % #1", "a\\_b \\& 50 \\% \\#1"),
        ("\\input{x}$y^2~", "\\textbackslash{}input\\{x\\}\\$y\\textasciicircum{}2\\textasciitilde{}"),
        ("\x1b\n", "\\textbackslash{}x1b\\textbackslash{}n"),
    ],
)
def test_latex_sets_text_and_obeys_none_of_it(text, set_as):
    """No command, group, formula or comment comes of a text in LaTeX."""
    assert latex.inert(text) == set_as


def test_a_plot_with_hostile_names_is_whole_and_inert():
    """A record's name becomes text in the drawing: no element, no reference, and the file is well-formed."""
    figure = Figure()
    axes = figure.add_subplot()
    axes.set(xlim=(0, 2), ylim=(0, 2))
    plots._name_points(axes, [f'{HOSTILE}<script>x</script>&y;"'], [0], np.array([1.0]), np.array([1.0]), [0])
    drawn = io.BytesIO()
    with rc_context({"svg.fonttype": "none", "text.parse_math": False}):
        figure.savefig(drawn, format="svg")
    root = ET.fromstring(drawn.getvalue())  # noqa: S314  our own
    assert not [one for one in root.iter() if one.tag.endswith("script")]
    assert UNSEEN.search(drawn.getvalue().decode()) is None
    assert "<script>x</script>" in "".join(root.itertext())
