"""What a store holds that rows are checked against, read beforehand: it is open for writing only while rows go in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from evener.ingest.columns.headers import fold
from evener.ingest.rows import estimates
from evener.ingest.rows.checks import peers
from evener.ingest.rows.correction import Correction
from evener.schema import fields
from evener.schema.identity import plain_owner
from evener.schema.store import aliases, corrections, owners
from evener.schema.store import connection as store

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection


@dataclass(frozen=True)
class Known:
    """What a store holds that rows are checked against.

    Attributes
    ----------
    families : family by each of its names, folded
    sources : ids of the sources
    ratios : PTO over engine power; empty where the store has no such table filled
    peers : what records of the same kind and size have
    owners : owners as they are written, by their plain names and the further ones that were said to be theirs
    corrections : by kind of record, the corrections by hand that hold
    """

    families: Mapping[str, str]
    sources: frozenset[str]
    ratios: Mapping[tuple[bool, str | None], estimates.Ratio]
    peers: peers.Peers
    owners: Mapping[str, str] = field(default_factory=dict)
    corrections: Mapping[str, Sequence[Correction]] = field(default_factory=dict)

    def owner(self, said: str | None) -> str | None:
        """Return an owner as the store writes it; as it is said where the store knows none like it."""
        return self.owners.get(plain_owner(said), said) if said is not None else None


def known_in(con: Connection) -> Known:
    """Return what an open store knows."""
    meant: dict[str, set[str]] = defaultdict(set)
    for family in store.read_families(con).values():
        for name in (family.family, family.label, *family.names):
            meant[fold(name)].add(family.family)
    for row in fields.spellings():
        if row["record"] == "family":
            for word in row["spelling"].split(";"):
                meant[fold(word)].add(row["value"])
    # A name that two families share settles nothing, and is not known.
    words = {name: min(families) for name, families in meant.items() if len(families) == 1}
    table = store.read_rows(con, "power_ratios")
    by_hand: dict[str, list[Correction]] = defaultdict(list)
    for one in corrections.holding(con):
        by_hand[one.record].append(Correction.read(one))
    return Known(
        families=words,
        sources=frozenset(row["source_id"] for row in store.read_rows(con, "source")),
        ratios=estimates.pto_ratios(table) if table else {},
        peers=peers.peers_in(con),
        owners={plain_owner(owner): owner for owner in sorted(owners.owners(con))}
        | {plain_owner(alias): owner for alias, owner in aliases.aliases(con).items()},
        corrections=by_hand,
    )
