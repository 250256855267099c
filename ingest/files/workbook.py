"""An XLSX workbook into rows of cells: what is checked before it is opened, and the process that opens it.

Run as a module it reads a workbook on standard input; `evener.ingest.files.guarded` starts it so.
"""

from __future__ import annotations

import html
import io
import re
import zipfile
from collections.abc import Sequence
from typing import Any

from evener.ingest.ceilings import MOST_TYPED_CELLS
from evener.ingest.files import guarded, shown_years
from evener.ingest.files.grids import HEAD, NoTable, heading_place
from evener.ingest.files.stacked import Knows
from evener.ingest.text.typed_cells import as_text

MOST_ENTRIES = 5000
LARGEST_INSIDE = 1 << 30
MOST_RATIO = 300
_RATIO_FROM = 64 << 20
_FEW_KNOWN = 2

Merged = tuple[tuple[int, int], tuple[int, int]]

_SHEET = re.compile(rb"<(?:\w+:)?sheet\b[^>]*>")
_LINK = re.compile(rb"<(?:\w+:)?Relationship\b[^>]*>")
_CELL = re.compile(rb"<((?:\w+:)?)c\b([^>]*?)(?<!/)>(.*?)</\1c>", re.DOTALL)
_FORMULA = re.compile(rb"<(?:\w+:)?f\b[^>]*?(?:/>|>(.*?)</(?:\w+:)?f>)", re.DOTALL)
_VALUE = re.compile(rb"<(?:\w+:)?(?:v|is)\b[^>]*(?<!/)>[^<]*(?:<|[^<])*?[^<\s]", re.DOTALL)
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}(?: 00:00:00)?")
_PLACE = re.compile(r"(?P<column>[A-Z]+)(?P<row>\d+)")


