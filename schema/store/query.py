"""One question in SQL to a store that is open and locked: exactly one SELECT, or a plain EXPLAIN of one.

The lock stands in `store.open_read`: no file, no extension, no setting, no row can be reached or changed. This module
adds what a parse can tell before anything runs, caps the rows, and offers the views in US units, which are temporary so
that every store has them, whenever it was made.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from evener.schema import fields, sql_words
from evener.schema.store import connection as store
from evener.schema.us_columns import US_VIEWS, us_select

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

_EXPLAIN = re.compile(r"(?:\s|--[^\n]*(?:\n|$)|/\*.*?\*/)*explain\b", re.IGNORECASE | re.DOTALL)
_WIDEST_MESSAGE = 300


class QueryRefused(store.StoreError):
    """A question that is not answered; the text says why."""

    exit_status: ClassVar[int] = 2


@dataclass(frozen=True)
class Answer:
    """Rows that answer a question.

    Attributes
    ----------
    columns : names, made different where the question names two alike
    types : the database's type of each column
    rows : values
    cut : whether there were more rows than asked for
    """

    columns: tuple[str, ...]
    types: tuple[str, ...]
    rows: list[tuple[Any, ...]]
    cut: bool


def check(con: Connection, sql: str) -> str:
    """Refuse everything but one SELECT or one plain EXPLAIN of a SELECT, before it runs; return which of them it is.

    Parameters
    ----------
    con : an open store
    sql : the question

    Raises
    ------
    QueryRefused
        With what was found.
    """
    kinds = _kinds(con, sql)
    if len(kinds) != 1:
        found = "none" if not kinds else f"{len(kinds)} statements"
        raise QueryRefused(f"a question is exactly one SELECT, and this has {found}. Nothing was run.")
    (asked,) = kinds
    kind = asked.replace("MULTI", "several in one")
    if asked == "EXPLAIN":
        words = _EXPLAIN.match(sql)
        # EXPLAIN ANALYZE and EXPLAIN with options run what they explain: what follows the word is no SELECT then.
        try:
            (kind,) = _kinds(con, sql[words.end() :]) if words else kinds
        except QueryRefused:
            raise QueryRefused("EXPLAIN stands alone before one SELECT, without ANALYZE. Nothing was run.") from None
    if kind != "SELECT":
        raise QueryRefused(f"a question is one SELECT, or EXPLAIN and one, not {kind}. Nothing was run.")
    return asked


def select(con: Connection, sql: str, *, most: int) -> Answer:
    """Answer one question.

    Parameters
    ----------
    con : a store opened by `store.open_read`
    sql : one SELECT or plain EXPLAIN
    most : rows wanted at most [1]

    Raises
    ------
    QueryRefused
        The question is not one SELECT, cannot be answered, or asks for more than the limits allow.
    """
    try:
        _offer_views(con)
        check(con, sql)
        con.execute(sql)
        described = con.description or []
        rows = con.fetchmany(most + 1)
    except store.database_errors() as error:
        raise QueryRefused(_first_words(error)) from None
    names = _distinct([str(column[0]) for column in described])
    return Answer(names, tuple(str(column[1]) for column in described), rows[:most], len(rows) > most)


def select_to_parquet(con: Connection, sql: str, *, most: int, target: Path) -> tuple[int, bool]:
    """Write the answer to one question to a file, and return how many rows, and whether there were more.

    Parameters
    ----------
    con : a store opened by `store.open_read`, with `target` as the one file it may write
    sql : one SELECT
    most : rows wanted at most [1]
    target : file to write; it is there and empty

    Raises
    ------
    QueryRefused
        As `select`.
    """
    try:
        _offer_views(con)
        if check(con, sql) != "SELECT":
            raise QueryRefused("an EXPLAIN goes to the screen, not to a Parquet file.")
        # A line of its own for the bracket: the question can end in a comment.
        con.execute(
            f"CREATE TEMP TABLE answer AS SELECT * FROM (\n{sql.rstrip().removesuffix(';')}\n) LIMIT {most + 1}"
        )
        (count,) = con.execute("SELECT count(*) FROM answer").fetchall()[0]
        written = _literal(str(target))
        con.execute(f"COPY (FROM answer LIMIT {most}) TO {written} (FORMAT parquet, USE_TMP_FILE false)").fetchall()
    except store.database_errors() as error:
        raise QueryRefused(_first_words(error)) from None
    return min(count, most), count > most


def keys_where(con: Connection, record: str, condition: str) -> list[str]:
    """Return what names the records that meet a condition on their fields, in stored or US units.

    Parameters
    ----------
    con : a store opened by `store.open_read`
    record : kind of record, as the nomenclature names it
    condition : one SQL expression, as after WHERE

    Raises
    ------
    QueryRefused
        The condition is no single expression, or names no field.
    """
    key = fields.keys(record)[0]
    try:
        con.execute(f"CREATE OR REPLACE TEMP VIEW _chosen_from AS {us_select(record, beside=True)}")
        # A filter takes one expression and nothing else: it is parsed as such, never pasted into a statement.
        return [row[0] for row in con.view("_chosen_from").filter(condition).project(f'"{key}"').fetchall()]
    except store.database_errors() as error:
        raise QueryRefused(f"--where: {_first_words(error)}") from None


def _kinds(con: Connection, sql: str) -> list[str]:
    try:
        return [statement.type.name for statement in con.extract_statements(sql)]
    except store.database_errors() as error:
        raise QueryRefused(_first_words(error)) from None


def _offer_views(con: Connection) -> None:
    for view, record in US_VIEWS.items():
        con.execute(f"CREATE OR REPLACE TEMP VIEW {view} AS {us_select(record)}")


def _distinct(names: list[str]) -> tuple[str, ...]:
    taken: set[str] = set()
    made = []
    for name in names:
        chosen, count = name, 0
        while chosen in taken:
            count += 1
            chosen = f"{name}_{count}"
        taken.add(chosen)
        made.append(chosen)
    return tuple(made)


def _literal(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _first_words(error: Exception) -> str:
    """Return the error's first paragraph and the database's own suggestion, without its advice on settings."""
    lines = str(error).splitlines() or [type(error).__name__]
    kept = [lines[0]] + [line for line in lines[1:] if line.startswith(("Did you mean", "Candidate"))]
    text = " ".join(kept).partition(' Use "SET ')[0]
    if "execution time" in text:
        return "the question took longer than it may. Ask for less; query takes more --seconds."
    if "Out of Memory" in text or "bad allocation" in text:
        return "the question asks for more memory than it may have. Ask for less."
    out_of_reach = "disabled by configuration" in text
    text = sql_words.plain(text)
    if out_of_reach and "out of reach" not in text:
        return f"{text}. A question reaches the store and nothing else."
    return text if len(text) <= _WIDEST_MESSAGE else text[:_WIDEST_MESSAGE] + " ..."
