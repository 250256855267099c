"""The terms on which a capacity is offered where it is no column of the record: on a soil, with brakes, balanced."""

from __future__ import annotations


class Terms:
    """Terms of one kind; what they hold is the kind's own.

    Attributes
    ----------
    key : names the terms, so that a capacity is worked out once for all tasks that share them
    """

    key: str
