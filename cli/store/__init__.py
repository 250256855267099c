"""Commands of one who keeps the store."""
