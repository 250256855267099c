"""Which values of a row are not stated, and how sure they are: what a record keeps in `estimated`."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evener.ingest.text.held_values import Values, Words
from evener.schema import certainty
from evener.schema.certainty import Certainty


@dataclass(frozen=True)
class Mark:
    """Rows on which a field is not stated, and how sure it is there."""

    where: NDArray[np.bool_]
    field: str
    certainty: Certainty


def marked(estimated: Values, noted: Sequence[Mark]) -> Words:
    """Return what is marked as not stated after some marks were added.

    Parameters
    ----------
    estimated : JSON by row, as the file itself states it
    noted : what is to be marked
    """
    if not isinstance(estimated, Words):
        raise TypeError("estimates are words")
    held = estimated
    for mark in noted:
        # Rows that said the same before say the same after, so each distinct text is changed once.
        before = [*held.words, None]
        after = [
            certainty.text({**(certainty.read(json.loads(text)) if text else {}), mark.field: mark.certainty})
            for text in before
        ]
        codes = np.where(held.codes < 0, len(held.words), held.codes)
        codes = np.where(mark.where, codes + len(before), codes)
        held = Words.coded(codes, [*before, *after])
    return held
