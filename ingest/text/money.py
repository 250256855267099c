"""Money as lists write it: a sign or a code before or behind, thousands in threes, "33.900,-", "14.5k", "8,950 obo".

In an amount of money a mark before three figures parts thousands, and one before one or two figures the hundredths,
whatever the mark: no list asks for thousandths.
"""

from __future__ import annotations

import re

from evener.ingest.text import cell_words

SIGNS = {"€": "EUR", "£": "GBP", "$": "$"}  # a bare $ is that of several countries
_CODES = "eur|usd|gbp|cad|aud|nzd|chf|euros?|dollars?|pounds?"
_CODE_MEANT = {"euro": "EUR", "euros": "EUR", "dollar": "$", "dollars": "$", "pound": "GBP", "pounds": "GBP"}
_SIGN = re.compile(rf"[$€£]|\b(?:{_CODES})\b|(?<=\d)(?:{_CODES})\b", re.IGNORECASE)
_NOTHING_BEHIND = re.compile(r"(?<=\d)[.,] ?(?:-{1,2}|–|—)$")
_TAX_BEHIND = re.compile(
    r" ?\+? ?\(?(?:(?:plus|excl?\.?|incl?\.?|inc\.?|inkl\.?|exkl\.?|zzgl\.?|hors|sin|con) )?"
    r"(?:vat|mwst\.?|ust\.?|tva|ht|ttc|iva|tax(?:es)?|netto|brutto)\)?$",
    re.IGNORECASE,
)
# "Firm" or "VB" says how fast a price stands, and not which it is.
_OPEN = cell_words.pattern("open_price")
_OPEN_BEFORE = re.compile(rf"^(?:{_OPEN})[ :]+(?=\S)", re.IGNORECASE)
_OPEN_BEHIND = re.compile(rf"[ ,/]+\(?(?:{_OPEN})\)?$", re.IGNORECASE)
_SHORT = re.compile(r"(?P<whole>\d{1,3})(?:[.,](?P<part>\d{1,2}))? ?k", re.IGNORECASE)
_THOUSANDS = re.compile(r"\b(?:1?[., ']?000'?s?|k|t|tsd|thousands?|mille|milliers|miles)\b", re.IGNORECASE)
_OF_EURO = re.compile(r"\b[kt](?:€|\$|£|eur|usd|gbp)|[€$£]k\b", re.IGNORECASE)
_AMOUNT = re.compile(r"(?P<whole>\d{1,3}(?:[., '’]\d{3})+|\d+)(?:[.,](?P<part>\d{1,2}))?")


def currency(text: str) -> str | None:
    """Return the code of the currency a text names, "$" for a bare dollar sign, or None.

    Parameters
    ----------
    text : a cell, or what stands in the brackets of a heading
    """
    found = {_code(sign) for sign in _SIGN.findall(text)}
    return found.pop() if len(found) == 1 else None


def _code(sign: str) -> str:
    return SIGNS.get(sign) or _CODE_MEANT.get(sign.casefold()) or sign.upper()


def in_thousands(text: str) -> bool:
    """Tell whether what a heading says of its money is that it counts thousands: "($1000)", "T€", "000s".

    Parameters
    ----------
    text : what stands in the brackets of the heading
    """
    return _THOUSANDS.search(_SIGN.sub(" ", text)) is not None or _OF_EURO.search(text) is not None


def amount(text: str) -> str:
    """Return an amount of money as a plain number with a decimal point; a text that is none is returned as it is.

    Parameters
    ----------
    text : as written
    """
    text = _TAX_BEHIND.sub("", _OPEN_BEHIND.sub("", _OPEN_BEFORE.sub("", text.strip())))
    bare = _NOTHING_BEHIND.sub("", _SIGN.sub("", text).replace("\u00a0", " ").replace("\u202f", " ").strip())
    return thousands(in_full(bare))


def in_full(text: str) -> str:
    """Return a number of thousands, "1.2k", as a plain one; others as they are.

    Parameters
    ----------
    text : a number without a unit
    """
    found = _SHORT.fullmatch(text.strip())
    return text if found is None else str(int(f"{found['whole']}{(found['part'] or '').ljust(3, '0')}"))


def thousands(text: str) -> str:
    """Return a number in which a mark before three figures parts thousands as a plain one; others as they are.

    Parameters
    ----------
    text : a number without a unit
    """
    found = _AMOUNT.fullmatch(text.strip())
    if found is None or found["whole"].startswith("0"):
        return text
    marks = set(re.sub(r"\d", "", found["whole"]))
    behind = text.strip()[len(found["whole"]) :][:1]
    if len(marks) > 1 or behind in marks:
        return text
    whole = re.sub(r"\D", "", found["whole"])
    return f"{whole}.{found['part']}" if found["part"] else whole
