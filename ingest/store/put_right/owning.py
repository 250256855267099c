"""Two names of one owner, said by hand: his records come under one name, and both names mean him from then on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from evener.ingest.store.put_right.by_hand import enter
from evener.schema.identity import plain_owner
from evener.schema.store import aliases, copies, owners
from evener.schema.store import batches as entries
from evener.schema.store import connection as store

if TYPE_CHECKING:
    from evener.ingest.store.batches import After
    from evener.schema.store.engine import Connection

_SHOWN = 6


class CannotJoin(Exception):
    """Two names that cannot be one owner's; the text says why and what to type."""

    exit_status: ClassVar[int] = 2


@dataclass(frozen=True)
class Joined:
    """What came of it.

    Attributes
    ----------
    owner : the owner
    also : further names that mean him now
    batch_ids : ingests that hold it, the first first
    moved : records that came under his name
    """

    owner: str
    also: tuple[str, ...]
    batch_ids: tuple[str, ...]
    moved: int


def join(store_path: Path, owner: str, also: Sequence[str], *, after: After | None = None) -> Joined:
    """Say that further names are an owner's.

    Parameters
    ----------
    store_path : the store
    owner : the owner, as his records are to name him
    also : the further names
    after : called inside the transaction when implement records changed

    Raises
    ------
    CannotJoin
        A name is blank or his own already, or both have a machine of one number; nothing was changed.
    evener.schema.store.connection.StoreError
        The store cannot be used; nothing was changed.
    """
    store.check_writable(store_path)
    copies.keep_previous(store_path)
    made: list[str] = []
    moved = 0
    with store.open_write(store_path) as con:
        written = {plain_owner(one): one for one in owners.owners(con)}
        known = {plain_owner(alias): one for alias, one in aliases.aliases(con).items()}
        meant = _named(owner, {**known, **written})
        if plain_owner(owner) in known and plain_owner(owner) not in written:
            meant = known[plain_owner(owner)]
        for said in also:
            other = _named(said, written)
            if plain_owner(other) == plain_owner(meant) or known.get(plain_owner(other)) == meant:
                raise CannotJoin(f"{other!r} means {meant!r} already. See: evener owners.")
            _check(con, other, meant)
            kinds = [kind for kind in aliases.RECORDS if aliases.numbers(con, kind, other)] or ["tractor"]
            for place, kind in enumerate(kinds):
                batch_id = entries.next_batch(con)
                count = aliases.bring_under(con, kind, other, meant, batch_id)
                moved += count
                enter(con, kind, batch_id, owner=meant, superseded=count)
                made.append(batch_id)
                if not place:
                    aliases.bring_memory(con, other, meant, batch_id)
                    aliases.enter(con, other, meant, batch_id)
                if after is not None and kind == "implement" and count:
                    after(con)
        every = {one.owner: one.also for one in aliases.every(con)}
    return Joined(meant, every.get(meant, ()), tuple(made), moved)


def _named(said: str, written: dict[str, str]) -> str:
    name = " ".join(said.split())
    if not name:
        raise CannotJoin("an owner has a name: evener owners OWNER --also NAME.")
    return written.get(plain_owner(name), name)


def _check(con: Connection, other: str, owner: str) -> None:
    """Refuse to bring two machines of one number under one owner."""
    for kind in aliases.RECORDS:
        both = sorted(set(aliases.numbers(con, kind, other)) & set(aliases.numbers(con, kind, owner)))
        if both:
            named = ", ".join(both[:_SHOWN]) + (f" and {len(both) - _SHOWN} more" if len(both) > _SHOWN else "")
            raise CannotJoin(
                f"both {owner!r} and {other!r} have {kind}s numbered {named}. Take out those that are one machine "
                f"(evener undo, or a list of {other!r} with --whole-list), or give them other numbers in its list."
            )
