"""Names for job sheets that are written beside the one they came from."""

from __future__ import annotations

import os
from pathlib import Path


def beside(path: Path, ending: str) -> Path:
    """Return a free name beside a sheet: ridge.toml gives ridge.answered.toml, then ridge.answered-2.toml."""
    names = (
        path.with_name(f"{path.stem}.{ending}{f'-{number}' if number > 1 else ''}.toml") for number in range(1, 1000)
    )
    return next(name for name in names if not os.path.lexists(name))
