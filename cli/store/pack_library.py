"""Build the library's store and pack it to be shipped, after a change: `python -m evener.cli.store.pack_library`."""

from __future__ import annotations

import tempfile
from pathlib import Path

from evener.ingest.store import library
from evener.schema.store import shipped
from evener.scoring.ratings.refresh import refresh


def main() -> None:
    """Write the packed store beside the library's files."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "library.duckdb"
        library.build(path, after=refresh)
        shipped.pack(path)


if __name__ == "__main__":
    main()
