"""What can be wrong in input data: one class per finding, with its reason and its remedy.

Each finding has a stable id, so that a person can look it up and a program can act on it. Subclasses register
themselves in `CATALOGUE`; the documentation page of findings is written from it.
"""

from __future__ import annotations

from evener.ingest.finding import CATALOGUE, Finding

__all__ = ["CATALOGUE", "Finding"]


class GuessedEncoding(Finding):
    """The bytes are no UTF-8, so they were read as Windows-1252."""

    id = "guessed-encoding"
    title = "The file is not in UTF-8"
    why = "Letters beyond plain English may come out wrong, and nobody would notice."
    template = "the file is not in UTF-8 and was read as {encoding}"
    remedy = "look at names with accents; save the file in UTF-8 if any is wrong"
    refuses = False


class Preamble(Finding):
    """Lines above the headings."""

    id = "preamble"
    title = "Lines stand above the headings"
    why = "The headings are the first row in which headings are recognised; what stands above them is no record."
    template = "above the headings, not loaded: {lines}"
    remedy = "nothing, unless the headings are in it"
    refuses = False


class UnitsRow(Finding):
    """A row of units under the headings."""

    id = "units-row"
    title = "The row under the headings gives units"
    why = "The columns whose headings name no unit take theirs from it."
    template = "the row gives the units of the columns and is not loaded as a record"
    remedy = "nothing, unless it is a record"
    refuses = False


class RepeatedHeadings(Finding):
    """The headings once more among the rows."""

    id = "repeated-headings"
    title = "The headings stand again among the rows"
    why = "Lists printed over pages repeat them; they are no record."
    template = "the headings again, not loaded: {lines}"
    remedy = "nothing"
    refuses = False


class BlankRows(Finding):
    """Blank rows among the others."""

    id = "blank-rows"
    title = "Rows are blank"
    why = "A blank row may stand where one was deleted, or where cells were not filled in."
    template = "blank: {lines}"
    remedy = "nothing, unless a row should stand there"
    refuses = False


class Footer(Finding):
    """Sums or remarks below the last record."""

    id = "footer"
    title = "Sums or remarks stand below the last row"
    why = "They are no record; a row at the end that could be one is never taken for a remark."
    template = "below the last record, not loaded: {lines}"
    remedy = "nothing, unless a record is in it"
    refuses = False


class Sections(Finding):
    """Titles of sections among the rows."""

    id = "sections"
    title = "Titles of sections stand among the rows"
    why = "They are no records; each is kept with the rows under it."
    template = "titles, kept with the rows under them: {lines}"
    remedy = "nothing, unless one of them is a record: then fill its other cells"
    refuses = False


class NoteLines(Finding):
    """Sums, page numbers and notes among the rows."""

    id = "note-lines"
    title = "Sums, page numbers or notes stand among the rows"
    why = "They are no records."
    template = "not loaded: {lines}"
    remedy = "nothing, unless a record is in it"
    refuses = False


class NoHeading(Finding):
    """A column of values without a heading."""

    id = "no-heading"
    title = "A column has values and no heading"
    why = "What they mean is said nowhere, so they are kept as text with their row and used for nothing."
    template = "{column} has values and no heading"
    remedy = "give it a heading, or empty it"
    refuses = False


class MergedCells(Finding):
    """Cells of a workbook that are merged over several rows."""

    id = "merged-cells"
    title = "Cells are merged over several rows"
    why = "Only the first of the rows holds the value; that the others share it would be a guess."
    template = "cells {cells} are merged: their value counts for row {row} alone"
    remedy = "unmerge them and write the value on each row"
    refuses = False


class OtherSheets(Finding):
    """Sheets of a workbook that were not read."""

    id = "other-sheets"
    title = "One sheet of several was read"
    why = "Records on the other sheets are not loaded."
    template = "sheet {sheet!r} was read, and {others} not"
    remedy = "name another with --sheet"
    refuses = False


class RaggedRow(Finding):
    """A row with more or fewer cells than there are columns."""

    id = "ragged-row"
    title = "The row has another number of cells than the header"
    why = "After the cell that is missing or too many, every value stands under the wrong heading."
    template = "the row has {cells} cells and the header {columns}"
    remedy = "put text that holds the delimiter in quotation marks, or fill the missing cells"


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


