"""Keeping the families' models with their records: where records, verdicts or sizes changed they are fitted anew."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

import numpy as np

from evener.schema.records import Family
from evener.schema.store import rating_models, reading
from evener.scoring.ratings import verdicts
from evener.scoring.ratings.builds import builds, kinds_of
from evener.scoring.ratings.columns import FIELDS, FILE_SOURCE, FamilyColumns, columns_of
from evener.scoring.ratings.fitting import fit_family
from evener.scoring.ratings.policy import policy
from evener.scoring.ratings.sizes import DERIVED, variables_of
from evener.scoring.ratings.verdicts import Verdicts

WORDS = ("label", "attachment", "duty", "maker", "owner", "batch_id", "source_id")


def refresh(con: Any) -> int:
    """Fit the families anew whose records, verdicts or sizes changed, and keep the models in the store.

    Parameters
    ----------
    con : an open, writable connection to a store, inside the transaction that changed the records

    Returns
    -------
    int
        How many families have a model of their rating [1].
    """
    families, kinds = reading.read_families(con), read_kinds(con)
    now = {
        name: _mark(families[name], kinds.get(name, {}), seen)
        for name, seen in rating_models.marks(con).items()
        if name in families
    }
    before = rating_models.kept_marks(con)
    judged = verdicts.read(reading.read_verdicts(con))
    for name in sorted(before.keys() - now.keys()):
        rating_models.replace(con, name, [])
    for name, mark in sorted(now.items()):
        if before.get(name) != mark:
            rows = fit_family(read_columns(con, families[name], judged, kinds.get(name, {}))).to_rows()
            rating_models.replace(con, name, [row | {"rests_on": mark} for row in rows])
    return rating_models.count(con, "power")


def read_kinds(con: Any) -> dict[str, dict[str, str]]:
    """Return by family the words in a label that tell its kinds of build, from the store's table of variants."""
    rows = reading.read_rows(con, "variant")
    return {
        family: kinds_of(row for row in rows if row["family"] == family) for family in {row["family"] for row in rows}
    }


def read_columns(con: Any, family: Family, judged: Verdicts, kinds: Mapping[str, str]) -> FamilyColumns:
    """Return the records of a family as a fit reads them: invented ones out, verdicts obeyed.

    Parameters
    ----------
    con : an open store
    family : the family
    judged : what analysts hold of records
    kinds : by word in a label the kind of build it tells
    """
    names = variables_of(family)
    measured = [part for name in names for part in DERIVED.get(name, (None, (name,)))[1]]
    numbers = list(dict.fromkeys([*measured, *FIELDS.values()]))
    found = rating_models.read_family(con, family.family, numbers, WORDS)
    _correct(found, judged)
    sizes = []
    for name in names:
        derive, parts = DERIVED.get(name, (None, ()))
        sizes.append(derive(*(found[part] for part in parts)) if derive else found[name])
    source = found["source_id"]
    shipped = np.array(
        [
            owner is None and not str(one or FILE_SOURCE).startswith(FILE_SOURCE)
            for owner, one in zip(found["owner"], source, strict=True)
        ],
        bool,
    )
    groups = [
        maker or owner or batch
        for maker, owner, batch in zip(found["maker"], found["owner"], found["batch_id"], strict=True)
    ]
    return columns_of(
        family.family,
        names,
        sizes,
        {quantity: found[field] for quantity, field in FIELDS.items()},
        ids=found["implement_id"].tolist(),
        build=builds(found["attachment"].tolist(), found["label"].tolist(), kinds),
        duty=found["duty"].tolist(),
        group=groups,
        library=shipped,
        left_out=judged.left_out,
        sound=judged.sound,
    )


def _correct(found: dict[str, Any], judged: Verdicts) -> None:
    """Put corrected values in their places."""
    if not judged.corrected:
        return
    place = {name: row for row, name in enumerate(found["implement_id"].tolist())}
    for record, changed in judged.corrected.items():
        for name, value in changed.items():
            if record in place and name in found:
                found[name][place[record]] = value


def _mark(family: Family, kinds: Mapping[str, str], records: str) -> str:
    """Return what a family's model rests on: its records, the sizes it goes by, and the pooling."""
    whole = (records, variables_of(family), sorted(kinds.items()), sorted(policy().items()))
    return hashlib.sha256(repr(whole).encode()).hexdigest()[:16]
