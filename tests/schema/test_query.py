"""One question to a locked store: what is refused before it runs, what is stopped when it runs, what comes back."""

import duckdb
import pytest

from evener.schema import fields, units
from evener.schema.store import connection as store
from evener.schema.store import query
from evener.schema.us_columns import us_column, us_select

REFUSED = {
    "nothing": "",
    "only a comment": "-- SELECT 1",
    "two statements": "SELECT 1; SELECT 2",
    "a second statement that writes": "SELECT 1; COPY (SELECT 1) TO '{folder}/out.csv'",
    "copy": "COPY (SELECT 1) TO '{folder}/out.csv'",
    "attach": "ATTACH '{folder}/other.duckdb'",
    "install": "INSTALL httpfs",
    "load": "LOAD parquet",
    "pragma": "PRAGMA database_list",
    "call": "CALL pragma_version()",
    "set": "SET memory_limit='8GB'",
    "a log over the store's own": "SET log_query_path='{store}.wal'",
    "reset": "RESET memory_limit",
    "use": "USE main",
    "create": "CREATE TEMP TABLE t AS SELECT 1",
    "delete": "DELETE FROM tractor",
    "prepare": "PREPARE q AS SELECT 1",
    "execute": "EXECUTE q",
    "pivot, which is several in one": "PIVOT implement ON family USING count(*)",
    "checkpoint": "CHECKPOINT",
    "explain that runs": "EXPLAIN ANALYZE SELECT 1",
    "explain that runs, behind a comment": "/* plain */ EXPLAIN /* */ ANALYZE SELECT 1",
    "explain with options": "EXPLAIN (ANALYZE) SELECT 1",
    "explain of no select": "EXPLAIN COPY (SELECT 1) TO '{folder}/out.csv'",
    "no sql": "what needs 50 hp?",
}
STOPPED = {
    "a data-changing CTE": "WITH x AS (DELETE FROM tractor RETURNING *) SELECT * FROM x",
    "read_csv": "SELECT * FROM read_csv('{folder}/in.csv')",
    "read_text": "SELECT * FROM read_text('{folder}/in.csv')",
    "read_blob": "SELECT * FROM read_blob('{folder}/in.csv')",
    "sniff_csv": "SELECT * FROM sniff_csv('{folder}/in.csv')",
    "glob": "SELECT * FROM glob('{folder}/*')",
    "a file as a table": "SELECT * FROM '{folder}/in.csv'",
    "a file of another store": "SELECT * FROM parquet_scan('{folder}/in.parquet')",
    "sql inside sql": "SELECT * FROM query('COPY (SELECT 1) TO ''{folder}/out.csv''')",
    "a Python variable": "SELECT * FROM secret",
}


@pytest.fixture
def small(tmp_path):
    """A store with empty tables and a file beside it."""
    path = tmp_path / "small.duckdb"
    with store.create(path):
        pass
    (tmp_path / "in.csv").write_text("a\n1\n")
    return path


def asked(path, sql, **limits):
    with store.open_read(path, **limits) as con:
        return query.select(con, sql, most=10)


@pytest.mark.ci
@pytest.mark.parametrize("what", REFUSED)
def test_everything_but_one_select_is_refused_before_it_runs(small, what):
    """A statement of another kind, none, or several: refused in one line, and nothing on disk has changed."""
    before = small.read_bytes()
    sql = REFUSED[what].format(folder=small.parent, store=small)
    with pytest.raises(query.QueryRefused) as refused:
        asked(small, sql)
    assert "\n" not in str(refused.value)
    assert refused.value.exit_status == 2
    assert small.read_bytes() == before
    assert {path.name for path in small.parent.iterdir()} == {"in.csv", "small.duckdb"}


@pytest.mark.parametrize("what", STOPPED)
def test_a_select_reaches_the_store_and_nothing_else(small, what):
    """What parses as a SELECT but reaches for files, rows to change or the process is stopped by the lock."""
    secret = duckdb  # noqa: F841  a local that a replacement scan would find
    before = small.read_bytes()
    with pytest.raises(query.QueryRefused):
        asked(small, STOPPED[what].format(folder=small.parent))
    assert small.read_bytes() == before
    assert {path.name for path in small.parent.iterdir()} == {"in.csv", "small.duckdb"}


@pytest.mark.parametrize("name", ["implement", "implement_us", "_chosen_from"])
def test_a_store_from_elsewhere_cannot_answer_for_the_views(small, tmp_path, name):
    """A foreign store's own view over a file, under any name the tool uses, is shut or passed over."""
    con = duckdb.connect(str(small))
    if name == "implement":
        con.execute("DROP TABLE implement")
    con.execute(f"CREATE VIEW {name} AS SELECT a AS implement_id FROM read_csv('{tmp_path}/in.csv', header=true)")
    con.close()
    if name == "implement":
        with pytest.raises(store.NotAStore, match="a view in place of the table implement"), store.open_read(small):
            pass
        return
    with store.open_read(small) as con:
        assert query.select(con, "SELECT * FROM implement_us", most=10).rows == []
        assert query.keys_where(con, "implement", "true") == []


@pytest.mark.parametrize(
    "sql",
    [
        "SELECT 1 AS a",
        "FROM (VALUES (1)) t(a)",
        "SELECT 1 AS a;",
        "SELECT 1 AS a -- the last word",
        "/* one */ SELECT 1 AS a",
    ],
)
def test_one_select_is_answered_however_it_is_written(small, sql):
    """A closing semicolon, a comment or a short form do not make a SELECT anything else."""
    answer = asked(small, sql)
    assert (answer.columns, answer.rows, answer.cut) == (("a",), [(1,)], False)


