"""Limits a process sets on itself before it takes apart what others wrote."""

from __future__ import annotations


def hold(*, memory: int, file_size: int | None = None, cpu_seconds: int | None = None) -> None:
    """Bound this process's memory, and what it may write and compute; nothing happens where the system has no limits.

    Parameters
    ----------
    memory : address space at most [byte]
    file_size : longest file it may write [byte]
    cpu_seconds : processor time at most [s]
    """
    try:
        import resource
    except ImportError:
        return
    asked = (
        (resource.RLIMIT_AS, memory),
        (resource.RLIMIT_FSIZE, file_size),
        (resource.RLIMIT_CPU, cpu_seconds),
        (resource.RLIMIT_CORE, 0),
    )
    for what, most in asked:
        if most is None:
            continue
        _, hard = resource.getrlimit(what)
        lower = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(what, (lower, lower))
