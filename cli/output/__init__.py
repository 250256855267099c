"""Pages, tables and words that every command prints with."""
