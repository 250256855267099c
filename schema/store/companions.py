"""The files that lie beside a store and belong to it: its log, the copies kept of it, what was put aside.

They lie beside the store itself, not beside a link to it, and each is found by its name.
"""

from __future__ import annotations

import os
import re
import secrets
from collections.abc import Iterator
from itertools import count
from pathlib import Path

LOG = ".wal"
PREVIOUS = ".previous"
VERSION = ".version-"
ASIDE = ".aside-"
CHANGE = ".change"
_OWN = re.compile(r"\.(wal(\.checkpoint|\.recovery)?|previous|change|version-.*|(.*\.)?aside-\d+.*)", re.DOTALL)


def itself(store: Path) -> Path:
    """Return where a store is: what a link leads to, else the path as it was said.

    Parameters
    ----------
    store : the store's file, or a link to it
    """
    return Path(os.path.realpath(store)) if store.is_symlink() else store


def beside(store: Path, ending: str) -> Path:
    """Return the name of a companion.

    Parameters
    ----------
    store : the store's file, or a link to it
    ending : what follows the store's name
    """
    own = itself(store)
    return own.with_name(own.name + ending)


def free(path: Path) -> Path:
    """Return a name that nothing has: the path with the first free number.

    Parameters
    ----------
    path : the name before its number
    """
    names = (path.with_name(f"{path.name}{number}") for number in count(1))
    return next(name for name in names if not os.path.lexists(name))


def unfinished(target: Path) -> Path:
    """Return a hidden name beside a file for what is to become it; no two writers have the same.

    Parameters
    ----------
    target : the file
    """
    return target.absolute().parent / f".{target.name}.{secrets.token_hex(6)}.new"


def belongs(path: Path, store: Path) -> bool:
    """Tell whether a path is the store or one of its companions, under whatever name it is reached.

    Parameters
    ----------
    path : any path
    store : the store's file, or a link to it
    """
    own = itself(store)
    if any(_same(path, one) for one in (store, own, *_companions(own))):
        return True
    ending = path.name.removeprefix(own.name)
    here = os.path.realpath(path.absolute().parent) == os.path.realpath(own.absolute().parent)
    return here and ending != path.name and bool(_OWN.fullmatch(ending))


def _companions(own: Path) -> Iterator[Path]:
    if own.absolute().parent.is_dir():
        for one in own.absolute().parent.iterdir():
            if one.name.startswith(own.name) and _OWN.fullmatch(one.name.removeprefix(own.name)):
                yield one


def _same(path: Path, other: Path) -> bool:
    if path.absolute() == other.absolute():
        return True
    try:
        return path.samefile(other)
    except OSError:
        return False
