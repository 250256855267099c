"""What is wrong with a heading, or with what a column is taken for."""

from __future__ import annotations

from evener.ingest.finding import Finding


class NoHeading(Finding):
    """A column of values without a heading."""

    id = "no-heading"
    title = "A column has values and no heading"
    why = "What they mean is said nowhere, so they are kept as text with their row and used for nothing."
    template = "{column} has values and no heading"
    remedy = "give it a heading, or empty it"
    refuses = False


class UnknownColumn(Finding):
    """A heading that no spelling in the nomenclature matches."""

    id = "unknown-column"
    title = "The column means nothing the records hold"
    why = "Its values are not loaded."
    template = "no field of {record}s is headed {column!r}{near}"
    remedy = "rename it, or name its field in a mapping; evener fields lists them"
    refuses = False


class DoubleColumn(Finding):
    """Two columns for one field."""

    id = "double-column"
    title = "Two columns mean the same field"
    why = "Which of the two holds the value cannot be told."
    template = "column {column!r} means {field}, and so does {other!r}"
    remedy = "take one of them out, or settle them in a mapping"


class MissingColumn(Finding):
    """A field every record must have is in no column."""

    id = "missing-column"
    title = "A column every record needs is not in the file"
    why = "Without it the rows cannot be told apart or used."
    template = "no column gives {field}: {meaning}"
    remedy = "add a column headed {field!r}, or say in a mapping which one it is{option}"


class BarePower(Finding):
    """A power column that does not say which power."""

    id = "bare-power"
    title = "The column does not say which power it holds"
    why = "Engine power is a tenth to a quarter more than PTO power; sizing by the wrong one undersizes."
    template = "column {column!r} holds a power, but not which: {choices}"
    remedy = "rename it to one of {choices}, or choose in a mapping: {lines}"


class PriceInThousands(Finding):
    """A column of money whose heading says that it counts thousands."""

    id = "price-in-thousands"
    title = "The column gives prices in thousands"
    why = "Read as they stand, its prices would be a thousandth of what is asked."
    template = "column {column!r} gives prices in thousands; left unknown"
    remedy = "write the prices in full"
    refuses = False


class EngineBesideShaft(Finding):
    """A bare power beside that at the power take-off, taken for the engine's."""

    id = "engine-beside-shaft"
    title = "A column of powers is taken for the engine's"
    why = "Another column gives the power at the power take-off, and this one is larger on every row."
    template = "column {column!r} is taken for the engine's power, since {other!r} gives that at the shaft"
    remedy = "if it is another power, name its field in a mapping"
    refuses = False
    asks = False


class WrongHeaderUnit(Finding):
    """A heading whose unit measures something else than the field."""

    id = "wrong-header-unit"
    title = "The heading's unit does not fit the field"
    why = "A number in a unit of another kind cannot be converted."
    template = "column {column!r} gives {field} in {unit!r}: {problem}"
    remedy = "write the heading with one of {units}"


class UnitsDiffer(Finding):
    """A heading and the row of units that name two units for one column."""

    id = "units-differ"
    title = "The heading and the row of units contradict each other"
    why = "Which of the two units the numbers are in cannot be told."
    template = "column {column!r} has its unit in the heading and {unit!r} in the row of units"
    remedy = "leave one of the two, or name the unit in a mapping"


class UnusedMapping(Finding):
    """A heading of the mapping that is not in the file."""

    id = "unused-mapping"
    title = "The mapping names a heading that is not in the file"
    why = "The heading may have been renamed, and its column may now be read in another way or not at all."
    template = "the mapping settles {column!r}, and no column is headed so"
    remedy = "write the heading as it stands in the file, or take it out of the mapping"
    refuses = False


class NoUnit(Finding):
    """A column of bare numbers for a field that has a unit, and no unit in the heading."""

    id = "no-unit"
    title = "Neither the heading nor the cells give a unit"
    why = "8 may be feet or metres; nothing is guessed."
    template = "column {column!r} holds bare numbers and its heading gives no unit"
    remedy = "put the unit in the heading, such as {example!r}"


class ReadAs(Finding):
    """A cell that was read in a way that is not plain from its words."""

    id = "read-as"
    title = "The cell was read in a way that is worth a look"
    why = "The words allow of another reading."
    template = "{column}: {raw!r} is read as {value}: {because}"
    remedy = "nothing, if that is right; else write the value that holds for this machine"
    refuses = False


class ColumnByCells(Finding):
    """A column whose cells are the words of another field than its heading means."""

    id = "column-by-cells"
    title = "The cells of the column are words of another field"
    why = "A heading may be used for more than one thing; its words are those of one alone."
    template = "column {column!r} is taken for {field}, whose words its cells are, and not for {usual}"
    remedy = 'nothing, if that is right; else say what it is in a mapping: "{column}" = {{ field = "{usual}" }}'
    refuses = False
