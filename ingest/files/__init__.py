"""From the bytes of a file to a grid of text."""
