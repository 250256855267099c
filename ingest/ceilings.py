"""What one file may ask for at most.

A file beyond one of these is refused with the ceiling named, and nothing of it is loaded.
"""

from __future__ import annotations

MOST_REFUSED = 50_000  # rows kept for correction; nobody corrects so many by hand
MOST_TYPED_CELLS = 4_000_000  # of a workbook or a Parquet file, whose cells are taken apart one by one
# Delimited text is read within 1 GB of memory: measured on files at these ceilings.
MOST_CELLS = 30_000_000
MOST_TEXT = 600 << 20  # bytes that its different texts take
MOST_ODD = 250_000  # lines that are blank, or do not fit the headings
LARGEST_FILE = 160 << 20  # bytes
