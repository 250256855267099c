"""Cells of a workbook that hold a date and show nothing but its year, which is all that was meant."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable, Iterator

_STYLES = "xl/styles.xml"
_FORMAT = re.compile(rb"<(?:\w+:)?numFmt\b[^>]*>")
_FORMATS_OF_CELLS = re.compile(rb"<(?:\w+:)?cellXfs\b.*?</(?:\w+:)?cellXfs>", re.DOTALL)
_FORMAT_OF_CELL = re.compile(rb"<(?:\w+:)?xf\b[^>]*>")
_CELL = re.compile(rb"<(?:\w+:)?c\b[^>]*>")
_YEAR = re.compile(r"y{3,4}(?:;@)?", re.IGNORECASE)


def places(archive: zipfile.ZipFile, page: bytes, attribute: Callable[[bytes, str], str]) -> Iterator[str]:
    """Yield the names of the cells, such as C2, whose format shows the year alone.

    Parameters
    ----------
    archive : the workbook
    page : text of the sheet
    attribute : gives an attribute of a tag by its name
    """
    styles = archive.read(_STYLES) if _STYLES in archive.namelist() else b""
    years = {attribute(one, "numFmtId") for one in _FORMAT.findall(styles) if _shows_year(attribute(one, "formatCode"))}
    cells = _FORMATS_OF_CELLS.search(styles)
    if not years or cells is None:
        return
    named = _FORMAT_OF_CELL.findall(cells[0])
    kinds = {str(place) for place, one in enumerate(named) if attribute(one, "numFmtId") in years}
    for cell in _CELL.findall(page):
        if attribute(cell, "s") in kinds:
            yield attribute(cell, "r")


def _shows_year(code: str) -> bool:
    return _YEAR.fullmatch(re.sub(r"\[[^\]]*\]", "", code)) is not None
