"""From a TOML job sheet to a `JobSheet`, or to every mistake it holds."""