def test_a_plain_explain_is_answered(small):
    """EXPLAIN of one SELECT gives its plan."""
    answer = asked(small, "-- why\nexplain select range + 1 from range(9)")
    assert answer.columns[-1] == "explain_value"
    assert "range" in answer.rows[0][-1].casefold()


def test_columns_named_alike_are_told_apart(small):
    """Two columns of one name come back under two names, so that none is lost in JSON."""
    assert asked(small, "SELECT 1 AS a, 2 AS a, 3 AS a_1").columns == ("a", "a_1", "a_1_1")


def test_rows_beyond_the_cap_are_left_out_and_said(small):
    """Ten rows wanted of eleven: ten come, and that there are more is known; of ten none is missing."""
    eleven, ten = asked(small, "FROM range(11)"), asked(small, "FROM range(10)")
    assert (len(eleven.rows), eleven.cut) == (10, True)
    assert (len(ten.rows), ten.cut) == (10, False)


def test_limits_of_memory_and_time_are_said_without_settings(small):
    """What runs out of memory or time ends in a sentence that speaks of the question, not of the database."""
    with pytest.raises(query.QueryRefused, match="more memory than it may have"):
        asked(small, "SELECT list(range) FROM range(40000000)", memory_limit="50MB")
    with pytest.raises(query.QueryRefused, match="longer than it may"):
        asked(
            small,
            "SELECT count(*) FROM range(100000000) a, range(100000) b WHERE a.range % 7 = b.range % 5",
            limit_ms=50,
        )


def test_parquet_goes_to_the_one_file_named(small, tmp_path):
    """The answer lands in the file that may be written, cut to the rows wanted; a second file is out of reach."""
    target = tmp_path / "it's.parquet"
    target.touch()
    with store.open_read(small, may_write=target) as con:
        assert query.select_to_parquet(con, "SELECT range AS n FROM range(9) -- all;", most=5, target=target) == (
            5,
            True,
        )
        with pytest.raises(duckdb.PermissionException):
            con.execute(f"COPY (SELECT 1) TO '{tmp_path}/other.parquet' (FORMAT parquet)")
    assert duckdb.execute("SELECT n FROM read_parquet(?)", [str(target)]).fetchall() == [(n,) for n in range(5)]
    with store.open_read(small, may_write=target) as con:
        for sql in ("SELECT 1) TO 'x' --", "EXPLAIN SELECT 1", "SELECT 1; SELECT 2"):
            with pytest.raises(query.QueryRefused):
                query.select_to_parquet(con, sql, most=5, target=target)


@pytest.mark.parametrize("record", ["tractor", "implement"])
def test_us_views_hold_every_field_once(library_store, record):
    """Each field stands in its US view under one name; measures are those of the store times the units' factor."""
    with store.open_read(library_store) as con:
        answer = query.select(con, f"SELECT * FROM {record}_us ORDER BY file_row", most=1000)
        stored = store.read_rows(con, record)
    names = {field.name: us_column(field) for field in fields.of(record).values()}
    assert list(answer.columns) == [turned[0] if turned else name for name, turned in names.items()]
    for row, original in zip(answer.rows, stored, strict=True):
        for value, (name, turned) in zip(row, names.items(), strict=True):
            if turned and original[name] is not None:
                assert value == pytest.approx(original[name] * turned[1], abs=1e-6)
            else:
                assert value == original[name]


def test_us_views_speak_in_feet_horsepower_and_pounds(library_store):
    """A 15 ft cutter for 60 hp is 15 and 60 in the view; a stem is in inches, pounds are international."""
    with store.open_read(library_store) as con:
        sql = "SELECT working_width_ft, rated_pto_power_hp, max_stem_in FROM implement_us "
        sql += "WHERE implement_id = 'rotary-cutter-13'"
        assert query.select(con, sql, most=2).rows == [(15.0, 60.0, 2.0)]
    assert us_column(fields.of("tractor")["mass_kg"]) == ("mass_lb", pytest.approx(1 / 0.45359237, rel=1e-12))
    assert us_column(fields.of("tractor")["price"]) is None
    assert units.us("kW")[0] == "hp"


def test_a_condition_takes_names_in_either_units(library_store):
    """Conditions on stored and on US columns choose the same records, and keep what they compare."""
    with store.open_read(library_store) as con:
        metric = query.keys_where(con, "implement", "family = 'tedder' AND working_width_m > 3.048001")
        us = query.keys_where(con, "implement", "family = 'tedder' and working_width_ft > 10")
        rows = {row["implement_id"]: row for row in store.read_rows(con, "implement")}
    assert metric == us != []
    assert all(rows[one]["working_width_m"] > 3.048 for one in us)
    assert "working_width_ft" in us_select("implement", beside=True)


@pytest.mark.parametrize(
    "condition",
    [
        "true) OR (true",
        "1) UNION SELECT 'rotary-cutter-01' --",
        "true; SELECT 1",
        "true LIMIT 1",
        "true GROUP BY 1",
        "mass_kg, mass_kg",
        "",
        "nosuch > 1",
        "EXISTS (FROM read_csv('in.csv'))",
        "label",
    ],
)
def test_a_condition_is_one_expression(library_store, condition):
    """Whatever is more than an expression, reaches out, or is no yes or no, is refused under the option's name."""
    with store.open_read(library_store) as con, pytest.raises(query.QueryRefused, match=r"^--where: "):
        query.keys_where(con, "implement", condition)
