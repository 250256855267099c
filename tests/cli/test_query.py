"""`evener query` as a user runs it: limits that hold whatever is asked, and files that are whole or not there."""

import csv
import io
import json
import os
import subprocess
import sys
import time
from pathlib import Path

import duckdb
import pytest

from evener.cli.analyst import query as query_command
from evener.cli.options import Answer
from evener.results.sql_answer import query
from evener.schema.store import asking, copies
from evener.schema.store import connection as store
from evener.writing import CannotWrite, written


@pytest.mark.ci
def test_a_question_for_all_the_memory_is_stopped(library_store):
    """A text of gigabytes, which the database's own limit lets pass, ends in one sentence, not in swapping."""
    with pytest.raises(asking.Stopped, match="memory"):
        asking.ask(library_store, "SELECT length(repeat('x', 3000000000))", most=10)


@pytest.mark.ci
def test_a_question_that_sleeps_is_stopped(library_store):
    """A sleep, which the database's own clock lets pass, ends soon after its time."""
    began = time.monotonic()
    with pytest.raises(asking.Stopped, match=r"took longer than 0\.2 s"):
        asking.ask(library_store, "SELECT sleep_ms(60000)", most=10, seconds=0.2)
    assert time.monotonic() - began < 8


@pytest.mark.ci
def test_an_answer_too_large_to_hand_over_is_refused(library_store):
    """Few rows can be large: past 64 MB the answer is refused, not cut in the middle of a value."""
    with pytest.raises(asking.Stopped, match="larger than 64 MB"):
        asking.ask(library_store, "SELECT repeat('x', 10000000) FROM range(7)", most=10)


@pytest.mark.ci
def test_values_json_lacks_become_their_text(library_store):
    """Infinity, dates, bytes and nested values keep their meaning in JSON, and numbers stay numbers."""
    sql = (
        "SELECT 1.0/0 a, DATE '2026-02-03' b, 'ab'::BLOB c, {'k': [1, NULL]} d, "
        "1.25::DECIMAL(4,2) e, -2 f, true g, NULL h"
    )
    (row,) = query(library_store, sql).rows()
    assert row == {
        "a": "inf",
        "b": "2026-02-03",
        "c": "6162",
        "d": {"k": [1, None]},
        "e": 1.25,
        "f": -2,
        "g": True,
        "h": None,
    }


def test_json_is_what_the_python_call_returns_and_fits_the_schema(evener, library_store, answer_schema):
    """--format json prints the dictionary of the public call, valid against the schema that ships."""
    sql = "SELECT family, count(*) AS n FROM implement GROUP BY family ORDER BY family"
    ran = evener("query", sql, "--format", "json")
    assert (ran.returncode, ran.stderr) == (0, "")
    printed = json.loads(ran.stdout)
    assert printed == query(library_store, sql).to_dict()
    answer_schema("query").validate(printed)
    assert sum(row["n"] for row in printed["rows"]) == 491


@pytest.mark.ci
def test_a_refusal_is_one_line_and_wrong_use(evener):
    """A statement that is no SELECT, an unknown column and broken SQL each give one line and status 2."""
    for sql in ("DELETE FROM implement", "SELECT mas_kg FROM implement", "SELEC 1"):
        ran = evener("query", sql)
        assert (ran.returncode, ran.stdout) == (2, "")
        assert ran.stderr.count("\n") == 1
        assert ran.stderr.startswith("evener: ")
    assert "mass_kg" in evener("query", "SELECT mas_kg FROM implement").stderr


@pytest.mark.ci
def test_no_row_and_rows_left_out_end_with_one(evener):
    """Nothing found is status 1; so is an answer that was cut, and then stderr says how to get the rest."""
    assert evener("query", "SELECT 1 WHERE false").returncode == 1
    cut = evener("query", "FROM range(300)")
    assert (cut.returncode, cut.stdout.count("\n")) == (1, 201)
    assert "more rows than 200" in cut.stderr
    assert evener("query", "FROM range(300)", "--rows", "300").returncode == 0


