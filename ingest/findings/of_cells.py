"""What is wrong with one cell, or with one figure of a row."""

from __future__ import annotations

from evener.ingest.finding import Finding


class UnreadableCell(Finding):
    """A cell whose text the grammar does not hold."""

    id = "unreadable-cell"
    title = "The cell cannot be read"
    why = "What a text means is never guessed."
    template = "{column}: {problem}"
    remedy = "{remedy}"


class FootnoteMark(Finding):
    """A cell with a raised sign, a star or a dagger beside its value."""

    id = "footnote-mark"
    title = "The cell bears the mark of a footnote"
    why = "What the note says may change the value, and a raised figure is easily read as one of its digits."
    template = "{column}: {problem}"
    remedy = "{remedy}"


class UnknownWord(Finding):
    """A cell that must hold one of a few words and holds another."""

    id = "unknown-word"
    title = "The cell holds none of the words allowed"
    why = "The word decides what a tractor or implement can do."
    template = "{column}: {raw!r} is none of {choices}"
    remedy = "write one of {choices}"


class RangeNotKept(Finding):
    """A range where the record keeps one value."""

    id = "range-not-kept"
    title = "The cell gives a range where one value is kept"
    why = "Which end holds for this machine cannot be told."
    template = "{column}: {raw!r} is a range and {field} is one value"
    remedy = "write the value that holds for this machine"


class MissingValue(Finding):
    """A required field that is blank."""

    id = "missing-value"
    title = "A value every record needs is blank"
    why = "Without it the record cannot be named or used."
    template = "{field} is blank"
    remedy = "fill in {field}: {meaning}"


class OutOfBounds(Finding):
    """A value no machine of the trade has."""

    id = "out-of-bounds"
    title = "The value is outside what any machine has"
    why = "It is most often a slip of the unit or of the decimal mark."
    template = "{column}: {raw!r} is {value:g}{unit}, outside {low:g} to {high:g}{unit}{suspect}"
    remedy = "check the value and its unit"


class RemarkOnFigure(Finding):
    """A remark that bears on a figure of the same machine."""

    id = "remark-on-figure"
    title = "A remark bears on a figure"
    why = "The figure is what the book or the plate says; the remark may say what the machine still does."
    template = "the remark {raw!r} bears on {figure}, which stays as stated"
    remedy = "if the remark is right: evener amend MACHINE FIELD=VALUE --why TEXT, or --doubt PERCENT"
    refuses = False


class OrderReversed(Finding):
    """Two values of one row that stand in the wrong order."""

    id = "order-reversed"
    title = "Two values of the row contradict each other"
    why = "One of them is in the wrong column or unit."
    template = "{small} ({small_value}) is more than {large} ({large_value}): {reason}"
    remedy = "check both values and their units"


class AxleLoadsShort(Finding):
    """Permitted axle loads that do not carry the permitted mass."""

    id = "axle-loads-short"
    title = "The axles together may carry less than the permitted mass"
    why = "The permitted mass must stand on the two axles."
    template = "the axles may carry {axles:g} kg together and the permitted mass is {mass:g} kg"
    remedy = "check the three loads and their units"


class OddRatio(Finding):
    """Two values whose ratio no machine has."""

    id = "odd-ratio"
    title = "Two values of the row do not fit each other"
    why = "One of them is most often in the wrong unit."
    template = "{first} over {second} is {ratio:.2g}; machines have {usual} ({reason})"
    remedy = "check both values and their units"


class FarFromPeers(Finding):
    """A value far from what records of the same kind and size have."""

    id = "far-from-peers"
    title = "The value is far from what machines of the kind and size have"
    why = "It is most often a slip of the unit; a rare machine is loaded all the same."
    template = "{column}: {value} is {ratio} times what {others} have, {usual}{suspect}"
    remedy = "check the value and its unit; the row is loaded"
    refuses = False
