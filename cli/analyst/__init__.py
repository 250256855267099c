"""Commands of one who studies the records."""
