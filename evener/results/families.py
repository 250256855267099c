"""Families as people write them, and their records as a fit reads them."""

from __future__ import annotations

from pathlib import Path

from evener.schema.records import Family
from evener.schema.store import connection as store_module
from evener.scoring.ratings import verdicts
from evener.scoring.ratings.builds import kinds_of
from evener.scoring.ratings.columns import FamilyColumns, from_records


class UnknownFamily(store_module.StoreError):
    """A family that is not in the store; the text names the nearest."""

    exit_status = 2


def meant(name: str, known: dict[str, Family]) -> Family:
    """Return the family a user means: its name, its label, or another word for it.

    Parameters
    ----------
    name : as typed
    known : families by name

    Raises
    ------
    UnknownFamily
        It is no family's name; the nearest are in the text.
    """
    said = {
        folded(spelling): family
        for family in reversed(known.values())
        for spelling in (*family.names, family.label, family.family)
    }
    if folded(name) in said:
        return said[folded(name)]
    from difflib import get_close_matches

    near = list(dict.fromkeys(said[match].family for match in get_close_matches(folded(name), said, n=4)))
    hint = f" Did you mean {' or '.join(near)}?" if near else ""
    raise UnknownFamily(f"there is no family {name!r}.{hint} See: evener list families")


def folded(name: str) -> str:
    """Return a word as it is compared: lower case, one blank between its parts."""
    return " ".join(name.casefold().replace("_", " ").replace("-", " ").split())


def columns(path: Path, name: str) -> tuple[Family, FamilyColumns]:
    """Return a family with its records as a fit reads them: invented ones out, verdicts obeyed.

    Parameters
    ----------
    path : the store
    name : the family, as people write it
    """
    with store_module.open_read(path) as con:
        family = meant(name, store_module.read_families(con))
        implements = store_module.read_implements(con)
        judged = verdicts.read(store_module.read_verdicts(con))
        variants = [row for row in store_module.read_rows(con, "variant") if row["family"] == family.family]
    own = [one for one in implements if one.family == family.family and one.status != "invented"]
    records = judged.apply(own)
    return family, from_records(family, records, left_out=judged.left_out, sound=judged.sound, kinds=kinds_of(variants))