def printed(capsys, path, sql, **options):
    options = {"output": None, "out": None, "rows": None, "seconds": 30.0, **options}
    status = query_command.run(sql, store=path, **options)
    return status, capsys.readouterr().out


@pytest.mark.ci
def test_a_record_cannot_drive_a_terminal_or_a_spreadsheet(library_store, capsys):
    """Control characters are escaped on screen, in names too; formulas are neutralised in CSV, numbers are not."""
    sql = """SELECT chr(27) || '[2J' AS "a\x1b", '=1+1' AS b, '@x' AS "=c", -5 AS d, chr(9) || 'x' AS e"""
    _, screen = printed(capsys, library_store, sql)
    assert "\x1b" not in screen
    assert "\\x1b[2J" in screen
    _, sheet = printed(capsys, library_store, sql, output=Answer.csv)
    header, row = csv.reader(io.StringIO(sheet))
    assert row[1:] == ["'=1+1", "'@x", "-5", "'\tx"]
    assert header[2] == "'=c"
    _, plan = printed(capsys, library_store, "EXPLAIN SELECT chr(27) || label FROM implement WHERE label = '\x1b[2J'")
    assert "\x1b" not in plan


@pytest.mark.ci
def test_a_screen_has_six_figures_and_data_has_them_all(library_store, capsys, monkeypatch):
    """A quotient is rounded for reading and whole in CSV; columns without room are named."""
    assert printed(capsys, library_store, "SELECT 1e0 / 3 AS a")[1].split() == ["a", "0.333333"]
    assert "0.3333333333333333" in printed(capsys, library_store, "SELECT 1e0 / 3 AS a", output=Answer.csv)[1]
    monkeypatch.setenv("COLUMNS", "80")
    _, screen = printed(capsys, library_store, "SELECT * FROM implement LIMIT 1")
    assert "No room here" in screen
    assert "file_row" in screen.partition("No room here")[2]


@pytest.mark.ci
def test_a_cell_wider_than_a_screen_is_cut_there_and_nowhere_else(library_store, capsys):
    """A long text is shortened for reading; CSV has it whole."""
    sql = "SELECT repeat('long ', 200) AS note"
    assert " ..." in printed(capsys, library_store, sql)[1]
    assert len(printed(capsys, library_store, sql, output=Answer.csv)[1]) > 1000


@pytest.mark.ci
@pytest.mark.parametrize(
    ("name", "start"), [("a.csv", b"implement_id\n"), ("a.json", b"{"), ("a.md", b"| implement_id")]
)
def test_out_writes_by_the_ending_of_the_file(library_store, tmp_path, capsys, name, start):
    """--out picks the format by the file's ending, prints nothing, and leaves no file beside it."""
    out = tmp_path / name
    status, shown = printed(capsys, library_store, "SELECT implement_id FROM implement LIMIT 3", out=out)
    assert (status, shown) == (0, "")
    assert out.read_bytes().startswith(start)
    assert [path.name for path in tmp_path.iterdir()] == [name]


@pytest.mark.ci
def test_parquet_is_written_whole_with_its_types(library_store, tmp_path, capsys):
    """A Parquet file holds every row with the store's own types, and replaces an older one where that is said."""
    out = tmp_path / "implements.parquet"
    out.write_text("old")
    with pytest.raises(store.StoreError, match="--replace"):
        printed(capsys, library_store, "SELECT * FROM implement", out=out)
    assert out.read_text() == "old"
    assert printed(capsys, library_store, "SELECT * FROM implement", out=out, replace=True) == (0, "")
    found = duckdb.execute("SELECT count(*), sum(mass_kg) FROM read_parquet(?)", [str(out)]).fetchall()
    with store.open_read(library_store) as con:
        assert found == con.execute("SELECT count(*), sum(mass_kg) FROM implement").fetchall()
    assert [path.name for path in tmp_path.iterdir()] == ["implements.parquet"]
    assert printed(capsys, library_store, "SELECT 1", output=Answer.parquet)[0] == 2


