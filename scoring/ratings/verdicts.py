"""What analysts hold of records, as fits read it: records corrected, records left out, records vouched for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from evener.schema import fields
from evener.schema.records import Implement, Verdict


@dataclass(frozen=True)
class Verdicts:
    """The verdicts of a store, by what a fit does with them.

    Attributes
    ----------
    left_out : by record, why it is left out
    sound : records vouched for
    corrected : by record, the fields that hold another value [the store's units]
    """

    left_out: Mapping[str, str]
    sound: frozenset[str]
    corrected: Mapping[str, Mapping[str, Any]]

    def apply(self, implements: Iterable[Implement]) -> list[Implement]:
        """Return records as corrected; a figure that was corrected is no longer an estimate.

        Parameters
        ----------
        implements : records, as their files have them
        """
        return [self._corrected(one) for one in implements]

    def _corrected(self, record: Implement) -> Implement:
        changed = self.corrected.get(record.implement_id)
        if not changed:
            return record
        left = {name: how for name, how in record.estimated.items() if name not in changed}
        return replace(record, estimated=left, **changed)


def read(verdicts: Sequence[Verdict]) -> Verdicts:
    """Return verdicts by what a fit does with them.

    Parameters
    ----------
    verdicts : as `evener.schema.store.connection.read_verdicts` returns them
    """
    corrected: dict[str, dict[str, Any]] = {}
    for one in verdicts:
        if one.verdict == "corrected" and one.set_field is not None and one.set_value is not None:
            corrected.setdefault(one.implement_id, {})[one.set_field] = _value(one.set_field, one.set_value)
    return Verdicts(
        left_out={one.implement_id: one.why for one in verdicts if one.verdict == "left_out"},
        sound=frozenset(one.implement_id for one in verdicts if one.verdict == "sound"),
        corrected=corrected,
    )


def _value(name: str, text: str) -> Any:
    known = fields.of("implement")[name]
    if known.kind == "list":
        return tuple(int(part) if known.item == "integer" else part for part in text.split(";"))
    if known.kind == "number":
        return float(text)
    return int(float(text)) if known.kind == "integer" else text
