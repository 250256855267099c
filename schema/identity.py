"""What names a machine: its owner and the number the owner gave it, written `12@Cold Spring`.

The first owner who has a number has it bare.
"""

from __future__ import annotations

from collections.abc import Mapping

from evener.schema import former_ids

AT = "@"


def plain_owner(owner: str) -> str:
    """Return an owner's name without case and doubled spaces, to know it again by."""
    return " ".join(owner.split()).casefold()


def qualified(number: str, owner: str) -> str:
    """Return a machine's name with its owner."""
    return f"{number}{AT}{owner}"


def found(said: str, owners: Mapping[str, str | None]) -> str:
    """Return the id that is meant: the one that was said, with its owner where it is held without, or a former one.

    Parameters
    ----------
    said : an id as a person writes it
    owners : owner of each machine by its id
    """
    meant = former_ids.found(said, owners)
    if meant in owners:
        return meant
    number, at, owner = said.rpartition(AT)
    if not at:
        return meant
    wanted = plain_owner(owner)
    named = (one for one in owners if (one == number or one.rpartition(AT)[0] == number))
    return next((one for one in named if plain_owner(owners[one] or "") == wanted), meant)
