"""The store, a DuckDB file: the only room that speaks SQL."""
