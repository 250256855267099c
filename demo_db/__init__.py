"""An invented scenario: a place, a dealer's stock and three cooperative members. No record is a real machine."""
