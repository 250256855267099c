"""A store from before prices were kept gets their tables."""

import duckdb

from evener.schema import fields
from evener.schema.store.migrations import to_7

NEW = ("prices", "machine_prices", "hire", "policy")


def test_the_step_makes_the_tables_the_nomenclature_names():
    """After the step each of the four tables has the columns of the nomenclature, and no row."""
    with duckdb.connect() as con:
        to_7.migrate(con)
        for name in NEW:
            columns = [row[0] for row in con.execute(f'DESCRIBE "{name}"').fetchall()]
            assert sorted(columns) == sorted(fields.of(name))
            assert con.execute(f'SELECT count(*) FROM "{name}"').fetchall() == [(0,)]
