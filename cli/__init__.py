"""From answers to people: the command line and what it prints."""
