"""Columns in the units a US reader thinks in: feet, horsepower, pounds. Names and factors follow the nomenclature."""

from __future__ import annotations

from evener.schema import fields, units
from evener.schema.fields import Field

US_VIEWS = {"tractor_us": "tractor", "implement_us": "implement"}
# Kills what a conversion adds to a round figure, and is finer than anything measured.
DECIMALS = 6


def us_column(field: Field) -> tuple[str, float] | None:
    """Return the name and factor of a field in US units; None where the field has the same unit in both systems.

    Parameters
    ----------
    field : a field of the nomenclature
    """
    if not field.is_measured or not units.known(field.unit):
        return None
    symbol, factor = units.us(field.unit, field=field.name)
    if symbol == field.unit:
        return None
    return f"{field.plain_name}_{symbol.replace('/', '_').lower()}", factor


def us_select(record: str, *, beside: bool = False) -> str:
    """Return the SELECT that gives a record's table with its measures in US units.

    Parameters
    ----------
    record : kind of record, as the nomenclature names it
    beside : keep the stored columns too
    """
    columns = []
    for field in fields.of(record).values():
        turned = us_column(field)
        if turned is None or beside:
            columns.append(f'"{field.name}"')
        if turned is not None:
            name, factor = turned
            columns.append(f'round("{field.name}" * {factor!r}, {DECIMALS}) AS "{name}"')
    return f'SELECT {", ".join(columns)} FROM "{record}"'