class UnreadableCell(Finding):
    """A cell whose text the grammar does not hold."""

    id = "unreadable-cell"
    title = "The cell cannot be read"
    why = "What a text means is never guessed."
    template = "{column}: {problem}"
    remedy = "{remedy}"


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


class DoubleKey(Finding):
    """Two rows that name the same record."""

    id = "double-key"
    title = "Two rows name the same record"
    why = "Which of them holds cannot be told."
    template = "{key} stands on {number} rows: {rows}"
    remedy = (
        "keep one of the rows, or give each its own name; none of them is loaded. Where {column} is no name of the "
        'machines, say so in a mapping: "{column}" = {{ field = "" }}'
    )


class NoName(Finding):
    """A column whose heading often names the machines and whose cells do not."""

    id = "no-name"
    title = "The column does not name the machines"
    why = "Headings such as Stock, Unit or No are used for a number of the machine, and for much else."
    template = "column {column!r} is not what names the rows: {because}; its text is kept with the rows"
    remedy = 'nothing, or say in a mapping what it means: "{column}" = {{ field = "{field}" }}'
    refuses = False


class NamedByLabel(Finding):
    """A list in which no column numbers the machines."""

    id = "named-by-label"
    title = "No column numbers the machines, so each is named by its description"
    why = "A name must stay the same from list to list, or the same machine is loaded twice."
    template = "no column numbers the rows, so each is named by {column!r}"
    remedy = "nothing, while the descriptions stay as they are; better give each row a number of its own"
    refuses = False


class TooManyRefused(Finding):
    """A file of which more rows are refused than anybody corrects by hand."""

    id = "too-many-refused"
    title = "More rows are refused than are kept for correction"
    why = "Such a file has one fault and not thousands: a heading, a unit or the decimal mark."
    template = "more than {most:,} rows cannot be loaded, so nothing of the file is"
    remedy = "settle the faults below and load it again, or part the file; it was not changed"


class RemarkOnFigure(Finding):
    """A remark that bears on a figure of the same machine."""

    id = "remark-on-figure"
    title = "A remark bears on a figure"
    why = "The figure is what the book or the plate says; the remark may say what the machine still does."
    template = "the remark {raw!r} bears on {figure}, which stays as stated"
    remedy = "if the remark is right, write the figure that holds in the list, as about so much"
    refuses = False


class GoneInDoubt(Finding):
    """Units that a whole list does not name, and that stay all the same."""

    id = "gone-in-doubt"
    title = "Whether units are gone is in doubt"
    why = "A list that was cut short, or another one, would take out what is still there."
    template = "{number} units of the owner are not in the list and stay, since {because}: {names}"
    remedy = "put the list right and load it again; if they are gone indeed, add --most-gone"
    refuses = False


class NearCopy(Finding):
    """A new machine that is alike one of another name or owner."""

    id = "near-copy"
    title = "The machine is alike one that is held under another name or owner"
    why = "The same machine under two names would be counted twice."
    template = "same machine as {other}? All that both state is alike"
    remedy = "if it is, take it out of one of the lists; if not, nothing: it is loaded"
    refuses = False


class OwnerSpelled(Finding):
    """An owner written in another way than before."""

    id = "owner-spelled"
    title = "The owner is known under another spelling"
    why = "Two spellings would be two owners, and each would have half of the machines."
    template = "{said!r} is taken for the owner {owner!r}"
    remedy = "nothing, unless they are two owners: then give one of them another name"
    refuses = False


class NeitherKind(Finding):
    """A row of a mixed list that is neither a tractor nor a known implement."""

    id = "neither-kind"
    title = "The row says neither that it is a tractor nor what implement it is"
    why = "A list of both is parted by its column of types, by its sections or by its sheets."
    template = "whether it is a tractor or an implement is not said"
    remedy = "write tractor, or the kind of implement, in a column headed Type; or load a list of one kind with --as"


class NameTaken(Finding):
    """A row that would replace a record of another kind or owner."""

    id = "name-taken"
    title = "The name belongs to another record"
    why = "A file may correct its own records, never take the place of somebody else's."
    template = "{key} is a {kind} record{owner} in the store"
    remedy = "give the row another name, or load it with the same kind and owner"


class UnknownReference(Finding):
    """A row that points to a record the store does not hold."""

    id = "unknown-reference"
    title = "The row points to something that is not in the store"
    why = "A number must answer where it comes from, and an implement what it is."
    template = "{column}: there is no {target} {raw!r}{near}"
    remedy = "write one that evener list {listed} shows"


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