@pytest.mark.ci
def test_a_refused_question_leaves_an_older_file_as_it_was(library_store, tmp_path):
    """When the question fails, the target keeps what it held and nothing is left beside it."""
    for name in ("a.parquet", "a.csv"):
        out = tmp_path / name
        out.write_text("old")
        with pytest.raises(store.StoreError):
            query_command.run(
                "SELECT nosuch", output=None, out=out, rows=None, seconds=30.0, replace=True, store=library_store
            )
        assert out.read_text() == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.csv", "a.parquet"]


def test_nothing_is_written_over_the_store_or_what_is_no_file(library_store, tmp_path):
    """The store, its log and its copy, by any name, a folder, a link and a pipe are no targets."""
    same, link, pipe = tmp_path / "same.duckdb", tmp_path / "link.csv", tmp_path / "pipe"
    os.link(library_store, same)
    link.symlink_to(tmp_path / "elsewhere.csv")
    os.mkfifo(pipe)
    before = library_store.read_bytes()
    targets = [library_store, same, library_store.with_name(library_store.name + ".wal"), tmp_path, link, pipe]
    for target in [
        *targets,
        tmp_path / "no" / "folder.csv",
        library_store.with_name(library_store.name + copies.PREVIOUS),
    ]:
        with pytest.raises(CannotWrite), written(target, library_store):
            pass
    assert library_store.read_bytes() == before
    assert not (tmp_path / "elsewhere.csv").exists()


@pytest.mark.ci
def test_a_module_in_the_working_folder_is_not_run(library_store, tmp_path):
    """A file called like a library, in the folder a command runs in, is not imported by the process that answers."""
    (tmp_path / "duckdb.py").write_text("open('ran', 'w').close()")
    program = (
        "import sys, pathlib as p; from evener.schema.store import asking as g;"
        "g.ask(p.Path(sys.argv[1]), 'SELECT 1', most=9)"
    )
    subprocess.run([sys.executable, "-P", "-c", program, str(library_store)], cwd=tmp_path, check=True)
    assert not (tmp_path / "ran").exists()


@pytest.mark.ci
@pytest.mark.parametrize(
    "command",
    [
        ("query", "FROM range(150)"),
        pytest.param(("list", "implements", "--format", "json"), marks=pytest.mark.ci),
    ],
)
def test_a_full_device_or_a_closed_pipe_is_no_traceback(library_store, command):
    """Where nothing can be written, a command ends with one line at most, and not with status 0."""
    line = [sys.executable, "-m", "evener.cli.main", *command, "--store", str(library_store)]
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        ran = subprocess.run(line, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert (ran.returncode, ran.stderr.count("\n")) == (2, 1)
    assert "cannot be written" in ran.stderr
    closed = subprocess.run(["sh", "-c", '"$@" >&-', "sh", *line], capture_output=True, text=True, check=False)
    assert (closed.returncode in (0, 1), closed.stderr) == (True, "")


@pytest.mark.ci
@pytest.mark.parametrize("shape", ["json", "csv", "table"])
def test_data_is_utf_8_where_the_terminal_is_not(evener, shape):
    """In an ASCII locale JSON and CSV keep every letter, and a table is shown all the same."""
    sql = "SELECT 'Mäher' AS label"
    ran = evener("query", sql, "--format", shape, env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ("M?her" if shape == "table" else "Mäher") in ran.stdout


def test_an_ending_that_cannot_be_written_is_refused(library_store, tmp_path, capsys):
    """A workbook is not written as a text table under its name: the endings there are stand in the refusal."""
    out = tmp_path / "x.xlsx"
    status = query_command.run("SELECT 1", store=library_store, out=out, output=None, rows=None, seconds=30.0)
    assert status == 2
    assert not out.exists()
    assert ".csv, .json, .parquet" in capsys.readouterr().err