def check_archive(content: bytes) -> None:
    """Refuse an archive that is no workbook, or one that unpacks to far more than a list ever is.

    Raises
    ------
    NoTable
        With what the archive is.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = archive.infolist()
    except (zipfile.BadZipFile, ValueError, NotImplementedError):
        raise NoTable("is a damaged workbook. Open it in a spreadsheet program and save it again.") from None
    names = {entry.filename for entry in entries}
    if len({name.casefold() for name in names}) < len(entries):
        raise NoTable("holds two parts of one name, and which of them counts cannot be told. Save it again.")
    if len(entries) > MOST_ENTRIES:
        raise NoTable(f"is an archive of {len(entries)} files and no list. Save the sheet alone as CSV.")
    if any(entry.flag_bits & 1 for entry in entries):
        raise NoTable("is locked with a password. Save it without one.")
    if not {"xl/workbook.xml", "[Content_Types].xml"} <= names:
        raise NoTable("is an archive but no XLSX workbook. Save the sheet as .xlsx or CSV.")
    inside = sum(entry.file_size for entry in entries)
    if inside > LARGEST_INSIDE or (inside > _RATIO_FROM and inside > MOST_RATIO * len(content)):
        raise NoTable(f"unpacks to {inside >> 20} MB, more than a list ever is. Save the sheet alone as CSV.")


def read_sheet(content: bytes, sheet: str | None, knows: Knows | None) -> dict[str, Any]:
    """Return one sheet of a workbook: its name, rows, merged cells, and the sheets that were not read.

    Parameters
    ----------
    content : the workbook's bytes
    sheet : name of the sheet; when left out, the one visible sheet that holds a list
    knows : whether a text is a heading

    Raises
    ------
    NoTable
        It is no workbook, has no such sheet, or several sheets could be meant.
    """
    check_archive(content)
    module = "evener.ingest.files.workbook"
    if sheet is not None:
        return guarded.run(module, content, sheet)
    heads = guarded.run(module, content)["heads"]
    filled = [name for name, rows in heads if rows]
    chosen = [name for name, rows in heads if _holds_headings(rows, knows)] or filled
    if not chosen:
        raise NoTable("holds no rows on a visible sheet.")
    if len(chosen) > 1:
        raise NoTable(f"has {len(chosen)} sheets with rows: {', '.join(chosen)}. Choose one with --sheet.")
    return guarded.run(module, content, chosen[0])


def sheets_with_lists(content: bytes, knows: Knows | None) -> list[str]:
    """Return the visible sheets of a workbook in which headings are recognised.

    Raises
    ------
    NoTable
        It is no workbook.
    """
    check_archive(content)
    heads = guarded.run("evener.ingest.files.workbook", content)["heads"]
    return [name for name, rows in heads if _holds_headings(rows, knows)]


def _holds_headings(rows: list[list[Any]], knows: Knows | None) -> bool:
    if knows is None:
        return False
    texts = [[as_text(cell, ".") for cell in row] for row in rows]
    place = heading_place(list(enumerate(texts)), knows)
    return place is not None and sum(map(knows, filter(None, texts[place]))) >= _FEW_KNOWN


def _found(content: bytes, sheet: str | None = None) -> dict[str, Any]:
    """Return, in the process of its own, the first rows of every visible sheet, or all of one sheet."""
    import python_calamine

    try:
        book = python_calamine.load_workbook(io.BytesIO(content))
    except (python_calamine.CalamineError, OSError, ValueError) as error:
        raise NoTable(f"cannot be read as a workbook ({error}). Save it again, or save the sheet as CSV.") from None
    pages = [one for one in book.sheets_metadata if one.typ == python_calamine.SheetTypeEnum.WorkSheet]
    visible = [one.name for one in pages if one.visible == python_calamine.SheetVisibleEnum.Visible]
    if sheet is None:
        return {"heads": [(name, _rows(book, name)[:HEAD]) for name in visible]}
    if sheet not in book.sheet_names:
        raise NoTable(f"has no sheet {sheet!r}; it has {', '.join(book.sheet_names)}.")
    rows = _rows(book, sheet)
    merged = book.get_sheet_by_name(sheet).merged_cell_ranges or []
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        path = _sheet_path(archive, sheet)
        page = archive.read(path) if path in archive.namelist() else b""
        _years(archive, page, rows)
    for row, column, formula in _unsolved(page):
        if row < len(rows) and column < len(rows[row]) and rows[row][column] == "":
            rows[row][column] = formula
    return {
        "sheet": sheet,
        "rows": rows,
        "merged": merged,
        "others": [name for name in book.sheet_names if name != sheet],
    }


def _rows(book: Any, name: str) -> list[list[Any]]:
    sheet = book.get_sheet_by_name(name)
    if sheet.total_height * sheet.total_width > MOST_TYPED_CELLS:
        raise NoTable(f"has a sheet {name!r} that reaches over more cells than a list has. Delete stray cells far out.")
    return [[_plain(cell) for cell in row] for row in sheet.to_python(skip_empty_area=False)]


def _plain(cell: Any) -> Any:
    # Dates and times go as text: no field holds one, and the grammar says so.
    return cell if isinstance(cell, bool | int | float | str) else str(cell)


def _unsolved(page: bytes) -> list[tuple[int, int, str]]:
    """Return the cells that hold a formula and no stored value: row and column from 0, and the formula."""
    found = []
    for cell in _CELL.finditer(page) if b"<f" in page or b":f" in page else ():
        formula = _FORMULA.search(cell[3])
        place = _PLACE.fullmatch(_attribute(cell[2], "r"))
        if formula is None or place is None or _VALUE.search(_FORMULA.sub(b"", cell[3])):
            continue
        text = html.unescape((formula[1] or b"").decode(errors="replace"))
        found.append((int(place["row"]) - 1, _column(place["column"]), f"={text}"))
    return found


def _years(archive: zipfile.ZipFile, page: bytes, rows: list[list[Any]]) -> None:
    """Leave of each date whose cell shows the year alone that year."""
    if not any(isinstance(cell, str) and _DAY.fullmatch(cell) for row in rows for cell in row):
        return
    for name in shown_years.places(archive, page, _attribute):
        place = _PLACE.fullmatch(name)
        row, column = (int(place["row"]) - 1, _column(place["column"])) if place else (len(rows), 0)
        if row < len(rows) and column < len(rows[row]) and _DAY.fullmatch(str(rows[row][column])):
            rows[row][column] = int(rows[row][column][:4])


def _sheet_path(archive: zipfile.ZipFile, sheet: str) -> str:
    names = archive.namelist()
    links = "xl/_rels/workbook.xml.rels"
    if links not in names:
        return ""
    targets = {_attribute(one, "Id"): _attribute(one, "Target") for one in _LINK.findall(archive.read(links))}
    for one in _SHEET.findall(archive.read("xl/workbook.xml")):
        if _attribute(one, "name") == sheet:
            target = targets.get(_attribute(one, r"\w+:id"), "")
            return target.lstrip("/") if target.startswith("/") else f"xl/{target}"
    return ""


def _attribute(tag: bytes, name: str) -> str:
    found = re.search(rf"\s{name}\s*=\s*(?:\"([^\"]*)\"|'([^']*)')", tag.decode(errors="replace"))
    return html.unescape(found[1] or found[2] or "") if found else ""


def _column(letters: str) -> int:
    place = 0
    for letter in letters:
        place = place * 26 + ord(letter) - ord("A") + 1
    return place - 1


def filled_down(rows: list[list[Any]], merged: Sequence[Merged], knows: Knows | None) -> set[Merged]:
    """Let a word that is merged over the rows of a column stand on each of them; return the cells it was done for.

    A number stays where it is: a price merged over two machines may be that of both.

    Parameters
    ----------
    rows : the sheet's, which are changed
    merged : first and last cell of what is merged, each as row and column from 0
    knows : whether a text is a heading; what is merged from a row of headings on is one
    """
    done: set[Merged] = set()
    for (top, left), (bottom, right) in merged:
        word = rows[top][left] if top < len(rows) and left < len(rows[top]) else ""
        is_word = isinstance(word, str) and word.strip() and not any(sign.isdigit() for sign in word)
        if left != right or bottom <= top or not is_word or _names_columns(rows[top], knows):
            continue
        for row in rows[top + 1 : bottom + 1]:
            if left < len(row):
                row[left] = word
        done.add(((top, left), (bottom, right)))
    return done


def _names_columns(row: list[Any], knows: Knows | None) -> bool:
    return knows is None or sum(knows(cell) for cell in row if isinstance(cell, str) and cell.strip()) >= _FEW_KNOWN


def cell_name(row: int, column: int) -> str:
    """Return the name of a cell, such as B7, from its row and column counted from 0."""
    letters = ""
    column += 1
    while column:
        column, letter = divmod(column - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return f"{letters}{row + 1}"


if __name__ == "__main__":
    guarded.serve(_found)
