"""From the text of a cell to a value: numbers, words, units, by a strict grammar."""
