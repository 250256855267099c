"""What the letters in worked steps mean, formula by formula."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any


def legend(steps: Iterable[dict[str, Any]]) -> Iterator[str]:
    """Yield each formula once, in the order of its first use, with what its letters mean.

    Parameters
    ----------
    steps : worked steps as the JSON contract has them
    """
    from evener.scoring.mechanics.methods import load_all

    known = load_all()
    for name in dict.fromkeys(step.get("method") for step in steps):
        if name in known:
            method = known[name]
            letters = "; ".join(f"{letter}: {said[:1].lower()}{said[1:]}" for letter, said in method.meanings.items())
            yield f"{method.equation} ({method.title.rstrip('.')}): {letters}"
