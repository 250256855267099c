"""Comparisons of plain numbers that no formula of the trade stands behind."""

from __future__ import annotations


def middle(low: float, high: float) -> float:
    """Return the middle of two numbers, in their unit."""
    return (low + high) / 2


def nearly(value: float, other: float, share: float) -> bool:
    """Return whether a number lies within a share of another."""
    return abs(value / other - 1) < share


def holds(low: float, high: float, least: float, most: float, slack: float) -> bool:
    """Return whether a range, widened by a share of its ends, holds another."""
    return least >= low * (1 - slack) and most <= high * (1 + slack)
