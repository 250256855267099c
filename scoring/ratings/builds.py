"""How a machine is made and carried, in one word for a fit: "trailed", "trailed sickle", "mounted no-till"."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any


def kinds_of(variants: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """Return by word in a record's label the kind it tells, of the rows of `variant` for one family.

    Parameters
    ----------
    variants : rows of `variant.csv` of one family
    """
    return {str(row["word"]): str(row["build"] or row["word"]) for row in variants if row["word"]}


def kind_in(label: str, kinds: Mapping[str, str]) -> str | None:
    """Return the kind a record's label tells, the last where it tells several; None for the family's usual one.

    Parameters
    ----------
    label : as the record has it
    kinds : of the family, by word
    """
    folded = label.casefold()
    found = [(folded.rfind(word), kind) for word, kind in kinds.items() if word in folded]
    return max(found)[1] if found else None


def build_name(attachment: str | None, kind: str | None) -> str | None:
    """Return the build of a record: how it is carried and, where its family has several, of what kind it is."""
    return " ".join(part for part in (attachment, kind) if part) or None


def builds(attachments: Sequence[str | None], labels: Sequence[str], kinds: Mapping[str, str]) -> list[str | None]:
    """Return the build of each record.

    Parameters
    ----------
    attachments, labels : of each record
    kinds : of the family, by word
    """
    if not kinds:
        return list(attachments)
    return [build_name(carried, kind_in(label, kinds)) for carried, label in zip(attachments, labels, strict=True)]


def attachment_in(build: str) -> str:
    """Return how a build is carried."""
    return build.partition(" ")[0]


def is_usual(build: str) -> bool:
    """Return whether a build is of its family's usual kind."""
    return " " not in build
