"""What one file may ask for at most.

A file beyond one of these is refused with the ceiling named, and nothing of it is loaded.
"""

from __future__ import annotations

MOST_REFUSED = 50_000  # rows kept for correction; nobody corrects so many by hand
MOST_TYPED_CELLS = 4_000_000  # of a workbook or a Parquet file, whose cells are taken apart one by one
MOST_CELLS = 60_000_000  # of delimited text
LARGEST_FILE = 1 << 30  # bytes
