"""What names a machine: its owner and the number the owner gave it, written `12@Cold Spring`.

The first owner who has a number has it bare.
"""

from __future__ import annotations

from collections.abc import Mapping
from difflib import SequenceMatcher
from types import MappingProxyType

from evener.schema import former_ids

AT = "@"
_NEAR = 0.85  # share of letters alike
_NONE: Mapping[str, str] = MappingProxyType({})


def plain_owner(owner: str) -> str:
    """Return an owner's name without case and doubled spaces, to know it again by."""
    return " ".join(owner.split()).casefold()


def near_owner(said: str, owners: Mapping[str, str]) -> str | None:
    """Return a known owner whose name is so near that it may be the same one, or None.

    A name with words more, or one with few letters other; names told apart by a number or a letter are two.

    Parameters
    ----------
    said : the name
    owners : owners by their plain names
    """
    plain = plain_owner(said)
    words = set(plain.split())
    for name, owner in owners.items():
        others = set(name.split())
        if any(word.isdigit() or len(word) == 1 for word in words ^ others):
            continue
        if words < others or others < words or SequenceMatcher(None, plain, name).ratio() >= _NEAR:
            return owner
    return None


def qualified(number: str, owner: str) -> str:
    """Return a machine's name with its owner."""
    return f"{number}{AT}{owner}"


def found(said: str, owners: Mapping[str, str | None], aliases: Mapping[str, str] = _NONE) -> str:
    """Return the id that is meant: the one that was said, with its owner where it is held without, or a former one.

    Parameters
    ----------
    said : an id as a person writes it
    owners : owner of each machine by its id
    aliases : the owner that each further name means
    """
    meant = former_ids.found(said, owners)
    if meant in owners:
        return meant
    number, at, owner = said.rpartition(AT)
    if not at:
        return meant
    meant_by = {plain_owner(alias): one for alias, one in aliases.items()}
    wanted = plain_owner(meant_by.get(plain_owner(owner), owner))
    named = (one for one in owners if (one == number or one.rpartition(AT)[0] == number))
    return next((one for one in named if plain_owner(owners[one] or "") == wanted), meant)
