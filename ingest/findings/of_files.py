"""What is said of a file as a whole: its bytes, its layout, and the lines that are no records."""

from __future__ import annotations

from evener.ingest.finding import Finding


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
    asks = False


class UnitsRow(Finding):
    """A row of units under the headings."""

    id = "units-row"
    title = "The row under the headings gives units"
    why = "The columns whose headings name no unit take theirs from it."
    template = "the row gives the units of the columns and is not loaded as a record"
    remedy = "nothing, unless it is a record"
    refuses = False
    asks = False


class RepeatedHeadings(Finding):
    """The headings once more among the rows."""

    id = "repeated-headings"
    title = "The headings stand again among the rows"
    why = "Lists printed over pages repeat them; they are no record."
    template = "the headings again, not loaded: {lines}"
    remedy = "nothing"
    refuses = False
    asks = False


class BlankRows(Finding):
    """Blank rows among the others."""

    id = "blank-rows"
    title = "Rows are blank"
    why = "A blank row may stand where one was deleted, or where cells were not filled in."
    template = "blank: {lines}"
    remedy = "nothing, unless a row should stand there"
    refuses = False
    asks = False


class Footer(Finding):
    """Sums or remarks below the last record."""

    id = "footer"
    title = "Sums or remarks stand below the last row"
    why = "They are no record; a row at the end that could be one is never taken for a remark."
    template = "below the last record, not loaded: {lines}"
    remedy = "nothing, unless a record is in it"
    refuses = False
    asks = False


class Sections(Finding):
    """Titles of sections among the rows."""

    id = "sections"
    title = "Titles of sections stand among the rows"
    why = "They are no records; each is kept with the rows under it."
    template = "titles, kept with the rows under them: {lines}"
    remedy = "nothing, unless one of them is a record: then fill its other cells"
    refuses = False
    asks = False


class NoteLines(Finding):
    """Sums, page numbers and notes among the rows."""

    id = "note-lines"
    title = "Sums, page numbers or notes stand among the rows"
    why = "They are no records."
    template = "not loaded: {lines}"
    remedy = "nothing, unless a record is in it"
    refuses = False
    asks = False


class MergedCells(Finding):
    """Cells of a workbook that are merged over several rows."""

    id = "merged-cells"
    title = "Cells are merged over several rows"
    why = "Only the first of the rows holds the value; that the others share it would be a guess."
    template = "cells {cells} are merged: their value counts for row {row} alone"
    remedy = "unmerge them and write the value on each row"
    refuses = False


class MergedWords(Finding):
    """Cells of a workbook with one word that are merged over several rows of a column."""

    id = "merged-words"
    title = "A word is merged over several rows and counts for each"
    why = "A kind or a place that spans the rows of a column is said of all of them; a number is not."
    template = "cells {cells} are merged: their word counts for each row"
    remedy = "unmerge them if it is not so"
    refuses = False
    asks = False


class OnItsSide(Finding):
    """A sheet with its headings down the first column."""

    id = "on-its-side"
    title = "The sheet stands on its side and was turned"
    why = "Its first column holds the headings and each further column a machine; lines told are columns of the file."
    template = "the headings stand down the first column; each further column was read as a machine"
    remedy = "turn the sheet if it is not so"
    refuses = False
    asks = False


class NoHeadings(Finding):
    """A list without a line of headings."""

    id = "no-headings"
    title = "No line names the columns"
    why = "What the cells mean is said nowhere, and a guess would load wrong values in silence."
    template = "no line names the columns; the first says {first!r}"
    remedy = "write a line of headings above the first machine, such as: {example}"


class OtherKind(Finding):
    """A row of a list that says of itself that it is of another kind than the list."""

    id = "other-kind"
    title = "The row is of another kind than the list was said to be"
    why = "Loaded as what it is not, it would be a machine that is not there."
    template = "the row is of the {other}s, and the list is read as {record}s"
    remedy = "read the list as machines: --as machines"


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


class TooManyRefused(Finding):
    """A file of which more rows are refused than anybody corrects by hand."""

    id = "too-many-refused"
    title = "More rows are refused than are kept for correction"
    why = "Such a file has one fault and not thousands: a heading, a unit or the decimal mark."
    template = "more than {most:,} rows cannot be loaded, so nothing of the file is"
    remedy = "settle the faults below and load it again, or part the file; it was not changed"
